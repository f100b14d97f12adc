"""Where one shape must not be, seen from another: no-fit polygons, and how deep each place on a grid lies in one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely  # type: ignore[import-untyped]
from numpy.typing import NDArray

from loomwright.nesting.shapes import Variant

EXACT_MM = 1e-6
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
    """No-fit polygons of pairs, each worked out once."""

    def __init__(self, step_mm: float) -> None:
        self.step_mm = step_mm
        self._polygons: dict[tuple[int, int], Any] = {}
        self._fields: dict[tuple[int, int], Field] = {}

    def polygon(self, still: Variant, moving: Variant) -> Any:
        """Places of the moving shape, from the corner of the one that stays, at which the two overlap: the inside."""
        key = still.key, moving.key
        if key not in self._polygons:
            other = self._polygons.get((moving.key, still.key))
            if other is not None:
                made = shapely.transform(other, np.negative)
            else:
                points, index, n = [], [], 0
                for a in still.parts:
                    for b in moving.parts:
                        sums = (a[:, None, :] - b[None, :, :]).reshape(-1, 2)
                        points.append(sums)
                        index.append(np.full(len(sums), n))
                        n += 1
                clouds = shapely.multipoints(np.concatenate(points), indices=np.concatenate(index))
                made = shapely.union_all(shapely.convex_hull(clouds))
            self._polygons[key] = made
        return self._polygons[key]

    def field(self, still: Variant, moving: Variant) -> Field:
        """Depth at each place of the moving shape, from the place of the one that stays."""
        key = still.key, moving.key
        found = self._fields.get(key)
        if found is None:
            other = self._fields.get((moving.key, still.key))
            found = other.turned() if other is not None else _field(self.polygon(still, moving), self.step_mm)
            self._fields[key] = found
        return found


def _field(made: Any, step: float) -> Field:
    import cv2

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
