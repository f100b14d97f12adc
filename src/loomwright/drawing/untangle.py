"""Keeps wires apart after layout: where two would merge to the eye, upright pieces change places or move aside.

The layout keeps upright pieces apart, but a level piece that leaves a box on the left of a channel may lie close to
one that enters a box on its right. Then it matters which of the two turns first.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from loomwright.drawing.marks import Point

Links = dict[str, tuple[Point, ...]]
Box = tuple[float, float, float, float]

CLEAR_MM = 0.95
"""White between two wires, before scaling."""
_JOINS_MM = 0.45
_BESIDE_MM = 0.5
_STEPS_MM = (1.25, -1.25, 2.5, -2.5, 3.75, -3.75)
_CHANNEL_MM = 16.0  # upright pieces further apart lie in two channels
_TRIES = 12


@dataclass(frozen=True, slots=True)
class _Piece:
    wire: str
    number: int  # the piece begins at this corner of its wire
    level: bool
    across: float
    low: float
    high: float
    half_mm: float


def untangled(
    links: Mapping[str, tuple[Point, ...]], widths_mm: Mapping[str, float], boxes: Iterable[Box]
) -> tuple[Links, int]:
    """The same wires with as few places as can be where two merge, and how many are left."""
    made: Links = dict(links)
    solid = tuple(boxes)
    left = _bad(made, widths_mm)
    for _ in range(_TRIES):
        if not left:
            break
        best = min(_moves(made, widths_mm, solid, left[0]), key=lambda m: m[0], default=None)
        if best is None or best[0] >= len(left):
            break
        made = best[1]
        left = _bad(made, widths_mm)
    return made, len(left)


def _pieces(links: Links, widths_mm: Mapping[str, float]) -> list[_Piece]:
    out = []
    for wire, points in links.items():
        for k, (a, b) in enumerate(itertools.pairwise(points)):
            level = abs(a[1] - b[1]) < 1e-6
            i = 0 if level else 1
            low, high = sorted((a[i], b[i]))
            out.append(_Piece(wire, k, level, a[1 - i], low, high, widths_mm.get(wire, 0.35) / 2))
    return out


def _bad(links: Links, widths_mm: Mapping[str, float]) -> list[tuple[str, str]]:
    """Pairs of wires with pieces side by side too close, or an end or corner of one on the other."""
    found: list[tuple[str, str]] = []
    pieces = _pieces(links, widths_mm)
    for level in (True, False):
        lines = sorted((p for p in pieces if p.level == level), key=lambda p: (p.across, p.wire, p.number))
        for i, a in enumerate(lines):
            for b in itertools.islice(lines, i + 1, None):
                apart = b.across - a.across
                if apart > CLEAR_MM + 3.0:
                    break
                if a.wire != b.wire and apart - a.half_mm - b.half_mm < CLEAR_MM and (
                    min(a.high, b.high) - max(a.low, b.low) > _BESIDE_MM
                ):  # fmt: skip
                    found.append((a.wire, b.wire))
    corners = sorted((x, y, wire) for wire, points in links.items() for x, y in points)
    for p in pieces:
        box = (
            (p.low, p.across, p.high, p.across) if p.level else (p.across, p.low, p.across, p.high)
        )  # fmt: skip
        for x, y, wire in corners:
            if x > box[2] + _JOINS_MM:
                break
            if wire != p.wire and x > box[0] - _JOINS_MM and box[1] - _JOINS_MM < y < box[3] + _JOINS_MM:
                found.append((p.wire, wire))
    return found


def _moves(
    links: Links, widths_mm: Mapping[str, float], boxes: tuple[Box, ...], pair: tuple[str, str]
) -> Iterator[tuple[int, Links]]:
    """What may be done about a pair: two upright pieces change places, or one moves aside. With what is then left."""
    uprights = [p for p in _pieces({w: links[w] for w in dict.fromkeys(pair)}, widths_mm) if not p.level]
    free = [p for p in uprights if 0 < p.number < len(links[p.wire]) - 2]
    for a, b in itertools.combinations(free, 2):
        if a.wire != b.wire and abs(a.across - b.across) < _CHANNEL_MM:
            moved = _at(_at(links, a, b.across), b, a.across)
            if _clear(moved, (a, b), boxes):
                yield len(_bad(moved, widths_mm)), moved
    for p in free:
        for step in _STEPS_MM:
            moved = _at(links, p, p.across + step)
            if _clear(moved, (p,), boxes):
                yield len(_bad(moved, widths_mm)), moved


def _at(links: Links, piece: _Piece, x: float) -> Links:
    points = list(links[piece.wire])
    for k in (piece.number, piece.number + 1):
        points[k] = (x, points[k][1])
    return {**links, piece.wire: tuple(points)}


def _clear(links: Links, moved: Iterable[_Piece], boxes: tuple[Box, ...]) -> bool:
    """Whether moved pieces still turn between their neighbours' ends, and keep out of every box."""
    for p in moved:
        points = links[p.wire]
        for a, b in itertools.pairwise(points[p.number - 1 : p.number + 3]):
            x1, x2 = sorted((a[0], b[0]))
            y1, y2 = sorted((a[1], b[1]))
            for left, top, right, bottom in boxes:
                if x1 < right + 0.5 and x2 > left - 0.5 and y1 < bottom + 0.5 and y2 > top - 0.5:
                    touches = (abs(x1 - right) < 1e-6 or abs(x2 - left) < 1e-6) and y1 == y2
                    if not touches:
                        return False
    return True
