"""The search: pieces are laid one by one, then overlaps are driven out on less and less ground.

A move looks at every place on the grid and every turn, and takes the one with the least weighted depth; pairs that stay
overlapped weigh more each time round. The work is counted, not timed: same input, same layout.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.nesting.ground import NEVER, Ground, add
from loomwright.nesting.nofit import STRIDE, NoFit
from loomwright.nesting.shapes import Variant

Floats = NDArray[np.float64]
Floats32 = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class At:
    """A piece at a place: which turn, which column and row."""

    turn: int
    i: int
    j: int


class Work:
    """Moves that may still be looked at."""

    def __init__(self, moves: int) -> None:
        self.left = moves

    def take(self) -> bool:
        """One less; False where none is left."""
        self.left -= 1
        return self.left >= 0


class Board:
    """Pieces on the ground, overlapping or not."""

    def __init__(self, ground: Ground, of: Sequence[Sequence[Variant]], nofit: NoFit) -> None:
        self.ground, self.of, self.nofit = ground, of, nofit
        self.at: list[At | None] = [None] * len(of)

    def variant(self, k: int) -> Variant:
        """A piece as it lies."""
        at = self.at[k]
        assert at is not None
        return self.of[k][at.turn]

    def depth(self, a: int, b: int) -> float:
        """How deep two pieces overlap [mm]."""
        pa, pb = self.at[a], self.at[b]
        if pa is None or pb is None:
            return 0.0
        field = self.nofit.field(self.variant(a), self.variant(b))
        i, j = pb.i - pa.i - field.i, pb.j - pa.j - field.j
        if 0 <= i < field.depth.shape[0] and 0 <= j < field.depth.shape[1]:
            return float(field.depth[i, j])
        return 0.0

    def best(self, k: int, weights: Floats | None = None, rng: random.Random | None = None) -> tuple[float, At] | None:
        """The least weighted depth that a piece can have, and where; the leftmost such place.

        Every fourth place is looked at, then every place near the best of them.
        """
        found: tuple[float, float, At] | None = None
        row = None if weights is None else weights[k].tolist()
        others = [
            (at.i, at.j, self.of[b][at.turn], 1.0 if row is None else row[b])
            for b, at in enumerate(self.at) if at is not None and b != k
        ]  # fmt: skip
        for t, v in enumerate(self.of[k]):
            never = self.ground.never(v)
            coarse = never[::STRIDE, ::STRIDE].copy()
            near = []
            for i, j, o, w in others:
                field = self.nofit.field(o, v)
                a, b = i + field.i, j + field.j
                add(coarse, field.coarse[-a % STRIDE][-b % STRIDE], -(-a // STRIDE), -(-b // STRIDE), w)
                near.append((a, b, field.depth, w))
            flat = coarse.ravel()
            some = [int(flat.argmin())] if rng is None else [rng.randrange(len(flat))]
            for n in some:
                if flat[n] >= NEVER:
                    break
                ci, cj = divmod(n, coarse.shape[1])
                value, i, j = _refined(never, near, ci * STRIDE, cj * STRIDE)
                reach = i * self.ground.step + v.width_mm
                if found is None or (value, reach) < (found[0], found[1]):
                    found = value, reach, At(t, i, j)
        return None if found is None else (found[0], found[2])

    def lay(self, order: Sequence[int]) -> list[int]:
        """Lay pieces one by one, each as far to the left as it goes; returns those without a place."""
        out = []
        for k in order:
            self.at[k] = None
            found = self.best(k)
            if found is None or found[0] > 0.0:
                out.append(k)
            else:
                self.at[k] = found[1]
        return out


def _refined(
    never: Floats32, fields: Sequence[tuple[int, int, Floats32, float]], i: int, j: int
) -> tuple[float, int, int]:
    """The best place in a small window round another; the leftmost of equals."""
    i0, j0 = max(i - STRIDE, 0), max(j - STRIDE, 0)
    window = never[i0 : i + STRIDE + 1, j0 : j + STRIDE + 1].copy()
    n, m = window.shape
    for a, b, depth, w in fields:
        if a < i0 + n and b < j0 + m and a + depth.shape[0] > i0 and b + depth.shape[1] > j0:
            add(window, depth, a - i0, b - j0, w)
    best = int(window.argmin())
    di, dj = divmod(best, m)
    return float(window.flat[best]), i0 + di, j0 + dj


def by_size(of: Sequence[Sequence[Variant]]) -> list[int]:
    """Large pieces first."""
    return sorted(range(len(of)), key=lambda k: (-of[k][0].area_mm2, k))


def separate(board: Board, work: Work, rng: random.Random, patience: int = 60) -> bool:
    """Drive the overlaps out; False where patience or work is at its end: the least overlapped is kept then."""
    n = len(board.of)
    weights = np.ones((n, n))
    for k in range(n):
        if board.at[k] is None:
            found = board.best(k)
            if found is None:
                return False
            board.at[k] = found[1]
    depths = np.zeros((n, n))
    for a in range(n):
        for b in range(a):
            depths[a, b] = depths[b, a] = board.depth(a, b)
    least, since, kept = float("inf"), 0, list(board.at)
    while True:
        total = float(depths.sum())
        if total <= 0.0:
            return True
        if total < least:
            since = 0 if total < 0.98 * least else since + 1
            least, kept = total, list(board.at)
        else:
            since += 1
        if since > patience:
            board.at = kept
            return False
        hit = [k for k in range(n) if depths[k].any()]
        rng.shuffle(hit)
        for k in hit:
            if not depths[k].any():
                continue
            if not work.take():
                board.at = kept
                return False
            now = float((weights[k] * depths[k]).sum())
            found = board.best(k, weights)
            if found is not None and found[0] < now:
                board.at[k] = found[1]
                for b in range(n):
                    depths[k, b] = depths[b, k] = board.depth(k, b) if b != k else 0.0
        worst = depths.max()
        if worst > 0.0:
            weights = np.where(depths > 0.0, weights * (1.2 + 0.8 * depths / worst), np.maximum(1.0, weights * 0.95))
