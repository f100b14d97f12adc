"""What battery figures must do."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.errors import UnknownName
from loomwright.facts import batteries

TABLES = st.sampled_from(batteries.tables())
CHEMISTRY = st.sampled_from(batteries.CHEMISTRIES)


@given(TABLES, st.floats(0, 100), st.floats(0, 100))
def test_a_fuller_battery_stands_higher(table, a, b):
    low, high = sorted((a, b))
    assert batteries.rest_v(table, low) <= batteries.rest_v(table, high)


@given(TABLES, st.floats(0, 100))
def test_charge_from_volts_undoes_volts_from_charge(table, pct):
    assert batteries.charge_from_rest_v(table, batteries.rest_v(table, pct)) == pytest.approx(pct, abs=1e-6)


@given(TABLES, st.floats(-50, 0), st.floats(100, 150))
def test_held_at_the_ends(table, below, above):
    assert batteries.rest_v(table, below) == batteries.rest_v(table, 0)
    assert batteries.rest_v(table, above) == batteries.rest_v(table, 100)
    assert 0 <= batteries.charge_from_rest_v(table, 9.0) <= batteries.charge_from_rest_v(table, 15.0) <= 100


@given(CHEMISTRY, st.floats(0, 100), st.floats(0, 100), st.floats(-30, 60), st.floats(-30, 60))
def test_resistance_rises_when_empty_and_when_cold(chemistry, a, b, c, d):
    empty, full = sorted((a, b))
    cold, warm = sorted((c, d))
    assert batteries.resistance_factor(chemistry, empty, warm) >= batteries.resistance_factor(chemistry, full, warm)
    assert batteries.resistance_factor(chemistry, full, cold) >= batteries.resistance_factor(chemistry, full, warm) > 0


@pytest.mark.parametrize("chemistry", batteries.CHEMISTRIES)
def test_every_chemistry_is_whole(chemistry):
    assert batteries.resistance_factor(chemistry, 100, 25) == 1.0
    limits = batteries.charge_limits(chemistry)
    assert 13 < limits.min_v < limits.max_v < 15
    assert batteries.default_peukert(chemistry) >= 1.0
    for table in batteries.tables_by_chemistry(chemistry):
        assert batteries.rest_v(table, 100) < limits.min_v, "resting volts lie below charging volts"
    assert batteries.tables_by_chemistry(chemistry)


def test_tables_of_one_chemistry_disagree_enough_to_matter():
    half = [batteries.rest_v(t, 50) for t in batteries.tables_by_chemistry("agm")]
    assert 0.2 < max(half) - min(half) < 0.5


@given(st.floats(5, 200), st.floats(0.5, 100), st.floats(1.0, 1.4))
def test_peukert(capacity_ah, amps, exponent):
    hours = batteries.peukert_hours(capacity_ah, amps, exponent)
    plain = capacity_ah / amps
    assert (hours <= plain * (1 + 1e-9)) == (plain <= 20 * (1 + 1e-9)) or hours == pytest.approx(plain)
    assert batteries.peukert_capacity_ah(capacity_ah, amps, exponent) == pytest.approx(hours * amps)


def test_unknown_names():
    with pytest.raises(UnknownName, match="nearest: agm_"):
        batteries.rest_v("agm_d", 50)
    with pytest.raises(UnknownName, match="agm, flooded, gel, lfp"):
        batteries.default_peukert("nimh")
