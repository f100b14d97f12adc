"""What every device type must offer, and how its figures must move."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.errors import UnknownName
from loomwright.facts import fuses
from loomwright.rig.model import DeviceType

TYPES = fuses.types()
REMEMBERED = {"SF30", "SF51", "post_mount", "breaker_1", "breaker_2", "breaker_3"}


def test_the_types_are_those_of_the_rig():
    assert set(TYPES) == set(get_args(DeviceType))


@pytest.mark.parametrize("type_", TYPES)
def test_every_type_is_whole(type_):
    assert fuses.title(type_)
    assert fuses.ratings_a(type_) == tuple(sorted(set(fuses.ratings_a(type_))))
    assert fuses.hot_factor(type_) >= 1
    assert fuses.provisional(type_) == (type_ in REMEMBERED)
    for rating in fuses.ratings_a(type_):
        assert fuses.cold_resistance_mohm(type_, rating) > 0
        assert fuses.melting_i2t_a2s(type_, rating)[0] > 0


@pytest.mark.parametrize("type_", TYPES)
def test_gates_fall_as_the_current_rises(type_):
    gates = fuses.gates(type_)
    assert len(gates) >= 3
    assert all(0 <= g.min_s < g.max_s for g in gates)
    assert gates[0].max_s == math.inf, "it may hold its own rating for ever"
    assert gates[-1].max_s < math.inf
    for a, b in pairwise(gates):
        assert a.multiple < b.multiple
        assert a.min_s >= b.min_s
        assert a.max_s >= b.max_s


@pytest.mark.parametrize("type_", ["SF30", "post_mount"])
def test_types_without_figures_borrow_the_bolt_in_row(type_):
    assert fuses.gates(type_) == fuses.gates("SF51")
    assert {g.mark for g in fuses.gates(type_)} == {"from memory"}


@pytest.mark.parametrize("type_", TYPES)
def test_larger_ratings_resist_less_and_melt_later(type_):
    for a, b in pairwise(fuses.ratings_a(type_)):
        assert fuses.cold_resistance_mohm(type_, a) > fuses.cold_resistance_mohm(type_, b)
        assert fuses.melting_i2t_a2s(type_, a)[0] < fuses.melting_i2t_a2s(type_, b)[0]


@pytest.mark.parametrize("type_", ["C", "F", "E", "SF51", "SF30", "post_mount"])
def test_melting_lies_in_the_last_gate(type_):
    last = fuses.gates(type_)[-1]
    for rating in fuses.ratings_a(type_):
        if type_ == "F" and rating < 7.5:
            continue  # that gate is published for 15 A; the fit makes small ones quicker
        seconds = fuses.melting_i2t_a2s(type_, rating)[0] / (last.multiple * rating) ** 2
        assert last.min_s <= seconds <= last.max_s


def test_remembered_melting_is_flagged():
    assert fuses.melting_i2t_a2s("SF51", 100) == (pytest.approx(math.sqrt(0.1) * 600**2), True)
    assert fuses.melting_i2t_a2s("E", 60)[1], "beyond the ratings that the sheets give"
    assert not fuses.melting_i2t_a2s("C", 30)[1]


@given(st.sampled_from(TYPES), st.floats(6, 60), st.floats(6, 60))
def test_interrupting_never_rises_with_the_volts(type_, a, b):
    low, high = sorted((a, b))
    assert fuses.interrupting_a(type_, low)[0] >= fuses.interrupting_a(type_, high)[0] > 0


@given(st.sampled_from(TYPES), st.floats(-40, 150), st.floats(-40, 150))
def test_a_hot_device_carries_less(type_, a, b):
    cool, hot = sorted((a, b))
    assert 0 <= fuses.temperature_factor(type_, hot) <= fuses.temperature_factor(type_, cool) <= 1


@given(st.floats(0.5, 600))
def test_standard_ratings_bracket_a_current(amps):
    below, above = fuses.standard_at_most_a(amps), fuses.standard_at_least_a(amps)
    assert below is None or below <= amps
    assert above is None or above >= amps
    assert (below is None) == (amps < 1)
    assert (above is None) == (amps > 500)


def test_unknown_types_and_absurd_ratings():
    with pytest.raises(UnknownName, match="nearest: breaker_1"):
        fuses.gates("breaker1")
    for rating in (0, -5, math.nan):
        with pytest.raises(ValueError, match="above 0 A"):
            fuses.melting_i2t_a2s("C", rating)
