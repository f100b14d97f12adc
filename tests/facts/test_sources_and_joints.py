"""Charging, amplifiers, joints and workmanship: whole, in order, and helpful when a name is wrong."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.errors import UnknownName
from loomwright.facts import amplifiers, charging, circuits, joints, workmanship
from loomwright.rig.model import Programme


@given(st.floats(0, 9000), st.floats(0, 9000))
def test_charging_never_falls_with_speed(a, b):
    slow, fast = sorted((a, b))
    for fraction in (charging.alternator_fraction, charging.stator_fraction):
        assert 0 <= fraction(slow) <= fraction(fast) <= 1


def test_a_standing_engine_charges_nothing():
    assert charging.alternator_fraction(0) == charging.stator_fraction(0) == 0


def test_stator_at_idle_gives_40_to_60_percent():
    assert 0.4 <= charging.stator_fraction(1000) <= charging.stator_fraction(1200) <= 0.6


def test_base_loads_are_ranges():
    assert all(0 < b.low_w <= b.high_w for b in charging.base_loads())


def test_programmes_are_those_of_the_rig_in_order():
    assert amplifiers.programmes() == get_args(Programme)
    assert all(amplifiers.programme_source(p) for p in amplifiers.programmes())


def test_class_d_beats_class_ab_and_full_beats_an_eighth():
    ab, d = amplifiers.efficiency("AB"), amplifiers.efficiency("D")
    assert ab.eighth < ab.full < d.full < 1
    assert ab.eighth < d.eighth < d.full
    assert ab.full < amplifiers.ideal_class_b(1), "no real class AB stage beats the ideal one"


def test_the_joints_that_rigs_name():
    assert set(joints.names()) == {
        "ring lug", "blade", "screw clamp", "ferrule", "butt crimp", "solder splice", "twisted", "tap clip", "pierced",
        "painted frame", "bare frame", "bolted", "sealed contact", "loose",
    }


def test_bad_joints_are_worse_than_every_good_one():
    every = [joints.joint(n) for n in joints.names()]
    good, bad = [j for j in every if j.ok], [j for j in every if not j.ok]
    assert max(j.mohm for j in good) < min(j.mohm for j in bad)
    assert min(j.hot_a for j in good) > max(j.hot_a for j in bad)
    assert joints.joint("ring lug").hot_a == pytest.approx((1000 * 6 / 0.15) ** 0.5)


def test_every_hazard_has_covers():
    assert workmanship.hazards() == ("moving", "hot", "edge", "water")
    for hazard in workmanship.hazards():
        assert workmanship.covers(hazard)
        assert set(workmanship.covers(hazard)) <= set(workmanship.covers())
    assert "braided sleeve" in workmanship.covers("moving")
    assert "grommet" in workmanship.covers("edge")
    assert "heat sleeve" in workmanship.covers("hot")
    assert "braided sleeve" not in workmanship.covers("hot"), "a plastic braid is no answer to heat"


@pytest.mark.parametrize(
    ("call", "nearest"),
    [
        (lambda: joints.joint("ring-lug"), "ring lug"),
        (lambda: workmanship.covers("watter"), "water"),
        (lambda: workmanship.support_mm("runs"), "run"),
        (lambda: workmanship.crimp_pull_n("7"), "valid: 22, 20"),
        (lambda: amplifiers.efficiency("d"), "D"),
        (lambda: amplifiers.programme_fraction("musik"), "music"),
        (lambda: amplifiers.crest_db("speach"), "speech"),
    ],
)
def test_unknown_names_give_the_nearest(call, nearest):
    with pytest.raises(UnknownName) as caught:
        call()
    assert nearest in str(caught.value)


def test_supports_and_drops():
    assert workmanship.support_mm("battery_cable") < workmanship.support_mm()
    assert workmanship.drop_share(sensitive=True) < workmanship.drop_share()


def test_no_solution_past_the_nose():
    limit_w = circuits.constant_power_limit_w(12.6, 15.0)
    assert circuits.constant_power_v(12.6, 15.0, limit_w * 0.999999) == pytest.approx(6.3, rel=0.002)
    with pytest.raises(ValueError, match="no solution"):
        circuits.constant_power_v(12.6, 15.0, limit_w * 1.001)
    with pytest.raises(ValueError, match="no AWG size"):
        circuits.size_for_cmil(1e6)


@given(st.floats(11, 13), st.floats(11, 13), st.floats(2, 30), st.floats(2, 30), st.floats(0, 200))
def test_parallel_batteries_balance(e1, e2, r1, r2, load_a):
    volts, (first, second) = circuits.parallel_batteries((e1, e2), (r1, r2), load_a)
    assert first + second == pytest.approx(load_a, abs=1e-9)
    assert e1 - first * r1 / 1000 == pytest.approx(volts)
    assert e2 - second * r2 / 1000 == pytest.approx(volts)
