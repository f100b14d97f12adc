"""Joints: what one costs in milliohms, how much heat it sheds, and whether it is fit for power."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from loomwright.facts import tables
from loomwright.facts.names import unknown
from loomwright.facts.tables import Mark


@dataclass(frozen=True, slots=True)
class Joint:
    """One joint, conductor to terminal, contact face included."""

    name: str
    mohm: float
    max_w: float                       # heat it sheds before it runs hot, about 30 K above its surroundings
    kind: str                          # crimp, push-on, clamp, solder, bolted, frame, twisted, pierced, loose
    ok: bool                           # fit for a power lead
    mark: Mark
    source: str
    note: str = ""

    @property
    def hot_a(self) -> float:
        """Steady current above which it runs hot [A]."""
        return math.sqrt(1000.0 * self.max_w / self.mohm)


@cache
def joint(name: str) -> Joint:
    """A joint by name. Raises UnknownName with the nearest names."""
    found = tables.rows("joints", "joint")
    if name not in found:
        raise unknown("joint", name, found)
    row = found[name]
    return Joint(
        row.name, row.number("mohm"), row.number("max_w"), row.text("kind"), bool(row.cells["ok"]), row.mark,
        row.source, row.note,
    )


def names() -> tuple[str, ...]:
    """All joint names."""
    return tuple(tables.rows("joints", "joint"))
