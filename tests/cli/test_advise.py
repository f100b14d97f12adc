"""``advise``: the list, a move made in the file, and what cannot be made."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.rig.file import load
from tests.conftest import Run


def test_a_move_is_made_in_the_file_and_the_file_as_it_was_is_kept(
    loomwright: Run, rigs: dict[str, Path], tmp_path: Path
) -> None:
    rig = tmp_path / "rig.toml"
    before = rigs["trike"].read_text(encoding="utf-8")
    rig.write_text(before, encoding="utf-8")
    document = loomwright("advise", rig, "--make", "1", "--json").document
    made = document["data"]["made"]
    assert made["changes"]
    assert rig.with_name("rig.toml.before").read_text(encoding="utf-8") == before
    changed = [w for w in load(rig).wires if w.size != load(rigs["trike"]).wire(w.id).size]
    assert {w.id for w in changed} == {c.partition(":")[0] for c in made["changes"]}


def test_there_is_no_such_move(loomwright: Run, rigs: dict[str, Path]) -> None:
    ran = loomwright("advise", rigs["trike"], "--make", "99")
    assert ran.code == 2
    assert "advise --make" in ran.err


@pytest.mark.parametrize("more", [(), ("--amplifiers",), ("--chances", "--draws", "500")])
def test_it_says_volts_in_words(loomwright: Run, rigs: dict[str, Path], more: tuple[str, ...]) -> None:
    ran = loomwright("advise", rigs["trike"], *more)
    assert ran.code == 0
    wanted = {(): " V at front_amp", ("--amplifiers",): "charging gives"}.get(more, "as the file says")
    assert wanted in ran.out


def test_the_advice_is_printed(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    ran = loomwright("advise", rigs["trike"], "--amplifiers", "--draws", "500", "--papers", tmp_path, "--json")
    assert ran.document["data"]["papers"] == [str(tmp_path / "advice.pdf")]
    assert (tmp_path / "advice.pdf").read_bytes().startswith(b"%PDF")


def test_compare_takes_three_rigs(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    three = (rigs["trike as found"], rigs["trike"], rigs["trike"])
    data = loomwright("compare", *three, "-o", tmp_path, "--json").document["data"]
    assert len(data["rigs"]) == 3
    for row in data["comparison"]["volts"]:
        assert row["volts_v"][1] == row["volts_v"][2]
    assert (tmp_path / "compare.pdf").read_bytes().startswith(b"%PDF")
    assert loomwright("compare", rigs["trike"]).code == 2
