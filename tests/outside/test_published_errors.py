"""Figures that are in print and wrong, or in conflict: we must not repeat them.

Each check names the claim, shows why it cannot hold, and that ours is the corrected figure.
"""

from __future__ import annotations

import math

import pytest

from loomwright.facts import adiabatic, ampacity, batteries, circuits, conductors, workmanship
from loomwright.facts.figures import figure, figures_below
from loomwright.sound.alignments import pad

MM2_PER_CMIL = 5.067075e-4


# NEC Chapter 9 Table 8, a web reprint: prints the solid column under "stranded" for 14 to 8 AWG.
@pytest.mark.parametrize(
    ("size", "reprint", "right"), [("14", 3.07, 3.14), ("12", 1.93, 1.98), ("10", 1.21, 1.24), ("8", 0.764, 0.778)]
)
def test_nec_reprint_gives_solid_values_as_stranded(size, reprint, right):
    area = conductors.parse_size(f"{size} AWG").area_mm2
    stranded = conductors.resistance_mohm_per_m(area, "copper", 75.0) * 0.3048
    assert stranded / 1.02 == pytest.approx(reprint, rel=0.0045), "the reprint's figure is solid copper"
    assert stranded == pytest.approx(right, rel=0.006)
    row = figure(f"conductor.nec_75c.{size}")
    assert row.value == right
    assert "corrected" in row.note


# FAA AC 43.13-1B Table 11-8: 0.00126 ohm/ft x 19.5 ft x 20 A is printed as 0.366 V. Table 11-7 prints 3.60 for 3.555.
def test_faa_table_11_8_arithmetic():
    ours = circuits.drop_v(0.00126, 19.5, 20)
    assert ours == pytest.approx(0.491, abs=0.0005)
    assert ours != pytest.approx(0.366, abs=0.1)


# A fusing-current article puts (234 - Ta) in Onderdonk's rule and gets 178 A for 16 AWG in 5 s, from 25 C.
def test_onderdonk_sign():
    cmil = 2581
    wrong = cmil * math.sqrt(math.log10((1083 - 25) / (234 - 25) + 1) / (33 * 5))
    assert wrong == pytest.approx(178, abs=0.5), "this is how the article comes to its figure"
    assert adiabatic.onderdonk_a(cmil * MM2_PER_CMIL, 5) == pytest.approx(168.9, abs=0.05)
    assert adiabatic.onderdonk_s(4110 * MM2_PER_CMIL, 400) == pytest.approx(2.26, abs=0.005)


# A Peukert page: a 100 Ah battery with k = 1.1 gives 58 Ah at 1C. 58 Ah needs k = 1.18.
def test_peukert_page_capacity_at_1c():
    assert batteries.peukert_capacity_ah(100, 100, 1.1) == pytest.approx(74.1, abs=0.05)
    assert batteries.peukert_capacity_ah(100, 100, 1.18) == pytest.approx(58, abs=0.5)


# A Peukert tutorial: t = C / I^n on the rated 250 Ah, 20 A, n = 1.3, 5.09 h. That form needs the capacity at 1 A.
def test_peukert_tutorial_reference_rate():
    assert batteries.peukert_hours_1a(250, 20, 1.3) == pytest.approx(5.09, abs=0.005)
    assert batteries.peukert_hours(250, 20, 1.3, rate_h=20) == pytest.approx(10.86, abs=0.005)


# A cable-engineering page: adiabatic k of aluminium, PVC above 300 mm2 (70 to 140 C), printed as 78.
def test_adiabatic_k_of_large_aluminium():
    assert adiabatic.k_factor("aluminium", 70, 140) == pytest.approx(68, abs=0.3)
    assert figure("adiabatic.k.aluminium 70 to 140 C").value == 68


# An SAE cable page: 8 = 19,730 and 10 = 14,810 cmil, rows shifted by one size. 9,343 for size 10 stands elsewhere.
@pytest.mark.parametrize(("size", "shifted", "right"), [("8", 19730, 14810), ("10", 14810, 9343)])
def test_sae_page_shifted_by_one_size(size, shifted, right):
    row = conductors.parse_size(f"{size} SAE")
    awg = conductors.parse_size(f"{size} AWG")
    assert row.area_mm2 / MM2_PER_CMIL == pytest.approx(right, rel=1e-4)
    assert shifted * MM2_PER_CMIL > awg.area_mm2 > row.area_mm2, "SAE holds less metal than AWG, not more"


# A page on copper-clad aluminium: 10 % copper conducts "8 to 12 %". ASTM B566: 62.9 % IACS at least.
def test_cca_conductivity_cells_swapped():
    assert conductors.conductivity("cca10") == 0.629
    assert conductors.conductivity("cca15") == 0.644
    # nine tenths aluminium (61 % IACS) with one tenth copper cannot conduct less than aluminium does
    assert conductors.conductivity("cca10") == pytest.approx(0.9 * 0.61 + 0.1 * 1.0, abs=0.03)


# A LiFePO4 chart: 14.6 V is 100 %. That is a charging voltage; rested full is 13.3 to 13.6 V.
def test_lfp_full_is_not_the_charging_voltage():
    assert 13.3 <= batteries.rest_v("lfp_4s", 100) <= 13.6
    assert batteries.rest_v("lfp_4s", 95) == 13.28  # 3.32 V cell x 4
    assert batteries.charge_limits("lfp").max_v == 14.6


# A terminal-maker's sheet: 2/0 "1235 N [300 lb]", 6 AWG "455 N [100 lb]". 1 lbf is 4.448 N.
@pytest.mark.parametrize(("size", "lbf", "misprint", "newtons"), [("2/0", 300, 1235, 1334.5), ("6", 100, 455, 444.8)])
def test_crimp_pull_in_newtons(size, lbf, misprint, newtons):
    assert figure(f"workmanship.crimp_pull.{size}").value == lbf
    assert workmanship.crimp_pull_n(size) == pytest.approx(newtons, abs=0.05)
    assert workmanship.crimp_pull_n(size) != pytest.approx(misprint, abs=5)


# A boat colour page: purple is the positive mains. Other pages agree on red; purple is ignition.
def test_boat_colours():
    assert figure("conductor.colour.positive").value == "red"
    assert [f.key for f in figures_below("conductor.colour") if f.value == "purple"] == ["conductor.colour.ignition"]


# ABYC E-11, one data file, derates a pair (0.7); 33 CFR and a cable maker start at three. Unresolved: a setting.
def test_bundled_pair_is_a_setting_and_not_a_guess():
    area = conductors.parse_size("12 AWG").area_mm2
    assert ampacity.ampacity_a(area, "copper", 105, bundle=2, basis="from 3") == 45
    assert ampacity.ampacity_a(area, "copper", 105, bundle=2, basis="from 2") == pytest.approx(31.5)
    for n in range(3, 40):
        assert ampacity.bundle_factor(n, "from 3") == ampacity.bundle_factor(n, "from 2")


# A pad page gives 16.04 ohm as the shunt of a 6 dB pad before 8 ohm.
def test_pad_shunt_in_print():
    series, shunt = pad(8.0, 6.0)
    assert shunt == pytest.approx(8.038, abs=0.0005)
    both = 16.04 * 8.0 / (16.04 + 8.0)
    assert 20.0 * math.log10(both / (both + series)) == pytest.approx(-4.85, abs=0.005), "the page's pad is no 6 dB pad"
    assert both + series == pytest.approx(9.33, abs=0.005), "nor does it show 8 ohm"
