"""A rim that strayed to and fro about one straight side, between its edge and a shadow's, measured as that side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from loomwright.trace import measure, shape
from loomwright.trace.camera import Array
from loomwright.trace.fit import Scene, View
from loomwright.trace.measure import Measured
from loomwright.trace.rim import Rim
from loomwright.trace.shape import Line, Piece

WIDE_MM, LONG_MM = 4.0, 60.0
"""So far a rim may stray from a side of at least so many millimetres."""
PART, TRIES = 0.35, 6
"""At least this part of a run is hardly known where it is tried as one side; no more than so many tries."""
EVEN_MM, SURE_MM, WEAK_MM = 0.15, 0.1, 0.06


def straightened(
    views: Sequence[View],
    scene: Scene,
    rim: Rim,
    pieces: tuple[Piece, ...],
    found: list[Measured],
    face_z: float,
    floor_z: float,
) -> tuple[Rim, tuple[Piece, ...], list[Measured]]:
    """The same, runs that are hardly known made one straight side where the light along all of it says so."""
    tries = 0
    again = True
    while again:
        again = False
        for k, m in _runs(rim.points_mm, pieces, found):
            if tries == TRIES:
                break
            tries += 1
            side = _as_one(views, scene, rim, _points(rim.points_mm, pieces, k, m), face_z, floor_z)
            was = max(found[(k + i) % len(found)].uneven_mm for i in range(m))
            if side is None or side.uneven_mm > 1.1 * was + 0.02:
                continue
            rim, pieces, found = _with(rim, pieces, found, k, m, side)
            again = True
            break
    return rim, pieces, found


def poor(side: Measured) -> bool:
    """Whether a side is hardly known: it may be no edge of card at all."""
    return side.sigma_mm > SURE_MM or side.doubtful_mm > 0.0 or side.uneven_mm > EVEN_MM


def _runs(points: Array, pieces: tuple[Piece, ...], found: list[Measured]) -> Iterator[tuple[int, int]]:
    """Runs of pieces that keep to one line, about, and are hardly known in good part; the longest first."""
    n = len(pieces)
    weak = [poor(f) or max(f.uneven_mm, f.sigma_mm) > WEAK_MM for f in found]
    if n < 4 or not any(weak):
        return
    many = [p.last - p.first for p in pieces]
    runs = []
    for k in range(n):
        for m in range(2, n - 1):
            index = [(k + i) % n for i in range(m)]
            whole = sum(many[i] for i in index)
            if sum(many[i] for i in index if weak[i]) < PART * whole:
                continue
            run = _points(points, pieces, k, m)
            long = float(np.linalg.norm(run[-1] - run[0]))
            if long < LONG_MM or float(np.linalg.norm(np.diff(run, axis=0), axis=1).sum()) > 1.15 * long:
                continue
            line = shape.line_through(run)
            if float(np.abs((run - line.at) @ np.array([line.way[1], -line.way[0]])).max()) < WIDE_MM:
                runs.append((-long, k, m))
    yield from ((k, m) for _, k, m in sorted(runs))


def _points(points: Array, pieces: tuple[Piece, ...], k: int, m: int) -> Array:
    first = pieces[k].first
    count = sum(pieces[(k + i) % len(pieces)].last - pieces[(k + i) % len(pieces)].first for i in range(m))
    out: Array = points[np.arange(first, first + count + 1) % len(points)]
    return out


def _as_one(
    views: Sequence[View], scene: Scene, rim: Rim, run: Array, face_z: float, floor_z: float
) -> Measured | None:
    made: Measured | None = None
    carrier: shape.Carrier = shape.line_through(run)
    for reach in (WIDE_MM, 0.6):
        made = measure.along(views, scene, carrier, (run[0], run[-1]), False, rim, face_z, floor_z, reach)
        if made is None:
            return None
        carrier = made.carrier
    if made is None or poor(made) or not isinstance(made.carrier, Line):
        return None
    return made


def _with(
    rim: Rim, pieces: tuple[Piece, ...], found: list[Measured], k: int, m: int, side: Measured
) -> tuple[Rim, tuple[Piece, ...], list[Measured]]:
    """One side in place of a run, its points put upon it."""
    n, count = len(pieces), len(rim.points_mm)
    assert isinstance(side.carrier, Line)
    first = pieces[k].first
    last = first + sum(pieces[(k + i) % n].last - pieces[(k + i) % n].first for i in range(m))
    index = np.arange(first, last + 1) % count
    way, points = np.asarray(side.carrier.way), rim.points_mm.copy()
    points[index] = np.asarray(side.carrier.at) + ((points[index] - side.carrier.at) @ way)[:, None] * way
    out, kept, at = [Piece(first, last, "line")], [side], last
    for i in range(n - m):
        piece = pieces[(k + m + i) % n]
        long = piece.last - piece.first
        out.append(Piece(at, at + long, piece.kind))
        kept.append(found[(k + m + i) % n])
        at += long
    return replace(rim, points_mm=points), tuple(out), kept
