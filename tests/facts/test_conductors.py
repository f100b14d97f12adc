"""Sizes as people write them, and what resistance must do."""

from __future__ import annotations

from contextlib import suppress
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.errors import UnknownName
from loomwright.facts import conductors
from loomwright.facts.conductors import parse_size, resistance_mohm_per_m

METALS = ("copper", "tinned copper", "cca15", "cca10")  # best conductor first
AREAS = st.floats(0.1, 150.0)


@pytest.mark.parametrize(
    ("written", "label"),
    [
        ("8 AWG", "8 AWG"), ("8awg", "8 AWG"), ("  8   Awg ", "8 AWG"), ("1/0 AWG", "1/0 AWG"), ("0 AWG", "1/0 AWG"),
        ("0000 awg", "4/0 AWG"), ("8 SAE", "8 SAE"), ("8 mm2", "8 mm2"), ("2.50 mm2", "2.5 mm2"), ("6mm²", "6 mm2"),
        ("bolted", "bolted"), ("Bolted", "bolted"),
    ],
)
def test_sizes_as_written(written, label):
    assert parse_size(written).label == label


@pytest.mark.parametrize(
    "written",
    [
        "7 AWG", "8", "8 gauge", "5/0 AWG", "7 mm2", "-8 AWG", "", "8 AWG 8", "NaN mm2", "1/0 mm2", "8.0 AWG",
        "1e3 mm2", "bolt",
    ],
)
def test_unknown_sizes_say_what_is_valid(written):
    with pytest.raises(UnknownName) as caught:
        parse_size(written)
    assert "valid" in str(caught.value) or "nearest" in str(caught.value)


def test_a_bare_number_is_refused_and_the_three_systems_named():
    with pytest.raises(UnknownName, match="8 AWG, 8 SAE, 8 mm2"):
        parse_size("8")


@given(st.text(max_size=20))
def test_any_text_gives_a_size_or_the_error(text):
    with suppress(UnknownName):
        assert parse_size(text).label


@pytest.mark.parametrize("system", conductors.SYSTEMS)
def test_sizes_rise(system):
    rows = conductors.sizes(system)
    assert all(a.area_mm2 < b.area_mm2 and a.diameter_mm < b.diameter_mm for a, b in pairwise(rows))
    assert all(parse_size(r.label) == r for r in rows)
    assert all(4 / 3.1416 * r.area_mm2 < r.diameter_mm**2 for r in rows), "a stranded conductor is wider than solid"


@given(AREAS, AREAS, st.sampled_from(METALS), st.floats(-40, 250))
def test_a_thicker_wire_resists_less(a, b, metal, temperature_c):
    low, high = sorted((a, b))
    assert resistance_mohm_per_m(high, metal, temperature_c) <= resistance_mohm_per_m(low, metal, temperature_c)


@given(AREAS, st.sampled_from(METALS), st.floats(-40, 250), st.floats(0.1, 100))
def test_a_hotter_wire_resists_more(area, metal, temperature_c, rise):
    cold = resistance_mohm_per_m(area, metal, temperature_c)
    assert resistance_mohm_per_m(area, metal, temperature_c + rise) > cold > 0


@given(AREAS)
def test_metals_in_order(area):
    found = [resistance_mohm_per_m(area, m) for m in METALS]
    assert found == sorted(found)
    assert len(set(found)) == len(found)


def test_resistance_takes_an_array_of_temperatures():
    at = np.array([20.0, 60.0, 105.0])
    found = resistance_mohm_per_m(8.36556, "copper", at)
    assert found == pytest.approx([resistance_mohm_per_m(8.36556, "copper", float(t)) for t in at])


def test_no_wire_has_no_resistance():
    assert resistance_mohm_per_m(0.0, "copper", 20.0, "bolted") == 0.0


@pytest.mark.parametrize("area", [0.0, -1.0, float("nan")])
def test_absurd_areas(area):
    with pytest.raises(ValueError, match="area must be above 0"):
        resistance_mohm_per_m(area, "copper")


def test_unknown_metal_names_the_nearest():
    with pytest.raises(UnknownName, match="nearest: copper"):
        conductors.conductivity("coper")


@given(st.floats(0.13, 200))
def test_awg_equivalent_is_the_largest_not_above(area):
    name = conductors.awg_equivalent(area)
    sizes = conductors.sizes("AWG")
    k = [s.label for s in sizes].index(f"{name} AWG")
    assert sizes[k].area_mm2 <= area * 1.0021
    assert k == len(sizes) - 1 or sizes[k + 1].area_mm2 > area


@pytest.mark.parametrize(
    ("size", "awg"), [("8 AWG", "8"), ("8 SAE", "10"), ("8 mm2", "10"), ("35 mm2", "2"), ("120 mm2", "4/0")]
)
def test_awg_equivalent_of_other_systems(size, awg):
    assert conductors.awg_equivalent(parse_size(size).area_mm2) == awg


def test_no_awg_equivalent_below_the_list():
    with pytest.raises(ValueError, match="26 AWG"):
        conductors.awg_equivalent(0.1)
