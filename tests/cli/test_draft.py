"""The draft at the command line: a rig file that the other commands take, JSON, and what cannot be had."""

from __future__ import annotations

from pathlib import Path

from loomwright.demo import list_path
from tests.conftest import Run

LIST = list_path("carnival_trike")


def test_a_drafted_rig_is_an_ordinary_rig(loomwright: Run, tmp_path: Path) -> None:
    out = tmp_path / "rig.toml"
    said = loomwright("draft", LIST, "--out", out, "--alternatives", "1")
    assert said.code == 0
    assert "Proven cheapest" in said.out
    checked = loomwright("check", out, "--json")
    assert checked.code == 0
    counts = checked.document["data"]["counts"]
    assert (counts["Stop"], counts["Fix"]) == (0, 0)


def test_json_holds_rigs_choices_and_proof(loomwright: Run) -> None:
    said = loomwright("draft", LIST, "--alternatives", "2", "--json")
    document = said.document["data"]
    assert said.code == 0
    assert document["proof"]["proven"] is True
    assert document["conflict"] is None
    first = document["alternatives"][0]
    assert first["text"].startswith("# The carnival trike")
    assert all(c["why"] for c in first["choices"])


def test_wishes_that_cannot_be_met_are_told_and_leave_with_1(loomwright: Run, tmp_path: Path) -> None:
    file = tmp_path / "list.toml"
    file.write_text(LIST.read_text(encoding="utf-8").replace("min_amp_v = 12.0", "min_amp_v = 13.5"), encoding="utf-8")
    said = loomwright("draft", file)
    assert said.code == 1
    assert "13.5 V at every amplifier" in said.out
    assert "13.50 V" in " ".join(said.out.split())


def test_a_slip_in_the_list_leaves_with_2(loomwright: Run, tmp_path: Path) -> None:
    file = tmp_path / "list.toml"
    file.write_text(LIST.read_text(encoding="utf-8").replace("min_amp_v", "min_amps_v"), encoding="utf-8")
    said = loomwright("draft", file)
    assert said.code == 2
    assert "min_amp_v" in said.err
