"""Unlike circles in the smallest circle: what a bundle of wires measures across.

An optimiser of our own. Many starts at once are let go under a penalty for overlap while the circle around them
shrinks (minimise R + mu/2 x sum of squared overlaps, mu rising, by damped Gauss-Newton steps); the best are shaken
and let go again. While mu is low the circles slip past each other: which start is any good shows there, and only the
best quarter is followed further. That is done in single precision; at the end the best are settled once more in double,
and the centres drawn apart until nothing overlaps, so a result is never too small. The starts come from a fixed seed:
same diameters, same result.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.floating]

SEED = 20
COARSE = ((3.0, 14), (3_000.0, 7))
FINE = ((1_000.0, 8), (10_000.0, 12), (100_000.0, 16))
"""Stiffness of the penalty and steps at it, stage by stage: at most, from a start and at the end."""
ENOUGH = 3e-4
"""A step that gains less in every start is the last of its stage; in radii of the largest circle."""
ROUNDS = 8
STARTS, MANY = 24, 16
FEW = 4
PARTS_PER_MM = 1000
"""Diameters are rounded up to a thousandth of a millimetre."""


@dataclass(frozen=True, slots=True)
class Packing:
    """A packed bundle. ``centres_mm`` follow the diameters as given, seen from the middle of the bundle."""

    diameter_mm: float
    centres_mm: tuple[tuple[float, float], ...]


def pack(diameters_mm: Sequence[float]) -> Packing:
    """The smallest circle found around circles that may not overlap.

    Parameters
    ----------
    diameters_mm : sequence of float
        Diameters [mm], each above zero; in any order.

    Raises
    ------
    ValueError
        Where a diameter is not above zero.
    """
    if any(not (d > 0.0 and math.isfinite(d)) for d in diameters_mm):
        raise ValueError(f"diameters must be above 0 mm, got {list(diameters_mm)}")
    given = [math.ceil(round(d * PARTS_PER_MM, 6)) / PARTS_PER_MM for d in diameters_mm]
    order = sorted(range(len(given)), key=lambda k: (-given[k], k))
    radius, centres = _packed(tuple(given[k] for k in order))
    placed = dict(zip(order, centres, strict=True))
    return Packing(2.0 * radius, tuple(placed[k] for k in range(len(given))))


@lru_cache(maxsize=512)
def _packed(diameters_mm: tuple[float, ...]) -> tuple[float, tuple[tuple[float, float], ...]]:
    """Radius and centres [mm] for diameters that fall."""
    n = len(diameters_mm)
    if n == 0:
        return 0.0, ()
    if n == 1:
        return diameters_mm[0] / 2.0, ((0.0, 0.0),)
    scale = diameters_mm[0] / 2.0
    r = np.array(diameters_mm) / 2.0 / scale
    rng = np.random.default_rng(SEED)
    best = _settle(_starts(r, STARTS, rng), r, COARSE, np.float32)
    for _ in range(ROUNDS if n > 4 else 0):
        best = _best_of(best, _settle(_shaken(best[1], r, MANY, rng), r, COARSE, np.float32))
    best = _best_of(best, _settle(best[1][:FEW], r, FINE, np.float64))
    radius, centres = best[0][0], best[1][0]
    shown = tuple((float(x) * scale, float(y) * scale) for x, y in centres)
    return float(radius) * scale, shown


def _starts(r: Floats, many: int, rng: np.random.Generator) -> Floats:
    """Centres to begin with, (many, n, 2): thick ones inside, thick ones outside, and at random."""
    n = len(r)
    reach = 1.1 * math.sqrt(float(np.sum(r * r)))
    angle = 2.0 * np.pi * rng.random((many, n))
    share = np.sqrt(rng.random((many, n)))
    third = many // 3
    rank = np.sqrt((np.arange(n) + 0.5) / n)
    share[:third] = np.clip(rank + 0.15 * rng.standard_normal((third, n)), 0.0, 1.0)
    share[third : 2 * third] = np.clip(rank[::-1] + 0.15 * rng.standard_normal((third, n)), 0.0, 1.0)
    return np.asarray(reach * share[..., None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1))


def _shaken(centres: Floats, r: Floats, many: int, rng: np.random.Generator) -> Floats:
    """Variants of the best few: two circles change places, or one goes elsewhere; (many, n, 2)."""
    n = len(r)
    few = min(FEW, len(centres))
    out = np.array([centres[k % few] for k in range(many)])
    for k in range(many):
        reach = float(np.max(np.hypot(out[k, :, 0], out[k, :, 1]) + r))
        for _ in range(1 + k % 3):
            i, j = rng.integers(0, n, 2)
            if k % 2 and r[i] != r[j]:
                out[k, [i, j]] = out[k, [j, i]]
            else:
                # Small ones move more often: they are what rattles.
                i = max(int(i), int(rng.integers(0, n)))
                angle, share = 2.0 * np.pi * rng.random(), np.sqrt(rng.random())
                out[k, i] = reach * share * np.array([np.cos(angle), np.sin(angle)])
    return out + 0.02 * rng.standard_normal(out.shape)


def _best_of(a: tuple[Floats, Floats], b: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    radii = np.concatenate([a[0], b[0]])
    centres = np.concatenate([a[1], b[1]])
    order = np.argsort(radii, kind="stable")[: 2 * FEW]
    return radii[order], centres[order]


def _settle(
    centres: Floats, r: Floats, stages: Sequence[tuple[float, int]], precision: type[np.floating]
) -> tuple[Floats, Floats]:
    """Let starts go: radii (S,), rising, and centres (S, n, 2) without any overlap. Most are dropped after a stage."""
    many, n, _ = centres.shape
    z = np.empty((many, 2 * n + 1), precision)
    z[:, :n], z[:, n:-1] = centres[..., 0], centres[..., 1]
    z[:, -1] = np.max(np.hypot(centres[..., 0], centres[..., 1]) + r, axis=1)
    for stage, (stiffness, steps) in enumerate(stages):
        z, value = _relax(z, r.astype(precision), stiffness, steps)
        if stage == 0 and stages is not FINE:
            z = z[np.argsort(value, kind="stable")[: max(2, len(z) // 4)]]
    return _apart(np.stack([z[:, :n], z[:, n:-1]], axis=-1).astype(np.float64), r)


def _relax(z: Floats, r: Floats, stiffness: float, steps: int) -> tuple[Floats, Floats]:
    """Damped Gauss-Newton steps at one stiffness, every start by itself; with the value reached."""
    damping = np.full(len(z), 1e-2 * stiffness, z.dtype)
    value, slope, bend = _energy(z, r, stiffness)
    unknowns = z.shape[1]
    for _ in range(steps):
        lifted = bend.copy()
        lifted.reshape(len(z), -1)[:, :: unknowns + 1] += damping[:, None]
        step = np.linalg.solve(lifted, -slope[..., None])[..., 0]
        long = np.abs(step).max(axis=1, keepdims=True)
        step *= np.minimum(1.0, 0.6 / np.maximum(long, 1e-12))
        tried = z + step
        after, after_slope, after_bend = _energy(tried, r, stiffness)
        better = after < value
        gained = float(np.max(value - after))
        z[better], slope[better], bend[better] = tried[better], after_slope[better], after_bend[better]
        value[better] = after[better]
        if 0.0 <= gained < ENOUGH:
            break
        damping = np.clip(np.where(better, damping * 0.25, damping * 6.0), 1e-6 * stiffness, 10.0 * stiffness)
    return z, value


def _energy(z: Floats, r: Floats, stiffness: float) -> tuple[Floats, Floats, Floats]:
    """R plus the penalty, its slope and its Gauss-Newton curvature: (S,), (S, m), (S, m, m).

    The unknowns are all x, all y, then R: m = 2 n + 1.
    """
    n = len(r)
    x, y, big = z[:, :n], z[:, n:-1], z[:, -1]
    across, up = x[:, :, None] - x[:, None, :], y[:, :, None] - y[:, None, :]
    distance = np.sqrt(across * across + up * up) + 1e-12
    reach = r[:, None] + r
    reach.flat[:: n + 1] = 0.0  # no circle laps itself
    lap = np.maximum(reach - distance, 0.0)
    across /= distance
    up /= distance
    out = np.sqrt(x * x + y * y) + 1e-12
    over = np.maximum(out + r - big[:, None], 0.0)
    ray_x, ray_y = x / out, y / out
    value = big + 0.5 * stiffness * (0.5 * np.einsum("kij,kij->k", lap, lap) + np.einsum("ki,ki->k", over, over))
    slope = np.empty_like(z)
    slope[:, :n] = stiffness * (over * ray_x - np.einsum("kij,kij->ki", lap, across))
    slope[:, n:-1] = stiffness * (over * ray_y - np.einsum("kij,kij->ki", lap, up))
    slope[:, -1] = 1.0 - stiffness * over.sum(axis=1)
    touch = (lap > 0.0) * z.dtype.type(-stiffness)
    wall = (over > 0.0) * z.dtype.type(stiffness)
    bend = np.empty((len(z), 2 * n + 1, 2 * n + 1), z.dtype)
    along = touch * across
    for rows, columns, block, rays in (
        (0, 0, along * across, ray_x * ray_x),
        (0, n, along * up, ray_x * ray_y),
        (n, n, touch * up * up, ray_y * ray_y),
    ):  # fmt: skip
        block.reshape(len(z), -1)[:, :: n + 1] = wall * rays - block.sum(axis=2)
        bend[:, rows : rows + n, columns : columns + n] = block
        if rows != columns:
            bend[:, columns : columns + n, rows : rows + n] = block
    bend[:, :n, -1] = bend[:, -1, :n] = -wall * ray_x
    bend[:, n:-1, -1] = bend[:, -1, n:-1] = -wall * ray_y
    bend[:, -1, -1] = wall.sum(axis=1)
    return value, slope, bend


def _apart(c: Floats, r: Floats) -> tuple[Floats, Floats]:
    """Centres drawn apart, or together, until the tightest pair just touches; with the radius around them, rising."""
    n = len(r)
    i, j = np.triu_indices(n, 1)
    gap = np.sqrt(np.sum((c[:, i] - c[:, j]) ** 2, axis=-1))
    factor = np.max((r[i] + r[j]) / np.maximum(gap, 1e-9), axis=1) * (1.0 + 1e-12)
    c = c * factor[:, None, None]
    radius = np.max(np.sqrt(np.sum(c * c, axis=-1)) + r, axis=1)
    order = np.argsort(radius, kind="stable")
    return radius[order], c[order]
