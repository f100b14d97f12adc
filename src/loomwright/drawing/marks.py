"""The primitives every drawing is made of, in millimetres, x to the right and y down.

A drawing is a :class:`Sheet`: a size and a tuple of marks. Back ends read marks; nothing else draws. Colours go by
the name of their role, so that one drawing serves paper, screen by day, screen by night and a print in black.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

Point = tuple[float, float]
Role = Literal[
    "paper", "raised", "rule", "ink", "pencil", "copper",
    "stop", "fix", "know",
    # insulation colours, letters of IEC 60757
    "BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ", "GD", "SR",
]  # fmt: skip
Dash = Literal["solid", "dashed", "dotted", "chain", "long"]
Anchor = Literal["start", "middle", "end"]
Weight = Literal["regular", "semibold", "bold"]

# Line widths of ISO 128-2, each sqrt(2) times the one before [mm]
WIDTHS_MM = (0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0)
# On and off lengths [mm]
DASHES_MM: dict[Dash, tuple[float, ...]] = {
    "solid": (),
    "dashed": (2.4, 1.2),
    "dotted": (0.5, 0.9),
    "chain": (6.0, 1.2, 0.8, 1.2),
    "long": (2.8, 1.4),
}


@dataclass(frozen=True, slots=True)
class Stroke:
    """How a line is drawn."""

    width_mm: float = 0.35
    role: Role = "ink"
    dash: Dash = "solid"


@dataclass(frozen=True, slots=True)
class Path:
    """Straight pieces through ``points``; a filled or open polygon if ``closed``."""

    points: tuple[Point, ...]
    stroke: Stroke | None = Stroke()
    fill: Role | None = None
    closed: bool = False
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle."""

    centre: Point
    radius_mm: float
    stroke: Stroke | None = Stroke()
    fill: Role | None = None


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle, from ``start_deg`` clockwise (as seen on the sheet) to ``end_deg``; 0 points right."""

    centre: Point
    radius_mm: float
    start_deg: float
    end_deg: float
    stroke: Stroke = Stroke()


@dataclass(frozen=True, slots=True)
class Text:
    """One line of words. ``at`` is on the baseline; ``size_mm`` is the height of a capital (ISO 3098).

    ``turn_deg`` is 0, or -90 for words that read upward.
    """

    at: Point
    text: str
    size_mm: float = 2.5
    anchor: Anchor = "start"
    weight: Weight = "regular"
    role: Role = "ink"
    turn_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Group:
    """Marks that belong together. ``ref`` is the id in the rig, ``kind`` what it is; ``title`` is read aloud."""

    marks: tuple[Mark, ...]
    kind: str = ""
    ref: str = ""
    title: str = ""


Mark = Path | Circle | Arc | Text | Group


@dataclass(frozen=True, slots=True)
class Sheet:
    """A drawing of exact size."""

    width_mm: float
    height_mm: float
    marks: tuple[Mark, ...]
    title: str = ""


def line(x1: float, y1: float, x2: float, y2: float, stroke: Stroke = Stroke()) -> Path:
    """One straight line."""
    return Path(((x1, y1), (x2, y2)), stroke)


def rectangle(
    x: float, y: float, width: float, height: float, stroke: Stroke | None = Stroke(), fill: Role | None = None
) -> Path:
    """A rectangle by its upper left corner."""
    return Path(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), stroke, fill, closed=True)


def placed(marks: Iterable[Mark], dx: float = 0.0, dy: float = 0.0, scale: float = 1.0) -> tuple[Mark, ...]:
    """The same marks, scaled about the origin, then moved. Line widths scale too."""
    return tuple([_placed(mark, dx, dy, scale) for mark in marks])


def _placed(mark: Mark, dx: float, dy: float, k: float) -> Mark:
    if isinstance(mark, Path):
        points = tuple([(x * k + dx, y * k + dy) for x, y in mark.points])
        return Path(points, _scaled(mark.stroke, k), mark.fill, mark.closed, mark.opacity)
    if isinstance(mark, Text):
        at = (mark.at[0] * k + dx, mark.at[1] * k + dy)
        return Text(at, mark.text, mark.size_mm * k, mark.anchor, mark.weight, mark.role, mark.turn_deg)
    if isinstance(mark, Group):
        return Group(placed(mark.marks, dx, dy, k), mark.kind, mark.ref, mark.title)
    centre = (mark.centre[0] * k + dx, mark.centre[1] * k + dy)
    if isinstance(mark, Circle):
        return Circle(centre, mark.radius_mm * k, _scaled(mark.stroke, k), mark.fill)
    return Arc(centre, mark.radius_mm * k, mark.start_deg, mark.end_deg, _scaled(mark.stroke, k) or mark.stroke)


def _scaled(stroke: Stroke | None, scale: float) -> Stroke | None:
    return stroke if stroke is None or scale == 1.0 else replace(stroke, width_mm=stroke.width_mm * scale)


def flat(marks: Iterable[Mark]) -> tuple[Path | Circle | Arc | Text, ...]:
    """All marks in drawing order, groups opened."""
    out: list[Path | Circle | Arc | Text] = []
    for mark in marks:
        if isinstance(mark, Group):
            out.extend(flat(mark.marks))
        else:
            out.append(mark)
    return tuple(out)


def arc_points(centre: Point, radius_mm: float, start_deg: float, end_deg: float, steps: int = 24) -> tuple[Point, ...]:
    """Points along an arc, for back ends and checks that know straight lines only."""
    span = math.radians(end_deg - start_deg)
    first = math.radians(start_deg)
    angles = [first + span * k / steps for k in range(steps + 1)]
    return tuple((centre[0] + radius_mm * math.cos(a), centre[1] + radius_mm * math.sin(a)) for a in angles)


def clean(text: str) -> str:
    """The text on one line, without characters that no page can show (controls, lone surrogates, direction marks)."""
    if text.isascii() and text.isprintable():
        return text
    out = []
    for char in text:
        if char in "\t\n\r":
            out.append(" ")
        elif unicodedata.category(char) in ("Cc", "Cf", "Cs", "Cn", "Co"):
            out.append("\ufffd")
        else:
            out.append(char)
    return "".join(out)


def weight_for_mm2(area_mm2: float) -> float:
    """Line width for a conductor: one step of ISO 128 for each doubling or so of metal [mm]."""
    for limit, width in ((1.0, 0.25), (2.2, 0.35), (5.5, 0.5), (13.5, 0.7), (34.0, 1.0)):
        if area_mm2 < limit:
            return width
    return 1.4
