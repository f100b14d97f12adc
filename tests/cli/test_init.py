"""``init``: writes a rig that can be used as it stands, and never writes over a file."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import Run


@pytest.mark.parametrize("sample", ["trike", "buggy", "launch", "blank"])
def test_a_new_rig_checks_clear_as_it_stands(sample: str, loomwright: Run, tmp_path: Path) -> None:
    ran = loomwright("init", tmp_path / "new", "--from", sample)
    assert ran.code == 0
    rig = tmp_path / "new" / "rig.toml"
    assert str(rig.name) in ran.out
    counts = loomwright("check", rig, "--json").document["data"]["counts"]
    assert (counts["Stop"], counts["Fix"]) == (0, 0)


def test_the_blank_rig_explains_itself(loomwright: Run, tmp_path: Path) -> None:
    loomwright("init", tmp_path)
    lines = (tmp_path / "rig.toml").read_text("utf-8").splitlines()
    assert sum("#" in line for line in lines) >= 15


def test_init_never_writes_over_a_file(loomwright: Run, tmp_path: Path) -> None:
    (tmp_path / "rig.toml").write_text("mine", "utf-8")
    ran = loomwright("init", tmp_path)
    assert ran.code == 2
    assert "already there" in ran.err
    assert (tmp_path / "rig.toml").read_text("utf-8") == "mine"


@pytest.mark.parametrize("name", ["../out", "/etc/rig", "a/b", "", "..", "con\x00", "\x1b[2J"])
def test_a_name_cannot_lead_out_of_the_folder(name: str, loomwright: Run, tmp_path: Path) -> None:
    ran = loomwright("init", tmp_path / "inside", "--name", name)
    assert ran.code == 2
    assert list(tmp_path.rglob("*.toml")) == []


def test_a_folder_that_is_a_file_is_said_plainly(loomwright: Run, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    ran = loomwright("init", tmp_path / "file")
    assert (ran.code, "Traceback" in ran.err) == (2, False)
