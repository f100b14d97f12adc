"""Nesting: length of strip against the best known, twenty sets; sheets of a shop, time."""

from __future__ import annotations

import time

from bench._puzzles import COUNT, puzzle
from bench.rows import Row, at_most
from loomwright.nesting import strip

MOVES = 20_000


def rows() -> list[Row]:
    """How much longer than the best known, and the time that the search took."""
    over, took = [], []
    for k in range(COUNT):
        made = puzzle(k)
        begun = time.perf_counter()
        found = strip.pack(made.width_mm, made.pieces, moves=MOVES)
        took.append(time.perf_counter() - begun)
        over.append(100.0 * (found.length_mm / made.best_mm - 1.0))
    return [
        at_most(f"nesting, {COUNT} sets: length over the best known, worst", max(over), "%", 8.0),
        at_most("nesting: length over the best known, mean", sum(over) / COUNT, "%", 8.0),
        at_most("nesting: time for a set, worst", max(took), "s", 120.0),
    ]
