"""The rim, second pass: each side measured to a fraction of a pixel, with what the wall of the card does to it.

Where the camera sees the wall below the rim, its width in the picture is known from the pose and the thickness. The
light across a side is then face, wall, floor: two steps that far apart, blurred alike, with a shadow that fades on the
floor. The first step is the rim.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from loomwright.trace import across, edge, shape
from loomwright.trace.across import usual
from loomwright.trace.camera import Array
from loomwright.trace.fit import Scene, View
from loomwright.trace.rim import Rim, look, look_close
from loomwright.trace.rim import across as rows_across
from loomwright.trace.shape import Carrier, Circle, Line, Piece

STATION_MM = 0.5
END_MM = 2.5
MOST_MM = 20_000.0
FACE_MM, BESIDE_MM, ALIKE = (1.0, 3.5), 15.0, 0.10
"""The face is looked at so far inside of a side, and so far beside a stretch of it; colours so alike are one."""
MOST_SIDE_MM = 6_000.0
HIDDEN_MM = 6.0
"""So near to where a sheet lies over the rim nothing is measured."""
SHADOW_MM = 3.0
STRAYS = 0.8
"""How far pieces that stray are counted where a side's own spread is stated, though they hardly move it."""
LOST = 2.0
"""A side that is known so many times worse between its corners stays as it was: too few pieces are left of it."""
SETTLED_MM = 0.0003
"""Pieces that move by less from one fit to the next are settled."""
ROUGH_MM = 0.03
"""No piece of a cut edge is believed to lie better than this: card is not cut finer."""


@dataclass(frozen=True, slots=True)
class Measured:
    """One side: where it runs, and how well that is known.

    Attributes
    ----------
    carrier : Line or Circle
        Fitted to the pieces of the side.
    sigma_mm : float
        Of its offset (of its radius, for an arc).
    place_mm : float
        Of its offset, or of the middle of an arc: how far a side that touches it may end elsewhere.
    rough_mm : float
        Spread of the pieces about it: how straight it is cut.
    uneven_mm : float
        The same, with what is far off counted fully.
    doubtful_mm : float
        Width of a wall or a shadow that may have been taken for face or floor; 0 where there is no doubt.
    points, spreads : Array
        Where its pieces lie, and how well each is known [mm].
    """

    carrier: Carrier
    sigma_mm: float
    place_mm: float
    rough_mm: float
    uneven_mm: float
    points: Array
    spreads: Array
    doubtful_mm: float = 0.0


def sides(
    views: Sequence[View], scene: Scene, rim: Rim, pieces: tuple[Piece, ...], face_z: float, floor_z: float
) -> list[Measured]:
    """Each piece of a rim, measured; twice, the second time from where the first one put it."""
    n = len(rim.points_mm)
    out = []
    for piece in pieces:
        index = np.arange(piece.first, piece.last + 1) % n
        if piece.last - piece.first >= n:
            index = np.arange(n)
        trim = min(shape.TRIM, max(0, (len(index) - 3) // 2)) if len(pieces) > 1 else 0
        points = rim.points_mm[index[trim : len(index) - trim or None]]
        seen = rim.known[index[trim : len(index) - trim or None]]
        if seen.sum() > 3:
            points = points[seen]
        carrier: Carrier | None = shape.circle_through(points) if piece.kind == "arc" else None
        if carrier is None:
            carrier = shape.line_through(points)
        whole = len(pieces) == 1
        ends = (points[0], points[-1])
        if isinstance(carrier, Circle) and not whole and _flat(carrier, ends):
            carrier = shape.line_through(points)
        measured = _nearer(views, scene, rim, carrier, ends, whole, face_z, floor_z)
        if not len(measured.points) and isinstance(carrier, Circle) and not whole:
            measured = _nearer(views, scene, rim, shape.line_through(points), ends, whole, face_z, floor_z)
        if isinstance(measured.carrier, Circle) and not whole and _hardly_round(measured, ends):
            straight = _straight(views, scene, rim, measured, ends, face_z, floor_z)
            if straight is not None and (
                _flat(measured.carrier, ends) or straight.uneven_mm < 1.5 * measured.uneven_mm + 0.03
            ):
                measured = straight
        out.append(measured)
    return out


def _nearer(
    views: Sequence[View],
    scene: Scene,
    rim: Rim,
    carrier: Carrier,
    ends: tuple[Array, Array],
    whole: bool,
    face_z: float,
    floor_z: float,
) -> Measured:
    """One side, measured from farther off, then from near; where it cannot be, as it was with a spread that says so."""
    measured = Measured(carrier, 0.2, 0.2, 0.2, 0.2, np.zeros((0, 2)), np.zeros(0))
    for k, reach in enumerate((1.2, 1.2, 0.5) if isinstance(carrier, Circle) else (1.2, 0.5)):
        again = along(views, scene, measured.carrier, ends, whole, rim, face_z, floor_z, reach, first=k == 0)
        if again is None:
            break
        measured = again
    return measured


def joined(
    views: Sequence[View],
    scene: Scene,
    rim: Rim,
    pieces: tuple[Piece, ...],
    found: list[Measured],
    face_z: float,
    floor_z: float,
) -> tuple[tuple[Piece, ...], list[Measured]]:
    """The same pieces, but neighbours that are one straight side after all made one."""
    pieces_now, now = list(pieces), list(found)
    k = 0
    while k < len(now) and len(now) > 3:
        first, last = pieces_now[k - 1], pieces_now[k]
        made = _made_one(views, scene, rim, (first, last), (now[k - 1], now[k]), face_z, floor_z)
        if made is not None:
            both, measured = made
            if k == 0:
                pieces_now, now = [*pieces_now[1:-1], both], [*now[1:-1], measured]
            else:
                pieces_now[k - 1 : k + 1], now[k - 1 : k + 1] = [both], [measured]
                k -= 1  # it may be one with the side before it
            continue
        k += 1
    return tuple(pieces_now), now


def _made_one(
    views: Sequence[View],
    scene: Scene,
    rim: Rim,
    pieces: tuple[Piece, Piece],
    found: tuple[Measured, Measured],
    face_z: float,
    floor_z: float,
) -> tuple[Piece, Measured] | None:
    """Two neighbours as one line or one arc, where that fits them as well as two do."""
    first, last = pieces
    end = first.last + (last.last - last.first)
    index = np.arange(first.first + shape.TRIM, end - shape.TRIM + 1) % len(rim.points_mm)
    points = rim.points_mm[index[rim.known[index]]]
    if len(points) < 3:
        return None
    limit = 1.5 * max(m.uneven_mm for m in found) + 0.04
    if all(isinstance(m.carrier, Line) and len(m.points) > 2 for m in found):
        at, spreads = np.vstack([m.points for m in found]), np.concatenate([m.spreads for m in found])
        doubtful = max(m.doubtful_mm for m in found)
        straight = _fitted(shape.line_through(at), at, spreads, doubtful)
        if straight is not None and straight.uneven_mm < limit and _same_way(straight, found):
            return Piece(first.first, end, "line"), straight
    measured = np.vstack([m.points for m in found])
    kinds: list[tuple[Literal["line", "arc"], Rim]] = []
    if _one_line(points):
        kinds.append(("line", rim))
    if any(p.kind == "arc" for p in pieces) and _one_arc(points):
        kinds.append(("arc", rim))
    elif all(isinstance(m.carrier, Circle) for m in found) and _one_arc(measured):
        kinds.append(("arc", _upon(rim, measured, index)))
    for kind, near in kinds:
        both = Piece(first.first, end, kind)
        made = sides(views, scene, near, (both, both), face_z, floor_z)[0]
        if kind == "arc" and isinstance(made.carrier, Circle) and _hardly_round(made, (points[0], points[-1])):
            continue
        if made.uneven_mm < limit and isinstance(made.carrier, Line if kind == "line" else Circle):
            return both, made
    return None


def _same_way(both: Measured, found: tuple[Measured, Measured]) -> bool:
    """Whether two straight sides run on in the way of one through both."""
    assert isinstance(both.carrier, Line)
    x, y = both.carrier.way
    return all(isinstance(m.carrier, Line) and m.carrier.way[0] * x + m.carrier.way[1] * y > 0.999 for m in found)


def _upon(rim: Rim, measured: Array, index: npt.NDArray[np.int64]) -> Rim:
    """The rim with some of its points put upon the circle through what was measured."""
    circle, points = shape.circle_through(measured), rim.points_mm.copy()
    if circle is not None:
        away = points[index] - circle.centre
        long = np.maximum(np.linalg.norm(away, axis=1, keepdims=True), 1e-9)
        points[index] = circle.centre + away * (circle.radius_mm / long)
    return replace(rim, points_mm=points)


def _one_arc(points: Array) -> bool:
    """Whether points of two pieces keep to one arc, about."""
    circle = shape.circle_through(points)
    if circle is None or circle.radius_mm > 500.0:
        return False
    away = np.linalg.norm(points - circle.centre, axis=1) - circle.radius_mm
    return float(np.sqrt((away**2).mean())) < 0.5 and float(np.percentile(np.abs(away), 97)) < 1.5


def settled(
    views: Sequence[View],
    scene: Scene,
    rim: Rim,
    found: list[Measured],
    corners: Array,
    face_z: float,
    floor_z: float,
) -> list[Measured]:
    """Arcs and their neighbours once more, between the corners that were found: the first cut may lie a little off."""
    n = len(found)
    out = list(found)
    for k, measured in enumerate(found):
        near = (found[k - 1].carrier, measured.carrier, found[(k + 1) % n].carrier)
        if not any(isinstance(c, Circle) for c in near):
            continue
        ends = _inward(measured.carrier, corners[k], corners[(k + 1) % n])
        again = along(views, scene, measured.carrier, ends, False, rim, face_z, floor_z, 0.5)
        if again is None or _strayed(measured, again) or again.sigma_mm > LOST * measured.sigma_mm + ROUGH_MM:
            continue
        if again.uneven_mm < 1.5 * measured.uneven_mm + 0.03:
            out[k] = again
    return out


def _strayed(before: Measured, after: Measured) -> bool:
    """Whether an arc became another one altogether."""
    a, b = before.carrier, after.carrier
    return isinstance(a, Circle) and isinstance(b, Circle) and not 0.6 < b.radius_mm / a.radius_mm < 1.7


def goes_on(
    views: Sequence[View], scene: Scene, rim: Rim, carrier: Line, run: Array, face_z: float, floor_z: float
) -> bool:
    """Whether there is an edge on a straight side where the rim left it for a while, such as for a shadow's edge."""
    way = np.asarray(carrier.way)
    ends = [np.asarray(carrier.at) + float((p - carrier.at) @ way) * way for p in (run[0], run[-1])]
    made = along(views, scene, carrier, (ends[0], ends[1]), False, rim, face_z, floor_z, 1.2)
    if made is None or made.uneven_mm > 0.35:
        return False
    away = (made.points - carrier.at) @ np.array([way[1], -way[0]])
    return usual(np.abs(away)) < 0.6 and _face_goes_on(views, scene, carrier, (ends[0], ends[1]), face_z)


def _face_goes_on(
    views: Sequence[View], scene: Scene, carrier: Line, ends: tuple[Array, Array], face_z: float
) -> bool:
    """Whether what is inside of a stretch of a side has the colour, in any light, of what is inside before it."""
    way = np.asarray(carrier.way)
    deep = np.linspace(*FACE_MM, 4)[:, None, None] * np.array([-way[1], way[0]])
    part = np.linspace(0.1, 0.9, 9)[:, None]
    run = ends[1] - ends[0]
    beside = BESIDE_MM * run / max(float(np.linalg.norm(run)), 1e-9)
    here, before = (
        (look(views, scene, at[..., 0], at[..., 1], face_z).reshape(-1, 3).mean(axis=0).astype(float) + 0.01) ** 2.2
        for at in (ends[0] + run * part + deep, ends[0] - beside * part + deep)
    )
    shade = float(here @ before) / float(before @ before)
    apart = float(np.linalg.norm(here - shade * before)) / float(np.linalg.norm(here))
    return 0.4 < shade < 2.5 and apart < ALIKE


def _inward(carrier: Carrier, start: Array, end: Array) -> tuple[Array, Array]:
    """Two ends a little inside of the corners."""
    if isinstance(carrier, Line):
        length = float(np.linalg.norm(end - start))
        step = (end - start) * (min(2.5, 0.15 * length) / max(length, 1e-9))
        return start + step, end - step
    centre = np.asarray(carrier.centre)
    first, last = (math.atan2(float(p[1] - centre[1]), float(p[0] - centre[0])) for p in (start, end))
    sense = 1.0 if carrier.clockwise else -1.0
    span = (sense * (last - first)) % (2.0 * math.pi)
    less = min(0.12 * span, 2.0 / carrier.radius_mm)
    angles = (first + sense * less, first + sense * (span - less))
    a, b = (centre + carrier.radius_mm * np.array([math.cos(v), math.sin(v)]) for v in angles)
    return a, b


def _straight(
    views: Sequence[View],
    scene: Scene,
    rim: Rim,
    arc: Measured,
    ends: tuple[Array, Array],
    face_z: float,
    floor_z: float,
) -> Measured | None:
    """The same stretch as a straight side."""
    if len(arc.points) < 3:
        return None
    made = _fitted(shape.line_through(arc.points), arc.points, arc.spreads, arc.doubtful_mm)
    if made is None:
        return None
    again = along(views, scene, made.carrier, ends, False, rim, face_z, floor_z, 0.5)
    return again or made


def _hardly_round(arc: Measured, ends: tuple[Array, Array]) -> bool:
    """Whether an arc may as well be straight."""
    assert isinstance(arc.carrier, Circle)
    return _flat(arc.carrier, ends) or arc.sigma_mm > 0.15 * arc.carrier.radius_mm


def _flat(circle: Circle, ends: tuple[Array, Array]) -> bool:
    """An arc that leaves its chord by less than card is cut to."""
    chord2 = float(((ends[1] - ends[0]) ** 2).sum())
    return circle.radius_mm > shape.MOST_RADIUS_MM or (
        chord2 / (8.0 * circle.radius_mm) < 0.3 and chord2 < circle.radius_mm**2
    )


def _one_line(points: Array) -> bool:
    """Whether points of two pieces keep to one straight side, about."""
    line = shape.line_through(points)
    away = (points - line.at) @ np.array([line.way[1], -line.way[0]])
    return float(np.sqrt((away**2).mean())) < 0.5 and float(np.percentile(np.abs(away), 97)) < 2.0


def _stations(carrier: Carrier, ends: tuple[Array, Array], whole: bool) -> tuple[Array, Array]:
    """Points along a carrier and their unit normals to the left of its sense: away from the board."""
    if isinstance(carrier, Line):
        way = np.asarray(carrier.way)
        a, b = (float((e - carrier.at) @ way) for e in ends)
        margin = min(END_MM, 0.15 * abs(b - a)) - 1.0
        a, b = a + margin, b - margin
        t = np.linspace(a, b, max(4, round(abs(b - a) / STATION_MM)))
        points = np.asarray(carrier.at) + t[:, None] * way
        return points, np.tile([way[1], -way[0]], (len(t), 1))
    centre = np.asarray(carrier.centre)
    first, last = (math.atan2(float(e[1] - centre[1]), float(e[0] - centre[0])) for e in ends)
    sense = 1.0 if carrier.clockwise else -1.0
    span = 2.0 * math.pi if whole else (sense * (last - first)) % (2.0 * math.pi)
    count = max(6, round(span * carrier.radius_mm / STATION_MM))
    angle = first + sense * span * (np.arange(count) + 0.5) / count
    out = np.column_stack([np.cos(angle), np.sin(angle)])
    return centre + carrier.radius_mm * out, out * sense


def along(
    views: Sequence[View],
    scene: Scene,
    carrier: Carrier,
    ends: tuple[Array, Array],
    whole: bool,
    rim: Rim,
    face_z: float,
    floor_z: float,
    reach: float,
    first: bool = False,
) -> Measured | None:
    """One side, looked at across a carrier between two ends, as far as ``reach`` on either side of it [mm].

    None where there is nothing to measure. ``whole`` goes all the way round; ``first`` looks as far inward as a wall
    below the rim is wide, which the carrier may have been taken from.
    """
    if float(np.abs(np.concatenate(ends)).max()) > MOST_MM:
        return None
    if isinstance(carrier, Circle) and carrier.radius_mm > shape.MOST_RADIUS_MM:
        return None
    points, normals = _stations(carrier, ends, whole)
    hidden = rim.points_mm[~rim.known]
    if len(hidden):
        away2 = (hidden[:, 0] - points[:, :1]) ** 2 + (hidden[:, 1] - points[:, 1:]) ** 2
        clear = away2.min(axis=1) > HIDDEN_MM**2
        points, normals = points[clear], normals[clear]
    if len(points) * STATION_MM > MOST_SIDE_MM:
        return None
    length = len(points) * STATION_MM
    each = max(2, round(float(np.clip(length / 14.0, 1.5, 8.0)) / STATION_MM))
    count = len(points) // each
    if count < 3:
        each, count = max(1, len(points) // 3), 3
        if len(points) < 3:
            return None
    points, normals = points[: count * each], normals[: count * each]
    blur, wall = across.geometry(views, scene, points, normals, face_z, floor_z)
    sigma = usual(blur)
    outward = float(np.clip(np.percentile(wall, 90), 0.0, across.MOST_WALL_MM))
    inward = outward if first else 0.0
    if not sigma > 0.02:
        return None
    offsets = np.arange(-reach - inward - 3.0 * sigma, reach + outward + 3.0 * sigma, sigma / 2.0)
    wide = np.maximum(wall.reshape(count, each).mean(axis=1), 0.0)
    bright, rgb = look_close(views, scene, *rows_across(points, normals, offsets), face_z)
    rows = bright.reshape(count, each, -1).mean(axis=1).astype(float)
    hues = rgb.reshape(count, each, len(offsets), 3).mean(axis=1).astype(float) @ across.HUES.T
    n = max(2, len(offsets) // 5)
    turn = (hues[:, -n:].mean(axis=1) - hues[:, :n].mean(axis=1)).mean(axis=0)
    hue = hues @ (turn / max(float(np.linalg.norm(turn)), 1e-9))
    channels = (
        edge.channel(rows, sigma, across.LIGHT_TRUST),
        edge.channel(hue, across.HUE_BLUR * sigma, across.HUE_TRUST),
    )
    found = edge.places(channels, offsets, wide, reach, inward, apart=isinstance(carrier, Circle))
    if found is None:
        return None
    t, spread, doubt, soft = found.at, found.spread, found.doubt, found.soft
    middle = points.reshape(count, each, 2).mean(axis=1)
    out = normals.reshape(count, each, 2).mean(axis=1)
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    if isinstance(carrier, Circle):
        centre = np.asarray(carrier.centre)
        middle = centre + (middle - centre) * (carrier.radius_mm / np.linalg.norm(middle - centre, axis=1))[:, None]
    doubtful = SHADOW_MM if soft else usual(wide) if doubt else 0.0
    return _fitted(carrier, middle + t[:, None] * out, spread, doubtful)


def _fitted(carrier: Carrier, points: Array, spread: Array, doubtful: float) -> Measured | None:
    weights = 1.0 / (spread**2 + ROUGH_MM**2)
    base = weights.copy()
    made: Carrier | None = None
    away = np.full(len(points), np.inf)
    for _ in range(6):
        made = (
            shape.circle_through(points, weights, made if isinstance(made, Circle) else None)
            if isinstance(carrier, Circle)
            else shape.line_through(points, weights)
        )
        if made is None:
            return None
        if isinstance(made, Circle) and isinstance(carrier, Circle):
            made = Circle(made.centre, made.radius_mm, carrier.clockwise)
        before = away
        if isinstance(made, Line):
            away = (points - made.at) @ np.array([made.way[1], -made.way[0]])
        else:
            away = np.hypot(points[:, 0] - made.centre[0], points[:, 1] - made.centre[1]) - made.radius_mm
        if float(np.abs(away - before).max()) < SETTLED_MM:
            break
        scale = max(1.4826 * usual(np.abs(away)), ROUGH_MM)
        weights = base / (1.0 + (away / (2.5 * scale)) ** 2)
    scatter = 1.4826 * usual(np.abs(away))
    rough = max(scatter, ROUGH_MM)
    uneven = math.sqrt(float((base * away**2).sum() / base.sum()))
    effective = float(weights.sum() ** 2 / (weights**2).sum()) / 2.0  # neighbours are not quite strangers
    point = math.hypot(max(rough, STRAYS * uneven), usual(spread))
    assert made is not None
    sigma = place = point / math.sqrt(max(effective, 1.0))
    if isinstance(made, Circle):
        out = (points - made.centre) / made.radius_mm
        design = np.column_stack([out, np.ones(len(out))])
        known = np.linalg.pinv(design.T @ design / len(out)) / max(effective, 1.0)
        # what is common to all pieces of an arc does not bend it: only their scatter does
        point = math.hypot(max(scatter, STRAYS * uneven, ROUGH_MM / 2.0), 0.5 * usual(spread))
        sigma = point * math.sqrt(known[2, 2])
        place = point * math.sqrt(max(np.linalg.eigvalsh(known[:2, :2])[-1], 0.0))
    doubt = doubtful / 3.0
    return Measured(made, math.hypot(sigma, doubt), math.hypot(place, doubt), rough, uneven, points, spread, doubtful)
