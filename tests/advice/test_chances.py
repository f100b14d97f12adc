"""Chances: the lot against the full solver, shares that add up, and what must follow from the spreads."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loomwright import demo
from loomwright.advice.chances import chances
from loomwright.advice.draws import Cause, drawn, values
from loomwright.facts import spreads
from loomwright.rig.file import load
from loomwright.rig.model import AmplifierSpec, Rig
from loomwright.study import Study


def rig_of(name: str) -> Rig:
    return Study(load(demo.path(name))).rig


@pytest.mark.parametrize(("name", "within_v"), [
    ("carnival_trike_planned", 0.001), ("canal_launch", 0.001), ("harvest_buggy", 0.001),
    ("carnival_trike_as_found", 0.05),
])  # fmt: skip
def test_the_lot_is_what_the_full_solver_says(name: str, within_v: float) -> None:
    """A tree to a millivolt; the trike as found has returns in a mesh: to 50 mV, and the result says how much."""
    result = chances(rig_of(name), 2000)
    assert result.error_v < within_v
    assert result.crank_error_v is not None
    assert result.crank_error_v < 0.05
    assert result.lost == 0


def test_the_same_seed_gives_the_same_chances_and_another_nearly_the_same() -> None:
    rig = rig_of("carnival_trike_as_found")
    first = chances(rig, 5000, 1)
    assert first == chances(rig, 5000, 1)
    other = chances(rig, 5000, 2)
    for a, b in zip(first.amplifiers, other.amplifiers, strict=True):
        assert a.chance == pytest.approx(b.chance, abs=0.01)
        assert a.middle_v == pytest.approx(b.middle_v, abs=0.02)


def test_shares_of_the_causes_never_pass_the_whole() -> None:
    for name in demo.names():
        result = chances(rig_of(name), 20_000)
        for causes in (result.causes, result.crank_causes):
            assert len(causes) <= 5
            assert sum(c.share for c in causes) <= 1.02
            assert [c.share for c in causes] == sorted((c.share for c in causes), reverse=True)


def test_a_least_voltage_in_the_middle_of_the_spread_is_a_chance_of_half() -> None:
    rig = rig_of("carnival_trike_planned")
    middle = chances(rig, 20_000).amplifiers[0].middle_v
    item = rig.items["front_amp"]
    assert isinstance(item.part.spec, AmplifierSpec)
    strict = replace(item, part=replace(item.part, spec=replace(item.part.spec, min_v=middle)))
    result = chances(replace(rig, items={**rig.items, "front_amp": strict}), 20_000)
    assert result.amplifiers[0].chance == pytest.approx(0.5, abs=0.02)
    assert result.weakest == "front_amp"


@pytest.mark.parametrize("what", spreads.NAMES)
def test_draws_lie_as_their_row_says(what: spreads.What) -> None:
    """5 of 100 below the first number of the row, 5 above the second."""
    row = spreads.spread(what)
    lot = values(what)[drawn((Cause(what, ""),), 50_000, 3).level[0]]
    assert float((lot < row.low).mean()) == pytest.approx(0.05, abs=0.005)
    assert float((lot > row.high).mean()) == pytest.approx(0.05, abs=0.005)
    assert np.unique(lot).size > 500


def test_a_rig_that_does_not_hold_has_nothing_to_draw_around() -> None:
    rig = rig_of("carnival_trike_planned")
    with pytest.raises(ValueError, match="no operating point"):
        chances(replace(rig, wires=tuple(replace(w, length_mm=w.length_mm * 80.0) for w in rig.wires)), 200)
