"""Where the leads of a board are drawn: those that lie in one lane side by side, so that each can be followed.

On the board they are tied together; on paper they are a line's width and a gap apart. The ends stay at their
terminals.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from loomwright.drawing.marks import Point
from loomwright.panel.results import Lead

APART_MM = 1.2
MOST = 4
"""Steps to either side that lines are moved at most."""
SAME_MM = 0.8
"""Lines nearer than this are one to the eye."""
CLEAR_MM = 0.6
"""Between a line that was moved and a body."""

Box = tuple[float, float, float, float]


@dataclass(slots=True)
class _Piece:
    """A straight piece along one axis: where it lies across, from where to where, and how far it is moved."""

    lead: int
    number: int
    upright: bool
    across: float
    low: float
    high: float
    bound: bool
    leans: float
    moved: float = 0.0


def spread(leads: Sequence[Lead], scale: float, bodies: Sequence[Box] = ()) -> list[tuple[Point, ...]]:
    """The corners of every lead as drawn, in the order of the leads; ``bodies`` are boxes that none is moved onto.

    All in millimetres of the paper, left, top, right, bottom.
    """
    rows = [tuple((x / scale, y / scale) for x, y in lead.points_mm) for lead in leads]
    pieces = [p for n, row in enumerate(rows) for p in _pieces(n, row)]
    for heap in _heaps(pieces):
        _settle(heap, bodies)
    moved = {(p.lead, p.number): (p.moved, 0.0) if p.upright else (0.0, p.moved) for p in pieces}
    nothing = (0.0, 0.0)
    out = []
    for n, row in enumerate(rows):
        around = [(moved.get((n, k - 1), nothing), moved.get((n, k), nothing)) for k in range(len(row))]
        out.append(tuple(
            (x + (a[0] or b[0]), y + (a[1] or b[1])) for (x, y), (a, b) in zip(row, around, strict=True)
        ))  # fmt: skip
    return out


def _pieces(lead: int, row: Sequence[Point]) -> Iterator[_Piece]:
    last = len(row) - 2
    for k in range(len(row) - 1):
        (ax, ay), (bx, by) = row[k], row[k + 1]
        upright = ax == bx
        if upright == (ay == by):
            continue
        axis = 0 if upright else 1
        beside = [row[j][axis] for j in (k - 1, k + 2) if 0 <= j < len(row)]
        across = row[k][axis]
        low, high = sorted((ay, by) if upright else (ax, bx))
        leans = sum(v - across for v in beside)
        straight_on = any(_along(row, j, upright) for j in (k - 1, k + 1))
        yield _Piece(lead, k, upright, across, low, high, k in (0, last) or straight_on, leans)


def _along(row: Sequence[Point], k: int, upright: bool) -> bool:
    """Whether a piece runs on in the same direction: the two are moved together or not at all."""
    if not 0 <= k < len(row) - 1:
        return False
    (ax, ay), (bx, by) = row[k], row[k + 1]
    return (ax == bx) == upright and (ay == by) != upright


def _heaps(pieces: Sequence[_Piece]) -> Iterator[list[_Piece]]:
    """Pieces that lie on one another, directly or through others."""
    left = list(pieces)
    while left:
        heap, todo = [], [left.pop(0)]
        while todo:
            piece = todo.pop()
            heap.append(piece)
            on = [p for p in left if _on(piece, p)]
            left = [p for p in left if not _on(piece, p)]
            todo += on
        if len(heap) > 1:
            yield heap


def _on(a: _Piece, b: _Piece) -> bool:
    return (
        a.upright == b.upright and a.lead != b.lead and abs(a.across - b.across) < SAME_MM
        and a.low < b.high and b.low < a.high
    )  # fmt: skip


def _settle(heap: Sequence[_Piece], bodies: Sequence[Box]) -> None:
    """Give each piece that is free to move the nearest place beside those it lies on, on the side where it leans."""
    placed = [p for p in heap if p.bound]
    for piece in sorted((p for p in heap if not p.bound), key=lambda p: (abs(p.leans), p.lead, p.number)):
        sign = 1.0 if piece.leans >= 0.0 else -1.0
        tries = [0.0, *(s * k * APART_MM for k in range(1, MOST + 1) for s in (sign, -sign))]
        piece.moved = next((t for t in tries if _free(piece, t, placed) and not _onto(piece, t, bodies)), 0.0)
        placed.append(piece)


def _free(piece: _Piece, moved: float, placed: Sequence[_Piece]) -> bool:
    at = piece.across + moved
    return not any(
        abs(at - p.across - p.moved) < SAME_MM and piece.low < p.high and p.low < piece.high
        for p in placed if p.lead != piece.lead
    )  # fmt: skip


def _onto(piece: _Piece, moved: float, bodies: Sequence[Box]) -> bool:
    """Whether a moved piece touches a body."""
    at = piece.across + moved
    for left, top, right, bottom in bodies if moved else ():
        near, far, low, high = (left, right, top, bottom) if piece.upright else (top, bottom, left, right)
        if near - CLEAR_MM < at < far + CLEAR_MM and piece.low < high and low < piece.high:
            return True
    return False


def on_line(point: Point, row: Sequence[Point]) -> Point:
    """The point of a line that is nearest to a point."""
    best, least = point, math.inf
    for (ax, ay), (bx, by) in pairwise(row):
        go = (bx - ax, by - ay)
        long = go[0] ** 2 + go[1] ** 2
        share = 0.0 if long == 0.0 else ((point[0] - ax) * go[0] + (point[1] - ay) * go[1]) / long
        share = min(max(share, 0.0), 1.0)
        at = (ax + share * go[0], ay + share * go[1])
        far = math.dist(at, point)
        if far < least:
            best, least = at, far
    return best
