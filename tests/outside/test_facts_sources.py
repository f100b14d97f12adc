"""Batteries, charging, programmes, distances and joints against print."""

from __future__ import annotations

import math

import pytest

from loomwright.facts import amplifiers, batteries, charging, joints, workmanship
from loomwright.facts.figures import figure
from loomwright.power.sources import regulator_v
from loomwright.rig.model import ChargerSpec

# Two AGM charts in print (the second a forum page), and a LiFePO4 cell table in a public repository, x 4.
REST = {
    "agm_a": {100: 12.7, 90: 12.6, 80: 12.5, 70: 12.3, 60: 12.2, 50: 12.1, 40: 12.0, 30: 11.8, 20: 11.7, 10: 11.6},
    "agm_b": {100: 13.2, 95: 12.95, 80: 12.65, 50: 12.35, 30: 12.15, 20: 12.05},
    "lfp_4s": {
        95: 13.28, 90: 13.26, 80: 13.22, 70: 13.12, 60: 13.10, 50: 13.08, 40: 13.05, 30: 12.95, 20: 12.83, 10: 12.69,
        1: 11.60,
    },
}


@pytest.mark.parametrize(("table", "pct"), [(t, p) for t, row in REST.items() for p in row])
def test_rest_volts(table, pct):
    assert batteries.rest_v(table, pct) == pytest.approx(REST[table][pct])
    assert batteries.charge_from_rest_v(table, REST[table][pct]) == pytest.approx(pct)


# SAE J537: (12.6 - 7.2) V / CCA at -18 C; common rule 3000 / CCA warm.
@pytest.mark.parametrize(("cca_a", "cold", "warm"), [(300, 18, 10), (600, 9, 5)])
def test_resistance_from_cca(cca_a, cold, warm):
    assert batteries.cold_resistance_bound_mohm(cca_a) == pytest.approx(cold)
    assert batteries.warm_resistance_mohm(cca_a) == pytest.approx(warm)
    ratio = batteries.resistance_factor("agm", 100, -18) / batteries.resistance_factor("agm", 100, 25)
    assert ratio == pytest.approx(cold / warm)


# Peukert pages: flooded 1.2 to 1.3, AGM 1.05 to 1.15, gel 1.1 to 1.2, lithium about 1.05.
@pytest.mark.parametrize(
    ("chemistry", "low", "high"), [("flooded", 1.2, 1.3), ("agm", 1.05, 1.15), ("gel", 1.1, 1.2), ("lfp", 1.05, 1.05)]
)
def test_peukert_range(chemistry, low, high):
    assert low <= batteries.default_peukert(chemistry) <= high


# Engine service manual: -0.1 V for 10 C. Charging article: 14.4 V at all speeds.
def test_regulator():
    made = ChargerSpec("stator", (1000.0,), (20.0,), regulator_v=14.4, regulator_mohm=10.0)
    assert regulator_v(made, 35.0) == pytest.approx(14.4 - 0.1)
    assert figure("charging.regulator.temperature.mv_per_c").value == pytest.approx(-0.1 / 10.0 * 1000.0)
    assert charging.usual_regulator_v() == 14.4


# SAE J56 / ISO 8854 label 50/120A 13.5V: 42 % at 1500 shaft rpm, 100 % at 6000.
def test_alternator_share_near_the_label_example():
    assert charging.alternator_fraction(1500) == pytest.approx(50 / 120, abs=0.02)


# 16 CFR 432.3: one eighth of rated power, one third as first issued: -9.03 dB and -4.77 dB; crest 12.04 and 7.78 dB.
@pytest.mark.parametrize(
    ("programme", "level_db", "crest_db"), [("music", -9.03, 12.04), ("loud", -4.77, 7.78), ("sine", 0.0, 3.01)]
)
def test_programmes(programme, level_db, crest_db):
    level = 10 * math.log10(amplifiers.programme_fraction(programme))
    assert level == pytest.approx(level_db, abs=0.005)
    assert 10 * math.log10(2) - level == pytest.approx(crest_db, abs=0.005)


def test_ideal_class_b():
    assert amplifiers.ideal_class_b(1) == pytest.approx(0.785, abs=0.0005)  # textbook pi/4
    assert amplifiers.ideal_class_b(1 / 8) == pytest.approx(0.278, abs=0.0005)


# 33 CFR 183.455: seven inches, 40 inches in a sheath. ABYC E-11: 72 inches, sheathed, straight from a battery post.
def test_device_distances():
    assert workmanship.device_distance_mm() == round(7 * 25.4)
    assert workmanship.device_distance_mm(at_post=True) == 178
    assert workmanship.device_distance_mm(sheathed=True) == 40 * 25.4
    assert workmanship.device_distance_mm(sheathed=True, at_post=True) == round(72 * 25.4)


# 33 CFR 183.425 (d), (e): 16 AWG alone, 18 AWG in a sheath. ABYC E-11: four rings on a stud.
def test_smallest_conductor_and_studs():
    assert workmanship.min_conductor_mm2() == pytest.approx(1.309, abs=0.002)
    assert workmanship.min_conductor_mm2(in_sheath=True) == pytest.approx(0.823, abs=0.002)
    assert workmanship.rings_per_stud() == 4


# Common practice: a sound connection is 0.2 to 1 mOhm; crimped and bolted ones reach the lower end.
def test_sound_joints_are_a_milliohm_at_most():
    sound = [joints.joint(n) for n in joints.names() if joints.joint(n).ok]
    assert all(0.1 <= j.mohm <= 1.0 for j in sound)
