"""Nets: which points hang together through wires, contacts and metal, and from where a source reaches."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping

from loomwright.power.bundles import joined
from loomwright.rig.model import Item, Kind, PassiveSpec, Rig
from loomwright.rig.once import once
from loomwright.rig.shape import Shape

POWER: tuple[Kind, ...] = ("power",)
GROUND: tuple[Kind, ...] = ("ground",)
SPEAKER: tuple[Kind, ...] = ("speaker",)
SOURCES: Mapping[str, tuple[str, ...]] = {"battery": ("plus",), "charger": ("out",), "dcdc": ("out",)}
RETURNS: Mapping[str, tuple[str, ...]] = {"battery": ("minus",)}
Point = tuple[str, str]
"""A spot on the bench: a terminal, and the wire whose loose end it is; no wire at a contact or a splice leg."""
HARNESS = ("connector", "splice")
"""Items that belong to the harness: they lie on the bench with it."""


def inside(item: Item) -> Iterator[tuple[str, ...]]:
    """Groups of an item's terminals that metal, a fuse or a contact joins inside it; a coil or capacitor too, for a
    loudspeaker's current.
    """
    if isinstance(item.part.spec, PassiveSpec) and item.part.spec.element in ("coil", "capacitor", "resistor"):
        if all(t.kind == "speaker" for t in item.part.terminals):
            yield ("a", "b")
        return
    yield from joined(item)


def links(shape: Shape, kinds: tuple[Kind, ...], without: str | None = None) -> Mapping[str, tuple[str, ...]]:
    """From each terminal to those next to it, along wires of these kinds and through items, one item left out."""
    known = _known(shape)
    if kinds not in known:
        known[kinds] = _joined(shape, kinds)
    whole, wires = known[kinds]
    if without is None:
        return whole
    own = (f"{without}.{t.name}" for t in shape.items[without].part.terminals)
    return {**whole, **{ref: wires.get(ref, ()) for ref in own}}


Nexts = Mapping[str, tuple[str, ...]]


@once
def _known(_shape: Shape) -> dict[tuple[Kind, ...], tuple[Nexts, Nexts]]:
    return {}


def _joined(shape: Shape, kinds: Collection[Kind]) -> tuple[Nexts, Nexts]:
    """Neighbours by wires and through items, and by wires alone."""
    found: dict[str, list[str]] = defaultdict(list)
    for wire in shape.wires:
        if wire.kind in kinds:
            found[wire.start].append(wire.end)
            found[wire.end].append(wire.start)
    wires = {a: tuple(b) for a, b in found.items()}
    for item in shape.items.values():
        for group in inside(item):
            hub = f"{item.id}.{group[0]}"
            for name in group[1:]:
                found[hub].append(f"{item.id}.{name}")
                found[f"{item.id}.{name}"].append(hub)
    return {a: tuple(b) for a, b in found.items()}, wires


def reached(nexts: Mapping[str, tuple[str, ...]], starts: Iterable[str]) -> frozenset[str]:
    """Every terminal that hangs together with one of these."""
    todo = list(starts)
    seen = set(todo)
    while todo:
        for there in nexts.get(todo.pop(), ()):
            if there not in seen:
                seen.add(there)
                todo.append(there)
    return frozenset(seen)


def ends_of(shape: Shape, table: Mapping[str, tuple[str, ...]]) -> list[str]:
    """Terminals of a table by family, such as :data:`SOURCES`."""
    return [f"{i.id}.{n}" for i in shape.items.values() for n in table.get(i.part.family, ())]


def harness_nets(rig: Rig) -> tuple[tuple[Point, ...], ...]:
    """Nets of the harness alone on the bench: ends joined by wires, contacts and splices, each net sorted.

    Two wires on one stud of an item are two nets here, for the item is not there.
    """
    parent: dict[Point, Point] = {}

    def find(x: Point) -> Point:
        while parent.setdefault(x, x) != x:
            x = parent[x]
        return x

    def join(a: Point, b: Point) -> None:
        a, b = find(a), find(b)
        if a != b:
            parent[max(a, b)] = min(a, b)

    for wire in rig.wires:
        if wire.size is not None and wire.size.system != "bolted":
            join(point(rig, wire.id, wire.start), point(rig, wire.id, wire.end))
    for item in rig.items.values():
        if item.part.family in HARNESS:
            for group in joined(item):
                there = [p for n in group if (p := (f"{item.id}.{n}", "")) in parent]
                for other in there[1:]:
                    join(there[0], other)
    nets: dict[Point, list[Point]] = defaultdict(list)
    for x in parent:
        nets[find(x)].append(x)
    return tuple(tuple(sorted(n)) for _, n in sorted(nets.items()))


def point(rig: Rig, wire_id: str, ref: str) -> Point:
    """Where a wire's end is probed on the bench: at its contact or splice leg, else at the loose end itself."""
    return (ref, "") if rig.item_of(ref).part.family in HARNESS else (ref, wire_id)


def shown(spot: Point) -> str:
    """A spot in words: ``plug.a1``, or ``P3 at block.out1``."""
    ref, wire_id = spot
    return f"{wire_id} at {ref}" if wire_id else ref
