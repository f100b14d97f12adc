"""Pieces of a rim that are no sides: blurred corners, and short stretches that strayed from a side that goes on."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from loomwright.trace import shape
from loomwright.trace.astray import poor
from loomwright.trace.camera import Array
from loomwright.trace.measure import Measured
from loomwright.trace.shape import Carrier, Circle, Line, Piece

CORNER_MM, STRAY_MM = 1.8, 2.2
"""So near to the rim two sides meet where nothing lies between them; so far a stretch of one side strays."""
FAR_MM, SHORT_MM = 10.0, 5.0
CORNER_LONG_MM, STRAY_LONG_MM = 25.0, 90.0
MOST_PIECES, MOST_WEAK = 4, 8
COLLINEAR_MM = 0.12
"""Two parts of a side lie as near to one line, and up to so many pieces between them tell nothing."""
UNSURE, TINY_MM = 0.3, 6.0
"""An arc whose radius is known no better than to this part of it may be no arc, nor one so small."""


def pruned(
    points: Array, pieces: tuple[Piece, ...], found: list[Measured], goes_on: Callable[[Line, Array], bool]
) -> tuple[Array, tuple[Piece, ...], list[Measured]]:
    """The same without what is no side, shortest stretches first; points that left a straight side are put back on it.

    ``goes_on`` says whether there is an edge on a straight side beside a stretch of rim that left it.
    """
    now, kept = list(pieces), list(found)
    while len(now) > 3:
        runs = [
            (_length(points, now, k, m), k, m)
            for m in range(1, min(MOST_WEAK, len(now) - 2) + 1)
            for k in range(len(now))
        ]
        for long, k, m in sorted(runs):
            if _idle(points, now, kept, k, m, long, goes_on):
                points = _straight(points, now, kept, k, m)
                now, kept = _without(now, kept, k, m, len(points))
                break
        else:
            break
    return points, tuple(now), kept


def _length(points: Array, pieces: list[Piece], k: int, m: int) -> float:
    run = _run(points, pieces, k, m)
    return float(np.linalg.norm(np.diff(run, axis=0), axis=1).sum())


def _run(points: Array, pieces: list[Piece], k: int, m: int) -> Array:
    first = pieces[k].first
    count = sum(pieces[(k + i) % len(pieces)].last - pieces[(k + i) % len(pieces)].first for i in range(m))
    out: Array = points[np.arange(first, first + count + 1) % len(points)]
    return out


def _idle(
    points: Array,
    pieces: list[Piece],
    found: list[Measured],
    k: int,
    m: int,
    long: float,
    goes_on: Callable[[Line, Array], bool],
) -> bool:
    """Whether the sides before and after a run do without it."""
    n = len(pieces)
    before, after = found[k - 1].carrier, found[(k + m) % n].carrier
    sides = _length(points, pieces, (k - 1) % n, 1), _length(points, pieces, (k + m) % n, 1)
    run = _run(points, pieces, k, m)
    inside = [found[(k + i) % n] for i in range(m)]
    if _one_way(before, after) and sum(sides) > long and all(poor(f) for f in inside):
        line = _both(found[k - 1], found[(k + m) % n])
        held = np.concatenate([_away(line, found[i % n].points) for i in (k - 1, k + m)])
        if float(np.abs(_away(line, run)).max()) < FAR_MM and float(np.median(np.abs(held))) < COLLINEAR_MM:
            return True  # nothing is known between two parts of one side
    middle = run[len(run) // 2]
    meet = isinstance(before, Line) and isinstance(after, Line) and not _one_way(before, after)
    if meet and long < STRAY_LONG_MM and all(poor(f) for f in inside):
        corner = np.array(shape.joint(before, after, (float(middle[0]), float(middle[1]))))
        if float(np.linalg.norm(run - corner, axis=1).min()) < CORNER_MM:
            return True  # nothing is known between two sides but that they meet
    if long > STRAY_LONG_MM or m > MOST_PIECES or min(sides) < 0.7 * long:
        return False
    if _one_way(before, after):
        off = max(float(np.abs(_away(c, run)).max()) for c in (before, after))
        return off < STRAY_MM or (off < FAR_MM and goes_on(_both(found[k - 1], found[(k + m) % n]), run))
    if isinstance(before, Circle) and isinstance(after, Circle):
        near = np.hypot(*(np.subtract(before.centre, after.centre))) + abs(before.radius_mm - after.radius_mm)
        if near < 1.5:
            return float(np.abs(_away(before, run)).max()) < STRAY_MM
    at = np.array(shape.joint(before, after, (float(middle[0]), float(middle[1]))))
    off = max(abs(float(_away(c, at[None])[0])) for c in (before, after))
    near = float(np.linalg.norm(run - at, axis=1).min())
    if off > 0.3 or near > FAR_MM:
        return False
    if long < CORNER_LONG_MM and near < CORNER_MM:
        return True
    # a shadow may run past a corner, and the first look rounds it: then there is an edge on both sides up to it
    tiny = m == 1 and long < CORNER_LONG_MM and _tiny(inside[0])
    if not tiny and (any(_round(f) for f in inside) or not any(poor(f) for f in inside)):
        return False
    legs = [(c, np.array([(p + at) / 2.0, at])) for c, p in ((before, run[0]), (after, run[-1]))]
    if not all(isinstance(c, Line) for c, _ in legs):
        return False
    return all(
        isinstance(c, Line) and (float(np.linalg.norm(leg[1] - leg[0])) < SHORT_MM or goes_on(c, leg))
        for c, leg in legs
    )


def _round(side: Measured) -> bool:
    """Whether a piece is an arc of a radius that is known at all."""
    return isinstance(side.carrier, Circle) and side.sigma_mm < UNSURE * side.carrier.radius_mm


def _tiny(side: Measured) -> bool:
    """Whether a piece is an arc so small that the first look may have made it of a sharp corner."""
    return isinstance(side.carrier, Circle) and side.carrier.radius_mm < TINY_MM


def _one_way(before: Carrier, after: Carrier) -> bool:
    """Whether two straight sides run the same way."""
    if not (isinstance(before, Line) and isinstance(after, Line)):
        return False
    cross = abs(before.way[0] * after.way[1] - before.way[1] * after.way[0])
    return cross < 0.03 and before.way[0] * after.way[0] + before.way[1] * after.way[1] > 0.0


def _both(before: Measured, after: Measured) -> Line:
    return shape.line_through(np.vstack([before.points, after.points]))


def _straight(points: Array, pieces: list[Piece], found: list[Measured], k: int, m: int) -> Array:
    """The points of a run put onto the straight side, or the two of them, that go on before and after it."""
    before, after = found[k - 1], found[(k + m) % len(pieces)]
    if not _one_way(before.carrier, after.carrier):
        return _to_corner(points, pieces, found, k, m)
    line, out = _both(before, after), points.copy()
    count = sum(pieces[(k + i) % len(pieces)].last - pieces[(k + i) % len(pieces)].first for i in range(m))
    index = np.arange(pieces[k].first - shape.TRIM, pieces[k].first + count + 1 + shape.TRIM) % len(points)
    way = np.asarray(line.way)
    out[index] = np.asarray(line.at) + ((points[index] - line.at) @ way)[:, None] * way
    return out


def _to_corner(points: Array, pieces: list[Piece], found: list[Measured], k: int, m: int) -> Array:
    """The points of a run put onto two straight sides up to where they meet."""
    before, after = found[k - 1].carrier, found[(k + m) % len(pieces)].carrier
    if not (isinstance(before, Line) and isinstance(after, Line)):
        return points
    run, out = _run(points, pieces, k, m), points.copy()
    middle = run[len(run) // 2]
    at = np.array(shape.joint(before, after, (float(middle[0]), float(middle[1]))))
    half = len(run) // 2
    legs = [
        first + (last - first) * np.linspace(0.0, 1.0, many)[:, None]
        for first, last, many in ((run[0], at, half + 1), (at, run[-1], len(run) - half))
    ]
    out[np.arange(pieces[k].first, pieces[k].first + len(run)) % len(points)] = np.vstack([legs[0], legs[1][1:]])
    return out


def _away(carrier: Carrier, points: Array) -> Array:
    """Signed distance of points."""
    if isinstance(carrier, Line):
        out: Array = (points - carrier.at) @ np.array([carrier.way[1], -carrier.way[0]])
        return out
    away: Array = np.linalg.norm(points - carrier.centre, axis=1) - carrier.radius_mm
    return away


def _without(
    pieces: list[Piece], found: list[Measured], k: int, m: int, count: int
) -> tuple[list[Piece], list[Measured]]:
    """The pieces without a run; its points go to its neighbours, half and half."""
    n = len(pieces)
    turned = [pieces[(k + m + i) % n] for i in range(n - m)]
    kept = [found[(k + m + i) % n] for i in range(n - m)]
    gap = sum(pieces[(k + i) % n].last - pieces[(k + i) % n].first for i in range(m))
    out, at = [], turned[0].first - gap // 2
    for i, p in enumerate(turned):
        long = p.last - p.first + (gap // 2 if i == 0 else 0) + (gap - gap // 2 if i == len(turned) - 1 else 0)
        out.append(Piece(at, at + long, p.kind))
        at += long
    first = out[0].first % count - out[0].first
    return [Piece(p.first + first, p.last + first, p.kind) for p in out], kept
