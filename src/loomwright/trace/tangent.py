"""Rounded corners: an arc that touches the two straight sides beside it is known far better than one that lies free."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from loomwright.trace import measure, shape
from loomwright.trace.camera import Array
from loomwright.trace.fit import Scene, View
from loomwright.trace.measure import ROUGH_MM, Measured
from loomwright.trace.rim import STATION_MM, Rim
from loomwright.trace.shape import Carrier, Circle, Line, Piece

ROUND_LONG_MM = 60.0
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
    """The same sides, short ones across a corner taken for its rounding where that fits them better."""
    n = len(found)
    out, made = list(found), list(pieces)
    for k, m in enumerate(found):
        circle = _inscribed(found[k - 1].carrier, m.carrier, found[(k + 1) % n].carrier) if n > 3 else None
        if circle is None or made[k].last - made[k].first > ROUND_LONG_MM / STATION_MM:
            continue
        index = np.arange(made[k].first, made[k].last + 1) % len(rim.points_mm)
        points = rim.points_mm.copy()
        away = points[index] - circle.centre
        points[index] = circle.centre + away * (circle.radius_mm / np.linalg.norm(away, axis=1))[:, None]
        piece = Piece(made[k].first, made[k].last, "arc")
        arc = measure.sides(views, scene, replace(rim, points_mm=points), (piece, piece), face_z, floor_z)[0]
        if not isinstance(arc.carrier, Circle) or not 0.5 < arc.carrier.radius_mm / circle.radius_mm < 2.0:
            continue
        held = _touching(arc, found[k - 1], found[(k + 1) % n]) or arc
        if held.uneven_mm < 0.8 * m.uneven_mm:
            out[k], made[k] = held, piece
    return tuple(made), out


def _inscribed(before: Carrier, across: Carrier, after: Carrier) -> Circle | None:
    """The circle that touches three straight sides, where the middle one cuts the corner of the others evenly."""
    if not (isinstance(before, Line) and isinstance(across, Line) and isinstance(after, Line)):
        return None
    ways = [np.asarray(c.way) for c in (before, across, after)]
    turns = [math.asin(float(np.clip(a[0] * b[1] - a[1] * b[0], -1.0, 1.0))) for a, b in pairwise(ways)]
    if min(abs(t) for t in turns) < 0.3 or turns[0] * turns[1] < 0.0 or abs(turns[0] - turns[1]) > 0.5:
        return None
    half = 0.5 * (math.pi - abs(turns[0] + turns[1]))
    corner = np.array(shape.joint(before, after, across.at))
    depth = abs(float((corner - across.at) @ np.array([ways[1][1], -ways[1][0]])))
    middle = (ways[2] - ways[0]) / max(float(np.linalg.norm(ways[2] - ways[0])), 1e-9)
    radius = depth / max(1.0 / math.sin(half) - 1.0, 0.02)
    centre = corner + middle * radius / math.sin(half)
    return Circle((float(centre[0]), float(centre[1])), radius, turns[0] > 0.0)


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
