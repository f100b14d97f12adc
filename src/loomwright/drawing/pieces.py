"""What stands on a set of wiring sheets: items whole, connectors in pieces, each piece with what it belongs to.

A connector whose contacts serve two amplifiers, or carry signals both ways, is drawn as several pieces, each beside
what it serves; within a piece every contact leads from left to right.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from loomwright.drawing import flow
from loomwright.drawing.flow import Drawn
from loomwright.loom import nets
from loomwright.rig.model import Item, Rig, Wire
from loomwright.rig.shape import shape_of

FEEDS = "feeds"
SIGNALS = "signals"
_THROUGH = ("fuse_holder", "breaker", "switch", "isolator")
_JOINING = ("connector", "splice", "passive")
_SIGNAL_FAMILIES = ("source", "processor", "amplifier", "driver")


@dataclass(frozen=True, slots=True)
class Piece:
    """An item, or some contacts of a connector, on one sheet. ``group`` is an amplifier's id, or feeds, or signals."""

    id: str
    item: Item
    contacts: tuple[int, ...]
    group: str


@dataclass(frozen=True, slots=True)
class Pieces:
    """All pieces in the order wished for from the top left, the wires between them, and whose each terminal is."""

    pieces: Mapping[str, Piece]
    wires: tuple[Drawn, ...]
    owner: Mapping[str, str]

    def groups(self) -> tuple[str, ...]:
        """The groups that occur: feeds, signals, then each amplifier."""
        found = dict.fromkeys(p.group for p in self.pieces.values())
        first = [g for g in (FEEDS, SIGNALS) if g in found]
        return (*first, *(g for g in found if g not in first))


def pieces(rig: Rig, wires: Iterable[Wire]) -> Pieces:
    """The pieces that these wires of a rig join."""
    wanted = tuple(wires)
    drawn, level = _directed(rig, wanted)
    drawn = _through(rig, drawn)
    group = _groups(rig)
    side = {ref: k for d in drawn for k, ref in enumerate((d.left, d.right))}
    order = {i: k for k, i in enumerate(rig.items)}
    found: dict[str, list[str]] = defaultdict(list)
    made: dict[str, Piece] = {}
    for ref in sorted(side, key=lambda r: (order[r.partition(".")[0]], r)):
        item = rig.item_of(ref)
        if item.part.family == "connector":
            number = int(ref.partition(".")[2][1:])
            here = group[f"{item.id}.{number}"]
            a_side = side.get(f"{item.id}.a{number}")
            a_west = a_side == 1 if a_side is not None else side[f"{item.id}.b{number}"] == 0
            name = f"{item.id}|{here}|{'ab' if a_west else 'ba'}"
            if name not in made:
                made[name] = Piece(name, item, (), here)
            numbers = sorted({*made[name].contacts, number})
            made[name] = replace(made[name], contacts=tuple(numbers))
        else:
            name = item.id
            made[name] = Piece(name, item, (), group[item.id])
        found[name].append(ref)
    high = {name: max(level[r] for r in refs) for name, refs in found.items()}
    names = sorted(made, key=lambda n: (-round(high[n], 6), order[made[n].item.id], n))
    owner = {ref: name for name, refs in found.items() for ref in refs}
    return Pieces({n: made[n] for n in names}, drawn, owner)


def _directed(rig: Rig, wanted: Sequence[Wire]) -> tuple[tuple[Drawn, ...], dict[str, float]]:
    """Each wire with its left and right end; the height of every terminal: feeds over 1, signals up to 1."""
    power, heights = flow.drawn_levels(rig)
    signal, more = flow.drawn_contacts(rig)
    level = {**more, **{ref: 1.0 + v for ref, v in heights.items()}}
    for ref in level:
        item = rig.item_of(ref)
        if item.part.family in _SIGNAL_FAMILIES:
            level[ref] = flow.SIGNAL_HEIGHTS[item.part.family]
    by_id = {d.wire.id: d for d in (*power, *signal)}
    return tuple(by_id[w.id] for w in wanted), level


def _through(rig: Rig, drawn: tuple[Drawn, ...]) -> tuple[Drawn, ...]:
    """The same wires; where both ends of a contact or fuse would stand on one side of it, the second is turned."""
    out = {d.wire.id: d for d in drawn}
    at: dict[str, list[str]] = defaultdict(list)
    for d in drawn:
        at[d.left].append(d.wire.id)
        at[d.right].append(d.wire.id)
    for item in rig.items.values():
        for first, second in _pairs(item):
            here = [out[w].left == first for w in at.get(first, ())]
            there = [w for w in at.get(second, ()) if (out[w].left == second) in here]
            for w in there:
                d = out[w]
                out[w] = Drawn(d.wire, d.right, d.left, not d.turned)
    return tuple(out[d.wire.id] for d in drawn)


def _pairs(item: Item) -> list[tuple[str, str]]:
    """Pairs of terminals that a symbol in line joins."""
    names = [t.name for t in item.part.terminals]
    if item.part.family == "connector":
        return [(f"{item.id}.{n}", f"{item.id}.b{n[1:]}") for n in names if n.startswith("a")]
    return [(f"{item.id}.{names[0]}", f"{item.id}.{names[1]}")] if item.part.family in _THROUGH else []


def _groups(rig: Rig) -> dict[str, str]:
    """Of every item, and of every contact as ``item.number``, what it belongs to."""
    fixed: dict[str, str] = {}
    for item in rig.items.values():
        if item.part.family == "amplifier":
            fixed[item.id] = item.id
        elif item.part.family in ("source", "processor"):
            fixed[item.id] = SIGNALS
        elif item.part.family not in (*_JOINING, "driver"):
            fixed[item.id] = FEEDS
    along = nets.links(shape_of(rig), nets.SPEAKER)
    for item in rig.family("amplifier", "source"):
        outs = [f"{item.id}.{t.name}" for t in item.part.terminals if t.kind == "speaker" and _gives(t.name)]
        for ref in sorted(nets.reached(along, outs)):
            if rig.item_of(ref).part.family == "driver":
                fixed.setdefault(ref.partition(".")[0], fixed[item.id])
    near: dict[str, list[str]] = defaultdict(list)
    for wire in rig.wires:
        a, b = _node(rig, wire.start), _node(rig, wire.end)
        near[a].append(b)
        near[b].append(a)
    for item in rig.family("splice"):
        fixed[item.id] = _belongs(item.id, near, {k: v for k, v in fixed.items() if k != item.id})
    out = dict(fixed)
    for item in rig.items.values():
        numbers = {t.name[1:] for t in item.part.terminals} if item.part.family == "connector" else set()
        for node in [f"{item.id}.{n}" for n in sorted(numbers)] or [item.id]:
            if node not in out:
                out[node] = _belongs(node, near, fixed)
    return out


def _gives(name: str) -> bool:
    return name.startswith(("ch", "spk"))


def _node(rig: Rig, ref: str) -> str:
    item = rig.item_of(ref)
    return f"{item.id}.{ref.partition('.')[2][1:]}" if item.part.family == "connector" else item.id


def _belongs(node: str, near: Mapping[str, Sequence[str]], fixed: Mapping[str, str]) -> str:
    """What is reached from a contact or splice through others: one amplifier, else signals, else feeds."""
    seen, todo, found = {node}, [node], set[str]()
    while todo:
        for other in near.get(todo.pop(), ()):
            if other in fixed:
                found.add(fixed[other])
            elif other not in seen:
                seen.add(other)
                todo.append(other)
    amplifiers = found - {FEEDS, SIGNALS}
    if len(amplifiers) == 1:
        return amplifiers.pop()
    return SIGNALS if SIGNALS in found or (amplifiers and FEEDS not in found) else FEEDS
