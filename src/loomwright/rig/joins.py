"""What may be joined with what, and which kind of wire follows.

The rules:

- Like joins like: power with power, ground with ground or frame, remote with remote, line with line, speaker
  with speaker.
- A remote input may also be fed from a power terminal: the wire between them is a remote wire. A remote output feeds
  remote terminals, and power terminals of a fuse holder, breaker or relay contact on the way; no other power terminal.
- A relay's coil (85, 86) takes remote, power or ground: its wire is a ground wire where the other end is ground, else a
  remote wire.
- Connector contacts, splices and switches take the kind of what they join. All of it must be of one kind, or power that
  feeds remote inputs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from loomwright.rig.model import Item, Kind
from loomwright.rig.report import Report

PASS_REMOTE = ("fuse_holder", "breaker", "relay")


@dataclass(frozen=True, slots=True)
class Link:
    """A wire as far as it is known: None for an end that could not be resolved."""

    place: str
    id: str
    start: str | None
    end: str | None
    bolted: bool = False


@dataclass
class Sets:
    """Disjoint sets of names (union-find)."""

    parent: dict[str, str] = field(default_factory=dict)

    def root(self, name: str) -> str:
        path = []
        while (up := self.parent.setdefault(name, name)) != name:
            path.append(name)
            name = up
        for step in path:
            self.parent[step] = name
        return name

    def join(self, a: str, b: str) -> bool:
        """False where they were joined already."""
        a, b = self.root(a), self.root(b)
        if a == b:
            return False
        self.parent[max(a, b)] = min(a, b)
        return True


@dataclass(frozen=True, slots=True)
class _End:
    """A terminal whose kind is fixed, and the wire that reaches it."""

    ref: str
    kind: Kind
    output: bool       # a remote output
    coil: bool
    passes: bool       # may stand in a remote lead
    link: Link


def settle_kinds(
    items: Mapping[str, Item], links: Sequence[Link], report: Report
) -> tuple[dict[str, Item], dict[str, Kind]]:
    """Items with the kinds of their contacts settled, and the kind of every wire by its place in the file.

    Every pair of unlike kinds is reported with both ends.
    """
    kinds: dict[str, Kind] = {}
    groups = Sets()
    reached: dict[str, list[_End]] = {}
    refs = {r for link in links for r in (link.start, link.end) if r is not None}
    free = {r: g for r in refs if (g := group_of(items, r)) is not None}
    for link in links:
        if link.start in free and link.end in free:
            groups.join(free[link.start], free[link.end])
    for link in links:
        for here, there in ((link.start, link.end), (link.end, link.start)):
            if here in free and there is not None and there not in free:
                reached.setdefault(groups.root(free[here]), []).append(_end(items, there, link))
    group_kind: dict[str, Kind] = {}
    for root, ends_ in sorted(reached.items()):
        group_kind[root] = _group_kind(root, ends_, report)
    settled = {
        i.id: _with_kinds(i, {g: group_kind.get(groups.root(g), "power") for g in _groups(i)}) for i in items.values()
    }
    for link in links:
        if link.start is None or link.end is None:
            continue
        a, b = _end(settled, link.start, link), _end(settled, link.end, link)
        kind = _pair(a, b)
        if kind is None:
            if link.start not in free and link.end not in free:
                report.add(link.place, "two ends of one kind", _both(a, b), _remedy(items, a, b))
            kind = a.kind
        kinds[link.place] = kind
    return settled, kinds


def _remedy(items: Mapping[str, Item], a: _End, b: _End) -> str:
    """What to do about two ends of unlike kinds: what is wrong on the vehicle, where people do wire it so."""
    families = {items[e.ref.partition(".")[0]].part.family for e in (a, b)}
    if families == {"battery"}:
        return "Batteries in series (24, 36, 48 V) are not described: begin at the converter, a charger of 12 V."
    if {a.kind, b.kind} == {"power", "ground"} and families & {"fuse_holder", "breaker", "fused_block"}:
        return (
            f"Move wire {a.link.id}: a fuse in a return leaves all live when it opens, it belongs into the feed. "
            "If the vehicle has it so, say it in notes, and leave it out here."
        )
    if {a.kind, b.kind} == {"speaker", "ground"}:
        return (
            f"Move one end of wire {a.link.id}: most speaker outputs float, and ground shorts them. If the vehicle has "
            "it so, do not power it up; say it in notes."
        )
    return f"Move one end of wire {a.link.id}, or use another part."


def group_of(items: Mapping[str, Item], ref: str) -> str | None:
    """The set of terminals that take their kind from what they join; None where the kind is fixed."""
    item_id, _, name = ref.partition(".")
    match items[item_id].part.family:
        case "connector":
            return f"{item_id}.{name[1:]}"
        case "splice" | "switch":
            return item_id
        case _:
            return None


def _groups(item: Item) -> list[str]:
    items = {item.id: item}
    found = (group_of(items, f"{item.id}.{t.name}") for t in item.part.terminals)
    return [g for g in dict.fromkeys(found) if g is not None]


def _with_kinds(item: Item, kinds: Mapping[str, Kind]) -> Item:
    if not kinds:
        return item
    items = {item.id: item}
    terminals = tuple(
        replace(t, kind=kinds[g]) if (g := group_of(items, f"{item.id}.{t.name}")) is not None else t
        for t in item.part.terminals
    )
    return replace(item, part=replace(item.part, terminals=terminals))


def _end(items: Mapping[str, Item], ref: str, link: Link) -> _End:
    item_id, _, name = ref.partition(".")
    item = items[item_id]
    terminal = item.part.terminal(name)
    family = item.part.family
    return _End(
        ref,
        terminal.kind,
        output=name == "remote_out",
        coil=family == "relay" and name in ("85", "86"),
        passes=family in (*PASS_REMOTE, "connector", "splice", "switch"),
        link=link,
    )


def _pair(a: _End, b: _End) -> Kind | None:
    """Kind of a wire between two ends; None where they may not be joined."""
    if a.coil or b.coil:
        other = b if a.coil else a
        return {"ground": "ground", "power": "remote", "remote": "remote"}.get(other.kind)  # type: ignore[return-value]
    if a.kind == b.kind:
        return a.kind
    if {a.kind, b.kind} == {"power", "remote"}:
        power, remote = (a, b) if a.kind == "power" else (b, a)
        return None if remote.output and not power.passes else "remote"
    return None


def _group_kind(group: str, ends: list[_End], report: Report) -> Kind:
    """Kind of a set of contacts from the fixed ends that it joins."""
    firm = [e for e in ends if not e.coil]
    if not firm:
        return "remote"
    kinds = {e.kind for e in firm}
    if len(kinds) == 1:
        kind = firm[0].kind
        if any(e.coil for e in ends) and kind not in ("remote", "power", "ground"):
            _unlike(group, firm[0], next(e for e in ends if e.coil), report)
        return kind
    if kinds == {"power", "remote"}:
        power = [e for e in firm if e.kind == "power"]
        output = next((e for e in firm if e.output), None)
        strong = next((e for e in power if not e.passes), None)
        if output is not None and strong is not None:
            _unlike(group, output, strong, report)
        return "remote" if output is not None else "power"
    first = firm[0]
    other = next(
        (e for e in firm if e.kind != first.kind and {e.kind, first.kind} != {"power", "remote"}),
        next(e for e in firm if e.kind != first.kind),
    )
    _unlike(group, first, other, report)
    return first.kind


def _unlike(group: str, a: _End, b: _End, report: Report) -> None:
    item = group.partition(".")[0]
    report.add(
        b.link.place, f"ends of one kind on both sides of {item}",
        f"{_both(a, b)}, through wires {a.link.id} and {b.link.id}",
        f"Move one of the two wires, or use another contact of {item}.",
    )  # fmt: skip


def _both(a: _End, b: _End) -> str:
    return f"{a.ref} ({_name(a)}) and {b.ref} ({_name(b)})"


def _name(end: _End) -> str:
    if end.coil:
        return "relay coil"
    return "remote output" if end.output else end.kind


def crowded(items: Mapping[str, Item], links: Iterable[Link], report: Report) -> None:
    """Terminals with more wire ends than they accept."""
    at: dict[str, list[Link]] = {}
    for link in links:
        for ref in (link.start, link.end):
            if ref is not None:
                at.setdefault(ref, []).append(link)
    for ref, there in at.items():
        item_id, _, name = ref.partition(".")
        terminal = items[item_id].part.terminal(name)
        if len(there) > terminal.max_wires:
            most = "1 wire end" if terminal.max_wires == 1 else f"{terminal.max_wires} wire ends"
            report.add(
                there[terminal.max_wires].place, f"at most {most} on {ref} ({terminal.joint})",
                f"{len(there)}: wires {', '.join(x.id for x in there)}",
                _room(items[item_id], name, at),
            )  # fmt: skip


def _room(item: Item, name: str, at: Mapping[str, list[Link]]) -> str:
    """Where a wire too many can go: at a connector to a free contact of the same half."""
    if item.part.family != "connector":
        return "Bring the wires together on a bus bar, a block or a splice."
    half = [t.name for t in item.part.terminals if t.name[:1] == name[:1]]
    free = [t for t in half if f"{item.id}.{t}" not in at]
    if free:
        return f"Move one to a free contact of that half, with its fellow: {', '.join(free)}."
    return "All contacts of that half are taken: use a connector with more contacts, or a second one."


def zero_loops(links: Iterable[Link], report: Report) -> None:
    """Loops in which everything is bolted: no resistance decides where the current goes."""
    sets = Sets()
    for link in links:
        if not link.bolted or link.start is None or link.end is None or link.start == link.end:
            continue
        if not sets.join(link.start, link.end):
            report.add(
                link.place, "terminals that are not bolted together already",
                f"a loop without resistance from {link.start} to {link.end}", f"Take out {link.id}.",
            )  # fmt: skip
