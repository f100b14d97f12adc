"""Where one shape must not be, seen from another: no-fit polygons, and how deep each place on a grid lies in one."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely  # type: ignore[import-untyped]
from numpy.typing import NDArray

from loomwright.nesting.shapes import Variant

EXACT_MM = 1e-6
Floats = NDArray[np.float64]
Floats32 = NDArray[np.float32]
STRIDE = 4
"""The first look is at every so manieth place of the grid."""


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """Depth [mm] at each place of the grid from (i, j) on; 0 wherever two shapes do not overlap.

    ``coarse`` is the same at every fourth place only, for each of the places to begin at.
    """

    i: int
    j: int
    depth: Floats32
    coarse: tuple[tuple[Floats32, ...], ...]

    @classmethod
    def of(cls, i: int, j: int, depth: Floats32) -> Field:
        """With its coarse copies."""
        some = range(STRIDE)
        return cls(i, j, depth, tuple(
            tuple(np.ascontiguousarray(depth[p::STRIDE, q::STRIDE]) for q in some) for p in some
        ))  # fmt: skip

    def turned(self) -> Field:
        """The same seen from the other shape."""
        n, m = self.depth.shape
        return Field.of(1 - self.i - n, 1 - self.j - m, np.ascontiguousarray(self.depth[::-1, ::-1]))


class NoFit:
    """No-fit polygons of pairs, each worked out once.

    ``loose_mm`` is how deep two shapes may overlap on the grid before it counts: less than what is put right later.
    """

    def __init__(self, step_mm: float, loose_mm: float = 0.0) -> None:
        self.step_mm, self.loose_mm = step_mm, loose_mm
        self._parts: dict[tuple[int, int], tuple[Any, ...]] = {}
        self._lines: dict[tuple[int, int], tuple[Floats, ...]] = {}
        self._fields: dict[tuple[int, int], Field] = {}

    def parts(self, still: Variant, moving: Variant) -> tuple[Any, ...]:
        """Convex polygons whose union is the no-fit polygon, one for each pair of convex parts."""
        key = still.key, moving.key
        if key not in self._parts:
            points: list[Floats] = []
            index: list[NDArray[np.int64]] = []
            for a in still.parts:
                for b in moving.parts:
                    sums = (a[:, None, :] - b[None, :, :]).reshape(-1, 2)
                    points.append(sums)
                    index.append(np.full(len(sums), len(index)))
            clouds = shapely.multipoints(np.concatenate(points), indices=np.concatenate(index))
            self._parts[key] = tuple(shapely.orient_polygons(shapely.convex_hull(clouds)))
        return self._parts[key]

    def sides(
        self, still: Variant, moving: Variant, dx: float, dy: float, reach: float
    ) -> Iterator[tuple[float, float, float]]:
        """For each pair of convex parts the line that keeps them apart best at (dx, dy): n . d >= c.

        Parts that are farther apart than ``reach`` are left out.
        """
        key = still.key, moving.key
        if key not in self._lines:
            self._lines[key] = tuple(_normals(p) for p in self.parts(still, moving))
        for lines in self._lines[key]:
            away = lines[:, 0] * dx + lines[:, 1] * dy - lines[:, 2]
            k = int(away.argmax())
            if away[k] < reach:
                yield float(lines[k, 0]), float(lines[k, 1]), float(lines[k, 2])

    def field(self, still: Variant, moving: Variant) -> Field:
        """Depth at each place of the moving shape, from the place of the one that stays."""
        key = still.key, moving.key
        found = self._fields.get(key)
        if found is None:
            other = self._fields.get((moving.key, still.key))
            if other is None:
                made = shapely.union_all(self.parts(still, moving))
                found = _field(made.buffer(-self.loose_mm) if self.loose_mm else made, self.step_mm)
            else:
                found = other.turned()
            self._fields[key] = found
        return found


def _normals(part: Any) -> Floats:
    """Outward unit normals of a convex polygon and how far each side lies along its own."""
    points = shapely.get_coordinates(part.exterior)
    along = np.diff(points, axis=0)
    long = np.hypot(along[:, 0], along[:, 1])
    keep = long > 1e-9
    nx, ny = along[keep, 1] / long[keep], -along[keep, 0] / long[keep]
    if part.exterior.is_ccw is False:
        nx, ny = -nx, -ny
    return np.stack([nx, ny, nx * points[:-1][keep, 0] + ny * points[:-1][keep, 1]], axis=1)


def _field(made: Any, step: float) -> Field:
    import cv2

    if made.is_empty:
        return Field.of(0, 0, np.zeros((0, 0), np.float32))
    left, top, right, bottom = made.bounds
    i0, i1 = math.ceil((left + EXACT_MM) / step), math.floor((right - EXACT_MM) / step)
    j0, j1 = math.ceil((top + EXACT_MM) / step), math.floor((bottom - EXACT_MM) / step)
    if i1 < i0 or j1 < j0:
        return Field.of(i0, j0, np.zeros((0, 0), np.float32))
    rows = np.arange(i0, i1 + 1) * step
    rings = [r for p in getattr(made, "geoms", [made]) for r in (p.exterior, *p.interiors)]
    edges = np.concatenate([
        np.hstack([c[:-1], c[1:]]) for c in (shapely.get_coordinates(r) for r in rings)
    ])  # fmt: skip
    inside = _scan(edges, rows - EXACT_MM, j0, j1, step) & _scan(edges, rows + EXACT_MM, j0, j1, step)
    padded = np.pad(inside.astype(np.uint8), 1)
    depth = cv2.distanceTransform(padded, cv2.DIST_L2, 5)[1:-1, 1:-1] * np.float32(step)
    return Field.of(i0, j0, np.ascontiguousarray(np.where(inside, depth, 0.0), np.float32))


def _scan(edges: NDArray[np.float64], at: NDArray[np.float64], j0: int, j1: int, step: float) -> NDArray[np.bool_]:
    """Which places on lines of constant x lie inside, by the crossings of the rim."""
    xa, xb = edges[:, 0][None, :], edges[:, 2][None, :]
    x = at[:, None]
    crossing = (xa <= x) != (xb <= x)
    line, edge = np.nonzero(crossing)
    t = (at[line] - edges[edge, 0]) / (edges[edge, 2] - edges[edge, 0])
    y = edges[edge, 1] + t * (edges[edge, 3] - edges[edge, 1])
    order = np.lexsort((y, line))
    line, y = line[order], y[order]
    counts = np.bincount(line, minlength=len(at))
    first = np.concatenate([[0], np.cumsum(counts)[:-1]])
    rank = np.arange(len(line)) - first[line]
    entering = rank % 2 == 0
    # strictly inside: after where it enters, before where it leaves
    column = np.where(
        entering, np.ceil((y + EXACT_MM) / step), np.floor((y - EXACT_MM) / step) + 1
    ).astype(np.int64) - j0  # fmt: skip
    flips = np.zeros((len(at), j1 - j0 + 2), np.int32)
    np.add.at(flips, (line, np.clip(column, 0, j1 - j0 + 1)), np.where(entering, 1, -1))
    return np.cumsum(flips, axis=1)[:, :-1] > 0
