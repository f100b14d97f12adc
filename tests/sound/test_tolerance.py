"""Bands of tolerance against what can be worked out by hand, and against drawing nothing at all."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loomwright.sound.frequencies import grid_hz
from loomwright.sound.loads import study_loads
from loomwright.sound.tolerance import study_tolerance
from tests.sound.rigs import one_driver, rig, through


def test_a_voice_coil_alone_spreads_the_load_by_fifteen_per_cent() -> None:
    found = study_tolerance(one_driver("four"), "amp", 1)
    assert found is not None
    low, high = 4 * (1 - 0.9 * 0.15), 4 * (1 + 0.9 * 0.15)  # drawn evenly: 5 % of the draws lie in the last tenth
    assert found.impedance_ohm[:, 100] == pytest.approx([low, 4.0, high], rel=0.006)
    assert found.least_ohm.min() == pytest.approx(3.4, rel=1e-3)
    assert found.share_below(3.4) == 0.0
    assert found.share_below(4.0) == pytest.approx(0.5, abs=0.02)


def test_a_capacitor_spreads_the_corner_by_its_tolerance() -> None:
    found = study_tolerance(through(33, "four", "tolerance_pct = 20"), "amp", 1)
    assert found is not None
    low = 1 / (2 * math.pi * found.frequency_hz[0] * 33e-6)  # at 10 Hz the capacitor alone counts
    assert found.impedance_ohm[[0, 2], 0] == pytest.approx([low / 1.18, low / 0.82], rel=0.005)
    band = found.drivers["d"].high_pass_hz
    middle = 1 / (2 * math.pi * 4 * 33e-6)
    assert band[1] == pytest.approx(middle, rel=0.02)
    assert middle / (1.2 * 1.15) < band[0] < band[1] < band[2] < middle / (0.8 * 0.85)


def test_the_same_channel_gives_the_same_draws() -> None:
    made = through(10, "known")
    one, two = study_tolerance(made, "amp", 1, draws=500), study_tolerance(made, "amp", 1, draws=500)
    assert one is not None
    assert two is not None
    assert np.array_equal(one.impedance_ohm, two.impedance_ohm)
    assert np.array_equal(one.least_ohm, two.least_ohm)


TWO_WAY = (
    {"low": "known", "high": "horn", "c": "capacitor_film_6u8", "l": "coil_0m47", "j": "splice_crimp",
     "k": "splice_crimp", "p": "tap", "x": "splice_crimp"},
    [("amp.ch1+", "j.leg1"), ("amp.ch1-", "k.leg1"), ("j.leg2", "c.a"), ("c.b", "p.a"), ("p.b", "high.+"),
     ("high.-", "k.leg2"), ("high.-", "p.c"), ("j.leg3", "l.a"), ("l.b", "low.+"), ("low.-", "k.leg3"),
     ("low.+", "x.leg1")],
)  # fmt: skip


def test_the_middle_of_the_bands_is_the_load_as_it_is() -> None:
    """Two ways, a pad, splices and a loose end: solved chain by chain here and limb by limb in the study."""
    made = rig(*TWO_WAY, size="16 AWG")
    found = study_tolerance(made, "amp", 1, draws=2001)
    assert found is not None
    plain = study_loads(made, grid_hz(len(found.frequency_hz))).channel("amp", 1)
    assert found.impedance_ohm[1] == pytest.approx(np.abs(plain.impedance_ohm), rel=0.02)
    for name, band in found.drivers.items():
        level = 20 * np.log10(np.abs(plain.drivers[name].transfer))
        assert band.level_db[1] == pytest.approx(level, abs=0.15)
        assert (band.level_db[0] <= band.level_db[2]).all()


def test_a_single_draw_with_nothing_to_draw_is_the_load_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    from loomwright.sound import tolerance

    monkeypatch.setattr(tolerance.loudspeakers, "spread_pct", lambda what: 1e-9)
    made = rig(*TWO_WAY, size="16 AWG")
    for item in made.items.values():
        if getattr(item.part.spec, "tolerance_pct", None) is not None:
            object.__setattr__(item.part.spec, "tolerance_pct", 1e-9)
    found = study_tolerance(made, "amp", 1, draws=3)
    assert found is not None
    plain = study_loads(made, grid_hz(len(found.frequency_hz))).channel("amp", 1)
    assert found.impedance_ohm[1] == pytest.approx(np.abs(plain.impedance_ohm), rel=1e-5)
    for name, band in found.drivers.items():
        assert band.level_db[1] == pytest.approx(20 * np.log10(np.abs(plain.drivers[name].transfer)), abs=1e-4)


def test_an_open_channel_has_no_bands_and_an_unknown_one_is_refused() -> None:
    made = one_driver("four")
    assert study_tolerance(made, "amp", 2) is None
    with pytest.raises(KeyError):
        study_tolerance(made, "amp", 9)
