"""The board as half planes and convex pieces, so that a rectangle on it can be judged, and so that a solver can too.

A rectangle lies on the board where it is inside every edge of the board's convex hull, and apart from every convex
piece of what the hull has more than the board: notches, holes, keep-outs. Two convex shapes are apart where some side
of one of them has the other wholly beyond it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from loomwright.facts import panel as facts
from loomwright.panel.results import Box
from loomwright.rig.panels import area_mm2
from loomwright.rig.plan import Panel, Point

Ring = tuple[Point, ...]
CLOSE_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Edge:
    """A half plane: ``nx * x + ny * y <= c`` is the inside; the normal has length 1."""

    nx: float
    ny: float
    c: float

    def beyond_mm(self, box: Box) -> float:
        """How far the farthest corner of a box lies outside; below 0 where all of it is inside."""
        left, top, right, bottom = box
        return self.nx * (right if self.nx > 0 else left) + self.ny * (bottom if self.ny > 0 else top) - self.c

    def before_mm(self, box: Box) -> float:
        """How far the nearest corner of a box lies outside; above 0 where all of it is."""
        left, top, right, bottom = box
        return self.nx * (left if self.nx > 0 else right) + self.ny * (top if self.ny > 0 else bottom) - self.c


@dataclass(frozen=True, slots=True)
class Piece:
    """A convex piece that nothing may stand on.

    ``cut`` where it is a notch or a hole, whose rim asks for a distance; ``gather`` where it is the room round the
    cable entry, in which leads lie.
    """

    edges: tuple[Edge, ...]
    box_mm: Box
    cut: bool
    gather: bool = False

    def apart_mm(self, box: Box) -> float:
        """How far a box is apart from it along the best of all sides; below 0 where they overlap."""
        left, top, right, bottom = self.box_mm
        sides = (left - box[2], top - box[3], box[0] - right, box[1] - bottom)
        return max(*sides, *(e.before_mm(box) for e in self.edges if min(abs(e.nx), abs(e.ny)) > CLOSE_MM))


@dataclass(frozen=True, slots=True)
class Board:
    """The hull of a board, and what is missing from it."""

    edges: tuple[Edge, ...]
    pieces: tuple[Piece, ...]
    area_mm2: float

    def room_mm(self, edge_box: Box, free_box: Box, edge_mm: float) -> float:
        """How much room a rectangle has to spare; below 0 where something is in the way.

        ``edge_box`` must lie inside the hull; it comes with its distances from the edge. ``free_box`` must be apart
        from every piece, by ``edge_mm`` from a notch or hole.
        """
        return min(self.inside_mm(edge_box), self.apart_mm(free_box, edge_mm))

    def inside_mm(self, box: Box) -> float:
        """From the farthest corner of a box to the hull; below 0 where it lies outside."""
        return min(-e.beyond_mm(box) for e in self.edges)

    def apart_mm(self, box: Box, edge_mm: float = 0.0) -> float:
        """How much a box has to spare to every notch, hole and keep-out and to the cable entry."""
        return min((p.apart_mm(box) - (edge_mm if p.cut else 0.0) for p in self.pieces), default=math.inf)

    def gather_mm(self, box: Box) -> float:
        """How far a box is from the room round the cable entry."""
        return min((p.apart_mm(box) for p in self.pieces if p.gather), default=math.inf)


@lru_cache(maxsize=64)
def board(panel: Panel) -> Board:
    """The board of a panel."""
    outer = clockwise(panel.outer)
    hull = convex_hull(outer)
    pieces = [_piece(p, cut=True) for pocket in _pockets(outer, hull) for p in convex_pieces(pocket)]
    pieces += [_piece(p, cut=True) for hole in panel.holes for p in convex_pieces(clockwise(hole))]
    for k in panel.keep_outs:
        (x, y), (w, h) = k.at_mm, k.size_mm
        if w > 0 and h > 0:
            pieces.append(_piece(((x, y), (x + w, y), (x + w, y + h), (x, y + h)), cut=False))
    (x, y), r = panel.entry_mm, facts.room("entry_mm")
    pieces.append(_piece(((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)), cut=False, gather=True))
    area = abs(area_mm2(outer)) - sum(abs(area_mm2(h)) for h in panel.holes)
    return Board(_edges(hull), tuple(pieces), area)


def clockwise(ring: Sequence[Point]) -> Ring:
    """The ring, run clockwise as seen (y down)."""
    return tuple(ring) if area_mm2(ring) > 0 else tuple(reversed(ring))


def convex_hull(points: Sequence[Point]) -> Ring:
    """The convex hull, clockwise as seen."""
    ordered = sorted(set(points))

    def chain(run: Sequence[Point]) -> list[Point]:
        out: list[Point] = []
        for p in run:
            while len(out) > 1 and _cross(out[-2], out[-1], p) <= CLOSE_MM:
                out.pop()
            out.append(p)
        return out

    low, high = chain(ordered), chain(ordered[::-1])
    return (*low[:-1], *high[:-1])


def convex_pieces(ring: Sequence[Point]) -> list[Ring]:
    """Convex pieces that make up a clockwise ring: ears cut off, then put together again where that stays convex."""
    pieces: list[Ring] = _ears(list(ring))
    merged = True
    while merged:
        merged = False
        for i in range(len(pieces)):
            for j in range(i + 1, len(pieces)):
                both = _joined(pieces[i], pieces[j])
                if both is not None:
                    pieces[i] = both
                    del pieces[j]
                    merged = True
                    break
            if merged:
                break
    return pieces


def _ears(ring: list[Point]) -> list[Ring]:
    out: list[Ring] = []
    left = [p for k, p in enumerate(ring) if p != ring[k - 1]]
    while len(left) > 3:
        n = len(left)
        for k in range(n):
            a, b, c = left[k - 1], left[k], left[(k + 1) % n]
            turn = _cross(a, b, c)
            if abs(turn) <= CLOSE_MM:
                del left[k]
                break
            if turn > 0 and not any(_inside(p, a, b, c) for p in left if p not in (a, b, c)):
                out.append((a, b, c))
                del left[k]
                break
        else:
            break
    if len(left) == 3 and _cross(*left) > CLOSE_MM:
        out.append((left[0], left[1], left[2]))
    return out


def _joined(a: Ring, b: Ring) -> Ring | None:
    """Two pieces along a side that they share, where the whole is convex."""
    for i, p in enumerate(a):
        q = a[(i + 1) % len(a)]
        for j, r in enumerate(b):
            if r == q and b[(j + 1) % len(b)] == p:
                ring = [
                    *(a[(i + 1 + k) % len(a)] for k in range(len(a))),
                    *(b[(j + 2 + k) % len(b)] for k in range(len(b) - 2)),
                ]
                n = len(ring)
                if all(_cross(ring[k - 1], ring[k], ring[(k + 1) % n]) >= -CLOSE_MM for k in range(n)):
                    return tuple(
                        p for k, p in enumerate(ring) if abs(_cross(ring[k - 1], p, ring[(k + 1) % n])) > CLOSE_MM
                    )
    return None


def _pockets(outer: Ring, hull: Ring) -> list[Ring]:
    """What the hull has more than the ring, each clockwise."""
    on = set(hull)
    start = next(k for k, p in enumerate(outer) if p in on)
    run = [*outer[start:], *outer[:start], outer[start]]
    marks = [k for k, p in enumerate(run) if p in on]
    return [clockwise(run[a : b + 1]) for a, b in pairwise(marks) if b - a > 1 and abs(area_mm2(run[a : b + 1])) > 1e-3]


def _piece(ring: Sequence[Point], *, cut: bool, gather: bool = False) -> Piece:
    xs, ys = [p[0] for p in ring], [p[1] for p in ring]
    return Piece(_edges(ring), (min(xs), min(ys), max(xs), max(ys)), cut, gather)


def _edges(ring: Sequence[Point]) -> tuple[Edge, ...]:
    """Half planes of a convex clockwise ring (y down: the inside is on the right hand)."""
    out = []
    for a, b in zip(ring, [*ring[1:], *ring[:1]], strict=True):
        long = math.dist(a, b)
        if long > CLOSE_MM:
            nx, ny = (b[1] - a[1]) / long, -(b[0] - a[0]) / long
            out.append(Edge(nx, ny, nx * a[0] + ny * a[1]))
    return tuple(out)


def _cross(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _inside(p: Point, a: Point, b: Point, c: Point) -> bool:
    return _cross(a, b, p) >= -CLOSE_MM and _cross(b, c, p) >= -CLOSE_MM and _cross(c, a, p) >= -CLOSE_MM
