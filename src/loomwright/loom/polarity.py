"""Polarity: which channel moves each driver, and whether plus is on plus."""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.loom import nets
from loomwright.loom.results import Polarity
from loomwright.rig.model import Family, Rig
from loomwright.rig.shape import shape_of

OUTPUTS: tuple[Family, ...] = ("amplifier", "source")


def polarity(rig: Rig) -> tuple[Polarity, ...]:
    """How each driver is wired, in the order of the rig; drivers in series are followed through one another."""
    along = nets.links(shape_of(rig), nets.SPEAKER)
    outs = [
        f"{i.id}.{t.name}" for i in rig.family(*OUTPUTS) for t in i.part.terminals if t.kind == "speaker"
    ]
    found: dict[str, Polarity] = {}
    for plus in (o for o in outs if o.endswith("+")):
        level, stops = _levels(rig, along, plus, outs)
        for item in rig.family("driver"):
            a, b = level.get(f"{item.id}.+"), level.get(f"{item.id}.-")
            if item.id in found or a is None or b is None or a == b or stops is None:
                continue
            found[item.id] = Polarity(
                item.id, plus[:-1], *((plus, stops) if a < b else (stops, plus)), a < b
            )
    return tuple(found.get(i.id, Polarity(i.id, None, None, None, None)) for i in rig.family("driver"))


def _levels(
    rig: Rig, along: Mapping[str, tuple[str, ...]], plus: str, outs: list[str]
) -> tuple[dict[str, int], str | None]:
    """How many drivers lie between an output's plus and each terminal, and the minus where the way ends."""
    level: dict[str, int] = {}
    ends: list[str] = []
    front, depth = {plus}, 0
    while front:
        here = {t for t in nets.reached(along, front) if t not in level}
        level.update(dict.fromkeys(here, depth))
        stops = sorted(t for t in here if t in outs and t != plus)
        ends += stops
        shut = nets.reached(along, stops) if stops else frozenset[str]()
        front = set()
        for terminal in here - shut:
            head, _, name = terminal.partition(".")
            if rig.items[head].part.family == "driver":
                other = f"{head}.{'-' if name == '+' else '+'}"
                if other not in level:
                    front.add(other)
        depth += 1
    return level, ends[0] if ends else None
