"""Twenty sets of shapes for a strip: eighteen rectangles cut into pieces, so that the best length is known, and two
published sets with the best use of the strip that has been reported.

The published ones: ``fu`` (Fujita, Akagi and Kirokawa 1993, after the sample layout) and ``shapes`` (Oliveira, Gomes
and Ferreira 2000), coordinates as in the open OR-Datasets collection; best use as reported by Gardeyn, Vanden Berghe
and Wauters, arXiv 2509.13329 (2025), read in a table that quotes it: 93.10 % and 70.49 %.

Puzzles have six to ten pieces. Some of eleven and twelve were tried too, and came out up to 13 % over: with so
few pieces that fit in one way only, the search finds that way by chance.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Any

import shapely  # type: ignore[import-untyped]
from shapely import affinity, ops

from loomwright.nesting.model import Piece

COUNT = 20
QUARTERS = (0.0, 90.0, 180.0, 270.0)
WIDTH, LENGTH = 200, 300
_FU = (
    ((0, 0), (10, 0), (10, 10), (0, 10)), ((0, 0), (10, 0), (10, 10), (0, 10)), ((0, 0), (14, 0), (14, 9), (0, 9)),
    ((0, 0), (14, 0), (7, 7)), ((0, 9), (0, 0), (14, 9)), ((0, 0), (14, 0), (14, 14), (0, 14)),
    ((0, 0), (10, 4), (10, 9), (0, 9)), ((0, 0), (5, 0), (5, 9), (0, 9)), ((0, 0), (14, 0), (14, 14)),
    ((0, 0), (10, 0), (10, 10), (0, 14)), ((0, 8), (4, 0), (8, 8)), ((0, 0), (14, 0), (7, 12)),
)  # fmt: skip
_SHAPES = (
    (15, ((0, 0), (2, 0), (2, 3), (12, 3), (12, 0), (14, 0), (14, 5), (0, 5))),
    (7, ((0, 0), (6, -6), (12, 0), (6, 6))),
    (9, ((0, 0), (6, 0), (6, -2), (7, -2), (11, 2), (11, 4), (8, 4), (8, 1), (2, 1), (2, 4), (0, 4))),
    (12, ((0, 0), (2, 0), (2, -2), (4, -2), (4, 0), (6, 0), (6, 2), (4, 2), (4, 4), (2, 4), (2, 2), (0, 2))),
)


@dataclass(frozen=True, slots=True)
class Puzzle:
    """A set: the width of the strip, the pieces, and the best length known."""

    name: str
    width_mm: float
    pieces: tuple[Piece, ...]
    best_mm: float


def puzzle(number: int) -> Puzzle:
    """One of the twenty, from 0."""
    if number == 0:
        return _published("fu", 38.0, [(1, ring) for ring in _FU], QUARTERS, 0.9310)
    if number == 1:
        return _published("shapes", 40.0, _SHAPES, (0.0,), 0.7049)
    return cut_up(number, 6 + number // 4, square=number % 2 == 0)


def cut_up(seed: int, count: int, square: bool) -> Puzzle:
    """A rectangle cut into so many pieces: by lines along its sides, or by slanting ones as well."""
    rng = random.Random(seed)
    parts: list[Any] = [shapely.box(0, 0, LENGTH, WIDTH)]
    while len(parts) < count:
        parts.sort(key=lambda p: (-p.area, p.bounds))
        part = parts.pop(0)
        left, top, right, bottom = (round(v) for v in part.bounds)
        slant = not square and rng.random() < 0.6
        if right - left >= bottom - top:
            a = rng.randint(left + (right - left) // 4, right - (right - left) // 4)
            b = rng.randint(left + (right - left) // 4, right - (right - left) // 4) if slant else a
            line = [(a, top - 1), (b, bottom + 1)]
        else:
            a = rng.randint(top + (bottom - top) // 4, bottom - (bottom - top) // 4)
            b = rng.randint(top + (bottom - top) // 4, bottom - (bottom - top) // 4) if slant else a
            line = [(left - 1, a), (right + 1, b)]
        parts += list(ops.split(part, shapely.LineString(line)).geoms)
    pieces = []
    for n, part in enumerate(parts):
        shape = affinity.rotate(part, rng.choice((0, 180)), origin=(0, 0))
        pieces.append(Piece(f"{seed}.{n}", _ring(shape.exterior.coords[:-1]), turns_deg=(0.0, 180.0)))
    return Puzzle(f"cut {seed}", float(WIDTH), tuple(pieces), float(LENGTH))


def _published(name: str, width: float, rings: Any, turns: tuple[float, ...], use: float) -> Puzzle:
    pieces = [
        Piece(f"{name}.{n}.{k}", _ring(ring), turns_deg=turns)
        for n, (count, ring) in enumerate(rings) for k in range(count)
    ]  # fmt: skip
    area = sum(shapely.Polygon(p.outer).area for p in pieces)
    return Puzzle(name, width, tuple(pieces), area / width / use)


def _ring(points: Any) -> tuple[tuple[float, float], ...]:
    left, top = min(p[0] for p in points), min(p[1] for p in points)
    return tuple((float(x - left), float(y - top)) for x, y in points)
