"""Output against what can flow in; programme in the drivers; what they stand. Numbers worked by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loomwright.rig.model import Band
from loomwright.sound.programme import channel_volts2
from loomwright.sound.signal_path import band_response
from tests.findings.bases import BUGGY, LAUNCH, TRIKE, spoiled, study
from tests.findings.sound_cases import driver, front

GRID = np.geomspace(10.0, 40_000.0, 2001)
FLAT = np.ones(len(GRID))


def test_claim_is_held_against_fuse_volts_and_efficiency() -> None:
    """2 x 500 W behind 25 A: 1.1 x 25 A x 14.4 V x 0.84 = 332.6 W can flow in."""
    text = spoiled(TRIKE, ('[item.front_amp]\npart = "amp_2x80_class_d"', '[item.front_amp]\npart = "amp_boast"'))
    sound = study(text).sound
    claim = next(c for c in sound.claims if c.item == "front_amp")
    assert claim.claimed_w == 1000.0
    assert claim.limit_w == pytest.approx(1.1 * 25.0 * 14.4 * 0.84)
    assert sound.outputs["front_amp.ch1"].credible_w == pytest.approx(332.64 / 2.0)


def test_sagging_output_follows_the_square_of_the_volts() -> None:
    output = study(BUGGY).sound.outputs["bass_amp.ch1"]
    assert output.clip_v == pytest.approx(math.sqrt(500.0 * 4.0))
    for engine, volts in output.supply_v.items():
        assert output.watts_w[engine] == pytest.approx(500.0 * min(1.0, (volts / 14.4) ** 2))


def test_stiff_output_holds() -> None:
    output = study(TRIKE).sound.outputs["front_amp.ch1"]
    assert list(output.watts_w.values()) == pytest.approx([80.0] * 3)


def test_pink_noise_just_clipping_averages_its_crest_below_the_peak() -> None:
    """80 W of sine has peaks of 160 W; 12 dB below them lie 10.1 W."""
    volts2 = channel_volts2("pink", GRID, FLAT, math.sqrt(320.0), math.sqrt(320.0))
    assert volts2.sum() / 4.0 == pytest.approx(160.0 / 10.0**1.2, rel=0.005)


def test_what_clips_never_exceeds_a_full_sine() -> None:
    volts2 = channel_volts2("dense", GRID, FLAT, 10.0, 1000.0)
    assert volts2.sum() == pytest.approx(100.0)


def test_high_pass_leaves_the_share_above_it() -> None:
    """Pink noise has ten octaves; a steep filter at 1.4 kHz leaves about four and a half of them."""
    steep = (GRID > 1412.5).astype(float)
    whole, left = (channel_volts2("pink", GRID, f, 10.0, 10.0).sum() for f in (FLAT, steep))
    assert left / whole == pytest.approx(0.4, abs=0.01)


@pytest.mark.parametrize(("slope", "alignment", "at_corner", "octave"), [
    (6, "LR", -3.01, -7.0), (12, "LR", -6.02, -14.0), (12, "BW", -3.01, -12.3), (18, "LR", -3.01, -18.1),
    (24, "LR", -6.02, -24.6), (24, "BW", -3.01, -24.1),
])  # fmt: skip
def test_filters_fall_as_their_order_says(slope: int, alignment: str, at_corner: float, octave: float) -> None:
    """-3.01 dB at the corner of a Butterworth, -6.02 of a Linkwitz-Riley; an octave off, by the formula."""
    band = Band((1,), high_pass_hz=1000.0, slope_db=slope, alignment=alignment)  # type: ignore[arg-type]
    got = 20.0 * np.log10(band_response(band, np.array([1000.0, 500.0])))
    assert got[0] == pytest.approx(at_corner, abs=0.005)
    assert got[1] == pytest.approx(octave, abs=0.06)
    mirrored = Band((1,), low_pass_hz=1000.0, slope_db=slope, alignment=alignment)  # type: ignore[arg-type]
    assert 20.0 * np.log10(band_response(mirrored, np.array([2000.0])))[0] == pytest.approx(got[1])


def test_limiter_holds_the_channel() -> None:
    """A limiter at 5 W: no programme makes more than that in the channel's nominal ohms."""
    bare = spoiled(TRIKE, front("bands = [{ channels = [1], high_pass_hz = 90 }]"))
    held = spoiled(TRIKE, front("bands = [{ channels = [1], high_pass_hz = 90, limit_w = 5 }]"))
    was, now = (next(p for p in study(t).sound.programmes if p.driver == "front_left") for t in (bare, held))
    assert now.watts_w["dense"] == pytest.approx(was.watts_w["dense"] * 5.0 / _channel_w(bare), rel=0.01)
    assert now.limited


def _channel_w(text: str) -> float:
    sound = study(text).sound
    path, output = sound.chains["front_amp.ch1"], sound.outputs["front_amp.ch1"]
    grid = sound.loads.frequency_hz
    full = sound.levels["front_amp.ch1"].full_scale_v
    return float(channel_volts2("dense", grid, path.response(grid) ** 2, output.clip_v, full).sum()) / 4.0


def test_thermal_limit_is_the_rated_watts_in_nominal_ohms() -> None:
    """30 W in 4 ohm are 10.95 V at the tags; the wire takes a little, so a little more at the amplifier."""
    sound = study(spoiled(TRIKE, driver("frail"))).sound
    limit = next(x for x in sound.limits if x.driver == "front_left")
    assert limit.limiter_v is not None
    assert math.sqrt(120.0) < limit.limiter_v < math.sqrt(120.0) * 1.05
    assert limit.excursion_v is None


def test_cone_moves_less_behind_a_high_pass() -> None:
    bare = next(x for x in study(LAUNCH).sound.limits if x.driver == "port")
    amp = ('[item.amp]\n', '[item.amp]\nbands = [{ channels = [1, 2], high_pass_hz = 150 }]\n')
    behind = next(x for x in study(spoiled(LAUNCH, amp)).sound.limits if x.driver == "port")
    assert bare.excursion_ratio is not None
    assert behind.excursion_ratio is not None
    assert behind.excursion_ratio < 1.0 < bare.excursion_ratio
    assert bare.subsonic_hz == behind.subsonic_hz
