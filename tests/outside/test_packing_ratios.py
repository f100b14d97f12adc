"""Bundles against print and another program: equal circles by the tables, unlike ones by a general optimiser."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from loomwright.loom.packing import pack

# Radius of the smallest known circle around n unit circles, from the tables of circles packed in a circle: proven for n
# up to 14 and for 19 (Graham 1968, Pirl 1969, Melissen 1994, Fodor 1999 to 2003, Ekanayake and LaFountain 2024), best
# known for the rest (Goldberg 1971, Reis 1975, Pirl 1969). Closed forms where there is one, printed digits else.
RATIOS = {
    2: 2.0,
    3: 1.0 + 2.0 / math.sqrt(3.0),
    4: 1.0 + math.sqrt(2.0),
    5: 1.0 + math.sqrt(2.0 * (1.0 + 1.0 / math.sqrt(5.0))),
    6: 3.0,
    7: 3.0,
    8: 1.0 + 1.0 / math.sin(math.pi / 7.0),
    9: 1.0 + math.sqrt(2.0 * (2.0 + math.sqrt(2.0))),
    10: 3.813,
    11: 1.0 + 1.0 / math.sin(math.pi / 9.0),
    12: 4.029,
    13: 2.0 + math.sqrt(5.0),
    14: 4.328,
    15: 1.0 + math.sqrt(6.0 + 2.0 / math.sqrt(5.0) + 4.0 * math.sqrt(1.0 + 2.0 / math.sqrt(5.0))),
    16: 4.615,
    17: 4.792,
    18: 1.0 + math.sqrt(2.0) + math.sqrt(6.0),
    19: 1.0 + math.sqrt(2.0) + math.sqrt(6.0),
}
CUT_OFF = {10, 12, 14, 16, 17}
"""Printed to three places and cut off there, not rounded."""


@pytest.mark.parametrize("n", RATIOS)
def test_equal_circles(n: int) -> None:
    ratio = pack([2.8] * n).diameter_mm / 2.8
    assert ratio <= RATIOS[n] * 1.01
    assert ratio >= RATIOS[n] * (1.0 - 1e-9)


def test_the_printed_digits_are_not_under_the_optimum() -> None:
    """Where only digits are printed and cut off, what we find lies above them: none of ours is better."""
    for n in CUT_OFF:
        assert pack([2.0] * n).diameter_mm / 2.0 >= RATIOS[n]


# scipy's SLSQP from 60 random starts for each set: see make_packing_reference.py.
UNLIKE = json.loads(Path(__file__).with_name("packing_reference.json").read_text("utf-8"))


def test_there_are_fifty_unlike_sets() -> None:
    assert len(UNLIKE) == 50


@pytest.mark.parametrize("row", UNLIKE, ids=range(len(UNLIKE)))
def test_unlike_circles(row: dict[str, object]) -> None:
    diameters, best = row["diameters_mm"], row["found_mm"]
    assert isinstance(diameters, list)
    assert isinstance(best, float)
    packed = pack(diameters)
    for k, (a, d) in enumerate(zip(packed.centres_mm, diameters, strict=True)):
        assert math.hypot(*a) + d / 2.0 <= packed.diameter_mm / 2.0 + 1e-9
        for b, e in zip(packed.centres_mm[:k], diameters[:k], strict=True):
            assert math.dist(a, b) >= (d + e) / 2.0 - 1e-9
    assert packed.diameter_mm <= 1.02 * best
