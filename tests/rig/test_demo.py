"""The demo rigs and the small good ones: complete, marked as invented, and fit to be read."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright import demo
from loomwright.errors import UnknownName
from loomwright.rig.file import load
from loomwright.rig.model import Rig

GOOD = sorted((Path(__file__).parent / "good").glob("*.toml"))
RIGS = {p.stem: load(p) for p in [*(demo.path(n) for n in demo.names()), *GOOD]}


def test_the_demo_rigs_are_there() -> None:
    assert demo.names() == ("canal_launch", "carnival_trike_as_found", "carnival_trike_planned", "harvest_buggy")
    with pytest.raises(UnknownName, match="harvest_buggy"):
        demo.path("harvest_bugy")


@pytest.mark.parametrize("rig", RIGS.values(), ids=list(RIGS))
def test_every_rig_says_that_its_data_are_invented(rig: Rig) -> None:
    assert rig.demo


@pytest.mark.parametrize("rig", RIGS.values(), ids=list(RIGS))
def test_every_rig_is_complete(rig: Rig) -> None:
    for item in rig.family("amplifier"):
        kinds = {w.kind for w in rig.wires for ref in (w.start, w.end) if ref.partition(".")[0] == item.id}
        assert {"power", "ground", "remote", "line", "speaker"} <= kinds, item.id
    assert rig.family("battery")
    assert rig.family("charger")
    assert any(p.spec.draw_w >= 50 for p in (i.part for i in rig.family("accessory")))  # type: ignore[union-attr]
    assert bool(rig.family("frame")) == (rig.vehicle.kind != "boat")


def test_the_buggy_has_four_amplifiers_and_two_unlike_batteries() -> None:
    rig = RIGS["harvest_buggy"]
    assert len(rig.family("amplifier")) == 4
    sizes = {i.part.spec.capacity_ah for i in rig.family("battery")}  # type: ignore[union-attr]
    assert len(sizes) == 2


def test_the_launch_is_a_petrol_inboard_and_tinned() -> None:
    rig = RIGS["canal_launch"]
    assert rig.vehicle.drive == "petrol inboard"
    assert {w.metal for w in rig.wires if w.size is None or w.size.system != "bolted"} == {"tinned copper"}


def test_the_two_trikes_are_one_vehicle() -> None:
    found, planned = RIGS["carnival_trike_as_found"], RIGS["carnival_trike_planned"]
    assert found.places.keys() == planned.places.keys()
    assert (found.vehicle.kind, found.vehicle.crank_a) == (planned.vehicle.kind, planned.vehicle.crank_a)
    assert (found.stage, planned.stage) == ("as found", "planned")


def test_the_planned_trike_keeps_the_plain_rules() -> None:
    rig = RIGS["carnival_trike_planned"]
    assert rig.wire("P1").size is not None
    assert rig.wire("P1").size.system == "bolted"  # type: ignore[union-attr]
    grounds = {rig.wire(w).start.partition(".")[0] for w in ("R3", "R5", "R7", "R9", "R10")}
    assert grounds == {"gnd"}
    for place in ("left_case", "right_case", "top_case"):
        for w in rig.wires:
            ends = [rig.item_of(ref) for ref in (w.start, w.end)]
            if (ends[0].place == place) != (ends[1].place == place):
                assert any(e.part.family == "connector" for e in ends), w.id
    for feed, back in (("P2", "R2"), ("P3", "R3"), ("P4", "R4"), ("P7", "R7"), ("V2", "V3"), ("C2", "C3")):
        a, b = rig.wire(feed).size, rig.wire(back).size
        assert a is not None
        assert b is not None
        assert b.area_mm2 >= a.area_mm2


def test_the_planted_faults_are_listed_in_the_file() -> None:
    listed = [line for line in demo.text("carnival_trike_as_found").splitlines() if line[:4].strip("# ").isdigit()]
    assert len(listed) >= 10
