"""Where a driver really gets its level, against where the textbook has it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loomwright.sound.crossings import crossings, response, responses
from loomwright.sound.stress import stresses
from tests.sound.rigs import load, one_driver, through


def first_order_hz(uf: float, ohm: float) -> float:
    return 1e6 / (2 * math.pi * ohm * uf)


@pytest.mark.parametrize("uf", [6.8, 33.0, 220.0])
def test_a_capacitor_and_a_resistor_cross_where_the_textbook_says(uf: float) -> None:
    found = load(through(uf, "four"))
    (got,) = responses(found)
    assert got.filtered
    assert got.high_pass_hz == pytest.approx(first_order_hz(uf, 4.0), rel=2e-3)
    assert got.textbook_high_pass_hz == pytest.approx(first_order_hz(uf, 4.0), rel=1e-4)
    assert got.level_change_db == pytest.approx(0.0, abs=0.01)
    assert got.low_pass_hz is None


def test_a_full_range_driver_has_no_crossing() -> None:
    (got,) = responses(load(one_driver("known")))
    assert not got.filtered
    assert got.crossings == ()
    assert got.reference_db == pytest.approx(0.0, abs=0.01)


def test_a_capacitor_before_a_resonant_driver_crosses_early_and_peaks() -> None:
    """Near its resonance the driver is far above its nominal impedance, and the capacitor holds nothing back."""
    found = load(through(4.7, "horn"))
    got = response(found, found.drivers["d"])
    assert got.textbook_high_pass_hz == pytest.approx(first_order_hz(4.7, 8.0), rel=1e-3)
    assert got.high_pass_hz is not None
    assert got.high_pass_hz < 0.5 * got.textbook_high_pass_hz
    assert len(got.crossings) == 3
    assert [c.rising for c in got.crossings] == [True, False, True]
    assert len({round(c.frequency_hz) for c in got.crossings}) == 3


def test_every_crossing_and_peak_agrees_with_the_impedances_by_hand() -> None:
    """The driver's share of a series circuit is Z / (Z + 1/jwC): worked out here on a grid ten times as fine."""
    from loomwright.sound import boxes
    from loomwright.sound.frequencies import db, grid_hz

    made = through(4.7, "horn")
    found = load(made)
    got = response(found, found.drivers["d"])
    at_hz = grid_hz(6000)
    driver = boxes.small_signal(made.items["d"].part.spec)  # type: ignore[arg-type]
    assert driver is not None
    z = boxes.impedance_ohm(driver, made.items["d"].mounting, at_hz)
    level = db(z / (z + 1 / (2j * np.pi * at_hz * 4.7e-6)))
    fine = crossings(at_hz, level, -3.0103)
    assert [c.frequency_hz for c in got.crossings] == pytest.approx([c.frequency_hz for c in fine], rel=2e-3)
    assert got.peak_db == pytest.approx(float(np.max(level[(at_hz > 20) & (at_hz < 20000)])), abs=0.02)


def test_a_crossing_lies_between_its_neighbours() -> None:
    at_hz = np.array([10.0, 20.0, 40.0, 80.0])
    found = crossings(at_hz, np.array([-6.0, 0.0, 0.0, -9.0]), -3.0)
    assert [(round(c.frequency_hz, 2), c.rising) for c in found] == [(14.14, True), (50.4, False)]


def test_what_a_capacitor_must_stand() -> None:
    """Far below its corner all of the channel's volts lie across it; far above, all of the current runs through it."""
    found = load(through(33, "four"))
    (got,) = stresses(found, 20.0)
    assert got.volts_v == pytest.approx(20.0, rel=0.01)
    assert got.amps_a == pytest.approx(5.0, rel=0.01)
    assert got.tone_w == 0.0


def test_a_programme_heats_a_part_by_its_share() -> None:
    found = load(through(33, "four", "series_mohm = 500"))
    spectrum = np.zeros(len(found.frequency_hz))
    at = int(np.argmin(np.abs(found.frequency_hz - 10_000)))
    spectrum[at] = 0.125
    (got,) = stresses(found, 20.0, spectrum)
    amps = 20 / 4.525  # 4.5 ohm with 0.48 ohm of reactance at 10 kHz
    assert got.programme_w == pytest.approx(0.125 * amps**2 * 0.5, rel=0.01)
