"""What is worked out once for rigs that are alike in a part is what the whole rig says, whatever came before it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loomwright import demo
from loomwright.panel import layout
from loomwright.power import cases
from loomwright.protection import drill
from loomwright.rig.file import load
from loomwright.rig.model import Rig
from loomwright.rig.shape import shape_of, signal_part, supply_part
from loomwright.sound import study as sound
from loomwright.study import Study


@pytest.fixture(params=demo.names())
def whole(request: pytest.FixtureRequest) -> Rig:
    return Study(load(demo.path(request.param))).rig


def stretched(rig: Rig, kind: str) -> Rig:
    """The rig with every wire of a kind a tenth longer."""
    return replace(
        rig, wires=tuple(replace(w, length_mm=w.length_mm * 1.1) if w.kind == kind else w for w in rig.wires)
    )


def said(result: object) -> str:
    """All that a result says."""
    with np.printoptions(threshold=10**9, floatmode="unique"):
        return repr(result)


def test_each_part_says_what_the_whole_says(whole: Rig) -> None:
    for work, part in (
        (cases._study_power, supply_part), (drill._study, supply_part), (sound._at_rated_volts, signal_part),
        (layout._boards, layout.on_panels),
    ):  # fmt: skip
        alone = work.__wrapped__  # what it says of the rig itself, nothing kept
        assert said(work(part(whole))) == said(alone(replace(whole)))


def test_an_edit_finds_what_it_leaves_alone(whole: Rig) -> None:
    longer_speakers, longer_feeds = stretched(whole, "speaker"), stretched(whole, "power")
    before, speakers, feeds = (Study(r) for r in (whole, longer_speakers, longer_feeds))
    assert speakers.power is before.power
    assert feeds.power is not before.power
    assert shape_of(longer_feeds) is shape_of(whole) is shape_of(longer_speakers)
    assert feeds.sound.loads is before.sound.loads
    assert speakers.sound.loads is not before.sound.loads
    assert feeds.boards is before.boards


def test_a_rig_says_the_same_after_others(whole: Rig) -> None:
    first = said((Study(whole).power, Study(whole).protection))
    for n in range(20):  # more than are remembered
        supply_part(replace(whole, ambient_c=float(n)))
    assert said((Study(replace(whole)).power, Study(replace(whole)).protection)) == first


def test_a_shape_knows_no_length(whole: Rig) -> None:
    assert not hasattr(shape_of(whole).wires[0], "length_mm")
    assert shape_of(replace(whole, wires=whole.wires[1:])) is not shape_of(whole)
