"""Remote lines: what is joined to what, which outputs feed it, and what each output has to give."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from loomwright.protection.graph import fitted
from loomwright.rig.joins import Sets
from loomwright.rig.model import AmplifierSpec, Item, LoadSpec, RelaySpec, Rig
from loomwright.rig.once import once
from loomwright.rig.shape import Shape, shape_of

FeedKind = Literal[
    "output",   # a remote output of a source unit or processor
    "contact",  # of a relay: live while its coil is, and while what it takes from is
    "hand",     # from a battery through a switch: taken to be turned with the key
    "live",     # straight from a battery or charging source, whatever is switched
]


@dataclass(frozen=True, slots=True)
class Feed:
    """What can make a remote line live. ``terminal`` is where it enters; ``behind`` is the far side of a contact."""

    kind: FeedKind
    item: str
    terminal: str
    behind: str = ""


@dataclass(frozen=True, slots=True)
class RemoteLine:
    """Terminals that remote wires join, with what feeds them. ``id`` is the first of them by name."""

    id: str
    terminals: tuple[str, ...]
    wires: tuple[str, ...]
    feeds: tuple[Feed, ...]


@dataclass(frozen=True, slots=True)
class Budget:
    """What one remote output has to give [mA], against the most it can.

    ``draws_ma`` holds coils and inputs by item; ``bare_coils`` the relays without a diode.
    """

    item: str
    limit_ma: float
    draws_ma: tuple[tuple[str, float], ...]
    bare_coils: tuple[str, ...]

    @property
    def total_ma(self) -> float:
        return sum(ma for _, ma in self.draws_ma)

    @property
    def over(self) -> bool:
        return self.total_ma > self.limit_ma


class Remotes:
    """The remote lines of one rig, and what is live in its power wiring."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape
        self._sets = Sets()
        for wire in shape.wires:
            if wire.kind == "remote":
                self._sets.join(wire.start, wire.end)
        self._on: Mapping[str, bool] = dict.fromkeys(self._sets.parent, True)
        for item in shape.items.values():
            for a, b in passes(item):
                if f"{item.id}.{a}" in self._on and f"{item.id}.{b}" in self._on:
                    self._sets.join(f"{item.id}.{a}", f"{item.id}.{b}")
        self._power: dict[str, list[str]] = {}
        for wire in shape.wires:
            if wire.kind == "power":
                self._power.setdefault(wire.start, []).append(wire.end)
                self._power.setdefault(wire.end, []).append(wire.start)

    def line_of(self, terminal: str) -> RemoteLine | None:
        """The remote line that a terminal is on; None where no remote wire lands there."""
        if terminal not in self._on:
            return None
        root = self._sets.root(terminal)
        return next(line for line in self.lines() if self._sets.root(line.id) == root)

    def lines(self) -> tuple[RemoteLine, ...]:
        """Every remote line, by id."""
        groups: dict[str, list[str]] = {}
        for terminal in sorted(self._on):
            groups.setdefault(self._sets.root(terminal), []).append(terminal)
        made = []
        for members in groups.values():
            wires = [w.id for w in self.shape.wires if w.kind == "remote" and w.start in members]
            feeds = [f for t in members if (f := self._feed(t)) is not None]
            made.append(RemoteLine(members[0], tuple(members), tuple(wires), tuple(feeds)))
        return tuple(sorted(made, key=lambda line: line.id))

    def source_of(self, terminal: str) -> Feed | None:
        """What makes a power terminal live: a battery, a switch or a relay contact on the way; None where nothing does.

        A way without a switch counts before one with a switch, and that before one through a relay.
        """
        direct = self._follow(terminal, switches=False)
        if direct is not None and direct.kind == "live":
            return direct
        by_hand = self._follow(terminal, switches=True)
        if by_hand is not None and by_hand.kind == "live":
            return Feed("hand", by_hand.item, terminal)
        return by_hand

    def _follow(self, terminal: str, *, switches: bool) -> Feed | None:
        seen, todo = {terminal}, [terminal]
        contact: Feed | None = None
        while todo:
            here = todo.pop(0)
            item = self.shape.item_of(here)
            if item.part.family in ("battery", "charger") or (item.part.family == "dcdc" and here.endswith(".out")):
                return Feed("live", item.id, terminal)
            if item.part.family == "relay" and here != terminal and contact is None:
                name = "30" if here.endswith(".87") else "87"
                contact = Feed("contact", item.id, here, f"{item.id}.{name}")
            inside = []
            if switches or item.part.family != "switch":
                inside = [f"{item.id}.{b if here == f'{item.id}.{a}' else a}" for a, b in passes(item)
                          if here in (f"{item.id}.{a}", f"{item.id}.{b}")]  # fmt: skip
            for there in (*self._power.get(here, ()), *inside):
                if there not in seen:
                    seen.add(there)
                    todo.append(there)
        return contact

    def _feed(self, terminal: str) -> Feed | None:
        item = self.shape.item_of(terminal)
        name = terminal.partition(".")[2]
        if name == "remote_out":
            return Feed("output", item.id, terminal)
        if item.part.family == "relay" and name in ("30", "87"):
            behind = f"{item.id}.{'87' if name == '30' else '30'}"
            return Feed("contact", item.id, terminal, behind) if behind in self._on or behind in self._power else None
        if item.part.terminal(name).kind != "power":
            return None
        if item.part.family in ("fuse_holder", "breaker") and all(f"{item.id}.{t}" in self._on for t in ("in", "out")):
            return None
        return self.source_of(terminal)


def passes(item: Item) -> Iterator[tuple[str, str]]:
    """Pairs of terminals that an item joins inside itself: metal, contacts, closed switches, fitted fuses."""
    names = [t.name for t in item.part.terminals]
    match item.part.family:
        case "fuse_holder" | "breaker":
            if fitted(item, 1):
                yield ("in", "out")
        case "fused_block":
            for n, name in enumerate((t for t in names if t.startswith("out")), 1):
                if fitted(item, n):
                    yield ("in", name)
        case "plain_block" | "bus" | "splice":
            for name in names[1:]:
                yield (names[0], name)
        case "switch":
            yield ("in", "out")
        case "isolator":
            yield ("main", "aux")
        case "connector":
            for name in names:
                if name.startswith("a") and "b" + name[1:] in names:
                    yield (name, "b" + name[1:])
        case _:
            return


@once
def remotes_of(shape: Shape) -> Remotes:
    """The remote lines of a shape."""
    return Remotes(shape)


def budgets(rig: Rig) -> tuple[Budget, ...]:
    """Every remote output that has a wire, with what hangs on it."""
    return _budgets(shape_of(rig))


@once
def _budgets(shape: Shape) -> tuple[Budget, ...]:
    remotes = remotes_of(shape)
    found = []
    for item in shape.family("source", "processor"):
        spec = item.part.spec
        line = remotes.line_of(f"{item.id}.remote_out")
        if line is None or not isinstance(spec, LoadSpec):
            continue
        draws: dict[str, float] = {}
        bare = []
        for ref in line.terminals:
            other, name = shape.item_of(ref), ref.partition(".")[2]
            fed = other.part.spec
            if isinstance(fed, AmplifierSpec) and name == "remote":
                draws[other.id] = fed.remote_ma
            elif isinstance(fed, LoadSpec) and name == "remote_in":
                draws[other.id] = fed.remote_in_ma
            elif isinstance(fed, RelaySpec) and other.part.family == "relay" and name in ("85", "86"):
                draws[other.id] = fed.coil_ma
                if not fed.diode:
                    bare.append(other.id)
        found.append(Budget(item.id, spec.remote_out_max_ma, tuple(sorted(draws.items())), tuple(sorted(bare))))
    return tuple(found)
