"""Fuses against data sheets, standards' scopes and the law."""

from __future__ import annotations

import math

import pytest

from loomwright.facts import fuses

# Component data sheets citing ISO 8820-3, read at second hand: (type, multiple) -> (least, most) seconds.
GATES = {
    ("C", 1.0): (360_000, math.inf), ("C", 1.35): (0.75, 600), ("C", 1.6): (0.25, 50), ("C", 2.0): (0.15, 5),
    ("C", 3.5): (0.08, 0.5),
    ("F", 2.0): (0.15, 5), ("F", 3.5): (0.08, 0.5), ("F", 6.0): (0.03, 0.1),
    ("E", 1.0): (360_000, math.inf), ("E", 1.35): (60, 1800), ("E", 2.0): (2, 50), ("E", 3.5): (0.2, 7),
    ("E", 6.0): (0.04, 1),
}


@pytest.mark.parametrize(("type_", "multiple"), GATES)
def test_gates(type_, multiple):
    gate = next(g for g in fuses.gates(type_) if g.multiple == multiple)
    assert (gate.min_s, gate.max_s) == GATES[type_, multiple]
    assert gate.mark == "published"


def test_blade_c_opens_within_150_ms_at_six_times():
    # component data sheets, C 35 A and C 40 A
    assert fuses.gates("C")[-1].multiple == 6.0
    assert fuses.gates("C")[-1].max_s == 0.15


# UL/CSA 248-14, 5 x 20 mm: 135 % within an hour, 200 % within two minutes.
def test_glass_tube():
    most = {g.multiple: g.max_s for g in fuses.gates("glass_5x20")}
    assert most == {1.0: math.inf, 1.35: 3600, 2.0: 120}


# Component data sheets: cold resistance [mOhm]; the fit 7.70 (I/10)^-1.21 must agree with each.
COLD = {("C", 10): 7.70, ("C", 20): 3.38, ("C", 25): 2.52, ("C", 40): 1.44, ("F", 7.5): 10.85, ("F", 15): 4.58}


@pytest.mark.parametrize(("type_", "rating_a"), COLD)
def test_cold_resistance(type_, rating_a):
    assert fuses.cold_resistance_mohm(type_, rating_a) == COLD[type_, rating_a]
    assert 7.70 * (rating_a / 10) ** -1.21 == pytest.approx(COLD[type_, rating_a], rel=0.04)


def test_cold_resistance_between_the_sheets():
    assert fuses.cold_resistance_mohm("C", 15) == pytest.approx(4.714, abs=0.0005)  # the fit
    assert fuses.cold_resistance_mohm("SF51", 100) == pytest.approx(0.9)  # 0.07 to 0.11 V over the rating
    assert fuses.cold_resistance_mohm("SF51", 80) == pytest.approx(1.03, rel=0.1)  # a bolted 80 A vehicle fuse


# Component data sheets: drop at rating, C 40 A 96 mV, E 40 A 75 mV.
@pytest.mark.parametrize(("type_", "millivolts"), [("C", 96), ("E", 75)])
def test_drop_at_rating(type_, millivolts):
    hot = fuses.cold_resistance_mohm(type_, 40) * fuses.hot_factor(type_)
    assert 40 * hot == pytest.approx(millivolts, rel=0.01)


# Component data sheets: typical melting I2t [A2s]; the fit 26 (I/5)^2.33 for blades.
MELTING = {
    ("C", 5): 26, ("C", 25): 1000, ("C", 40): 3300, ("F", 15): 308, ("E", 30): 4100, ("E", 35): 6000, ("E", 40): 8500,
}


@pytest.mark.parametrize(("type_", "rating_a"), MELTING)
def test_melting(type_, rating_a):
    assert fuses.melting_i2t_a2s(type_, rating_a) == (MELTING[type_, rating_a], False)


def test_melting_between_the_sheets():
    assert fuses.melting_i2t_a2s("C", 15)[0] == pytest.approx(336, abs=0.5)
    # the fits pass through the sheets' other ratings within a few per cent
    for rating in (25, 40):
        assert pytest.approx(MELTING["C", rating], rel=0.11) == 26 * (rating / 5) ** 2.33
    assert fuses.melting_i2t_a2s("E", 32)[0] == pytest.approx(4830, rel=0.02)  # straight between 30 A and 35 A


# Blades: 1000 A at 32 V (component data sheets). SF30 and SF51: 32 V, 2000 A (scope of ISO 8820-5:2015).
# Cube on the post: 10 kA at 14 V (public design notes).
@pytest.mark.parametrize(
    ("type_", "supply_v", "amps"),
    [
        ("C", 14.4, 1000), ("E", 14.4, 1000), ("F", 32, 1000), ("SF30", 14.4, 2000), ("SF51", 32, 2000),
        ("post_mount", 14.4, 10_000),
    ],
)
def test_interrupting(type_, supply_v, amps):
    assert fuses.interrupting_a(type_, supply_v) == (amps, False)


# One 100 A fuse in print: 2000 A at 16 V, 1300 at 24, 1000 at 32, 600 at 50: a 32 V blade must not claim 1000 A at 50.
def test_interrupting_falls_with_the_volts():
    amps, provisional = fuses.interrupting_a("C", 50)
    assert amps == pytest.approx(600)
    assert provisional


# ABYC E-11, breaker interrupting capacity by total cold-cranking amperes, vendor reprint.
@pytest.mark.parametrize(
    ("cca_a", "main", "branch"),
    [(300, 1500, 750), (650, 1500, 750), (651, 3000, 1500), (1100, 3000, 1500), (1101, 5000, 2500), (2500, None, None)],
)
def test_breaker_capacity(cca_a, main, branch):
    assert fuses.breaker_capacity_a(cca_a, main=True) == main
    assert fuses.breaker_capacity_a(cca_a, main=False) == branch


# ABYC E-11 list of ratings.
def test_standard_ratings():
    assert fuses.standard_ratings_a() == (
        1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200, 225, 250, 275, 300,
        350, 400, 500,
    )


# F 15 A data sheet: 13 A at 20 C, 9 A at 100 C.
def test_small_blade_at_a_temperature():
    assert 13 * fuses.temperature_factor("F", 100) == pytest.approx(9, abs=0.01)
