"""The stripe that shows the colour of a wire beside its letters: one band for each colour, lengthwise."""

from __future__ import annotations

from typing import get_args

from loomwright.drawing.marks import Mark, Role, Stroke, rectangle
from loomwright.facts import colours

LONG_MM = 6.0
HIGH_MM = 1.6
_EDGE = Stroke(0.18)
_ROLES: dict[str, Role] = {r: r for r in get_args(Role) if r.isupper()}


def roles(code: str) -> tuple[Role, ...]:
    """The single colours of a code, in its order; none where it is no code."""
    found: list[Role] = []
    for part in colours.parts(code):
        found += [_ROLES[part[k : k + 2]] for k in range(0, len(part), 2)]
    return tuple(found)


def stripe(
    code: str, x: float, y: float, long_mm: float = LONG_MM, high_mm: float = HIGH_MM
) -> tuple[Mark, ...]:
    """A stripe about a point: the first colour, the second along its middle, a third at its end."""
    shown = roles(code)
    left, top = x - long_mm / 2, y - high_mm / 2
    marks: list[Mark] = [rectangle(left, top, long_mm, high_mm, None, shown[0] if shown else "raised")]
    if len(shown) > 1:
        marks.append(rectangle(left, y - high_mm / 6, long_mm, high_mm / 3, None, shown[1]))
    if len(shown) > 2:
        marks.append(rectangle(left + long_mm * 0.7, top, long_mm * 0.3, high_mm, None, shown[2]))
    return (*marks, rectangle(left, top, long_mm, high_mm, _EDGE))
