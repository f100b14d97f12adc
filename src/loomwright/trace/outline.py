"""The outline of a board: an outer ring and holes, of straight sides and arcs, in millimetres.

x to the right and y down, as the face is seen that was photographed; the box round the outline starts at (0, 0). The
outer ring runs clockwise as seen, holes run the other way.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a ring.

    Attributes
    ----------
    start_mm, end_mm : tuple
        Its ends.
    bulge : float
        0 for a straight side; else the tangent of a quarter of the arc's angle, positive where it turns clockwise.
    sigma_mm : float
        Standard deviation of its length (of its radius, for an arc) [mm]; 0 where it was typed or drawn.
    corner_sigma_mm : float
        Standard deviation of the place of its start, against the outline as a whole [mm].
    """

    start_mm: Point
    end_mm: Point
    bulge: float = 0.0
    sigma_mm: float = 0.0
    corner_sigma_mm: float = 0.0

    @property
    def kind(self) -> Literal["line", "arc"]:
        """``line`` or ``arc``."""
        return "arc" if self.bulge else "line"

    @property
    def chord_mm(self) -> float:
        """From end to end, straight."""
        return math.dist(self.start_mm, self.end_mm)

    @property
    def angle_rad(self) -> float:
        """Angle of the arc, positive clockwise; 0 for a straight side."""
        return 4.0 * math.atan(self.bulge)

    @property
    def radius_mm(self) -> float:
        """Of the arc; infinite for a straight side."""
        if not self.bulge:
            return math.inf
        return self.chord_mm * (1.0 + self.bulge**2) / (4.0 * abs(self.bulge))

    @property
    def length_mm(self) -> float:
        """Along the side."""
        return self.chord_mm if not self.bulge else self.radius_mm * abs(self.angle_rad)

    @property
    def centre_mm(self) -> Point:
        """Of the arc."""
        (x1, y1), (x2, y2), b = self.start_mm, self.end_mm, self.bulge
        k = (1.0 - b * b) / (4.0 * b)
        return (x1 + x2) / 2.0 - k * (y2 - y1), (y1 + y2) / 2.0 + k * (x2 - x1)

    def points(self, within_mm: float = 0.05) -> Iterator[Point]:
        """The start, and points along an arc so close that straight pieces keep within a distance; not the end."""
        yield self.start_mm
        if not self.bulge:
            return
        radius, (cx, cy) = self.radius_mm, self.centre_mm
        step = 2.0 * math.acos(max(0.0, 1.0 - min(within_mm / radius, 0.3)))
        n = max(2, math.ceil(abs(self.angle_rad) / step))
        first = math.atan2(self.start_mm[1] - cy, self.start_mm[0] - cx)
        for k in range(1, n):
            a = first + self.angle_rad * k / n
            yield cx + radius * math.cos(a), cy + radius * math.sin(a)

    def area_mm2(self) -> float:
        """Its part of the area of a ring, positive clockwise as seen."""
        (x1, y1), (x2, y2) = self.start_mm, self.end_mm
        straight = (x1 * y2 - x2 * y1) / 2.0
        if not self.bulge:
            return straight
        return straight + self.radius_mm**2 * (self.angle_rad - math.sin(self.angle_rad)) / 2.0

    def reversed(self) -> Side:
        """The same side run the other way."""
        return replace(self, start_mm=self.end_mm, end_mm=self.start_mm, bulge=-self.bulge)


@dataclass(frozen=True, slots=True)
class Ring:
    """Sides end to end, closed."""

    sides: tuple[Side, ...]

    def area_mm2(self) -> float:
        """Positive where it runs clockwise as seen."""
        return sum(s.area_mm2() for s in self.sides)

    def points(self, within_mm: float = 0.05) -> tuple[Point, ...]:
        """The ring as straight pieces that keep within a distance of it."""
        return tuple(p for s in self.sides for p in s.points(within_mm))

    def length_mm(self) -> float:
        """All round."""
        return sum(s.length_mm for s in self.sides)

    def turned(self, clockwise: bool) -> Ring:
        """The same ring, run that way."""
        if (self.area_mm2() > 0.0) == clockwise:
            return self
        sides = [s.reversed() for s in reversed(self.sides)]
        corner = [s.corner_sigma_mm for s in self.sides]
        n = len(sides)
        return Ring(tuple(replace(s, corner_sigma_mm=corner[(n - k) % n]) for k, s in enumerate(sides)))

    def box_mm(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom."""
        xs, ys = zip(*self.points(0.01), strict=True)
        return min(xs), min(ys), max(xs), max(ys)


@dataclass(frozen=True, slots=True)
class Outline:
    """A board.

    Attributes
    ----------
    outer : Ring
        Its rim.
    holes : tuple of Ring
        Holes and slots, largest first.
    source : str
        ``photograph``, ``typed``, ``svg`` or ``dxf``.
    error_mm : float
        No side is wrong by more than this, three standard deviations of the worst; 0 where it was typed or drawn.
    back : bool
        True where the board is seen from the back.
    """

    outer: Ring
    holes: tuple[Ring, ...] = ()
    source: str = "typed"
    error_mm: float = 0.0
    back: bool = False

    def rings(self) -> tuple[Ring, ...]:
        """The rim, then the holes."""
        return (self.outer, *self.holes)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the box round it."""
        left, top, right, bottom = self.outer.box_mm()
        return right - left, bottom - top

    def area_mm2(self) -> float:
        """Of the board, holes left out."""
        return abs(self.outer.area_mm2()) - sum(abs(h.area_mm2()) for h in self.holes)

    def mirrored(self) -> Outline:
        """The board seen from its other side."""
        width = self.size_mm[0]
        return placed(
            Outline(
                _mapped(self.outer, lambda p: (width - p[0], p[1]), flip=True),
                tuple(_mapped(h, lambda p: (width - p[0], p[1]), flip=True) for h in self.holes),
                self.source,
                self.error_mm,
                not self.back,
            )
        )


def _mapped(ring: Ring, move, flip: bool = False) -> Ring:  # type: ignore[no-untyped-def]
    sign = -1.0 if flip else 1.0
    return Ring(
        tuple(replace(s, start_mm=move(s.start_mm), end_mm=move(s.end_mm), bulge=sign * s.bulge) for s in ring.sides)
    )


def placed(outline: Outline, turn_rad: float = 0.0) -> Outline:
    """Turned, run the right way round, and moved so that its box starts at (0, 0)."""
    c, s = math.cos(turn_rad), math.sin(turn_rad)

    def turn(p: Point) -> Point:
        return c * p[0] - s * p[1], s * p[0] + c * p[1]

    outer = _mapped(outline.outer, turn).turned(True)
    left, top, _, _ = outer.box_mm()

    def move(p: Point) -> Point:
        return p[0] - left, p[1] - top

    holes = [_mapped(_mapped(h, turn), move).turned(False) for h in outline.holes]
    holes.sort(key=lambda h: h.area_mm2())
    return replace(outline, outer=_mapped(outer, move), holes=tuple(holes))


def ring_of(points: Iterable[Point], bulges: Iterable[float] | None = None) -> Ring:
    """A ring through corners, with a bulge for each side where any are round."""
    corners = list(points)
    bends = [0.0] * len(corners) if bulges is None else list(bulges)
    return Ring(
        tuple(Side(a, corners[(k + 1) % len(corners)], b) for k, (a, b) in enumerate(zip(corners, bends, strict=True)))
    )
