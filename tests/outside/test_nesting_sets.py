"""Published sets of shapes for a strip: no bound above the best length reported, and a layout near it.

Shapes of Fujita, Akagi and Kirokawa (1993) and of Oliveira, Gomes and Ferreira (2000), coordinates of the open
OR-Datasets collection; best use of the strip as reported by Gardeyn, Vanden Berghe and Wauters, arXiv 2509.13329,
in a table that quotes it: 93.10 % and 70.49 %.
"""

from __future__ import annotations

import pytest

from bench._puzzles import puzzle
from loomwright.nesting import bound, strip


@pytest.mark.parametrize("number", [0, 1])
def test_no_bound_is_above_the_best_that_is_reported(number: int) -> None:
    made = puzzle(number)
    assert 0.0 < bound.strip_mm(made.width_mm, made.pieces) <= made.best_mm


def test_a_published_set_within_8_percent_of_the_best_that_is_reported() -> None:
    made = puzzle(0)
    found = strip.pack(made.width_mm, made.pieces, moves=6000)
    assert found.length_mm <= 1.08 * made.best_mm
