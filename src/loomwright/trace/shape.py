"""From points along a rim to the fewest lines and arcs that keep to them within their noise.

All ways to cut the ring are weighed at once: each piece costs its squared residuals over the noise, and a fixed price
that pays for its numbers (a line two, an arc three); the cheapest ring wins.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from loomwright.trace.camera import Array

NOISE_MM = 0.2
LINE_PRICE, ARC_PRICE = 18.0, 26.0
TRIM = 2
"""Points at each end of a piece that do not count: a rim is rounded there by the way it is looked at."""
LEAST_RADIUS_MM, MOST_RADIUS_MM = 2.0, 2500.0
TOUCH_MM = 0.4
"""A line that passes a circle, or cuts into it, by no more than this touches it."""
MOST_AT_ONCE = 60_000
_LEAST = 3


@dataclass(frozen=True, slots=True)
class Line:
    """A straight carrier: a point and a unit direction, in the sense of the ring."""

    at: tuple[float, float]
    way: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Circle:
    """A round carrier; ``clockwise`` in x right, y down is positive."""

    centre: tuple[float, float]
    radius_mm: float
    clockwise: bool


Carrier = Line | Circle


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of ring from one breakpoint to the next, by the index of the points."""

    first: int
    last: int
    kind: Literal["line", "arc"]


def cut(points: Array, known: npt.NDArray[np.bool_] | None = None) -> tuple[Piece, ...]:
    """The pieces of a closed ring; ``last`` may run past the end of the points. One piece stands for a whole circle.

    Points that are not ``known`` bind nothing: a sheet lies over them.
    """
    n = len(points)
    weights = np.ones(n) if known is None else known.astype(float)
    spacing = float(np.median(np.linalg.norm(np.diff(points, axis=0), axis=1)))
    noise_mm = NOISE_MM if spacing > 1.0 else 0.6 * NOISE_MM
    sure = points[weights > 0.0]
    whole = circle_through(sure) if len(sure) > 0.7 * n else None
    if whole is not None:
        away = np.abs(np.linalg.norm(sure - whole.centre, axis=1) - whole.radius_mm)
        if float(np.sqrt((away**2).mean())) < max(1.5 * noise_mm, 0.02 * whole.radius_mm) and whole.radius_mm < 400.0:
            return (Piece(0, n, "arc"),)
    first = _sharpest(points)
    breaks = _best(np.roll(points, -first, axis=0), np.roll(weights, -first), noise_mm, 1 if n < 120 else 4)
    if len(breaks) > 2:
        # once more from a breakpoint in the middle, so that the first guess has no say
        turn = breaks[len(breaks) // 2].first
        first = (first + turn) % n
        breaks = _best(np.roll(points, -first, axis=0), np.roll(weights, -first), noise_mm, 1 if n < 300 else 3)
    return tuple(Piece(first + p.first, first + p.last, p.kind) for p in breaks)


def _sharpest(points: Array) -> int:
    k = max(2, min(6, len(points) // 8))
    back, ahead = points - np.roll(points, k, axis=0), np.roll(points, -k, axis=0) - points
    cross = back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0]
    return int(np.argmax(np.abs(np.arctan2(cross, (back * ahead).sum(axis=1)))))


def _best(points: Array, weights: Array, noise: float, every_nth: int) -> list[Piece]:
    ring = np.vstack([points, points[:1]])
    ring = ring - points.mean(axis=0)
    n = len(ring)
    x, y = ring[:, 0], ring[:, 1]
    z = x * x + y * y
    columns = np.stack([np.ones(n), x, y, x * x, x * y, y * y, x * z, y * z, z * z])
    columns *= np.append(weights, weights[0])
    sums = np.zeros((9, n + 1))
    np.cumsum(columns, axis=1, out=sums[:, 1:])
    every = np.arange(0, n, every_nth)
    if every[-1] != n - 1:
        every = np.append(every, n - 1)
    cost = np.full(len(every), np.inf)
    cost[0] = 0.0
    back: dict[int, tuple[int, Literal["line", "arc"]]] = {}
    starts = np.searchsorted(every, every - _LEAST, side="left")  # so many places a piece to here may start at
    chunk = 0
    for last in _chunks(starts):
        firsts = starts[chunk:last]
        j = np.repeat(every[chunk:last], firsts)
        i = every[np.arange(len(j)) - np.repeat(np.cumsum(firsts) - firsts, firsts)]
        trim = np.minimum(TRIM, (j - i - _LEAST + 1) // 2)
        line, arc = _costs(sums.take(j + 1 - trim, axis=1) - sums.take(i + trim, axis=1))
        by_line, by_arc = line / noise**2 + LINE_PRICE, arc / noise**2 + ARC_PRICE
        price = np.minimum(by_line, by_arc)
        at = 0
        for k, many in enumerate(firsts, chunk):
            if not many:
                continue
            total = cost[:many] + price[at : at + many]
            best = int(total.argmin())
            if total[best] < np.inf:
                cost[k], back[k] = total[best], (best, "line" if by_line[at + best] <= by_arc[at + best] else "arc")
            at += int(many)
        chunk = last
    out: list[Piece] = []
    k = len(every) - 1
    while k in back:
        start, kind = back[k]
        out.append(Piece(int(every[start]), int(every[k]), kind))
        k = start
    return out[::-1]


def _chunks(starts: npt.NDArray[np.int64]) -> Iterator[int]:
    """Where to stop working out pieces at once, so that memory stays small."""
    held = 0
    for k, many in enumerate(starts):
        if held + many > MOST_AT_ONCE and held:
            yield k
            held = 0
        held += int(many)
    yield len(starts)


def _costs(s: Array) -> tuple[Array, Array]:
    """Sum of squared distances to the best line and to the best circle, from the sums of powers."""
    n, sx, sy, sxx, sxy, syy, sxz, syz, szz = s
    n = np.maximum(n, 1e-9)
    mx, my = sx / n, sy / n
    cxx, cxy, cyy = sxx - n * mx * mx, sxy - n * mx * my, syy - n * my * my
    half, root = (cxx + cyy) / 2.0, np.sqrt(((cxx - cyy) / 2.0) ** 2 + cxy**2)
    line = np.maximum(half - root, 0.0)
    sz = sxx + syy
    cxz, cyz, czz = sxz - mx * sz, syz - my * sz, szz - sz * sz / n
    det = np.maximum(cxx * cyy - cxy**2, 1e-9)
    u, v = (cxz * cyy - cyz * cxy) / det, (cyz * cxx - cxz * cxy) / det
    rest = np.maximum(czz - u * cxz - v * cyz, 0.0)
    a, b = u / 2.0, v / 2.0
    r2 = (sz - u * sx - v * sy) / n + a * a + b * b
    ok = (r2 > LEAST_RADIUS_MM**2) & (r2 < MOST_RADIUS_MM**2)
    arc = np.where(ok, rest / np.maximum(4.0 * r2, 1e-9), np.inf)
    # an arc must be worth its name: bent by more than a hair over its length
    spread = np.sqrt(np.maximum(half + root, 0.0) * 12.0 / n)
    bend = spread**2 / (8.0 * np.sqrt(np.maximum(r2, 1e-9)))
    return line, np.where(bend > 0.25, arc, np.inf)


def line_through(points: Array, weights: Array | None = None) -> Line:
    """The line of least squared distances, in the sense of the points."""
    w = np.ones(len(points)) if weights is None else weights
    mean = (points * w[:, None]).sum(axis=0) / w.sum()
    away = points - mean
    (xx, xy), (_, yy) = ((away.T * w) @ away).tolist()
    turn = 0.5 * math.atan2(2.0 * xy, xx - yy)
    way = np.array([math.cos(turn), math.sin(turn)])
    if float(way @ (points[-1] - points[0])) < 0.0:
        way = -way
    return Line((float(mean[0]), float(mean[1])), (float(way[0]), float(way[1])))


def circle_through(points: Array, weights: Array | None = None, start: Circle | None = None) -> Circle | None:
    """The circle of least squared distances (algebraic first, or from a start, then geometric); None for none."""
    w = np.ones(len(points)) if weights is None else weights
    middle = points.mean(axis=0)
    p = points - middle
    if start is not None:
        state = np.array([start.centre[0] - middle[0], start.centre[1] - middle[1], start.radius_mm])
    else:
        size = max(float(np.abs(p).max()), 1e-9)
        answer = _answer(np.column_stack([2.0 * p / size, np.ones(len(p))]), (p * p).sum(axis=1) / size**2, w)
        r2 = float(answer[2] + answer[0] ** 2 + answer[1] ** 2) * size**2
        if not r2 > 0.0 or not math.isfinite(r2):
            return None
        state = np.array([answer[0] * size, answer[1] * size, math.sqrt(r2)])
    for _ in range(10):
        away = p - state[:2]
        d = np.maximum(np.linalg.norm(away, axis=1), 1e-9)
        step = _answer(np.column_stack([away / d[:, None], np.ones(len(p))]), d - state[2], w)
        state = state + step
        if float(np.abs(step).max()) < 1e-7:
            break
    if not 0.3 < state[2] < 1e5:
        return None
    a, b, c = points[0] - middle - state[:2], points[len(p) // 2] - middle - state[:2], points[-1] - middle - state[:2]
    turn = (a[0] * b[1] - a[1] * b[0]) + (b[0] * c[1] - b[1] * c[0])
    if len(points) > 8:
        q = p - state[:2]
        turn = float((q[:-1, 0] * q[1:, 1] - q[:-1, 1] * q[1:, 0]).sum())
    return Circle((float(state[0] + middle[0]), float(state[1] + middle[1])), float(state[2]), bool(turn > 0.0))


def _answer(design: Array, wanted: Array, weights: Array) -> Array:
    """Least squares, for few columns of like size."""
    left = design.T * weights
    try:
        out = np.linalg.solve(left @ design, left @ wanted)
    except np.linalg.LinAlgError:
        root = np.sqrt(weights)
        out, *_ = np.linalg.lstsq(design * root[:, None], wanted * root, rcond=None)
    return np.asarray(out, np.float64)


def joint(before: Carrier, after: Carrier, near: tuple[float, float]) -> tuple[float, float]:
    """Where two carriers meet, nearest to a point; where they only touch or just miss, the middle of the gap."""
    at = np.asarray(near)
    if isinstance(before, Line) and isinstance(after, Line):
        cross = before.way[0] * after.way[1] - before.way[1] * after.way[0]
        if abs(cross) < 0.03:
            both = [_foot(before, at), _foot(after, at)]
            middle = (both[0] + both[1]) / 2.0
            return float(middle[0]), float(middle[1])
        gap = np.asarray(after.at) - before.at
        t = (gap[0] * after.way[1] - gap[1] * after.way[0]) / cross
        return float(before.at[0] + t * before.way[0]), float(before.at[1] + t * before.way[1])
    if isinstance(before, Circle) and isinstance(after, Circle):
        c1, c2 = np.asarray(before.centre), np.asarray(after.centre)
        d = float(np.linalg.norm(c2 - c1))
        if d < 1e-6:
            middle = (_foot(before, at) + _foot(after, at)) / 2.0
            return float(middle[0]), float(middle[1])
        a = (before.radius_mm**2 - after.radius_mm**2 + d * d) / (2.0 * d)
        h2 = before.radius_mm**2 - a * a
        base, across = c1 + a * (c2 - c1) / d, np.array([c1[1] - c2[1], c2[0] - c1[0]]) / d
        return _nearest(base, across, h2, at, (before, after))
    line, circle = (before, after) if isinstance(before, Line) else (after, before)
    assert isinstance(line, Line)
    assert isinstance(circle, Circle)
    way = np.asarray(line.way)
    base = np.asarray(line.at) + float((np.asarray(circle.centre) - line.at) @ way) * way
    h2 = circle.radius_mm**2 - float(((base - circle.centre) ** 2).sum())
    return _nearest(base, way, h2, at, (before, after))


def _nearest(base: Array, across: Array, h2: float, at: Array, both: tuple[Carrier, Carrier]) -> tuple[float, float]:
    """Of the two meeting points the nearer one; the touching point where they hardly meet."""
    radius = min(c.radius_mm for c in both if isinstance(c, Circle))
    if h2 < 2.0 * radius * TOUCH_MM:
        return float(base[0]), float(base[1])
    h = math.sqrt(h2)
    choices = [base + h * across, base - h * across]
    best = min(choices, key=lambda p: float(np.linalg.norm(p - at)))
    return float(best[0]), float(best[1])


def _foot(carrier: Carrier, at: Array) -> Array:
    if isinstance(carrier, Line):
        way = np.asarray(carrier.way)
        out: Array = np.asarray(carrier.at) + float((at - carrier.at) @ way) * way
        return out
    away = at - carrier.centre
    rounded: Array = np.asarray(carrier.centre) + away * (carrier.radius_mm / max(float(np.linalg.norm(away)), 1e-9))
    return rounded


def bulge(start: tuple[float, float], end: tuple[float, float], circle: Circle) -> float:
    """Tangent of a quarter of the arc's angle; positive turns clockwise in x right, y down."""
    a, b = np.asarray(start) - circle.centre, np.asarray(end) - circle.centre
    angle = math.atan2(float(a[0] * b[1] - a[1] * b[0]), float(a @ b))
    if circle.clockwise and angle <= 0.0:
        angle += 2.0 * math.pi
    if not circle.clockwise and angle >= 0.0:
        angle -= 2.0 * math.pi
    return math.tan(angle / 4.0)
