"""Lengths and numbers of sheets that no layout can be below.

A line across the strip meets each piece in chords, a kerf apart, that are together no longer than its width. Any dual
feasible function f (Lueker 1983; Fekete and Schepers 2001) keeps the sum of f(chord / width) at or below 1, so the
length is at least the sum over the pieces of the integral of f along them; with f the identity that is area over width.
Each f is a solution of the dual of the linear programme that covers the strip with ways to fill a line across.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loomwright.nesting.model import Piece, Stock
from loomwright.nesting.shapes import polygon, turn

Floats = NDArray[np.float64]
SLICES = 8
_SAFE = 1e-9


def strip_mm(width_mm: float, pieces: Sequence[Piece], kerf_mm: float = 0.0) -> float:
    """The length of strip that the pieces take at least."""
    if not pieces:
        return 0.0
    room = width_mm + kerf_mm
    fits = [[t for t in dict.fromkeys(p.turns_deg) if _height(p, t) <= width_mm + 1e-6] for p in pieces]
    grown = sum(float(polygon(p.outer, p.holes).buffer(kerf_mm / 2.0, quad_segs=4).area) for p in pieces)
    best = grown / room - kerf_mm
    chords = [
        [_chords(p, t) for t in dict.fromkeys(t % 180.0 for t in turns)] for p, turns in zip(pieces, fits, strict=True)
    ]
    for f in _functions():
        least = [
            min(float((f(np.minimum((c + kerf_mm) / room, 1.0)) * dx).sum()) for dx, c in turns) for turns in chords
        ]
        best = max(best, sum(least))
    return max(best, *(min(_width(p, t) for t in turns) for p, turns in zip(pieces, fits, strict=True)))


def sheets(stock: Stock, pieces: Sequence[Piece], kerf_mm: float = 0.0) -> int:
    """How many such sheets are needed at least."""
    if not pieces:
        return 0
    long, wide = stock.width_mm - 2.0 * stock.margin_mm, stock.height_mm - 2.0 * stock.margin_mm
    fit = [p for p in pieces if any(_height(p, t) <= wide + 1e-6 and _width(p, t) <= long + 1e-6 for t in p.turns_deg)]
    if not fit:
        return 0
    length = strip_mm(wide, fit, kerf_mm)
    return max(1, math.ceil((length + kerf_mm) / (long + kerf_mm) - 1e-6))


def _functions() -> list[Callable[[Floats], Floats]]:
    shares = (0.1, 0.15, 0.2, 0.25, 0.3, 1.0 / 3.0, 0.35, 0.4, 0.45, 0.5)
    return [*(partial(_ends, share=e) for e in shares), *(partial(_rounded, k=k) for k in (1, 2, 3, 4, 5))]


def _ends(x: Floats, share: float) -> Floats:
    """Very long chords count as whole, very short ones as nothing."""
    return np.where(x > 1.0 - share + _SAFE, 1.0, np.where(x >= share + _SAFE, x, 0.0))


def _rounded(x: Floats, k: int) -> Floats:
    y = (k + 1) * x
    whole = np.abs(y - np.round(y)) < 1e-6
    return np.where(whole, np.minimum(x, np.floor(y + 1e-6) / k), np.floor(y) / k)


def _chords(piece: Piece, deg: float) -> tuple[Floats, Floats]:
    """Slices of the piece at a turn: how thick each is, and the least its chord across becomes in it.

    Between two corners each chord changes evenly, so the least is at one end of the slice.
    """
    rings = [turn(np.asarray(r, float), deg) for r in (piece.outer, *piece.holes)]
    ends = np.concatenate([np.hstack([r, np.roll(r, -1, axis=0)]) for r in rings])
    corners = np.unique(np.round(np.concatenate([r[:, 0] for r in rings]), 9))
    thick, least = [], []
    for x0, x1 in pairwise(corners):
        middle = (x0 + x1) / 2.0
        live = ends[(ends[:, 0] < middle) != (ends[:, 2] < middle)]
        xs = np.linspace(x0, x1, SLICES + 1)
        y = (
            live[:, 1, None]
            + (xs[None, :] - live[:, 0, None]) / (live[:, 2] - live[:, 0])[:, None] * (live[:, 3] - live[:, 1])[:, None]
        )
        y = y[np.argsort(y[:, SLICES // 2])]
        chord = y[1::2] - y[0::2]
        least.append(np.minimum(chord[:, :-1], chord[:, 1:]).ravel())
        thick.append(np.full(len(least[-1]), (x1 - x0) / SLICES))
    return np.concatenate(thick), np.maximum(np.concatenate(least), 0.0)


def _width(p: Piece, deg: float) -> float:
    x = turn(np.asarray(p.outer, float), deg)[:, 0]
    return float(x.max() - x.min())


def _height(p: Piece, deg: float) -> float:
    y = turn(np.asarray(p.outer, float), deg)[:, 1]
    return float(y.max() - y.min())
