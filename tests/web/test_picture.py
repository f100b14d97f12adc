"""Ids may hold an @, which also stands between a wire and the terminal of its joint."""

from __future__ import annotations

import pytest

from loomwright.cli import samples
from loomwright.rig.file import parse
from loomwright.study import Study
from loomwright.web import picture
from loomwright.web.pages.faults import place_of


@pytest.fixture(scope="module")
def study() -> Study:
    """The blank rig, an @ in the id of every wire."""
    text = samples.text(samples.BLANK)
    return Study(parse("\n".join(
        line.replace('id = "', 'id = "w@') if line.startswith("id = ") else line for line in text.splitlines()
    ), "rig.toml"))  # fmt: skip


def test_a_wire_and_its_joints_are_found_whole(study: Study) -> None:
    wires = [w for w in study.rig.wires if w.id.startswith("w@")]
    assert wires
    for w in wires:
        for ref in (w.id, f"{w.id}@{w.start}", f"{w.id}@{w.end}"):
            assert picture.wire_at(study.rig, ref) is w
            assert picture.view_for(study.rig, ref) == picture.view_for(study.rig, w.id)
    assert picture.wire_at(study.rig, "w") is None


def test_a_fault_at_a_joint_belongs_to_its_wire(study: Study) -> None:
    joints = {f"{w.id}@{ref}": w.id for w in study.rig.wires for ref in (w.start, w.end)}
    loose = [f for f in study.protection.drill if f.where in joints]
    assert loose
    assert all(place_of(study.rig, f) == joints[f.where] for f in loose)
    chafed = [f for f in study.protection.drill if f.kind == "chafe"]
    assert all(place_of(study.rig, f) == f.where for f in chafed)
