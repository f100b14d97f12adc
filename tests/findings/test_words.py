"""Numbers and lists as findings say them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.findings.words import amount, count, listing, num, span


@pytest.mark.parametrize(("value", "text"), [
    (38.34, "38.3"), (1016.0, "1016"), (0.02084, "0.0208"), (25.0, "25"), (0.0, "0"), (-4.25, "-4.25"), (99.96, "100"),
    (math.inf, "unlimited"),
])  # fmt: skip
def test_three_digits(value: float, text: str) -> None:
    assert num(value) == text


@given(st.floats(1e-4, 1e6))
def test_number_is_near_what_it_stands_for(value: float) -> None:
    assert float(num(value)) == pytest.approx(value, rel=6e-3)
    assert "e" not in num(value)


def test_units_are_written_as_the_trade_does() -> None:
    assert [amount(1.0, u) for u in ("A", "mohm", "ohm", "C", "mm2")] == ["1 A", "1 mΩ", "1 Ω", "1 °C", "1 mm²"]


def test_lists() -> None:
    assert listing([]) == ""
    assert listing(["P1"]) == "P1"
    assert listing(["P1", "P2", "P3"]) == "P1, P2 and P3"
    assert listing([f"P{k}" for k in range(9)]) == "P0, P1, P2, P3, P4, P5 and 3 more"
    assert count(1, "wire") == "1 wire"
    assert count(2, "battery", "batteries") == "2 batteries"


def test_times_below_an_hour_are_minutes() -> None:
    assert [span(h) for h in (0.0, 0.144, 0.001, 1.5)] == ["0 h", "9 min", "1 min", "1.5 h"]
