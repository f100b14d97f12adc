"""The build steps: what must hold for every rig, and what a few rigs must show."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest
from hypothesis import given, settings

from loomwright import demo
from loomwright.protection.graph import graph_of, is_bolted
from loomwright.rig.file import parse
from loomwright.rig.shape import shape_of
from loomwright.steps.order import in_order
from loomwright.steps.plan import build_steps
from loomwright.steps.results import PHASES, After, BuildPlan, Step
from loomwright.study import Study
from tests.findings.bases import BUGGY, LAUNCH, TRIKE, spoiled
from tests.findings.own_parts import catalogue
from tests.steps.rigs import rigs

NAMES = ("trike", "buggy", "launch", *demo.names())


@cache
def study(name: str) -> Study:
    texts = {"trike": TRIKE, "buggy": BUGGY, "launch": LAUNCH}
    return Study(parse(texts[name], "t.toml", catalogue()) if name in texts else parse(demo.text(name), f"{name}.toml"))


@cache
def plan(name: str) -> BuildPlan:
    return build_steps(study(name))


def holds(made: Study, steps: BuildPlan) -> None:
    """Everything that is true of the steps of any rig."""
    at = {s.id: s.number for s in steps.steps}
    assert [s.number for s in steps.steps] == list(range(1, len(steps.steps) + 1))
    assert len(at) == len(steps.steps)
    # every dependency is kept, so no step waits for itself by way of others
    assert all(at[a.step] < s.number and a.why for s in steps.steps for a in s.after)
    # the battery first, and everything waits for the proof that nothing is live
    batteries = [i.id for i in made.rig.family("battery")]
    first = made.rig.vehicle.start_battery or batteries[0]
    assert steps.steps[0].id == f"isolate:{first}"
    waiting = {"isolate:dead"}
    for s in steps.steps:
        if {a.step for a in s.after} & waiting:
            waiting.add(s.id)
    assert {s.id for s in steps.steps if s.phase != "isolate"} <= waiting
    # nothing is live before all protection is in place and signed
    live = [s for s in steps.steps if s.energises]
    safe = [s for s in steps.steps if s.phase in ("isolate", "panel", "make", "ring out", "fit", "protect")]
    assert max(s.number for s in safe) < min(s.number for s in live)
    assert steps.step("sign:before power").gate
    # each wire is made once and laid once
    wires = Counter(w.id for w in made.rig.wires if not is_bolted(w))
    assert Counter(w for s in steps.steps for w in s.makes) == wires
    assert Counter(w for s in steps.steps for w in s.routes) == wires
    laid = {w: s.number for s in steps.steps for w in s.routes}
    assert all(s.number < laid[w] for s in steps.steps for w in s.makes)
    # each end is joined once, those at a battery after the signature
    ends = Counter(f"{w.id}@{r}" for w in made.rig.wires if not is_bolted(w) for r in (w.start, w.end))
    joined = Counter(j for s in steps.steps for j in s.joints)
    assert {j: joined[j] for j in ends} == ends
    live_ends = {j for s in live for j in s.joints}
    assert {j for j in ends if j.partition("@")[2].partition(".")[0] in batteries} <= live_ends
    # each fuse and each breaker is put in once
    devices = {d.id for d in made.protection.devices.values() if d.way > 0}
    filled = [s.id.partition(":")[2] for s in steps.steps if s.id.startswith(("full:", "power:"))]
    put = Counter(d for names in filled for d in names.split("+"))
    assert all(put[d] == 1 for d in devices)
    assert all(s.time.least_min <= s.time.most_min for s in steps.steps)
    assert all(m.low is None or m.expected is None or m.low <= m.expected for s in steps.steps for m in s.measures)
    assert all(m.high is None or m.expected is None or m.expected <= m.high for s in steps.steps for m in s.measures)
    ids = [m.id for s in steps.steps for m in s.measures]
    assert len(set(ids)) == len(ids)


@pytest.mark.parametrize("name", NAMES)
def test_what_holds_for_every_rig(name: str) -> None:
    holds(study(name), plan(name))


@given(rigs())
@settings(max_examples=12, deadline=None)
def test_what_holds_for_made_up_rigs(text: str) -> None:
    made = Study(parse(text, "t.toml"))
    steps = build_steps(made)
    holds(made, steps)
    assert build_steps(made) == steps


@pytest.mark.parametrize("name", NAMES)
def test_a_load_is_measured_in_the_step_that_feeds_it(name: str) -> None:
    made, steps = study(name), plan(name)
    graph = graph_of(shape_of(made.rig))
    shut = {d for d in made.protection.devices if not d.endswith(".own")}
    for s in steps.steps:
        if s.phase != "power up":
            continue
        if s.id.startswith(("small:", "power:")):
            shut.discard(s.id.partition(":")[2])
        live = graph.live_zones(shut)
        for m in s.measures:
            name = m.id.partition(":")[2]
            if name in graph.loads:
                assert graph.zone_of[graph.supply_node(name)] in live


def test_an_edit_elsewhere_leaves_the_ids_as_they_are() -> None:
    longer = spoiled(TRIKE, ('id = "S8"', 'id = "S9"'), ("length_mm = 900", "length_mm = 950"))
    other = build_steps(Study(parse(longer, "t.toml", catalogue())))
    assert {s.id for s in other.steps} == {s.id for s in plan("trike").steps}
    attic = '\nrun = [\n  { between = ["seat", "attic"], length_mm = 5000 },\n'
    added = spoiled(TRIKE, ("\nrun = [\n", attic), ("", "[place.attic]\n"))
    more = build_steps(Study(parse(added, "t.toml", catalogue())))
    assert {s.id for s in more.steps} >= {s.id for s in plan("trike").steps}


def test_with_the_rig_as_found_what_stays_is_kept_and_the_rest_comes_out() -> None:
    found = parse(TRIKE, "t.toml", catalogue())
    planned = spoiled(TRIKE, ('to = "front_amp.supply+", size = "10 AWG"', 'to = "front_amp.supply+", size = "8 AWG"'))
    made = Study(parse(planned, "t.toml", catalogue()))
    steps = build_steps(made, found)
    assert {w for s in steps.steps for w in s.makes} == {"P3"} == {w for s in steps.steps for w in s.routes}
    assert "P2" in steps.step("keep:wires").wires
    out = [s for s in steps.steps if s.id.startswith("take out:")]
    assert [line for s in out for line in s.text if "P3" in line] == ["Wires out: P3."]
    assert max(s.number for s in out) < min(s.number for s in steps.steps if s.makes)
    assert not [s for s in steps.steps if s.phase == "panel"]


def test_a_battery_that_comes_out_is_isolated_too() -> None:
    second = TRIKE.replace("[item.battery]", '[item.second]\npart = "agm_20ah"\nplace = "deck"\n[item.battery]', 1)
    wires = 'wire = [\n  { id = "X1", from = "second.minus", to = "gnd.stud6", size = "8 AWG" },\n'
    found = parse(second.replace("wire = [\n", wires, 1), "t.toml", catalogue())
    steps = build_steps(study("trike"), found)
    assert [s.id for s in steps.steps[:2]] == ["isolate:battery", "isolate:second"]
    assert "isolate:second" in {a.step for a in steps.step("isolate:dead").after}


def test_small_fuse_first_then_the_branches_then_the_rated_one() -> None:
    ids = [s.id for s in plan("carnival_trike_planned").steps]
    small = ids.index("small:main.1")
    full = next(k for k, i in enumerate(ids) if i.startswith("full:") and "main.1" in i)
    branches = [ids.index(f"power:block.{n}") for n in range(1, 6)]
    assert small < min(branches)
    assert max(branches) < full
    assert branches == sorted(branches)


def test_no_nut_is_turned_on_a_live_stud() -> None:
    steps = plan("carnival_trike_planned")
    (full,) = [s for s in steps.steps if s.id.startswith("full:")]  # all three in one go: the lead comes off once
    words = " ".join(full.text)
    assert words.index("minus lead off battery") < words.index(" A into ") < words.index("Minus lead on again")
    assert {"short", "acid"} <= {c.id for c in full.cautions}
    assert "insulated torque wrench" in full.tools
    for name in ("charge_fuse", "vehicle_fuse", "main"):
        rating_a = study("carnival_trike_planned").protection.devices[f"{name}.1"].rating_a
        assert f"{rating_a:g} A into {name}.1" in words
        assert f"1 x fuse {rating_a:g} A" in full.consumables
        small = steps.step(f"small:{name}.1")
        assert small.number < full.number
    assert full.time.most_min > plan("canal_launch").step("full:pump_fuse.1").time.most_min
    pump = plan("canal_launch").step("full:pump_fuse.1")  # a blade: no nut
    assert "minus lead" not in " ".join(pump.text).lower()


def test_the_small_fuse_is_never_larger_than_the_one_it_stands_for() -> None:
    for name in NAMES:
        for s in plan(name).steps:
            if s.id.startswith("small:"):
                rated = study(name).protection.devices[s.id.partition(":")[2]].rating_a
                assert all(float(c.split()[-2]) <= rated for c in s.consumables), (name, s.id, s.consumables)


def test_a_battery_switch_is_turned_on_before_anything_behind_it_is_measured() -> None:
    steps = plan("canal_launch").steps
    said = [s for s in steps if any("battery_switch on" in line for line in s.text)]
    assert [s.id for s in said] == ["small:service_fuse.1"]
    assert said[0].number < min(s.number for s in steps if s.id.startswith("power:"))


def test_polarity_is_tried_through_mated_connectors() -> None:
    assert "Mate the connectors" in " ".join(plan("carnival_trike_planned").step("polarity:drivers").text)
    assert "Mate the connectors" not in " ".join(plan("canal_launch").step("polarity:drivers").text)


def test_volts_to_expect_are_those_of_the_study_and_a_flat_battery_does_not_pass() -> None:
    made, steps = study("carnival_trike_planned"), plan("carnival_trike_planned")
    measure = steps.step("power:block.2").measures[0]
    case = made.power.case("off", "quiet")
    assert measure.expected == pytest.approx(case.items["rear_amp"].volts_v, abs=0.01)
    assert measure.verdict(12.6) == "as predicted"
    assert measure.verdict(11.4) == "too low"
    assert measure.verdict(14.4) == "too high"  # the engine runs, or the meter is on the wrong battery


def test_grommets_before_wires_and_cautions_where_they_apply() -> None:
    steps = plan("carnival_trike_planned")
    for s in steps.steps:
        if s.id.startswith("hole:"):
            assert {"drill"} <= {c.id for c in s.cautions}
            laid = [o for o in steps.steps if o.routes and set(s.runs) & set(o.runs)]
            assert all(s.id in {a.step for a in o.after} for o in laid)
    assert "petrol" in {c.id for c in plan("canal_launch").step("sign:before power").cautions}
    assert "acid" in {c.id for c in steps.steps[0].cautions}
    assert all("hearing" in {c.id for c in s.cautions} for s in steps.steps if s.phase == "set")
    lithium = spoiled(TRIKE, ('part = "agm_30ah"', 'part = "lfp_20ah"'))
    other = build_steps(Study(parse(lithium, "t.toml", catalogue())))
    assert "lithium" in {c.id for c in other.steps[0].cautions}


def test_the_sum_of_the_gates() -> None:
    gates = [s.id for s in plan("carnival_trike_planned").gates]
    assert gates == ["isolate:dead", "ring:apart", "sign:before power", "prove:finish"]


def _step(name: str, phase: str, *after: str) -> Step:
    from dataclasses import replace

    return replace(plan("trike").steps[0], id=name, phase=phase, after=tuple(After(a, "why") for a in after))  # type: ignore[arg-type]


def test_order_is_by_need_then_by_stage_then_as_written() -> None:
    steps = [_step("d", "prove"), _step("c", "make", "d"), _step("b", "make"), _step("a", "isolate")]
    assert [s.id for s in in_order(steps)] == ["a", "b", "d", "c"]
    with pytest.raises(ValueError, match="wait for each other"):
        in_order([_step("a", "make", "b"), _step("b", "make", "a")])
    with pytest.raises(ValueError, match="not there"):
        in_order([_step("a", "make", "z")])
    with pytest.raises(ValueError, match="one id"):
        in_order([_step("a", "make"), _step("a", "make")])


def test_stages_come_in_their_order_in_the_demo() -> None:
    for name in demo.names():
        order = [PHASES.index(s.phase) for s in plan(name).steps]
        assert order == sorted(order)
