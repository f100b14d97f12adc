"""The way of the signal: which outputs feed which inputs, from the source unit to the amplifier."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.rig.joins import Sets
from loomwright.rig.model import Rig
from loomwright.rig.once import once
from loomwright.rig.shape import Shape, shape_of
from loomwright.sound.remotes import passes


@dataclass(frozen=True, slots=True)
class Hop:
    """One output feeding one input: ``processor.out1`` to ``amp.in1``; ``level`` is ``line`` or ``speaker``."""

    output: str
    input: str
    level: str
    wires: tuple[str, ...]

    @property
    def giver(self) -> str:
        return self.output.partition(".")[0]

    @property
    def taker(self) -> str:
        return self.input.partition(".")[0]


def hops(rig: Rig) -> tuple[Hop, ...]:
    """Every output of a source unit or processor with every input that it feeds, in the order of the rig."""
    return hops_in(shape_of(rig))


@once
def hops_in(shape: Shape) -> tuple[Hop, ...]:
    """:func:`hops` of a shape."""
    sets = Sets()
    landed: dict[str, list[str]] = {}
    for wire in shape.wires:
        if wire.kind in ("line", "speaker"):
            sets.join(wire.start, wire.end)
            landed.setdefault(wire.start, []).append(wire.id)
            landed.setdefault(wire.end, []).append(wire.id)
    for item in shape.items.values():
        for a, b in passes(item):
            if f"{item.id}.{a}" in landed and f"{item.id}.{b}" in landed:
                sets.join(f"{item.id}.{a}", f"{item.id}.{b}")
    groups: dict[str, list[str]] = {}
    for terminal in landed:
        groups.setdefault(sets.root(terminal), []).append(terminal)
    order = [f"{i.id}.{t.name}" for i in shape.items.values() for t in i.part.terminals]
    found = []
    for output in (t for t in order if t in landed and _gives(shape, t)):
        members = groups[sets.root(output)]
        wires = tuple(w.id for w in shape.wires if w.start in members and w.id in landed[w.start])
        level = "line" if shape.terminal(output).kind == "line" else "speaker"
        found += [Hop(output, t, level, wires) for t in order if t in members and _takes(shape, t)]
    return tuple(found)


def _gives(shape: Shape, terminal: str) -> bool:
    item, name = shape.item_of(terminal), terminal.partition(".")[2]
    if item.part.family == "source":
        return name.startswith("out") or (name.startswith("spk") and name.endswith("+"))
    return item.part.family == "processor" and name.startswith("out")


def _takes(shape: Shape, terminal: str) -> bool:
    item, name = shape.item_of(terminal), terminal.partition(".")[2]
    if item.part.family not in ("processor", "amplifier"):
        return False
    return name.startswith("in") or (name.startswith("hi") and name.endswith("+"))


def upstream(found: tuple[Hop, ...]) -> Mapping[str, tuple[str, ...]]:
    """Items that feed each item straight, by id, each once and in the order of the hops."""
    made: dict[str, list[str]] = {}
    for hop in found:
        givers = made.setdefault(hop.taker, [])
        if hop.giver not in givers and hop.giver != hop.taker:
            givers.append(hop.giver)
    return {k: tuple(v) for k, v in made.items()}
