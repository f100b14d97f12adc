"""Levels and gains, worked by hand; speaker-level inputs; the order of setting."""

from __future__ import annotations

import math

import pytest

from tests.findings.bases import LAUNCH, TRIKE, spoiled, study
from tests.findings.sound_cases import DSP, PAIR, driver, front, source, speaker_level


def test_gain_is_the_root_of_power_times_ohms() -> None:
    """80 W into 4 ohm: 17.89 V. 2 V at full scale are 1.125 V at -5 dBFS: there the gain stands for full output."""
    gain = study(TRIKE).sound.levels["front_amp.ch1"].gain
    assert gain.set_v == pytest.approx(17.889, abs=5e-4)
    assert (gain.tone_hz, gain.tone_dbfs) == (1000.0, -5.0)
    assert gain.input_v == pytest.approx(2.0 * 10.0 ** (-5.0 / 20.0))
    assert (gain.reach, gain.held_by) == ("in reach", "the amplifier")


def test_peak_of_the_programme_runs_beyond_by_what_the_tone_leaves() -> None:
    """Set with -5 dBFS, full scale is 5 dB over: the amplifier's margin is -5 dB."""
    points = {p.place: p for p in study(TRIKE).sound.levels["front_amp.ch1"].points}
    assert points["front_amp.ch1+"].margin_db == pytest.approx(-5.0)
    assert points["source.out1"].peak_v == pytest.approx(2.0 * math.sqrt(2.0))
    assert points["front_left"].peak_v <= points["front_amp.ch1+"].clip_v


def test_driver_that_takes_less_bounds_the_gain() -> None:
    """30 W in 4 ohm are 10.95 V, less 0.51 dB so that dense programme (7.5 dB crest), 5 dB over, averages 30 W."""
    gain = study(spoiled(TRIKE, driver("frail"))).sound.levels["front_amp.ch1"].gain
    assert gain.held_by == "front_left"
    assert gain.set_v == pytest.approx(math.sqrt(120.0) * 10.0 ** (-0.51 / 20.0), rel=1e-3)
    played = next(p for p in study(spoiled(TRIKE, driver("frail"))).sound.programmes if p.driver == "front_left")
    assert max(played.watts_w.values()) <= 30.0


def test_bass_is_set_with_a_low_tone_and_treble_with_no_overlap() -> None:
    bass = study(spoiled(TRIKE, front("bands = [{ channels = [1], low_pass_hz = 90 }]"))).sound
    assert bass.levels["front_amp.ch1"].gain.tone_hz == 50.0
    high = study(spoiled(TRIKE, front("bands = [{ channels = [1], high_pass_hz = 3000 }]"))).sound
    gain = high.levels["front_amp.ch1"].gain
    assert (gain.tone_hz, gain.tone_dbfs) == (5000.0, 0.0)
    assert gain.order == max(c.gain.order for c in high.levels.values())


def test_gain_as_set_is_told_in_decibels() -> None:
    """0.3 V for full output and 2 V at full scale: 16.5 dB beyond."""
    gain = study(spoiled(TRIKE, front("gains_v = [0.3, 1.1]"))).sound.levels["front_amp.ch1"].gain
    assert gain.as_set_db == pytest.approx(20.0 * math.log10(2.0 / 0.3))


def test_processor_passes_no_more_than_it_gives() -> None:
    """20 V into a processor that takes 5 V and gives 4: its input is 12 dB over, its output stays at 4 V."""
    points = {p.place: p for p in study(spoiled(TRIKE, *DSP, source("hot"))).sound.levels["front_amp.ch1"].points}
    assert points["dsp.in1"].margin_db == pytest.approx(20.0 * math.log10(5.0 / 20.0))
    assert points["dsp.out1"].peak_v == pytest.approx(4.0 * math.sqrt(2.0))


def test_noise_adds_as_powers() -> None:
    """2 V at 90 dB: 63.2 uV, times 17.89 / 1.125 V of gain: 1.005 mV; the amplifier's own 0.2 mV (2 V, 80 dB)."""
    points = {p.place: p for p in study(TRIKE).sound.levels["front_amp.ch1"].points}
    assert points["source.out1"].noise_v == pytest.approx(63.2e-6, rel=1e-3)
    boost = math.sqrt(320.0) / (2.0 * 10.0**-0.25)
    assert points["front_amp.ch1+"].noise_v == pytest.approx(math.hypot(63.2456e-6 * boost, 0.2e-3), rel=1e-4)


def test_speaker_level_inputs_are_fed_by_both_wires() -> None:
    (fed,) = study(spoiled(LAUNCH, *speaker_level(*PAIR))).sound.speaker_inputs
    assert (fed.output, fed.input) == ("source.spk1+", "amp.hi1+")
    assert (fed.grounded, fed.starved, fed.half) == (False, False, None)
    assert fed.volts_v == pytest.approx(math.sqrt(80.0))
    assert study(spoiled(LAUNCH, *speaker_level(*PAIR))).sound.levels["amp.ch1"].points[0].place == "source.spk1+"


def test_order_starts_with_loads_off_and_ends_with_loads_on() -> None:
    steps = study(spoiled(TRIKE, *DSP)).sound.steps
    assert [s.number for s in steps] == list(range(1, len(steps) + 1))
    assert "loudspeaker lead off" in steps[0].text
    assert "loudspeakers on" in steps[-1].text
    items = [s.item for s in steps]
    assert items.index("source") < items.index("dsp") < items.index("front_amp.ch1")
