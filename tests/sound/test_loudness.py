"""Level at the listening place: by the formula, with its bounds, and the time that it leaves."""

from __future__ import annotations

import pytest

from loomwright.sound.loudness import level_db
from loomwright.sound.sheet import sheet
from tests.findings.bases import TRIKE, spoiled, study


def test_level_of_one_driver() -> None:
    """90 dB at 1 W and 1 m, 100 W, 2 m: 90 + 20 - 6.02."""
    assert level_db(90.0, 100.0, 2.0) == pytest.approx(103.98, abs=0.005)


def test_twice_as_far_is_six_decibels_less() -> None:
    near, far = (
        study(spoiled(TRIKE, ("", f"\n[limits]\nlistening_mm = {mm}\n"))).sound.loudness[0] for mm in (1000, 2000)
    )
    assert near.level_dba - far.level_dba == pytest.approx(6.0206, abs=1e-3)
    assert far.exposure_h / near.exposure_h == pytest.approx(4.02, abs=0.02)


def test_drivers_add_as_powers() -> None:
    """Four like drivers at like watts: 6.02 dB over one."""
    loud = study(TRIKE).sound.loudness[0]
    one = max(d.level_db for d in loud.drivers)
    assert loud.level_db - one == pytest.approx(6.02, abs=0.15)


def test_bounds_hold_the_level_and_lean_downwards() -> None:
    """2 dB and 3 dB as squares make 3.6; a hot coil takes up to 2 more."""
    for x in study(TRIKE).sound.loudness:
        assert x.high_dba - x.level_dba == pytest.approx(13.0**0.5)
        assert x.level_dba - x.low_dba == pytest.approx(13.0**0.5 + 2.0)
        assert x.exposure_at_high_h < x.exposure_h


def test_a_level_never_stands_without_its_cautions() -> None:
    whole = study(TRIKE)
    made = sheet(whole.sound, whole.rig)
    assert made.loudness
    assert any("road law" in c for c in made.cautions)
    assert any("Hearing" in c for c in made.cautions)


def test_sheet_is_the_same_every_time_and_plain() -> None:
    whole = study(TRIKE)
    once, again = sheet(whole.sound, whole.rig), sheet(whole.sound, whole.rig)
    assert once == again
    assert len(once.frequency_hz) == len(once.channels[0].impedance_ohm)
    assert once.frequency_hz[0] == pytest.approx(20.0, rel=0.02)
