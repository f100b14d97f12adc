"""Hearing, levels and spectra, to the printed digits of what they come from."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.facts import hearing, signal, spectra
from loomwright.facts.amplifiers import rating_v, sine_into_w


# NIOSH, recommended exposure limit: 85 dBA for 8 h, 3 dB exchange; the table of times in print.
@pytest.mark.parametrize(("dba", "minutes"), [(85, 480), (88, 240), (91, 120), (94, 60), (97, 30), (100, 15)])
def test_niosh_times(dba: float, minutes: float) -> None:
    assert 60.0 * hearing.exposure_h(dba) == pytest.approx(minutes)


def test_52_doses() -> None:
    """94 dBA for 2 h is 200 % of a day. Worked from the NIOSH rule."""
    assert hearing.dose_pct(94.0, 2.0) == pytest.approx(200.0)


def test_53_week_of_the_who_scaled_to_95() -> None:
    """80 dBA for 40 h a week leaves 75 min a week at 95 dBA. Worked from the WHO table with 3 dB exchange."""
    assert 60.0 * hearing.exposure_h(95.0, "week.who_adult") == pytest.approx(75.0)


def test_osha_and_canada() -> None:
    """OSHA: 90 dBA for 8 h, 5 dB exchange, so 4 h at 95; Canada, federal: 87 dBA for 8 h."""
    assert hearing.exposure_h(95.0, "other.osha") == pytest.approx(4.0)
    assert hearing.exposure_h(87.0, "other.canada") == pytest.approx(8.0)


# IEC 61672-1, table of A-weighting at the nominal octaves, one decimal.
@pytest.mark.parametrize(("octave", "db"), [
    (-5, -39.4), (-4, -26.2), (-3, -16.1), (-2, -8.6), (-1, -3.2), (0, 0.0), (1, 1.2), (2, 1.0), (3, -1.1), (4, -6.6),
])  # fmt: skip
def test_a_weighting(octave: int, db: float) -> None:
    assert round(float(hearing.a_weight_db(1000.0 * 10.0 ** (0.3 * octave))), 1) == db


def test_levels_are_added_and_averaged_as_powers() -> None:
    """80 and 90 dB average to 87.4, not 85; two equal ones add 3.01, in phase 6.02. Worked."""
    assert hearing.mean_db([80.0, 90.0]) == pytest.approx(87.4, abs=0.05)
    assert hearing.sum_db([80.0, 80.0]) == pytest.approx(83.01, abs=0.005)
    assert hearing.sum_db([80.0, 80.0], coherent=True) == pytest.approx(86.02, abs=0.005)


def test_supply_bounds_a_stage_without_a_converter() -> None:
    """14.4 V into 4 ohm: 25.9 W of sine from a bridge, 6.48 W from half of one. Worked."""
    assert rating_v() == 14.4
    assert sine_into_w(14.4, 4.0, bridged=True) == pytest.approx(25.92)
    assert sine_into_w(14.4, 4.0, bridged=False) == pytest.approx(6.48)


def test_consumer_line_level() -> None:
    """-10 dBV is 0.316 V. Worked."""
    from loomwright.facts import tables

    assert tables.rows("signal", "line.reference")["consumer_v"].number() == pytest.approx(10.0 ** (-10.0 / 20.0))


def test_octaves_are_those_of_the_standard() -> None:
    """IEC 61260, base ten: 1000 Hz x 10^(0.3 k)."""
    assert [round(float(f), 1) for f in spectra.octaves_hz()[3:7]] == [251.2, 501.2, 1000.0, 1995.3]


def test_pink_noise_has_as_much_in_every_octave() -> None:
    grid = np.geomspace(20.0, 20_000.0, 1000)
    share = spectra.shares("pink", grid)
    low = share[(grid >= 100) & (grid < 200)].sum()
    high = share[(grid >= 3000) & (grid < 6000)].sum()
    assert low == pytest.approx(high, rel=0.02)


@pytest.mark.parametrize("spectrum", spectra.SPECTRA)
def test_shares_of_a_spectrum_make_a_whole(spectrum: spectra.Spectrum) -> None:
    assert spectra.octave_shares(spectrum).sum() == pytest.approx(1.0)
    assert spectra.shares(spectrum, np.geomspace(10.0, 40_000.0, 2000)).sum() == pytest.approx(1.0, abs=0.01)


def test_customary_delays_are_within_what_the_trade_states() -> None:
    """On after 0.5 to 2 s, off after 0.1 to 0.5 s (common practice)."""
    assert 500.0 <= signal.delay_ms("amplifier", "wake") <= 2000.0
    assert 100.0 <= signal.delay_ms("amplifier", "sleep") <= 500.0
