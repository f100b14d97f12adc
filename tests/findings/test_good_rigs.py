"""A false alarm costs as much as a miss: good rigs get no Stop and no Fix, and only a few Know lines."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from loomwright.findings.run import check
from loomwright.rig.file import load
from loomwright.study import Study
from tests.findings.bases import BUGGY, LAUNCH, TRIKE, findings

DEMO = Path(str(resources.files("loomwright") / "demo"))
GOOD = sorted((Path(__file__).parent.parent / "rig" / "good").glob("*.toml"))
FILES = [DEMO / f"{n}.toml" for n in ("carnival_trike_planned", "harvest_buggy", "canal_launch")] + GOOD
FEW = 8


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_good_file_is_left_alone(path: Path) -> None:
    found = check(Study(load(path)))
    assert [(f.severity, f.code, f.evidence) for f in found if f.severity != "Know"] == []
    assert len(found) <= FEW


@pytest.mark.parametrize("name", ["carnival_trike_planned", "harvest_buggy", "canal_launch"])
def test_no_planned_vehicle_of_the_demo_burns_a_wire_where_a_larger_fuse_is_put_in(name: str) -> None:
    study = Study(load(DEMO / f"{name}.toml"))
    swapped = [f for f in study.protection.drill if f.kind == "wrong fuse"]
    assert swapped
    assert [(f.where, f.detail) for f in swapped if f.verdict in ("burned", "not cleared")] == []


@pytest.mark.parametrize("text", [TRIKE, BUGGY, LAUNCH], ids=["trike", "buggy", "launch"])
def test_good_base_is_left_alone(text: str) -> None:
    found = findings(text)
    assert [(f.severity, f.code, f.evidence) for f in found if f.severity != "Know"] == []
    assert len(found) <= FEW


def test_there_are_five_that_differ() -> None:
    assert len(FILES) >= 5
