"""The demo lists end to end: an ordinary rig file that passes every check, with its choices."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest

from loomwright.demo import list_names, list_path, text
from loomwright.draft import engine, equipment
from loomwright.draft.results import DraftResult
from loomwright.rig import edit
from loomwright.rig.file import parse
from loomwright.rig.model import LoadSpec
from loomwright.study import Study


@cache
def drafted(name: str) -> DraftResult:
    return engine.draft(equipment.load(list_path(name)), 3)


@pytest.mark.parametrize("name", list_names())
def test_no_stop_and_no_fix_and_it_is_proven(name: str) -> None:
    result = drafted(name)
    assert result.conflict is None
    assert result.proof is not None
    assert result.proof.proven
    for found in result.alternatives:
        assert {f.severity for f in found.findings} <= {"Know"}


@pytest.mark.parametrize("name", list_names())
def test_every_single_fault_is_cleared_and_takes_out_its_own_branch_only(name: str) -> None:
    for found in drafted(name).alternatives:
        drill = Study(parse(found.text, "drafted.toml")).protection.drill
        assert {f.kind for f in drill} >= {"chafe", "amplifier", "wrong fuse", "loose joint", "lost return"}
        assert {f.verdict for f in drill} <= {"cleared", "no harm"}


def wished(name: str, **wishes: object) -> DraftResult:
    given = equipment.load(list_path(name))
    return engine.draft(replace(given, wishes=replace(given.wishes, **wishes)), 1)  # type: ignore[arg-type]


def test_wires_that_need_not_stand_a_fuse_put_in_wrong_take_less_copper() -> None:
    thin, safe = wished("carnival_trike", wrong_fuse_sizes=0).best, drafted("carnival_trike").best
    assert thin is not None
    assert safe is not None
    assert thin.copper_g < safe.copper_g
    drill = Study(thin.rig).protection.drill
    assert {f.verdict for f in drill if f.kind != "wrong fuse"} <= {"cleared", "no harm"}
    assert any(f.verdict == "not cleared" for f in drill)


def test_small_loads_of_the_vehicle_have_small_fuses_of_their_own() -> None:
    best = drafted("canal_launch").best
    assert best is not None
    rig = best.rig
    for name in ("bilge_pump", "blower", "lights"):
        (feed,) = (w for w in rig.wires if f"{name}.supply+" in (w.start, w.end))
        (head,) = (ref for ref in (feed.start, feed.end) if not ref.startswith(name))
        block, _, way = head.partition(".out")
        assert rig.items[block].part.family == "fused_block"
        rating = rig.items[block].fuses_a[int(way) - 1]
        spec = rig.items[name].part.spec
        assert isinstance(spec, LoadSpec)
        assert 1.25 * spec.draw_w / 14.4 <= float(rating) <= 10.0


@pytest.mark.parametrize("name", list_names())
def test_alternatives_gain_volts_for_copper(name: str) -> None:
    found = drafted(name).alternatives
    assert len(found) > 1
    for thin, thick in pairwise(found):
        assert thin.copper_g < thick.copper_g
        assert thin.lowest_v < thick.lowest_v


@pytest.mark.parametrize("name", list_names())
def test_same_list_same_bytes(name: str) -> None:
    again = engine.draft(equipment.load(list_path(name)), 1).best
    first = drafted(name).best
    assert again is not None
    assert first is not None
    assert again.text == first.text


@pytest.mark.parametrize("name", list_names())
def test_each_amplifier_has_a_fuse_of_its_own_and_each_choice_a_reason(name: str) -> None:
    best = drafted(name).best
    assert best is not None
    study = Study(best.rig)
    own = [c[-2] for c in study.protection.chains if c[-1].endswith(".own")]
    assert len(own) == len(set(own)) == len(best.rig.family("amplifier"))
    assert all(c.why for c in best.choices)


def test_wires_of_the_list_stay_as_they_are() -> None:
    whole = text("carnival_trike_planned")
    for wire in ("P7", "P8", "R7", "R8", "S25", "S26"):
        whole = edit.remove_wire(whole, wire)
    whole = edit.remove_item(whole, "top_plug")
    result = engine.draft(equipment.parse(whole, "half.toml"), 1)
    assert result.best is not None
    before = {w["id"]: w for w in tomllib.loads(whole)["wire"]}
    after = {w["id"]: w for w in tomllib.loads(result.best.text)["wire"]}
    for name, wire in before.items():
        if wire["size"] == "auto":
            wire = {**wire, "size": after[name]["size"]}
        assert after[name] == wire
    assert any("bass_amp.supply+" in w.values() for name, w in after.items() if name not in before)
