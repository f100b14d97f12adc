"""Equipment advice: what falls out falls out for a reason that can be worked by hand."""

from __future__ import annotations

from functools import cache

import pytest

from loomwright import demo
from loomwright.advice.equipment import Fit, Position, equipment
from loomwright.rig.catalogue import builtin, parse
from loomwright.rig.file import load
from loomwright.study import Study


@cache
def positions(name: str = "carnival_trike_planned") -> dict[str, Position]:
    return {p.amplifier: p for p in equipment(Study(load(demo.path(name))), builtin())}


def fit(amplifier: str, part: str) -> Fit:
    return next(f for f in positions()[amplifier].fits if f.part == part)


def test_every_amplifier_of_the_catalogue_is_judged_and_what_is_fitted_suits() -> None:
    count = sum(t.get("family") == "amplifier" for t, _ in builtin().tables.values())
    for position in positions().values():
        assert len(position.fits) == count
        (now,) = (f for f in position.fits if f.now)
        assert now.verdict == "suits"


def test_too_few_channels() -> None:
    assert fit("front_amp", "amp_2x80_class_d").against == ("4 channels are wanted, it has 2",)


def test_the_charge_that_is_left_over_by_hand() -> None:
    """Class AB, 4 x 75 W at `music`, one eighth of full output: 300 / 8 / efficiency and the idle current more."""
    study = Study(load(demo.path("carnival_trike_planned")))
    part = builtin().part("amp_4x75_class_ab").spec
    now = study.power.case("idle", "music").items["front_amp"]
    amps = part.idle_a + 300.0 / 8.0 / part.efficiency_eighth / now.volts_v  # type: ignore[union-attr]
    balance = next(b for b in study.power.balance if (b.engine, b.programme) == ("idle", "music"))
    found = fit("front_amp", "amp_4x75_class_ab")
    assert found.session_a == pytest.approx(amps, rel=1e-5)
    assert found.surplus_a == pytest.approx(balance.surplus_a - amps + now.amps_a, abs=1e-3)
    assert found.verdict == "falls out"


def test_a_bridged_pair_takes_a_load_that_one_channel_is_too_weak_for() -> None:
    found = fit("bass_amp", "amp_2x80_class_d")
    assert found.bridged == (True,)
    bridged_w = builtin().part("amp_2x80_class_d").spec.bridged_4ohm_w  # type: ignore[union-attr]
    assert found.watts_w == pytest.approx((bridged_w,), rel=1e-4)


def test_an_amplifier_that_does_not_stand_the_load() -> None:
    own = parse(
        'format = 1\n[part.high_ohm]\nfamily = "amplifier"\ntitle = "Amplifier for 8 ohm"\namplifier_class = "D"\n'
        "channels = 4\noutput_4ohm_w = 60\nrated_v = 14.4\nmin_load_ohm = 8\nsupply = \"stiff\"\n"
        "idle_a = 0.5\nefficiency_full = 0.85\nefficiency_eighth = 0.7\nmin_v = 10\nremote_ma = 8\n"
        "balanced_input = true\nsignal_ground_ohm = 1000\n",
        "own",
    ).over(builtin())
    study = Study(load(demo.path("carnival_trike_planned")))
    front = next(p for p in equipment(study, own) if p.amplifier == "front_amp")
    high = next(f for f in front.fits if f.part == "high_ohm")
    assert high.verdict == "falls out"
    assert "is a load of 4 Ω, it stands 8 Ω" in high.against[0]


def test_another_size_of_fuse_is_asked_for() -> None:
    canal = positions("canal_launch")["main_amp"]
    loud = next(f for f in canal.fits if f.part == "amp_4x100_class_ab")
    assert loud.verdict == "suits with care"
    assert any(c.startswith("fore_block.1 of 25 A is too small") for c in loud.care)
