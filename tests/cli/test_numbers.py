"""Numbers as they are printed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.cli.numbers import band, column, seconds
from loomwright.drawing.figures import MINUS, three

finite = st.floats(min_value=-1e9, max_value=1e9, allow_nan=False).filter(lambda x: x == 0 or abs(x) > 1e-6)


@given(finite)
def test_three_significant_digits_are_within_half_a_unit_of_the_third(x: float) -> None:
    text = three(x).replace(MINUS, "-")
    assert "e" not in text
    assert float(text) == pytest.approx(x, rel=0.00502, abs=0)
    assert len(text.strip("-").replace(".", "").lstrip("0")) >= 3 or x == 0


@pytest.mark.parametrize(
    ("x", "text"),
    [
        (9.996, "10.0"), (0.9996, "1.00"), (999.6, "1000"), (12.0, "12.0"), (-12.34, "−12.3"), (0.0, "0"),
        (0.01, "0.0100"),
    ],
)
def test_rounding_up_to_the_next_power_keeps_three_digits(x: float, text: str) -> None:
    assert three(x) == text


def test_what_is_not_finite_is_said_in_a_sign() -> None:
    assert (three(math.inf), three(math.nan)) == ("∞", "–")


@given(st.lists(st.one_of(st.none(), finite), min_size=1))
def test_points_of_a_column_stand_in_one_line(values: list[float | None]) -> None:
    texts = column(values)
    widest = max(map(len, texts))
    right_aligned = [t.rjust(widest) for t in texts]
    points = {t.index(".") for t in right_aligned if "." in t}
    assert len(points) <= 1


def test_a_leak_of_microamperes_is_no_current_to_a_reader() -> None:
    assert [t.strip() for t in column([-71.6, -0.0000128, 0.0049])] == [f"{MINUS}71.6", "0", "0.00490"]


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (0.08, 0.5, "80.0 to 500 ms"),
        (0.5, 90.0, "500 ms to 90.0 s"),
        (3.0, math.inf, "3.00 s to never"),
        (math.inf, math.inf, "never"),
        (2.0, 2.0, "2.00 s"),
    ],
)
def test_a_band_says_its_unit_once(low: float, high: float, text: str) -> None:
    assert band(low, high) == text


def test_long_times_are_in_minutes_and_hours() -> None:
    assert (seconds(600.0), seconds(36000.0)) == ("10.0 min", "10.0 h")
