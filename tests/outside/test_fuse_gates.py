"""Opening bands against published gates and worked figures; the source stands beside each check."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loomwright.protection.curves import band, bands

# Component data sheets citing ISO 8820-3, read at second hand: (type, multiple) -> (least, most) seconds.
PUBLISHED = {
    ("C", 1.35): (0.75, 600), ("C", 1.6): (0.25, 50), ("C", 2.0): (0.15, 5), ("C", 3.5): (0.08, 0.5),
    ("F", 2.0): (0.15, 5), ("F", 3.5): (0.08, 0.5), ("F", 6.0): (0.03, 0.1),
    ("E", 1.35): (60, 1800), ("E", 2.0): (2, 50), ("E", 3.5): (0.2, 7), ("E", 6.0): (0.04, 1),
}


@pytest.mark.parametrize(("type_", "multiple"), PUBLISHED)
@pytest.mark.parametrize("rating_a", [10, 25, 30])
def test_band_passes_through_the_published_gates(type_, multiple, rating_a):
    least, most = PUBLISHED[type_, multiple]
    found = band(type_, rating_a, multiple)
    assert found.fastest_s == pytest.approx(least)
    assert found.slowest_s == pytest.approx(most)
    assert least <= found.typical_s <= most
    assert not found.beyond_data


def test_blade_c_is_open_after_150_ms_at_six_times():
    # component data sheets, C 35 A and C 40 A
    for rating_a in (35, 40):
        assert band("C", rating_a, 6.0).slowest_s == pytest.approx(0.15)


def test_blades_hold_their_rating_for_100_hours():
    # component data sheets citing ISO 8820-3: at 1.0 x at least 360,000 s
    for type_ in ("C", "E"):
        assert band(type_, 40, 1.0).fastest_s >= 360_000 * (1 - 1e-9)


def test_glass_tube():
    # UL/CSA 248-14 data sheet, 5 x 20 mm: never at 100 %, within an hour at 135 %, within two minutes at 200 %
    assert band("glass_5x20", 5, 0.99).fastest_s == math.inf
    assert band("glass_5x20", 5, 1.35).slowest_s == pytest.approx(3600)
    assert band("glass_5x20", 5, 2.0).slowest_s == pytest.approx(120)


# Typical melting I2t of component data sheets over the square of six times the rating:
# E 40 A 8500 A2s at 240 A, C 40 A 3300 A2s at 240 A, F 15 A 308 A2s at 90 A.
@pytest.mark.parametrize(("type_", "rating_a", "seconds"), [("E", 40, 0.148), ("C", 40, 0.057), ("F", 15, 0.038)])
def test_typical_time_at_six_times_is_the_melting_time(type_, rating_a, seconds):
    assert band(type_, rating_a, 6.0).typical_s == pytest.approx(seconds, abs=0.0005)


def test_typical_melting_at_a_bolted_fault():
    # 12.8 V, 8 mOhm, 5 m loop of 4 AWG and 1 mOhm of joints: 972.8 A; E 40 A melts in 9.0 ms, C 40 A in 3.5 ms
    assert band("E", 40, 972.8 / 40).typical_s * 1000 == pytest.approx(9.0, abs=0.05)
    assert band("C", 40, 972.8 / 40).typical_s * 1000 == pytest.approx(3.5, abs=0.05)


# A fault drill worked by hand: log-log between the gates.
def test_soft_fault_on_a_small_blade():
    found = band("C", 15, 2.774)
    assert found.fastest_s == pytest.approx(0.104, abs=0.0005)
    assert found.slowest_s == pytest.approx(1.30, abs=0.005)


def test_hard_fault_on_a_small_blade():
    found = band("C", 15, 239.28 / 15)
    assert found.beyond_data
    assert found.typical_s * 1000 == pytest.approx(6, abs=0.2)
    assert found.slowest_s >= 2 * found.typical_s  # clearing takes up to about twice the melting time


def test_hard_fault_seen_by_a_main_device():
    found = band("SF51", 100, 3.05)
    assert found.fastest_s == pytest.approx(0.40, abs=0.005)
    assert found.slowest_s == pytest.approx(6.6, abs=0.05)
    assert found.provisional  # its gates are from memory


def test_main_device_holds_a_soft_fault_in_the_smallest_branch():
    assert band("SF51", 100, 0.72).fastest_s == math.inf


def test_heat_leaves_less_of_the_rating():
    # component data sheet, E 40 A: 40 A to 20 C, 34 A at 65 C, 30 A at 85 C; the gates hold at room temperature, 25 C,
    # where a straight line leaves 39.33 A
    left = 30 / 39.33
    assert band("E", 40, 1.35 * left, 85.0).fastest_s == pytest.approx(60, rel=0.01)
    assert band("E", 40, 2.0 * left, 85.0).fastest_s == pytest.approx(2, rel=0.01)
    assert band("E", 40, 1.0, 85.0).fastest_s < 3600 < band("E", 40, 1.0, 25.0).fastest_s


def test_arrays_agree_with_the_published_gates():
    multiples = np.array([m for t, m in PUBLISHED if t == "E"])
    found = bands("E", 40, multiples)
    assert found.fastest_s == pytest.approx([PUBLISHED["E", m][0] for m in multiples])
    assert found.slowest_s == pytest.approx([PUBLISHED["E", m][1] for m in multiples])
