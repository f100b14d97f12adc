"""What ampacity must do between and beyond the cells of the table."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.errors import UnknownName
from loomwright.facts.ampacity import BASES, ambient_factor, ampacity_a, bundle_factor, engine_space_factor, table_a
from loomwright.facts.conductors import INSULATION_C, awg_equivalent, parse_size, sizes

AREAS = st.floats(0.13, 160.0)
INSULATION = st.sampled_from(INSULATION_C)


@given(AREAS, AREAS, INSULATION)
def test_a_bigger_wire_carries_more(a, b, insulation_c):
    low, high = sorted((a, b))
    assert ampacity_a(low, "copper", insulation_c) <= ampacity_a(high, "copper", insulation_c)


@given(AREAS)
def test_better_insulation_never_carries_less(area):
    found = [ampacity_a(area, "copper", c) for c in INSULATION_C]
    assert found == sorted(found)


@given(st.floats(0.83, 107.0), INSULATION)
def test_between_two_rows_it_stays_between_them(area, insulation_c):
    rows = [s.label.removesuffix(" AWG") for s in sizes("AWG")]
    lower = awg_equivalent(area)
    upper = rows[rows.index(lower) + 1]
    assert table_a(lower, insulation_c) <= ampacity_a(area, "copper", insulation_c) <= table_a(upper, insulation_c)


@given(AREAS, INSULATION, st.floats(30, 220), st.floats(0, 50))
def test_a_hotter_place_carries_less(area, insulation_c, ambient_c, rise):
    cool = ampacity_a(area, "copper", insulation_c, ambient_c)
    assert ampacity_a(area, "copper", insulation_c, ambient_c + rise) <= cool


@given(INSULATION, st.floats(30, 300))
def test_ambient_factor_is_one_at_most(insulation_c, ambient_c):
    factor = ambient_factor(insulation_c, ambient_c)
    assert 0.0 <= factor <= 1.0
    assert (factor == 0.0) == (ambient_c >= insulation_c)


def test_a_cold_place_earns_no_credit():
    assert ambient_factor(105, -10) == 1.0
    assert ambient_factor(105, 30) == 1.0


@given(st.integers(1, 100), st.sampled_from(BASES))
def test_more_wires_in_a_bundle_carry_less_each(n, basis):
    assert 0 < bundle_factor(n + 1, basis) <= bundle_factor(n, basis) <= 1
    assert bundle_factor(n, "from 2") <= bundle_factor(n, "from 3")


@given(AREAS, INSULATION)
def test_copper_clad_aluminium_carries_less(area, insulation_c):
    copper = ampacity_a(area, "copper", insulation_c)
    assert ampacity_a(area, "cca10", insulation_c) < ampacity_a(area, "cca15", insulation_c) < copper
    assert ampacity_a(area, "tinned copper", insulation_c) == copper


def test_copper_clad_aluminium_counts_as_its_copper():
    area = parse_size("8 AWG").area_mm2
    assert ampacity_a(area, "cca10", 105) == ampacity_a(area * 0.629, "copper", 105)


def test_sae_carries_less_than_awg_of_the_same_number():
    for size in sizes("SAE"):
        awg = parse_size(size.label.replace("SAE", "AWG"))
        assert ampacity_a(size.area_mm2, "copper", 105) < ampacity_a(awg.area_mm2, "copper", 105)


def test_rounded_areas_find_their_row():
    assert ampacity_a(8.37, "copper", 105) == ampacity_a(8.36, "copper", 105) == 80


@pytest.mark.parametrize("n", [0, -3])
def test_an_empty_bundle_is_refused(n):
    with pytest.raises(ValueError, match="at least 1 wire"):
        bundle_factor(n)


def test_unknown_names():
    with pytest.raises(UnknownName, match="valid: from 3, from 2"):
        bundle_factor(3, "from 4")
    with pytest.raises(UnknownName, match="105"):
        ampacity_a(5.0, "copper", 104)
    with pytest.raises(UnknownName, match="18, 16"):
        table_a("20", 105)
    with pytest.raises(UnknownName, match="insulation rating"):
        table_a("8", 100)
    with pytest.raises(UnknownName, match="insulation rating"):
        engine_space_factor(100)
    with pytest.raises(ValueError, match="area must be above 0"):
        ampacity_a(0, "copper", 105)
    with pytest.raises(ValueError, match="rated above"):
        ambient_factor(30, 20)
