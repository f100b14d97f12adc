"""What heating and limits must do."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.errors import UnknownName
from loomwright.facts import adiabatic
from loomwright.facts.conductors import INSULATION_C

METALS = ("copper", "tinned copper", "cca10", "cca15", "aluminium")


@given(st.sampled_from(METALS), st.floats(0.2, 110), st.floats(-20, 200), st.floats(1, 800))
def test_final_temperature_undoes_i2t(metal, area, start_c, rise):
    i2t = adiabatic.i2t_a2s(area, metal, start_c, start_c + rise)
    assert adiabatic.final_c(area, metal, start_c, i2t) == pytest.approx(start_c + rise, rel=1e-9, abs=1e-6)


@given(st.sampled_from(METALS), st.floats(20, 150), st.floats(1, 100))
def test_a_hotter_start_leaves_less(metal, start_c, more):
    assert adiabatic.k_factor(metal, start_c + more, 250) <= adiabatic.k_factor(metal, start_c, 250)


def test_nothing_is_left_at_the_limit():
    assert adiabatic.k_factor("copper", 160, 160) == 0.0
    assert adiabatic.k_factor("copper", 170, 160) == 0.0


def test_copper_clad_aluminium_lies_between_its_metals():
    k = [adiabatic.k_factor(m, 70, 160) for m in ("aluminium", "cca10", "cca15", "copper")]
    assert k == sorted(k)


def test_past_all_sense_is_infinite_and_no_overflow():
    assert adiabatic.final_c(0.5, "copper", 30, 1e12) == math.inf


@given(st.sampled_from(INSULATION_C), st.floats(0, 1e6), st.floats(0, 1e6))
def test_the_longer_the_cooler(insulation_c, a, b):
    short, long = sorted((a, b))
    assert adiabatic.limit_c(insulation_c, short) >= adiabatic.limit_c(insulation_c, long) >= insulation_c


@pytest.mark.parametrize(
    ("insulation_c", "seconds", "limit"),
    [
        (105, 1, 160), (105, 5, 160), (105, 6, 155), (105, 21600, 155), (105, 21601, 105), (105, math.inf, 105),
        (75, 0.1, 160), (125, 5, 250), (125, 60, 175), (200, 1, 250), (200, math.inf, 200),
    ],
)
def test_limits_by_duration(insulation_c, seconds, limit):
    assert adiabatic.limit_c(insulation_c, seconds) == limit


def test_only_the_middle_limit_is_from_memory():
    assert [adiabatic.limit_provisional(s) for s in (1, 60, math.inf)] == [False, True, False]


@given(st.floats(1, 400), st.floats(1, 400))
def test_rating_up_to_the_ampacity_protects_a_cable(rating_a, ampacity_a):
    assert adiabatic.conventional_ok(rating_a, ampacity_a) == (rating_a <= ampacity_a)


def test_onderdonk_current_and_time_agree():
    amps = adiabatic.onderdonk_a(2.08, 3.0)
    assert adiabatic.onderdonk_s(2.08, amps) == pytest.approx(3.0)
    with pytest.raises(ValueError, match="for copper"):
        adiabatic.onderdonk_a(2.08, 3.0, metal="cca10")


def test_unknown_metal():
    with pytest.raises(UnknownName, match="nearest: copper"):
        adiabatic.k_factor("coppr", 70, 160)
