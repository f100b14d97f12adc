"""A board traced from a photograph, for a page: its corners on the photograph, and the way from there to mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.rig.panels import WITHIN_MM
from loomwright.trace.allowances import Allowances, applied
from loomwright.trace.outline import Outline, Ring, Side, placed, ring_of
from loomwright.trace.photograph import Traced
from loomwright.trace.typed import circle

FLAT_POINTS = 24
"""So many points stand for a straight side in what the tracing gives over the photograph."""
MOST_MISFIT_MM = 12.0
"""A lens bends what the map takes as straight: so much is let pass, since only how far a corner is moved goes by it."""
LEAST_POINTS = 8
"""Fewer points of a photograph do not hold the map to the board."""
Row = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of the board: on the photograph [px], on the board [mm], and the bulge of the side that begins there."""

    at_px: tuple[float, float]
    at_mm: tuple[float, float]
    bulge: float


@dataclass(frozen=True, slots=True)
class OnPhoto:
    """What the page shows of a traced board.

    ``to_mm`` takes a point of the photograph to the board, row by row (3 x 3); empty where corners cannot be dragged.
    ``holes_mm`` are rows as a rig file holds them.
    """

    corners: tuple[Corner, ...]
    rings_px: tuple[tuple[tuple[float, float], ...], ...]
    holes_mm: tuple[Row, ...]
    to_mm: tuple[float, ...]
    size_mm: tuple[float, float]
    error_mm: float
    warnings: tuple[str, ...]
    notes: tuple[str, ...]


def on_photo(found: Traced, size_px: tuple[int, int]) -> OnPhoto:
    """The page's view of what was traced; ``size_px`` of the first photograph, width and height.

    Of a board that goes on in other photographs, what lies in the first says where its millimetres are.
    """
    outline = found.outline
    outer = outline.outer
    starts, points = _sampled(outer)
    px = found.over_px[0]
    corners: tuple[Corner, ...]
    to_mm: tuple[float, ...] = ()
    if len(px) == len(points):
        inside = [k for k, (x, y) in enumerate(px) if 0.0 <= x <= size_px[0] and 0.0 <= y <= size_px[1]]
        to_mm = _homography([px[k] for k in inside], [points[k] for k in inside])
        corners = tuple(Corner(px[k], _rounded(s.start_mm), s.bulge) for k, s in zip(starts, outer.sides, strict=True))
    else:
        corners = tuple(Corner((0.0, 0.0), _rounded(s.start_mm), s.bulge) for s in outer.sides)
    return OnPhoto(
        corners, found.over_px, holes(outline), to_mm, outline.size_mm, found.error_mm, found.warnings, found.notes
    )


def allowed(
    corners: list[list[float]], holes_mm: list[list[float]], allowances: Allowances
) -> tuple[list[list[float]], list[list[float]]]:
    """Corners and holes as a rig file holds them, with what is left for covering, air and blade.

    Raises
    ------
    InputError
        Where an allowance is not a length, or eats up a side.
    """
    if allowances.inset_mm() == 0.0:
        applied(Outline(circle(1e3, (0.0, 0.0))), allowances)  # says what is no length
        return corners, holes_mm
    rings = (
        circle(h[2], (h[0], h[1])) if len(h) == 3 else ring_of(zip(h[::2], h[1::2], strict=True)) for h in holes_mm
    )
    outer = ring_of([(c[0], c[1]) for c in corners], [c[2] if len(c) > 2 else 0.0 for c in corners])
    made = applied(placed(Outline(outer, tuple(rings))), allowances)
    rows = [
        [*_rounded(side.start_mm), *([round(side.bulge, 6)] if side.bulge else [])] for side in made.outer.sides
    ]
    return rows, [list(row) for row in holes(made)]


def holes(outline: Outline) -> tuple[Row, ...]:
    """Holes as a rig file holds them: across, down and diameter, or corner after corner [mm]."""
    return tuple(_hole(ring) for ring in outline.holes)


def _hole(ring: Ring) -> Row:
    points = ring.points(WITHIN_MM)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    radii = [s.radius_mm for s in ring.sides if s.bulge]
    if len(radii) == len(ring.sides) and max(radii) - min(radii) < 0.5:
        x, y = (min(xs) + max(xs)) / 2.0, (min(ys) + max(ys)) / 2.0
        return round(x, 1), round(y, 1), round(max(max(xs) - min(xs), max(ys) - min(ys)), 1)
    return tuple(round(v, 1) for p in points for v in p)


def _rounded(p: tuple[float, float]) -> tuple[float, float]:
    return round(p[0], 1), round(p[1], 1)


def _sampled(ring: Ring) -> tuple[list[int], list[tuple[float, float]]]:
    """Points along a ring as the tracing samples it, and at which of them each side begins."""
    starts: list[int] = []
    points: list[tuple[float, float]] = []
    for side in ring.sides:
        starts.append(len(points))
        points += _along(side)
    return starts, points


def _along(side: Side) -> list[tuple[float, float]]:
    run = list(side.points(0.1))
    if len(run) > 1:
        return run
    (ax, ay), (bx, by) = side.start_mm, side.end_mm
    return [(ax + (bx - ax) * t, ay + (by - ay) * t) for t in np.linspace(0.0, 0.98, FLAT_POINTS)]


def _homography(px: list[tuple[float, float]], mm: list[tuple[float, float]]) -> tuple[float, ...]:
    """The plane to plane map that fits best, row by row; empty where it fits badly."""
    if len(px) < LEAST_POINTS:
        return ()
    a, b = np.array(px), np.array(mm)
    shift, scale = a.mean(axis=0), max(float(a.std()), 1e-9)
    u = (a - shift) / scale
    rows = []
    for (x, y), (p, q) in zip(u, b, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -p * x, -p * y, -p], [0, 0, 0, x, y, 1, -q * x, -q * y, -q]]
    h = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    whole = h @ np.array([[1 / scale, 0, -shift[0] / scale], [0, 1 / scale, -shift[1] / scale], [0, 0, 1]])
    made = np.column_stack([a, np.ones(len(a))]) @ whole.T
    with np.errstate(all="ignore"):
        misfit = float(np.abs(made[:, :2] / made[:, 2:] - b).max())
    if not misfit < MOST_MISFIT_MM:
        return ()
    whole /= np.abs(whole).max()
    return tuple(float(v) for v in whole.ravel())
