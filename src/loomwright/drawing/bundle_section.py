"""The section of a bundle, to scale: every wire where it packs, covers, grommet and hole around it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import get_args

from loomwright.drawing import fonts
from loomwright.drawing.marks import Arc, Circle, Group, Mark, Role, Sheet, Stroke, Text
from loomwright.facts import colours
from loomwright.loom.results import Bundle, Placed

SCALE = 3.0
"""Millimetres on the drawing for each of the bundle."""
MARGIN_MM = 2.0
LABELS_MM = (3.0, 2.2, 1.8)
"""Heights of a wire's number, the first that goes into its circle."""
INSIDE = 0.78
"""Share of a circle that is kept light for the number; around it stands the colour of the insulation."""
ROOM = 0.88
"""Share of the light circle that words in it may take."""
_NEAR: Mapping[str, Role] = {"GD": "YE", "SR": "GY"}
"""Metal colours are drawn as the nearest flat one; the letters stand beside every section."""


@dataclass(frozen=True, slots=True)
class Core:
    """What a wire is: letters of its colour, and what it is in words."""

    colour: str
    words: str


def draw(bundle: Bundle, cores: Mapping[str, Core]) -> Sheet:
    """One bundle, three times as large as it is. ``cores`` by wire; each wire is a group of kind ``wire``."""
    across = max(bundle.covered_mm, bundle.hole_mm, bundle.hole_there_mm or 0.0)
    size = across * SCALE + 2.0 * MARGIN_MM
    middle = (size / 2.0, size / 2.0)
    marks: list[Mark] = []
    hole = bundle.hole_there_mm
    if hole is not None:
        marks.append(Circle(middle, hole * SCALE / 2.0, Stroke(0.7, "ink")))
    if bundle.grommet_mm is not None:
        marks.append(Circle(middle, bundle.hole_mm * SCALE / 2.0, Stroke(0.35, "pencil", "dashed"), "rule"))
        marks.append(Circle(middle, bundle.grommet_mm * SCALE / 2.0, Stroke(0.35, "ink"), "raised"))
    elif hole is None:
        marks.append(Circle(middle, bundle.hole_mm * SCALE / 2.0, Stroke(0.35, "pencil", "dashed")))
    if bundle.covered_mm > bundle.diameter_mm:
        marks.append(Circle(middle, bundle.covered_mm * SCALE / 2.0, Stroke(0.35, "ink"), "rule"))
        marks.append(Circle(middle, bundle.diameter_mm * SCALE / 2.0, Stroke(0.25, "pencil"), "raised"))
    marks += [_wire(p, cores[p.wire], middle) for p in bundle.section]
    return Sheet(size, size, tuple(marks), f"Section of the bundle {bundle.between[0]} to {bundle.between[1]}")


def _wire(placed: Placed, core: Core, middle: tuple[float, float]) -> Group:
    at = (middle[0] + placed.x_mm * SCALE, middle[1] + placed.y_mm * SCALE)
    radius = placed.diameter_mm * SCALE / 2.0
    inside = INSIDE * radius
    first, *rest = roles(core.colour) or ("raised",)
    marks: list[Mark] = [Circle(at, radius, Stroke(0.18, "ink"), first)]
    band = Stroke(radius - inside, rest[0]) if rest else None
    if band is not None:
        middle_of_band = (radius + inside) / 2.0
        marks += [Arc(at, middle_of_band, start, start + 50.0, band) for start in (20.0, 140.0, 260.0)]
    marks.append(Circle(at, inside, Stroke(0.18, "ink"), "raised"))
    words = _label(placed.wire, 2.0 * inside)
    if words is not None:
        text, high = words
        marks.append(Text((at[0], at[1] + high / 2.0), text, high, "middle", "semibold"))
    return Group(tuple(marks), "wire", placed.wire, core.words)


def _label(name: str, across_mm: float) -> tuple[str, float] | None:
    """A wire's number as it goes into a circle, and its height; None where it does not."""
    for high in LABELS_MM:
        if high < ROOM * across_mm and fonts.width_mm(name, high, "semibold") <= ROOM * across_mm:
            return name, high
    return None


def roles(letters: str) -> tuple[Role, ...]:
    """The drawn colours of a code of IEC 60757, the main one first; none where it is no code."""
    known = get_args(Role)
    out: list[Role] = []
    for part in colours.parts(letters):
        for pair in (part[:2], part[2:]):
            role = _NEAR.get(pair, pair)
            if pair and role in known:
                out.append(role)  # type: ignore[arg-type]
    return tuple(out)
