"""Slopes: signs and sums that physics asks for."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright import demo
from loomwright.advice.slopes import Slopes, slopes
from loomwright.rig.file import load
from loomwright.study import Study


@pytest.fixture(scope="module")
def found() -> Slopes:
    return slopes(Study(load(demo.path("carnival_trike_planned"))).rig, [("off", "loud"), ("idle", "music")])


def test_no_resistance_helps_the_volts_of_stiff_amplifiers(found: Slopes) -> None:
    """With constant watts drawn, a milliohm more anywhere on the supply can only pull the volts down."""
    volts = [k for k, g in enumerate(found.goals) if g.kind == "volts"]
    more = [k for k, lever in enumerate(found.levers) if lever.kind in ("joint", "device", "length")]
    assert found.value[np.ix_([0], volts, more)].max() < 1e-9


def test_a_metre_counts_as_much_as_its_milliohms(found: Slopes) -> None:
    """A wire's length and its joints lie in one branch: their slopes stand as their resistances do."""
    per_mm = found.of(("off", "loud"), "volts", "bass_amp", "length:P2")
    per_mohm = found.of(("off", "loud"), "volts", "bass_amp", "joint:P2@block.in")
    # 6 AWG at 20 C: 1.296 mohm/m with 2 % for the lay, warmed by a few tens of kelvin
    assert 1.2e-3 < per_mm / per_mohm < 1.8e-3


def test_a_supply_off_the_charger_does_not_feel_the_engine(found: Slopes) -> None:
    assert found.of(("off", "loud"), "volts", "bass_amp", "speed:idle") == 0.0
    assert found.of(("idle", "music"), "balance", "", "speed:idle") > 0.0


def test_a_case_without_a_point_has_no_slope() -> None:
    from dataclasses import replace

    rig = Study(load(demo.path("carnival_trike_planned"))).rig
    long = replace(rig, wires=tuple(replace(w, length_mm=w.length_mm * 60.0) for w in rig.wires))
    lost = slopes(long, [("off", "sine")])
    assert np.isnan(lost.value).all()
