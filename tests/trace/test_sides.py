"""Sides against each other: short ones square to long ones, stray runs put back on the corner of two good sides."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loomwright.trace import prune, shape, tangent
from loomwright.trace.camera import Array
from loomwright.trace.measure import Measured


def _side(start: tuple[float, float], end: tuple[float, float], sigma_mm: float, count: int = 9) -> Measured:
    points = np.linspace(start, end, count)
    long = math.dist(start, end)
    way = ((end[0] - start[0]) / long, (end[1] - start[1]) / long)
    middle = points.mean(axis=0)
    carrier = shape.Line((float(middle[0]), float(middle[1])), way)
    return Measured(carrier, sigma_mm, sigma_mm, sigma_mm, sigma_mm, points, np.full(count, sigma_mm))


@pytest.mark.parametrize(("lean_mm", "square"), [(0.2, True), (4.0, False)])
def test_short_side_is_square_where_it_may_as_well_be(lean_mm: float, square: bool) -> None:
    lean = lean_mm / 2.0
    found = [
        _side((0.0, 0.0), (60.0, 0.0), 0.01),
        _side((60.0 - lean, 0.0), (60.0 + lean, 14.0), 0.05),
        _side((60.0, 14.0), (0.0, 14.0), 0.01),
        _side((0.0, 14.0), (0.0, 0.0), 0.05),
    ]
    ways = [s.carrier.way for s in tangent.squared(found) if isinstance(s.carrier, shape.Line)]
    assert (abs(ways[1][0]) < 1e-9) == square
    assert ways[1][1] > 0.9  # it still runs the same way
    assert ways[0] == (1.0, 0.0)


def test_a_run_that_strayed_from_a_corner_goes_back_to_it() -> None:
    corners = [(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]
    ring = np.vstack([np.linspace(corners[k - 1], corners[k], 100, endpoint=False) for k in (1, 2, 3, 0)])
    stray = np.linspace((290.0, 0.0), (295.0, 10.0), 8)
    points: Array = np.vstack([ring[:97], stray, ring[106:]])
    pieces = tuple(
        shape.Piece(a, b, "line") for a, b in ((0, 97), (97, 105), (105, 199), (199, 299), (299, len(points)))
    )
    found = [
        _side((5.0, 0.0), (265.0, 0.0), 0.01),
        _side((290.0, 0.0), (295.0, 10.0), 0.4),
        _side((300.0, 35.0), (300.0, 195.0), 0.01),
        _side((295.0, 200.0), (5.0, 200.0), 0.01),
        _side((0.0, 195.0), (0.0, 5.0), 0.01),
    ]
    put, kept, sides = prune.pruned(points, pieces, found, lambda side, run: True)
    assert len(kept) == len(sides) == 4
    assert float(np.linalg.norm(put - (300.0, 0.0), axis=1).min()) < 1e-6
