"""Rounded corners: an arc that touches the two straight sides beside it is known far better than one that lies free."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from loomwright.trace import measure, shape
from loomwright.trace.astray import poor
from loomwright.trace.camera import Array
from loomwright.trace.fit import Scene, View
from loomwright.trace.measure import ROUGH_MM, Measured
from loomwright.trace.rim import STATION_MM, Rim
from loomwright.trace.shape import Carrier, Circle, Line, Piece

UNSURE_MM, EVEN_MM = 0.5, 0.12
"""A rounding is not believed that is known worse or less even, unless what was seen in its place was so too."""
ROUND_LONG_MM, MOST_SHARP_MM = 60.0, 1.8
MOST_PIECES, TRIES = 5, 8
"""So many pieces may lie across one corner; no more than so many runs are tried for one."""
PARALLEL = 1.998
"""Two sides whose unit vectors add up to more than this run the same way, or against each other."""
ALIKE = 4.0
"""So many neighbouring pieces of an arc tell the same: what is under them changes slowly."""
LOOSER, SLACK_MM, AGREE = 1.25, 0.03, 2.5
"""An arc is taken to touch its sides where that fits its points nearly as well."""


def eased(found: Sequence[Measured]) -> list[Measured]:
    """The same sides, arcs that touch both of their neighbours held to them."""
    n = len(found)
    out = list(found)
    if n < 3:
        return out
    for k, m in enumerate(found):
        before, after = found[k - 1], found[(k + 1) % n]
        touching = _touching(m, before, after) or _end(m, before, after)
        if touching is not None:
            out[k] = touching
    return out


def squared(found: Sequence[Measured]) -> list[Measured]:
    """The same sides, short ones square to the straight sides beside them where they may as well be.

    The way of a short side is poorly known, and so is where it meets its neighbours; they know theirs better.
    """
    out = list(found)
    for k, m in enumerate(found):
        before, after = found[k - 1], found[(k + 1) % len(found)]
        if not all(isinstance(s.carrier, Line) and len(s.points) > 2 for s in (before, m, after)):
            continue
        assert isinstance(m.carrier, Line)
        ways = [np.asarray(s.carrier.way) for s in (before, after) if isinstance(s.carrier, Line)]
        turns = [m.carrier.way[1] * w[0] - m.carrier.way[0] * w[1] for w in ways]
        both = ways[0] * math.copysign(1.0, turns[0]) + ways[1] * math.copysign(1.0, turns[1])
        unsure = [_turn_sigma(s) for s in (before, m, after)]
        if float(np.linalg.norm(both)) < PARALLEL or max(unsure[0], unsure[2]) > 0.5 * unsure[1]:
            continue
        both /= float(np.linalg.norm(both))
        off = float(both @ np.asarray(m.carrier.way))
        if abs(off) < AGREE * math.hypot(*unsure):
            out[k] = replace(m, carrier=Line(m.carrier.at, (float(-both[1]), float(both[0]))))
    return out


def _turn_sigma(side: Measured) -> float:
    """How well the way of a straight side is known [rad]."""
    assert isinstance(side.carrier, Line)
    along = (side.points - side.carrier.at) @ np.asarray(side.carrier.way)
    return side.sigma_mm / max(float(along.std()), 1e-6)


def rounded(
    views: Sequence[View],
    scene: Scene,
    rim: Rim,
    pieces: tuple[Piece, ...],
    found: Sequence[Measured],
    face_z: float,
    floor_z: float,
) -> tuple[tuple[Piece, ...], list[Measured]]:
    """The same sides, what lies across a corner of two straight ones taken for its rounding where that fits better."""
    out, made = list(found), list(pieces)
    tries = 0
    while tries < TRIES:
        for k, m in _across(rim, made, out):
            tries += 1
            arc = _as_rounding(views, scene, rim, made, out, k, m, face_z, floor_z)
            if arc is not None:
                made, out = _with(made, out, k, m, arc)
                break
            if tries == TRIES:
                break
        else:
            break
    return tuple(made), out


def _across(rim: Rim, pieces: list[Piece], found: list[Measured]) -> list[tuple[int, int]]:
    """Runs of pieces that may be the rounding of a corner between two straight sides, the longest first."""
    n = len(found)
    runs = []
    for m in range(1, min(MOST_PIECES, n - 2) + 1):
        for k in range(n):
            inside = [found[(k + i) % n] for i in range(m)]
            long = STATION_MM * sum(pieces[(k + i) % n].last - pieces[(k + i) % n].first for i in range(m))
            lines = m == 1 and isinstance(inside[0].carrier, Line)
            if long > ROUND_LONG_MM * (1.0 if lines else 2.0) or not (lines or m > 1):
                continue
            before, after = found[k - 1], found[(k + m) % n]
            if m > 1 and (not any(poor(f) for f in inside) or poor(before) or poor(after)):
                continue
            if _corner(before.carrier, after.carrier) is not None:
                runs.append((-long, k, m))
    return [(k, m) for _, k, m in sorted(runs)]


def _as_rounding(
    views: Sequence[View],
    scene: Scene,
    rim: Rim,
    pieces: list[Piece],
    found: list[Measured],
    k: int,
    m: int,
    face_z: float,
    floor_z: float,
) -> Measured | None:
    """A run as the rounding of a corner, where that fits what is seen."""
    n = len(found)
    before, after, inside = found[k - 1], found[(k + m) % n], [found[(k + i) % n] for i in range(m)]
    first = pieces[k].first
    last = first + sum(pieces[(k + i) % n].last - pieces[(k + i) % n].first for i in range(m))
    index = np.arange(first, last + 1) % len(rim.points_mm)
    run = rim.points_mm[index]
    circle = _inscribed(before.carrier, inside[0].carrier, after.carrier) if m == 1 else None
    circle = circle or _inside(before.carrier, after.carrier, run)
    arc = made = None
    for reach in (1.2, 0.5):
        if circle is None:
            break
        ends = _touches(circle, before.carrier), _touches(circle, after.carrier)
        arc = measure.along(views, scene, circle, ends, False, rim, face_z, floor_z, reach, first=made is None)
        made = (_touching(arc, before, after) or arc) if arc is not None else None
        circle = made.carrier if made is not None and isinstance(made.carrier, Circle) else None
    if made is None or made.sigma_mm > max(UNSURE_MM, *(f.sigma_mm for f in inside)):
        return None
    return made if made.uneven_mm < max(EVEN_MM, 0.8 * max(f.uneven_mm for f in inside)) else None


def _touches(circle: Circle, line: Carrier) -> Array:
    """Where a circle touches a straight side."""
    assert isinstance(line, Line)
    way = np.asarray(line.way)
    out: Array = np.asarray(line.at) + float((np.asarray(circle.centre) - line.at) @ way) * way
    return out


def _with(
    pieces: list[Piece], found: list[Measured], k: int, m: int, arc: Measured
) -> tuple[list[Piece], list[Measured]]:
    """One arc in place of a run."""
    n = len(pieces)
    turned = [pieces[(k + i) % n] for i in range(n)]
    at = turned[0].first + sum(p.last - p.first for p in turned[:m])
    out = [Piece(turned[0].first, at, "arc")]
    for p in turned[m:]:
        out.append(Piece(at, at + p.last - p.first, p.kind))
        at = out[-1].last
    return out, [arc, *(found[(k + m + i) % n] for i in range(n - m))]


def _corner(before: Carrier, after: Carrier) -> tuple[Array, Array, float] | None:
    """Where two straight sides meet, which way its inside is, and half of its angle; None where they hardly turn."""
    if not (isinstance(before, Line) and isinstance(after, Line)):
        return None
    back, ahead = -np.asarray(before.way), np.asarray(after.way)
    half = 0.5 * math.acos(float(np.clip(back @ ahead, -1.0, 1.0)))
    if not 0.15 < half < 1.3:
        return None
    inward = (back + ahead) / float(np.linalg.norm(back + ahead))
    return np.array(shape.joint(before, after, before.at)), inward, half


def _inside(before: Carrier, after: Carrier, run: Array) -> Circle | None:
    """The circle that touches two straight sides and goes as near to their corner as a run of the rim does."""
    corner = _corner(before, after)
    if corner is None or not (isinstance(before, Line) and isinstance(after, Line)):
        return None
    turn = before.way[0] * after.way[1] - before.way[1] * after.way[0]
    made = _so_deep(corner, float(np.linalg.norm(run - corner[0], axis=1).min()), turn > 0.0)
    return made if 2.0 * MOST_SHARP_MM < made.radius_mm < ROUND_LONG_MM else None


def _inscribed(before: Carrier, across: Carrier, after: Carrier) -> Circle | None:
    """The circle that touches three straight sides, where the middle one cuts the corner of the others evenly."""
    corner = _corner(before, after)
    if corner is None or not (
        isinstance(before, Line) and isinstance(across, Line) and isinstance(after, Line)
    ):
        return None
    ways = [np.asarray(c.way) for c in (before, across, after)]
    turns = [math.asin(float(np.clip(a[0] * b[1] - a[1] * b[0], -1.0, 1.0))) for a, b in pairwise(ways)]
    if min(abs(t) for t in turns) < 0.3 or turns[0] * turns[1] < 0.0 or abs(turns[0] - turns[1]) > 0.5:
        return None
    depth = abs(float((corner[0] - across.at) @ np.array([ways[1][1], -ways[1][0]])))
    return _so_deep(corner, depth, turns[0] > 0.0)


def _so_deep(corner: tuple[Array, Array, float], depth: float, clockwise: bool) -> Circle:
    """The circle that touches both sides of a corner and comes so near to it."""
    at, inward, half = corner
    radius = depth / max(1.0 / math.sin(half) - 1.0, 0.02)
    centre = at + inward * radius / math.sin(half)
    return Circle((float(centre[0]), float(centre[1])), radius, clockwise)


def _touching(arc: Measured, before: Measured, after: Measured) -> Measured | None:
    a, b, free = before.carrier, after.carrier, arc.carrier
    if not (isinstance(a, Line) and isinstance(b, Line) and isinstance(free, Circle)) or len(arc.points) < 3:
        return None
    back, ahead = -np.asarray(a.way), np.asarray(b.way)
    half = 0.5 * math.acos(float(np.clip(back @ ahead, -1.0, 1.0)))
    if not 0.15 < half < 1.5:
        return None
    corner = np.array(shape.joint(a, b, free.centre))
    middle = (back + ahead) / float(np.linalg.norm(back + ahead)) / math.sin(half)
    weights = 1.0 / (arc.spreads**2 + ROUGH_MM**2)
    radius = free.radius_mm
    for _ in range(12):
        off, slope = _off(arc.points, corner, middle, radius)
        scale = max(1.5 * float(np.median(np.abs(off))), ROUGH_MM)
        w = weights / (1.0 + (off / (2.5 * scale)) ** 2)
        move = float((w * slope * off).sum() / max((w * slope * slope).sum(), 1e-9))
        radius = max(radius - move, 0.3)
        if abs(move) < 1e-6:
            break
    off, slope = _off(arc.points, corner, middle, radius)
    uneven = math.sqrt(float((weights * off**2).sum() / weights.sum()))
    alike = abs(radius - free.radius_mm) < AGREE * arc.sigma_mm and uneven < 2.0 * arc.uneven_mm + SLACK_MM
    if not alike and uneven > LOOSER * arc.uneven_mm + SLACK_MM:
        return None
    point = _point(off, uneven, arc.spreads)
    steep = math.sqrt(float((slope**2).mean()))
    sigma = math.hypot(point / math.sqrt(len(off) / ALIKE), before.sigma_mm, after.sigma_mm) / max(steep, 0.02)
    if sigma > arc.sigma_mm:
        return None
    centre = corner + radius * middle
    made = Circle((float(centre[0]), float(centre[1])), radius, free.clockwise)
    return replace(arc, carrier=made, sigma_mm=sigma, place_mm=sigma / math.tan(half), uneven_mm=uneven)


def _end(arc: Measured, before: Measured, after: Measured) -> Measured | None:
    """The round end of a slot: as wide as its sides are apart, with only its place along them to be found."""
    a, b, free = before.carrier, after.carrier, arc.carrier
    if not (isinstance(a, Line) and isinstance(b, Line) and isinstance(free, Circle)) or len(arc.points) < 3:
        return None
    way = np.asarray(a.way) - np.asarray(b.way)
    if float(np.linalg.norm(way)) < 1.99:
        return None
    way /= float(np.linalg.norm(way))
    across = np.array([way[1], -way[0]])
    gap = float((np.asarray(b.at) - a.at) @ across)
    radius = abs(gap) / 2.0
    if abs(radius - free.radius_mm) > 0.35 * radius:
        return None
    base = np.asarray(a.at) + gap / 2.0 * across
    along = float((np.asarray(free.centre) - base) @ way)
    weights = 1.0 / (arc.spreads**2 + ROUGH_MM**2)
    for _ in range(12):
        away = arc.points - (base + along * way)
        long = np.maximum(np.linalg.norm(away, axis=1), 1e-9)
        off, slope = long - radius, -(away @ way) / long
        scale = max(1.5 * float(np.median(np.abs(off))), ROUGH_MM)
        w = weights / (1.0 + (off / (2.5 * scale)) ** 2)
        move = float((w * slope * off).sum() / max((w * slope * slope).sum(), 1e-9))
        along -= move
        if abs(move) < 1e-6:
            break
    uneven = math.sqrt(float((weights * off**2).sum() / weights.sum()))
    if uneven > 3.0 * arc.uneven_mm + 4.0 * SLACK_MM:
        return None
    point = _point(off, uneven, arc.spreads)
    steep = math.sqrt(float((slope**2).mean()))
    place = math.hypot(point / math.sqrt(len(off) / ALIKE) / max(steep, 0.1), before.sigma_mm, after.sigma_mm)
    centre = base + along * way
    made = Circle((float(centre[0]), float(centre[1])), radius, free.clockwise)
    sigma = math.hypot(before.sigma_mm, after.sigma_mm, ROUGH_MM)
    return replace(arc, carrier=made, sigma_mm=sigma, place_mm=place, uneven_mm=uneven)


def _point(off: Array, uneven_mm: float, spreads: Array) -> float:
    """How well one piece of an arc is known: what is left of all of them, strays too, for there are few."""
    rough = max(1.4826 * float(np.median(np.abs(off))), 1.3 * uneven_mm, ROUGH_MM / 2.0)
    return math.hypot(rough, 0.5 * float(np.median(spreads)))


def _off(points: Array, corner: Array, middle: Array, radius: float) -> tuple[Array, Array]:
    """Distances of points to the arc of a radius that touches both sides, and how they change with the radius."""
    away = points - (corner + radius * middle)
    long = np.maximum(np.linalg.norm(away, axis=1), 1e-9)
    return long - radius, -(away @ middle) / long - 1.0
