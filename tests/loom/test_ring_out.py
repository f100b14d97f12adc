"""The ring-out: complete, with the right resistance, in the order that finds a fault soonest."""

from __future__ import annotations

import itertools
import random

import pytest

from loomwright.facts import joints
from loomwright.loom.nets import harness_nets, shown
from loomwright.loom.results import Polarity
from loomwright.study import Study
from tests.findings.bases import BUGGY, LAUNCH, TRIKE, spoiled, study
from tests.findings.edits import item, wire, without

BASES = pytest.mark.parametrize("text", [TRIKE, BUGGY, LAUNCH], ids=["trike", "buggy", "launch"])


@BASES
def test_every_wire_is_rung_out(text: str) -> None:
    made = study(text)
    rung = {w for j in made.loom.ring_out.joined for w in j.wires}
    assert rung == {w.id for w in made.loom.wires}


@BASES
def test_every_pair_of_nets_is_kept_apart_once(text: str) -> None:
    sheet = study(text).loom.ring_out
    nets = harness_nets(study(text).rig)
    points = {shown(n[0]) for n in nets}
    assert {frozenset((p.a, p.b)) for p in sheet.apart} == {frozenset(p) for p in itertools.combinations(points, 2)}
    assert len(sheet.apart) == len(points) * (len(points) - 1) // 2
    # One net against all the rest, for all but one net, shows every short.
    assert len(sheet.one_against_rest) == len(points) - 1
    assert set(sheet.one_against_rest) < points


@BASES
def test_the_order_is_by_suspicion_over_time(text: str) -> None:
    sheet = study(text).loom.ring_out
    for rows in (sheet.joined, sheet.apart):
        assert [r.order for r in rows] == list(range(1, len(rows) + 1))
        weights = [r.suspicion for r in rows]
        assert weights == sorted(weights, reverse=True)


def test_that_order_finds_a_fault_soonest() -> None:
    """Against every order of six tests: weight over time, falling, has the least expected time to the fault."""
    rng = random.Random(7)
    for _ in range(10):
        tests = [(rng.uniform(0.1, 3.0), rng.uniform(5.0, 30.0)) for _ in range(6)]

        def expected(order: tuple[tuple[float, float], ...]) -> float:
            clock = total = 0.0
            for weight, seconds in order:
                clock += seconds
                total += weight * clock
            return total

        ours = tuple(sorted(tests, key=lambda t: -t[0] / t[1]))
        assert expected(ours) == pytest.approx(min(map(expected, itertools.permutations(tests))))


def test_a_feed_through_a_plug_by_hand() -> None:
    """P4, plug, P5: 200 and 600 mm of 10 AWG (3.277 mOhm/m solid at 20 C, x 1.02 stranded), four ends, one contact."""
    made = study(TRIKE)
    row = next(j for j in made.loom.ring_out.joined if j.wires == ("P4", "P5"))
    copper = 3.277 * 1.02 * 0.8
    ends = sum(joints.joint(n).mohm for n in ("ring lug", "sealed contact", "sealed contact", "screw clamp"))
    assert {row.a, row.b} == {"P4 at block.out2", "P5 at case_amp.supply+"}
    assert row.expected_mohm == pytest.approx(copper + ends + 0.4, rel=2e-3)
    assert row.most_mohm > row.expected_mohm


def test_two_wires_on_one_stud_are_two_nets_on_the_bench() -> None:
    nets = harness_nets(study(TRIKE).rig)
    assert sum(any(p[0] == "battery.plus" for p in n) for n in nets) == 2  # C1 and V1; P1 is bolted


def polarity(text: str, driver: str) -> Polarity:
    return next(p for p in study(text).loom.ring_out.polarity if p.driver == driver)


def test_polarity_right_and_reversed() -> None:
    assert polarity(TRIKE, "front_left").right is True
    assert polarity(TRIKE, "front_left").channel == "front_amp.ch1"
    turned = spoiled(TRIKE, wire(TRIKE, "S1", "ch1+", "ch1-"), wire(TRIKE, "S2", "ch1-", "ch1+"))
    assert polarity(turned, "front_left").right is False
    assert polarity(turned, "front_left").plus_on == "front_amp.ch1-"


def test_polarity_of_drivers_in_series() -> None:
    series = spoiled(
        TRIKE, *without(TRIKE, "S3", "S4"),
        wire(TRIKE, "S2", '"front_amp.ch1-", to = "front_left.-"', '"front_left.-", to = "front_right.+"'),
        ("run = [", "run = ["),
        ('[item.front_left]\n', '[item.extra]\npart = "driver_6_5in"\nplace = "bars"\n[item.front_left]\n'),
        wire(TRIKE, "S5", '{ id = "S5"', '{ id = "S11", from = "front_right.-", to = "extra.-", size = "16 AWG" },\n'
             '  { id = "S12", from = "extra.+", to = "front_amp.ch1-", size = "16 AWG" },\n  { id = "S5"'),
    )  # fmt: skip
    assert [polarity(series, d).right for d in ("front_left", "front_right", "extra")] == [True, True, False]


def test_a_bridged_pair_is_right_on_plus_and_minus_of_two_channels() -> None:
    bridged = spoiled(
        TRIKE, *without(TRIKE, "S3", "S4"), ('[item.front_right]\npart = "driver_6_5in"\nplace = "bars"\n', ""),
        wire(TRIKE, "S2", '"front_amp.ch1-"', '"front_amp.ch2-"'),
        ("[item.front_amp]\n", "[item.front_amp]\nbridged = [[1, 2]]\n"),
    )  # fmt: skip
    assert polarity(bridged, "front_left").right is True


def test_a_driver_that_nothing_drives() -> None:
    lonely = spoiled(TRIKE, item("spare", "driver_6_5in", "bars"))
    found = next(p for p in Study(study(lonely).given).loom.ring_out.polarity if p.driver == "spare")
    assert (found.channel, found.right) == (None, None)


def test_names_that_read_like_ours_are_names() -> None:
    text = TRIKE.replace("front_amp", "P3 at amp, screen").replace('id = "P3"', 'id = "at"')
    text = text.replace("[item.P3 at amp, screen]", '[item."P3 at amp, screen"]')
    sheet = study(text).loom.ring_out
    assert len(sheet.joined) == len(study(TRIKE).loom.ring_out.joined)
    assert "at at P3 at amp, screen.supply+" in {p for j in sheet.joined for p in (j.a, j.b)}
