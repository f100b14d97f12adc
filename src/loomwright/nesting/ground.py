"""What pieces are laid on: one sheet after another along x, as a grid of places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.nesting.nofit import NoFit
from loomwright.nesting.shapes import Variant

Floats32 = NDArray[np.float32]
NEVER = np.float32(1e9)
_EDGE_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Area:
    """One sheet: where it starts along x (in steps), and its size; ``missing`` are shapes that lie in it already."""

    first: int
    length_mm: float
    width_mm: float
    missing: tuple[tuple[Variant, int, int], ...] = ()


class Ground:
    """Sheets side by side. Places are (column along x, row along y) in steps of the grid."""

    def __init__(self, areas: Sequence[Area], nofit: NoFit) -> None:
        self.areas, self.nofit, self.step = tuple(areas), nofit, nofit.step_mm
        self.rows = max(_last(f.width_mm, self.step) for f in areas) + 1
        self.columns = max(f.first + _last(f.length_mm, self.step) for f in areas) + 1
        self._never: dict[int, Floats32] = {}

    def never(self, v: Variant) -> Floats32:
        """0 where the shape lies inside a sheet, a very large number elsewhere."""
        if v.key not in self._never:
            out = np.full((self.columns, self.rows), NEVER, np.float32)
            for f in self.areas:
                i, j = _last(f.length_mm - v.width_mm, self.step), _last(f.width_mm - v.height_mm, self.step)
                if i >= 0 and j >= 0:
                    out[f.first : f.first + i + 1, : j + 1] = 0.0
            for f in self.areas:
                for shape, i, j in f.missing:
                    field = self.nofit.field(shape, v)
                    add(out, field.depth, i + field.i, j + field.j, 1.0)
            out[out > 0.0] = NEVER
            self._never[v.key] = out
        return self._never[v.key]

    def fits(self, v: Variant) -> bool:
        """Whether there is any place for the shape alone."""
        return bool((self.never(v) < 1.0).any())

    def area_at(self, column: int) -> int:
        """Which sheet a column belongs to."""
        return max(k for k, f in enumerate(self.areas) if f.first <= column)


def _last(room_mm: float, step: float) -> int:
    return int(np.floor((room_mm + _EDGE_MM) / step))


def add(out: Floats32, depth: Floats32, a: int, b: int, weight: float) -> None:
    """Add a field, its first place at (a, b), to a map, as far as it lies on it."""
    n, m = depth.shape
    a0, b0 = max(a, 0), max(b, 0)
    a1, b1 = min(a + n, out.shape[0]), min(b + m, out.shape[1])
    if a0 < a1 and b0 < b1:
        part = depth[a0 - a : a1 - a, b0 - b : b1 - b]
        out[a0:a1, b0:b1] += part if weight == 1.0 else part * np.float32(weight)
