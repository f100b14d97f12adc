"""Boards as convex pieces: areas add up, and a box is on the board where every point of it is."""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.panel.shapes import board as shape_of
from loomwright.panel.shapes import clockwise, convex_pieces
from loomwright.rig.panels import area_mm2, crossing, flattened
from tests.panel.rigs import board

TENTHS = [(100 if k % 2 else 190, k * math.pi / 5) for k in range(10)]
STAR = [(200 + r * math.cos(a), 200 + r * math.sin(a)) for r, a in TENTHS]
ELL = [(0.0, 0.0), (300.0, 0.0), (300.0, 120.0), (140.0, 120.0), (140.0, 260.0), (0.0, 260.0)]


def inside(ring: list[tuple[float, float]], x: float, y: float) -> bool:
    odd = False
    for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True):
        if (ay > y) != (by > y) and x < (bx - ax) * (y - ay) / (by - ay) + ax:
            odd = not odd
    return odd


def test_pieces_are_convex_and_make_up_the_whole() -> None:
    for ring in (STAR, ELL, ELL[::-1]):
        whole = clockwise(ring)
        pieces = convex_pieces(whole)
        assert math.isclose(sum(area_mm2(p) for p in pieces), area_mm2(whole), rel_tol=1e-9)
        for piece in pieces:
            n = len(piece)
            turns = [
                (piece[k][0] - piece[k - 1][0]) * (piece[(k + 1) % n][1] - piece[k][1])
                - (piece[k][1] - piece[k - 1][1]) * (piece[(k + 1) % n][0] - piece[k][0])
                for k in range(n)
            ]
            assert min(turns) > -1e-6


@settings(max_examples=120)
@given(st.sampled_from([STAR, ELL]), st.floats(0, 380), st.floats(0, 380), st.floats(5, 60), st.floats(5, 60))
def test_a_box_has_room_only_where_it_lies_on_the_board(
    ring: list[tuple[float, float]], x: float, y: float, w: float, h: float
) -> None:
    from dataclasses import replace

    panel = replace(board(400, 400, (399.0, 399.0)), outer=tuple(ring))
    box = (x, y, x + w, y + h)
    if shape_of(panel).room_mm(box, box, 0.0) > 1e-6:
        steps = [k / 6 for k in range(7)]
        assert all(inside(ring, x + w * (0.001 + 0.998 * a), y + h * (0.001 + 0.998 * b)) for a in steps for b in steps)


def test_a_round_side_keeps_its_area() -> None:
    # A square of 100 mm with one side a half circle: bulge 1, radius 50.
    ring = flattened([[0, 0, 1], [100, 0], [100, 100], [0, 100]])
    assert math.isclose(abs(area_mm2(ring)), 100 * 100 + math.pi * 50**2 / 2, rel_tol=0.003)
    assert crossing(ring) is None
    assert crossing([(0, 0), (10, 10), (10, 0), (0, 10)]) is not None
