"""What every band of every device must be like."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.facts import fuses
from loomwright.protection.curves import CurveSet, band, bands, curve
from loomwright.protection.results import Device

TYPES = fuses.types()
RATED = st.sampled_from(TYPES).flatmap(lambda t: st.tuples(st.just(t), st.sampled_from(fuses.ratings_a(t))))
MULTIPLES = st.floats(0.01, 200.0)
PLACES_C = st.floats(-20.0, 90.0)


def device(type_: str, rating_a: float, count: int = 1, temperature_c: float = 25.0) -> Device:
    return Device("d.1", "d", 1, type_, rating_a, count, temperature_c, 1000.0, "d.in", "d.out", False)


@given(RATED, MULTIPLES, PLACES_C)
def test_quickest_then_typical_then_slowest(rated, multiple, temperature_c):
    found = band(*rated, multiple, temperature_c)
    assert 0 < found.fastest_s <= found.typical_s <= found.slowest_s


@given(RATED, MULTIPLES, st.floats(1.0, 5.0), PLACES_C)
def test_more_current_opens_no_later(rated, multiple, factor, temperature_c):
    less, more = band(*rated, multiple, temperature_c), band(*rated, multiple * factor, temperature_c)
    slack = 1 + 1e-9
    assert more.fastest_s <= less.fastest_s * slack
    assert more.typical_s <= less.typical_s * slack
    assert more.slowest_s <= less.slowest_s * slack


@given(RATED, st.integers(0, 9))
def test_no_jump_at_a_gate(rated, which):
    gates = fuses.gates(rated[0])
    multiple = gates[which % len(gates)].multiple
    own = curve(*rated)
    here = band(*rated, multiple)
    for near in (multiple * (1 - 1e-7), multiple * (1 + 1e-7)):
        there = band(*rated, near)
        if near > own.hold_multiple and multiple > own.hold_multiple:
            assert there.fastest_s == pytest.approx(here.fastest_s, rel=1e-4)
            assert there.typical_s == pytest.approx(here.typical_s, rel=1e-4)
        if near > own.must_open_multiple and multiple >= own.must_open_multiple:
            assert there.slowest_s == pytest.approx(here.slowest_s, rel=1e-4)


@given(RATED)
def test_holds_for_ever_below_its_hold_multiple(rated):
    hold = 1.1 if rated[0] in ("C", "F") else 1.0
    found = band(*rated, hold * 0.999)
    assert found.fastest_s == found.typical_s == found.slowest_s == math.inf


@given(RATED)
def test_may_hold_for_ever_until_it_must_open(rated):
    found = band(*rated, 1.3)
    assert found.fastest_s < math.inf
    assert found.slowest_s == math.inf
    assert band(*rated, 1.35).slowest_s < math.inf


@given(RATED, st.floats(7.0, 60.0))
def test_constant_i2t_beyond_the_gates_and_it_says_so(rated, multiple):
    one, two = band(*rated, multiple), band(*rated, 2 * multiple)
    assert one.beyond_data
    assert two.beyond_data
    assert two.fastest_s == pytest.approx(one.fastest_s / 4)
    assert two.slowest_s == pytest.approx(one.slowest_s / 4)


@given(RATED, MULTIPLES)
def test_a_hot_fuse_opens_sooner_at_its_quick_end_and_no_later_at_its_slow_end(rated, multiple):
    room, hot = band(*rated, multiple, 25.0), band(*rated, multiple, 70.0)
    assert hot.fastest_s <= room.fastest_s
    assert hot.slowest_s == room.slowest_s


@given(st.lists(st.tuples(RATED, st.integers(1, 3), PLACES_C), min_size=1, max_size=6), st.floats(1.0, 3000.0))
def test_arrays_say_what_the_scalar_says(rows, amps_a):
    parts = [device(t, r, n, c) for (t, r), n, c in rows]
    found = CurveSet(parts)(np.full((2, 3, len(parts)), amps_a))
    assert found.fastest_s.shape == (2, 3, len(parts))
    for k, part in enumerate(parts):
        one = band(part.type, part.rating_a, amps_a / (part.rating_a * part.count), part.temperature_c)
        assert found.fastest_s[1, 2, k] == pytest.approx(one.fastest_s)
        assert found.typical_s[1, 2, k] == pytest.approx(one.typical_s)
        assert found.slowest_s[1, 2, k] == pytest.approx(one.slowest_s)
        assert found.beyond_data[1, 2, k] == one.beyond_data


def test_parallel_fuses_share_the_current():
    single, pair = CurveSet([device("C", 30)]), CurveSet([device("C", 30, count=2)])
    assert pair(np.array([180.0])).typical_s == pytest.approx(single(np.array([90.0])).typical_s)


def test_a_current_the_other_way_opens_the_same():
    one = CurveSet([device("E", 40)])
    assert one(np.array([-120.0])).slowest_s == one(np.array([120.0])).slowest_s


def test_no_current_never_opens():
    assert np.isinf(bands("C", 10, np.array([0.0])).fastest_s).all()


def test_no_devices_no_trouble():
    assert CurveSet([])(np.zeros((4, 0))).fastest_s.shape == (4, 0)
