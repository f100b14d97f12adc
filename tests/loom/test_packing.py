"""Packing unlike circles: nothing overlaps, nothing sticks out, the same each time."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.loom.packing import Packing, pack


def tightest(diameters: list[float], packed: Packing) -> tuple[float, float]:
    """Least gap between two circles, and least gap to the circle around them [mm]."""
    middles = packed.centres_mm
    pairs = [
        math.dist(middles[i], middles[j]) - (diameters[i] + diameters[j]) / 2.0
        for i in range(len(diameters)) for j in range(i)
    ]  # fmt: skip
    wall = [packed.diameter_mm / 2.0 - math.hypot(*m) - d / 2.0 for m, d in zip(middles, diameters, strict=True)]
    return min(pairs, default=0.0), min(wall, default=0.0)


@settings(max_examples=30)
@given(st.lists(st.floats(0.8, 20.0), max_size=16))
def test_nothing_overlaps_and_nothing_sticks_out(diameters: list[float]) -> None:
    packed = pack(diameters)
    assert all(gap > -1e-9 for gap in tightest(diameters, packed))
    assert packed.diameter_mm >= max(diameters, default=0.0) - 1e-9


def test_few_circles_are_exact() -> None:
    assert pack([]).diameter_mm == 0.0
    assert pack([3.2]).diameter_mm == pytest.approx(3.2)
    assert pack([3.0, 5.0]).diameter_mm == pytest.approx(8.0, rel=1e-4)
    # Descartes: three mutually touching circles of radius 1 lie in one of radius 1 + 2 / sqrt(3).
    assert pack([2.0] * 3).diameter_mm == pytest.approx(2.0 + 4.0 / math.sqrt(3.0), rel=1e-4)


def test_the_order_does_not_matter_and_the_centres_follow_it() -> None:
    given_mm = [2.5, 9.8, 4.0, 2.5, 6.1]
    a, b = pack(given_mm), pack(given_mm[::-1])
    assert a.diameter_mm == b.diameter_mm
    assert a == pack(given_mm)
    assert all(gap > -1e-9 for gap in tightest(given_mm, a))
    assert all(gap > -1e-9 for gap in tightest(given_mm[::-1], b))


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_what_is_no_diameter_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        pack([2.0, bad])
