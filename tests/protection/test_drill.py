"""The fault drill: what a fault in the smallest amplifier does under its own fuse, and under one device shared by
all."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loomwright import demo
from loomwright.power.balance import solved
from loomwright.power.drive import drive
from loomwright.power.network import build
from loomwright.protection.faults import Fault, Tap
from loomwright.protection.results import FaultResult
from loomwright.protection.states import prepare, solve_states
from loomwright.rig.file import load, parse
from loomwright.study import Study

HEAD = """
format = 1
title = "Two amplifiers, one large and one small"
ambient_c = 30
[vehicle]
kind = "other"
[place.board]
[item.battery]
part = "agm_60ah"
place = "board"
charge_pct = 95
[item.bus]
part = "bus_ground_10"
place = "board"
[item.large]
part = "amp_1x500_class_d"
place = "board"
[item.small]
part = "amp_2x50_class_ab"
place = "board"
"""

OWN_FUSES = """
[item.main]
part = "holder_sf51"
place = "board"
fuses_a = [100]
[item.block]
part = "fused_block_4way_c"
place = "board"
fuses_a = [40, 15, 0, 0]
"""
ONE_DEVICE = """
[item.main]
part = "holder_sf51"
place = "board"
fuses_a = [100]
[item.block]
part = "plain_block_4"
place = "board"
"""


def wires(sizes: dict[str, str]) -> str:
    ends = {
        "P1": ("battery.plus", "main.in", 100, "bolted"),
        "P2": ("main.out", "block.in", 2500, "4 AWG"),
        "PL": ("block.out1", "large.supply+", 600, "10 AWG"),
        "PS": ("block.out2", "small.supply+", 800, "14 AWG"),
        "R2": ("bus.stud1", "battery.minus", 2500, "4 AWG"),
        "RL": ("large.supply-", "bus.stud2", 600, "10 AWG"),
        "RS": ("small.supply-", "bus.stud3", 800, "14 AWG"),
    }
    text = ""
    for name, (start, end, length, size) in ends.items():
        chosen = sizes.get(name, size)
        line = "" if chosen == "bolted" else f"length_mm = {length}\n"
        text += f'[[wire]]\nid = "{name}"\nfrom = "{start}"\nto = "{end}"\nsize = "{chosen}"\n{line}'
    return text


def study(devices: str, **sizes: str) -> Study:
    return Study(parse(HEAD + devices + wires(sizes), "two.toml"))


def of(found: Study, fault: str) -> FaultResult:
    return next(f for f in found.protection.drill if f.id == fault)


def test_with_its_own_fuse_only_the_small_amplifier_goes_dark() -> None:
    found = study(OWN_FUSES)
    for level in ("amplifier:small:3", "amplifier:small:5", "amplifier:small:short"):
        result = of(found, level)
        assert result.verdict == "cleared", result
        assert result.dark == ("small",)
        assert result.openings[0].device in ("block.2", "small.own")
        assert result.openings[0].fastest_s <= result.openings[0].typical_s <= result.openings[0].slowest_s


def test_one_device_for_all_does_not_see_the_small_wire_burn() -> None:
    """The case that matters: a poor contact on the thin wire that draws less than the shared device's rating."""
    shared = study(ONE_DEVICE)
    result = of(shared, "chafe:PS:middle:resistive")
    assert result.verdict == "not cleared"
    assert not result.openings
    assert result.hottest_wire == "PS"
    assert result.hottest_c > result.limit_c
    assert "main.1" in result.reason
    assert of(study(OWN_FUSES), "chafe:PS:middle:resistive").verdict in ("cleared", "no harm")


def test_one_device_for_all_takes_everything_down_or_lets_the_wire_burn() -> None:
    result = of(study(ONE_DEVICE), "chafe:PS:end:bolted")
    assert result.verdict in ("spread", "burned")
    assert {"large", "small"} <= set(result.dark)


def test_a_hard_fault_on_a_branch_dips_the_others_and_says_how_far() -> None:
    result = of(study(OWN_FUSES), "chafe:PS:start:bolted")
    assert result.verdict == "cleared"
    assert result.openings[0].beyond_data
    assert set(result.dips_v) == {"large"}
    assert result.dips_v["large"] < 12.0


def test_a_heavier_wire_is_never_hotter() -> None:
    """Property: the same fault, one size after another."""
    last = None
    for size in ("16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG"):
        result = of(study(ONE_DEVICE, PS=size, RS=size), "chafe:PS:end:resistive")
        if last is not None:
            assert result.hottest_c <= last + 1.0
        last = result.hottest_c


def test_a_wrong_fuse_is_judged_at_the_rating_it_holds() -> None:
    found = study(OWN_FUSES)
    results = [f for f in found.protection.drill if f.kind == "wrong fuse" and f.where == "block.2"]
    assert [f.fault_a for f in results] == [20.0, 25.0]
    for f in results:
        stands = min(found.protection.guards[w].ampacity_a for w in ("PS",))
        assert (f.verdict == "no harm") == (f.fault_a <= stands + 0.2)


@pytest.fixture(scope="module")
def planned() -> Study:
    return Study(load(demo.path("carnival_trike_planned")))


def test_the_drill_of_the_planned_trike(planned: Study) -> None:
    """Every fault of every kind, each told once; nothing burns, nothing spreads."""
    drill = planned.protection.drill
    assert len(drill) >= 200
    assert len({f.id for f in drill}) == len(drill)
    assert {f.kind for f in drill} == {
        "chafe",
        "amplifier",
        "lost return",
        "loose joint",
        "wrong fuse",
        "remote left on",
    }
    told = [f for f in drill if f.kind in ("chafe", "amplifier", "lost return")]
    assert {f.verdict for f in told} <= {"cleared", "no harm"}, [
        f for f in told if f.verdict not in ("cleared", "no harm")
    ]


def test_what_the_verdicts_promise(planned: Study) -> None:
    for name in demo.names():
        for f in Study(load(demo.path(name))).protection.drill:
            assert f.reason.endswith(".")
            if f.verdict == "cleared":
                assert f.openings
                assert set(f.dark) <= set(f.own_branch)
            if f.verdict == "burned":
                assert f.openings
                assert f.hottest_c > f.limit_c
            if f.verdict == "spread":
                assert set(f.dark) - set(f.own_branch)
            times = [o.typical_s for o in f.openings]
            assert times == sorted(times)
            for o in f.openings:
                assert (
                    o.provisional is planned.protection.devices.get(o.device, o).provisional
                    or name != "carnival_trike_planned"
                )


def test_a_tapped_wire_is_the_same_circuit_as_one_with_a_node_in_it(planned: Study) -> None:
    """The triangle that stands for a touch in mid-wire gives the volts of the star it came from."""
    network = build(planned.rig, settled=False)
    one = drive(network, (("idle", "music"),), brown_out=True)
    at = next(k for k, b in enumerate(network.branches) if b.id == "wire:P2")
    branch = network.branches[at]
    for fraction, ohm in ((0.0, 0.002), (0.3, 0.05), (0.5, 0.002), (1.0, 0.4)):
        fault = Fault("t", "chafe", "P2", "", tap=Tap(at, fraction, "frame.middle", ohm))
        now = solve_states(prepare(network, one, (fault,)))
        c = network.circuit
        ends, copper = branch.fixed_mohm / 2000.0, branch.copper_mohm / 1000.0
        touch = len(c.nodes)
        explicit = replace(
            c,
            nodes=(*c.nodes, "touch"),
            branch_a=np.append(c.branch_a, [touch, touch]),
            branch_b=np.append(
                np.where(np.arange(len(c.branch_b)) == at, touch, c.branch_b),
                [c.branch_b[at], network.index["frame.middle"]],
            ),
            branch_ohm=np.append(
                np.where(np.arange(len(c.branch_ohm)) == at, ends + fraction * copper, c.branch_ohm),
                [ends + (1 - fraction) * copper, ohm],
            ),
        )
        want = solved(explicit, one)
        assert np.allclose(now.solution.node_v[0], want.node_v[0, :-1], atol=1e-7)
        through = (want.node_v[0, touch] - want.node_v[0, network.index["frame.middle"]]) / ohm
        assert now.fault_a[0] == pytest.approx(through, rel=1e-6)


def test_a_lost_return_comes_back_through_unbalanced_screens() -> None:
    """The as-found trike has unbalanced leads: the drill says which screen carries what, and that nothing opens."""
    drill = Study(load(demo.path("carnival_trike_as_found"))).protection.drill
    lost = [f for f in drill if f.kind == "lost return" and f.verdict == "not cleared"]
    assert lost
    for f in lost:
        assert f.detour_a
        assert not f.openings
        assert "screen" in f.reason


def test_the_same_rig_gives_the_same_drill(planned: Study) -> None:
    again = Study(replace(planned.given))
    assert again.protection.drill == planned.protection.drill
