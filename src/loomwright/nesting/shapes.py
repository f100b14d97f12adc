"""Pieces as the search sees them: grown by half a kerf, turned, cut into convex parts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely  # type: ignore[import-untyped]
from numpy.typing import NDArray

from loomwright.nesting.model import Piece, Point, Ring

Floats = NDArray[np.float64]
SMOOTH_MM = 0.2
"""Rims of many points are smoothed by no more than this, always outward."""
MANY = 40
_EXACT = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}


@dataclass(frozen=True, slots=True, eq=False)
class Variant:
    """A shape at one turn. Its points start at (0, 0); ``corner_mm`` is where that lies before it was moved there."""

    key: int
    turn_deg: float
    width_mm: float
    height_mm: float
    area_mm2: float
    corner_mm: Point
    polygon: Any
    parts: tuple[Floats, ...]


def polygon(outer: Ring, holes: Sequence[Ring] = ()) -> Any:
    """A valid polygon of rings."""
    made = shapely.Polygon(outer, holes)
    return made if made.is_valid else shapely.make_valid(made)


def turn(points: Floats, turn_deg: float) -> Floats:
    """Points turned clockwise as seen (y down); quarter turns exactly."""
    c, s = _EXACT.get(turn_deg % 360.0) or (math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg)))
    out: Floats = points @ np.array([[c, s], [-s, c]])
    return out


def turned(ring: Ring, turn_deg: float, shift: Point = (0.0, 0.0)) -> Ring:
    """A ring, turned and moved."""
    made = turn(np.asarray(ring, float), turn_deg) + np.asarray(shift)
    return tuple((float(x), float(y)) for x, y in made)


def grown(piece: Piece, by_mm: float) -> Any:
    """The piece, larger all round by half a kerf; corners stay sharp, to a limit."""
    made = polygon(piece.outer, piece.holes)
    smooth = SMOOTH_MM if len(shapely.get_coordinates(made)) > MANY else 0.0
    if by_mm + smooth > 0.0:
        made = made.buffer(by_mm + smooth, join_style="mitre", mitre_limit=2.0)
    if smooth:
        made = made.simplify(smooth)
    return made if made.geom_type == "Polygon" else made.convex_hull


class Shapes:
    """Every variant of every piece; alike ones are one."""

    def __init__(self, pieces: Sequence[Piece], grow_mm: float) -> None:
        self.of: list[list[Variant]] = []
        self._known: dict[tuple[bytes, ...], Variant] = {}
        for piece in pieces:
            made = grown(piece, grow_mm)
            parts = convex_parts(made)
            mine: list[Variant] = []
            for deg in dict.fromkeys(t % 360.0 for t in piece.turns_deg):
                v = self._variant(made, parts, deg)
                if all(v.key != m.key for m in mine):
                    mine.append(v)
            self.of.append(mine)

    def fixed(self, made: Any) -> Variant:
        """A shape that stays where it is: what is missing of a sheet."""
        return self._variant(made, convex_parts(made), 0.0)

    def _variant(self, made: Any, parts: Sequence[Floats], deg: float) -> Variant:
        rings = [turn(shapely.get_coordinates(r), deg) for r in (made.exterior, *made.interiors)]
        corner = rings[0].min(axis=0)
        name = tuple(_canonical(r - corner) for r in rings)
        known = self._known.get(name)
        if known is not None and abs(known.corner_mm[0] - corner[0]) + abs(known.corner_mm[1] - corner[1]) < 1e-9 \
                and known.turn_deg == deg:  # fmt: skip
            return known
        size = rings[0].max(axis=0) - corner
        if known is None:
            key, moved = len(self._known), tuple(turn(p, deg) - corner for p in parts)
            shape = shapely.Polygon(rings[0] - corner, [r - corner for r in rings[1:]])
        else:
            key, moved, shape = known.key, known.parts, known.polygon
        v = Variant(
            key, deg, float(size[0]), float(size[1]), float(made.area), (float(corner[0]), float(corner[1])), shape,
            moved,
        )  # fmt: skip
        if known is None:
            self._known[name] = v
        return v


def _canonical(ring: Floats) -> bytes:
    """The same bytes for the same ring, wherever it starts."""
    points = np.round(ring[:-1], 4) + 0.0
    first = min(range(len(points)), key=lambda k: (points[k][0], points[k][1]))
    return np.roll(points, -first, axis=0).tobytes()


def convex_parts(made: Any) -> tuple[Floats, ...]:
    """Convex polygons that make up the shape: triangles, joined as long as they stay convex."""
    if not made.interiors and made.convex_hull.area - made.area <= 1e-9 * made.area:
        return (shapely.get_coordinates(made.exterior)[:-1],)
    left = list(shapely.constrained_delaunay_triangles(made).geoms)
    left.sort(key=lambda t: (-t.area, t.bounds))
    out: list[Any] = []
    while left:
        part = left.pop(0)
        again = True
        while again:
            again = False
            for k, other in enumerate(left):
                if not part.intersects(other):
                    continue
                both = part.union(other)
                if both.geom_type == "Polygon" and both.convex_hull.area - both.area <= 1e-9 * both.area:
                    part = both.convex_hull
                    del left[k]
                    again = True
                    break
        out.append(part)
    return tuple(shapely.get_coordinates(p.exterior)[:-1] for p in out)
