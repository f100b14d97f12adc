"""Worked examples of the handbooks, exact to the printed digits.

"printed" means the example stands so in its source; "worked" means it follows from the cited formula and data.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import pytest

from loomwright.facts import adiabatic, ampacity, batteries, charging, circuits, conductors, fuses


def as_printed(value: float, printed: str) -> str:
    """A value rounded half up to as many decimals as the printed figure has."""
    step = Decimal(1).scaleb(-len(printed.partition(".")[2]))
    return str(Decimal(repr(round(value, 12))).quantize(step, rounding=ROUND_HALF_UP))


def area(size: str) -> float:
    return conductors.parse_size(size).area_mm2


# ABYC E-11: CM = 10.75 I L / E, L out and back, round up to the next size. Printed: a cable page (first two), an open
# transcription of E-11 with its spot checks.
@pytest.mark.parametrize(
    ("amps", "feet", "volts", "cmil", "awg"),
    [
        (10, 21, 0.36, "6271", "12 AWG"),
        (10, 21, 0.96, "2352", None),
        (10, 30, 0.36, "8958", "10 AWG"),
        (10, 40, 0.36, "11944", "8 AWG"),
        (15, 20, 0.36, None, "10 AWG"),
        (50, 40, 0.36, "59722", "2 AWG"),
        (25, 25, 1.2, "5599", "12 AWG"),
        (100, 60, 1.2, "53750", "2 AWG"),
    ],
)
def test_1_to_8_conductor_for_a_drop(amps, feet, volts, cmil, awg):
    need = circuits.cmil_needed(amps, feet, volts)
    if cmil:
        assert as_printed(need, cmil) == cmil
    if awg:
        assert circuits.size_for_cmil(need) == awg


def test_1_the_same_load_on_sae_cable():
    assert circuits.size_for_cmil(circuits.cmil_needed(10, 21, 0.36), "SAE") == "10 SAE"


# FAA AC 43.13-1B, voltage-drop examples. Printed.
@pytest.mark.parametrize(
    ("ohm_per_ft", "feet", "amps", "volts"),
    [
        (0.00044, 107, 20, "0.942"), (0.00028, 90, 20, "0.504"), (0.00306, 100, 20, "6.12"), (0.00126, 39, 20, "0.983"),
    ],
)
def test_9_to_11_drop_of_aircraft_wire(ohm_per_ft, feet, amps, volts):
    assert as_printed(circuits.drop_v(ohm_per_ft, feet, amps), volts) == volts


# FAA AC 43.13-1B: L2 = L1 x 254.5 / (234.5 + T2). Worked.
@pytest.mark.parametrize(("temperature_c", "feet"), [(60, "92.5"), (100, "81.4")])
def test_12_hot_run(temperature_c, feet):
    assert as_printed(circuits.hot_run(107, temperature_c), feet) == feet


# 33 CFR 183.425 Table 5 with its notes; ABYC E-11 examples printed for the first two.
def test_13_to_15_derated_ampacity():
    assert as_printed(ampacity.table_a("12", 105) * ampacity.engine_space_factor(105), "38.3") == "38.3"
    assert as_printed(ampacity.ampacity_a(area("12 AWG"), "copper", 105, bundle=5), "27") == "27"
    both = ampacity.table_a("4", 105) * ampacity.engine_space_factor(105) * ampacity.bundle_factor(5)
    assert as_printed(both, "81.6") == "81.6"


# 33 CFR 183.455: at most 150 % of the table below 50 V. Worked.
def test_16_largest_device():
    limit = ampacity.table_a("12", 105) * ampacity.device_limit_ratio()
    assert as_printed(limit, "67.5") == "67.5"
    assert fuses.standard_at_most_a(limit) == 60


# ASTM B258 areas and the IACS resistivity; the second agrees with NEC Chapter 9 Table 8 (3.07, solid). Worked.
@pytest.mark.parametrize(
    ("size", "temperature_c", "ohm_per_kft"),
    [("18 AWG", 20, "6.385"), ("4/0 AWG", 20, "0.0490"), ("14 AWG", 75, "3.071")],
)
def test_17_18_solid_resistance(size, temperature_c, ohm_per_kft):
    solid = conductors.resistance_mohm_per_m(area(size), "copper", temperature_c) / conductors.lay_factor("AWG")
    assert as_printed(solid * 0.3048, ohm_per_kft) == ohm_per_kft


def test_19_four_answers_for_one_drop():
    cold = conductors.resistance_mohm_per_m(area("8 AWG"), "copper", 20) * 6 * 60 / 1000
    hot = conductors.resistance_mohm_per_m(area("8 AWG"), "copper", 75) * 6 * 60 / 1000
    assert as_printed(cold, ".757") == "0.757"
    assert as_printed(hot, ".920") == "0.920"
    assert as_printed(circuits.drop_e11_v(60, 6, 16510), ".769") == "0.769"  # ABYC E-11, K = 10.75
    assert as_printed(circuits.drop_iso_v(60, 6, area("8 AWG")), ".706") == "0.706"  # ISO 10133 annex


# IEC 60364-4-43 Table 43A, from a cable-engineering page: k = 115, 143 and 76 to whole numbers.
@pytest.mark.parametrize(
    ("metal", "start_c", "final_c", "k", "table"),
    [
        ("copper", 70, 160, "115.0", "115"), ("copper", 90, 250, "143.1", "143"), ("aluminium", 70, 160, "76.0", "76"),
        ("copper", 70, 140, "103", "103"), ("copper", 90, 160, "100", "100"), ("aluminium", 90, 160, "66", "66"),
        ("aluminium", 90, 250, "94", "94"), ("copper", 105, 160, "87.6", "88"), ("copper", 105, 250, "134.8", "135"),
        ("copper", 40, 160, "136.1", "136"),
    ],
)
def test_20_adiabatic_k(metal, start_c, final_c, k, table):
    ours = adiabatic.k_factor(metal, start_c, final_c)
    assert as_printed(ours, k) == k
    assert as_printed(ours, table) == table


# (kA)^2 with k = 115 [A2s]. Worked from IEC 60364-4-43 and ASTM B258.
@pytest.mark.parametrize(
    ("size", "i2t"),
    [
        ("18", "8.96e+03"), ("16", "2.27e+04"), ("14", "5.73e+04"), ("12", "1.45e+05"), ("10", "3.66e+05"),
        ("8", "9.26e+05"), ("4", "5.92e+06"), ("1/0", "3.78e+07"),
    ],
)
def test_adiabatic_i2t_by_size(size, i2t):
    assert f"{adiabatic.i2t_a2s(area(f'{size} AWG'), 'copper', 70, 160):.2e}" == i2t


# Onderdonk, fusing-current articles; 33 t and 234 + Ta. Worked (the article's own example has the sign wrong).
def test_21_22_onderdonk():
    mm2 = conductors.mm2_per_cmil()
    assert as_printed(adiabatic.onderdonk_a(2581 * mm2, 5), "168.9") == "168.9"
    assert as_printed(adiabatic.onderdonk_s(4110 * mm2, 400), "2.26") == "2.26"


def test_onderdonk_agrees_with_the_adiabatic_rule_to_melting():
    k_melt = adiabatic.k_factor("copper", 25, 1083)
    assert as_printed(k_melt, "288") == "288"
    assert adiabatic.onderdonk_a(1.0, 1.0) == pytest.approx(289, abs=0.5)


# Preece, printed in a fusing-current article: 0.0524 in, 122.9 A. 80.0 d^1.5 in mm.
def test_23_preece():
    assert as_printed(adiabatic.preece_a(0.0524 * 25.4), "122.9") == "122.9"
    assert as_printed(adiabatic.preece_a(1.0), "80.0") == "80.0"


# Component data sheets citing ISO 8820-3, typical melting I2t and gates.
@pytest.mark.parametrize(
    ("type_", "rating_a", "amps", "seconds"), [("E", 40, 240, ".148"), ("C", 40, 240, ".057"), ("F", 15, 90, ".038")]
)
def test_24_25_melting_time_lies_in_the_gate_at_six_times(type_, rating_a, amps, seconds):
    i2t, provisional = fuses.melting_i2t_a2s(type_, rating_a)
    assert not provisional
    assert as_printed(i2t / amps**2, seconds) == "0" + seconds
    gate = fuses.gates(type_)[-1]
    assert gate.multiple == amps / rating_a == 6
    assert gate.min_s <= i2t / amps**2 <= gate.max_s


def test_26_current_from_the_drop_across_a_fuse():
    assert as_printed(1000 * 0.77 / fuses.cold_resistance_mohm("C", 10), "100") == "100"


# Component data sheet, E 40 A: 34 A at 65 C, 30 A at 85, 25 at 110, 22 at 125. Printed.
@pytest.mark.parametrize(("temperature_c", "amps"), [(20, "40"), (65, "34"), (85, "30"), (110, "25"), (125, "22")])
def test_27_fuse_at_a_temperature(temperature_c, amps):
    assert as_printed(40 * fuses.temperature_factor("E", temperature_c), amps) == amps


def four_awg_loop_mohm(metres: float) -> float:
    return conductors.resistance_mohm_per_m(area("4 AWG"), "copper") * metres


def test_28_bolted_fault():
    loop = four_awg_loop_mohm(5)
    assert as_printed(loop, "4.157") == "4.157"
    amps = circuits.fault_a(12.8, 8.0, loop, 1.0)
    assert as_printed(amps, "972.8") == "972.8"
    assert as_printed(1000 * fuses.melting_i2t_a2s("E", 40)[0] / amps**2, "9.0") == "9.0"
    assert as_printed(1000 * fuses.melting_i2t_a2s("C", 40)[0] / amps**2, "3.5") == "3.5"


def test_29_two_amplifiers_on_one_feed():
    node = 12.8 - (40 + 25) * (8.0 + four_awg_loop_mohm(5) + 0.7) / 1000
    branch = conductors.resistance_mohm_per_m(area("8 AWG"), "copper") * 1.2
    assert as_printed(branch, "2.523") == "2.523"
    assert as_printed(node, "11.964") == "11.964"
    assert as_printed(node - 40 * branch / 1000, "11.863") == "11.863"
    assert as_printed(node - 25 * branch / 1000, "11.901") == "11.901"


def test_30_constant_power_load():
    volts = circuits.constant_power_v(13.8, 20, 600)
    assert as_printed(volts, "12.867") == "12.867"
    assert as_printed(600 / volts, "46.63") == "46.63"
    assert as_printed(circuits.constant_power_limit_w(13.8, 20), "2380.5") == "2380.5"


# Peukert t = H (C / (I H))^k. Worked.
@pytest.mark.parametrize(("amps", "hours"), [(10, "8.706"), (20, "3.789"), (5, "20")])
def test_31_peukert_hours(amps, hours):
    assert as_printed(batteries.peukert_hours(100, amps, 1.2), hours) == hours


@pytest.mark.parametrize(("amps", "ah"), [(10, "93.3"), (20, "87.1"), (50, "79.4"), (100, "74.1")])
def test_32_peukert_capacity(amps, ah):
    assert as_printed(batteries.peukert_capacity_ah(100, amps, 1.1), ah) == ah


# Peukert tutorial, 250 Ah as the capacity at 1 A. Printed as 5.09 h.
def test_33_peukert_on_the_one_ampere_basis():
    assert as_printed(batteries.peukert_hours_1a(250, 20, 1.3), "5.089") == "5.089"


# Battery glossary. Printed.
def test_34_marine_cranking_amperes():
    assert as_printed(batteries.marine_cranking_a(500), "650") == "650"


# Engine service manual, 50 A alternator, hot, 13.5 V. Printed.
@pytest.mark.parametrize(("rpm", "amps"), [(1300, "16"), (2500, "41"), (5000, "48")])
def test_35_alternator_output(rpm, amps):
    assert as_printed(50 * charging.alternator_fraction(rpm), amps) == amps


def test_54_two_batteries_share_a_load():
    volts, (first, second) = circuits.parallel_batteries((12.8, 12.6), (8.0, 12.0), 50)
    assert as_printed(volts, "12.480") == "12.480"
    assert as_printed(first, "40") == "40"
    assert as_printed(second, "10") == "10"
