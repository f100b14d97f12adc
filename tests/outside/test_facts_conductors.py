"""Sizes and resistances against printed tables."""

from __future__ import annotations

import math

import pytest

from loomwright.facts import conductors
from loomwright.facts.figures import figure

COPPER = ("copper", 20.0)

# ASTM B258: d = 0.127 mm x 92^((36 - n) / 39); 1/0 to 4/0 are n = 0 to -3.
NUMBERS = {"1/0": 0, "2/0": -1, "3/0": -2, "4/0": -3}


@pytest.mark.parametrize("size", conductors.sizes("AWG"), ids=lambda s: s.label)
def test_awg_rows_follow_the_formula(size):
    name = size.label.removesuffix(" AWG")
    n = NUMBERS[name] if "/" in name else int(name)
    d_mm = 0.127 * 92 ** ((36 - n) / 39)
    assert figure(f"conductor.awg.{name}.solid_diameter_mm").value == pytest.approx(d_mm, rel=5e-5)
    assert size.area_mm2 == pytest.approx(math.pi / 4 * d_mm**2, rel=5e-5)


# Copper wire table of the reference volume of "Lessons in Electric Circuits" (Design Science License): circular mils.
HANDBOOK_CMIL = {
    "4/0": 211_600, "3/0": 167_800, "2/0": 133_100, "1/0": 105_500, "1": 83_690, "2": 66_370, "3": 52_630, "4": 41_740,
    "6": 26_250, "8": 16_510, "10": 10_380, "12": 6_530, "14": 4_107, "16": 2_583, "18": 1_624, "20": 1_022,
}


@pytest.mark.parametrize(("size", "cmil"), HANDBOOK_CMIL.items())
def test_awg_areas_against_a_handbook(size, cmil):
    assert conductors.parse_size(f"{size} AWG").area_mm2 / conductors.mm2_per_cmil() == pytest.approx(cmil, rel=6e-4)


# Solid copper at 20 C [mOhm/m], NBS Handbook 100 resistivity over ASTM B258 areas, four digits.
SOLID = {
    "18": 20.95, "16": 13.17, "14": 8.286, "12": 5.211, "10": 3.277, "8": 2.061, "6": 1.296, "4": 0.8152, "3": 0.6465,
    "2": 0.5127, "1": 0.4066, "1/0": 0.3224, "2/0": 0.2557, "3/0": 0.2028, "4/0": 0.1608,
}


@pytest.mark.parametrize(("size", "solid"), SOLID.items())
def test_stranded_is_two_percent_over_solid(size, solid):
    area = conductors.parse_size(f"{size} AWG").area_mm2
    assert conductors.resistance_mohm_per_m(area, *COPPER) / 1.02 == pytest.approx(solid, rel=3.5e-4)


# NEC Chapter 9 Table 8, stranded, 75 C [ohm/kft]; 6 AWG and larger as seen in print.
NEC = {
    "6": 0.491, "4": 0.308, "3": 0.245, "2": 0.194, "1": 0.154, "1/0": 0.122, "2/0": 0.0967, "3/0": 0.0766,
    "4/0": 0.0608,
}


@pytest.mark.parametrize(("size", "ohm_per_kft"), NEC.items())
def test_hot_resistance_against_the_nec(size, ohm_per_kft):
    area = conductors.parse_size(f"{size} AWG").area_mm2
    ours = conductors.resistance_mohm_per_m(area, "copper", 75.0) * 0.3048
    assert ours == pytest.approx(ohm_per_kft, rel=0.006)
    assert figure(f"conductor.nec_75c.{size}").value == ohm_per_kft


# NEC: resistance at another temperature is R75 (1 + 0.00323 (T - 75)).
@pytest.mark.parametrize("temperature_c", [-20, 20, 40, 60, 105])
def test_temperature_coefficient_against_the_nec_note(temperature_c):
    at = conductors.resistance_mohm_per_m(5.0, "copper", temperature_c)
    hot = conductors.resistance_mohm_per_m(5.0, "copper", 75.0)
    assert at / hot == pytest.approx(1 + 0.00323 * (temperature_c - 75), abs=0.0004)


# IEC 60228 largest resistance at 20 C [ohm/km]: (class 2 plain, class 5 plain, class 5 metal-coated), from a reprint.
IEC = {
    "0.5": (36.0, 39.0, 40.1), "0.75": (24.5, 26.0, 26.7), "1": (18.1, 19.5, 20.0), "1.5": (12.1, 13.3, 13.7),
    "2.5": (7.41, 7.98, 8.21), "4": (4.61, 4.95, 5.09), "6": (3.08, 3.30, 3.39), "10": (1.83, 1.91, 1.95),
    "16": (1.15, 1.21, 1.24), "25": (0.727, 0.780, 0.795), "35": (0.524, 0.554, 0.565), "50": (0.387, 0.386, 0.393),
    "70": (0.268, 0.272, 0.277), "95": (0.193, 0.206, 0.210), "120": (0.153, 0.161, 0.164),
}


@pytest.mark.parametrize(("size", "limits"), IEC.items())
def test_mm2_sizes_against_iec_60228(size, limits):
    class_2, class_5, coated = limits
    row = conductors.parse_size(f"{size} mm2")
    assert figure(f"conductor.mm2.{size}.class_2_mohm_per_m").value == class_2
    assert conductors.largest_mohm_per_m(row.label) == class_5
    typical = conductors.resistance_mohm_per_m(row.area_mm2, *COPPER, system="mm2")
    solid = 17.241 / row.area_mm2
    assert solid < typical < min(class_2, class_5), "a typical conductor lies between solid metal and the limit"
    assert class_5 / conductors.conductivity("tinned copper") == pytest.approx(coated, rel=0.008)


# FAA AC 43.13-1B Table 11-9, tin-plated aircraft wire, largest at 20 C [ohm/kft].
AIRCRAFT = {
    "18": 6.23, "16": 4.81, "14": 3.06, "12": 2.02, "10": 1.26, "8": 0.70, "6": 0.44, "4": 0.28, "2": 0.18, "1": 0.15,
    "1/0": 0.12, "2/0": 0.09, "3/0": 0.07, "4/0": 0.06,
}


@pytest.mark.parametrize(("size", "ohm_per_kft"), AIRCRAFT.items())
def test_tinned_wire_against_the_faa(size, ohm_per_kft):
    assert figure(f"conductor.aircraft.{size}").value == ohm_per_kft
    area = conductors.parse_size(f"{size} AWG").area_mm2
    ours = conductors.resistance_mohm_per_m(area, "tinned copper") * 0.3048
    if size == "18":  # 6.23 is below solid copper of that size (6.385): this wire holds more metal than AWG
        assert ours == pytest.approx(ohm_per_kft, rel=0.08)
    else:  # typical stays below the limit; 14, 12 and 10 hold 7 to 10 % less metal than AWG
        assert 0.8 * ohm_per_kft < ours < ohm_per_kft


# Cable-maker comparison pages, SAE J1127/J1128 circular mils (8 SAE from memory).
SAE_CMIL = {
    "18": 1537, "16": 2336, "14": 3702, "12": 5833, "10": 9343, "8": 14810, "6": 24538, "4": 37360, "2": 62450,
    "1/0": 98980, "2/0": 125100, "4/0": 205500,
}


@pytest.mark.parametrize(("size", "cmil"), SAE_CMIL.items())
def test_sae_holds_3_to_11_percent_less_than_awg(size, cmil):
    row = conductors.parse_size(f"{size} SAE")
    assert row.area_mm2 == pytest.approx(cmil * 5.067075e-4, rel=5e-5)
    ratio = row.area_mm2 / conductors.parse_size(f"{size} AWG").area_mm2
    assert 0.89 < ratio < 0.975
    assert row.provisional == (size == "8")


# ASTM B566 data sheets: 18 AWG copper-clad aluminium at 20 C, 9.90 (10 %) and 9.61 ohm/kft (15 %), solid.
@pytest.mark.parametrize(("metal", "ohm_per_kft", "times_copper"), [("cca10", 9.90, 1.59), ("cca15", 9.61, 1.55)])
def test_copper_clad_aluminium_against_data_sheets(metal, ohm_per_kft, times_copper):
    area = conductors.parse_size("18 AWG").area_mm2
    solid = conductors.resistance_mohm_per_m(area, metal) / 1.02 * 0.3048
    assert ohm_per_kft < solid < ohm_per_kft * 1.035, "the class minimum conducts a little less than the sheet's wire"
    assert 1 / conductors.conductivity(metal) == pytest.approx(times_copper, abs=0.005)
