import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.drawing import figures, scales


@pytest.mark.parametrize("module", [figures, scales])
def test_examples_hold(module: object) -> None:
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]


@given(st.floats(1e-6, 1e6))
def test_three_digits_are_within_half_of_the_third(value: float) -> None:
    text = figures.three(value)
    assert abs(float(text) - value) <= value * 0.00501
    assert "e" not in text
    assert figures.three(-value) == "\u2212" + text


@given(st.floats(-1000, 1000), st.integers(0, 3))
def test_fixed_decimals_have_a_real_minus_and_no_minus_nought(value: float, decimals: int) -> None:
    text = figures.fixed(value, decimals)
    assert "-" not in text
    number = float(text.replace("\u2212", "-"))
    assert abs(number - value) <= 0.51 * 10**-decimals
    assert number != 0 or not text.startswith("\u2212")
