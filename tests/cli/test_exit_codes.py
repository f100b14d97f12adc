"""Exit codes: 0 clear, 1 a Stop finding, 2 the input cannot be used, 70 a fault in the program."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.cli import service
from tests.conftest import Run


def test_a_good_rig_leaves_with_0(loomwright: Run, rigs: dict[str, Path]) -> None:
    assert loomwright("check", rigs["trike"]).code == 0


def test_a_rig_with_a_stop_leaves_with_1(loomwright: Run, rigs: dict[str, Path]) -> None:
    assert loomwright("check", rigs["trike as found"]).code == 1


def test_compare_answers_for_the_second_rig(loomwright: Run, rigs: dict[str, Path]) -> None:
    found, planned = rigs["trike as found"], rigs["trike"]
    assert loomwright("compare", found, planned).code == 0
    assert loomwright("compare", planned, found).code == 1


@pytest.mark.parametrize(
    "args",
    [
        ["chekc", "x.toml"],
        ["check"],
        ["check", "--jsn", "x.toml"],
        ["check", "no_such_file.toml"],
        ["check", "."],
        ["power", "x.toml", "--engine", "fast"],
        ["explain", "E9999"],
        ["explain", "conductor.awg.8.area_mm3"],
        ["explain", "nonsense"],
    ],
)
@pytest.mark.parametrize("as_json", [False, True])
def test_what_cannot_be_used_leaves_with_2_and_says_so_once(args: list[str], as_json: bool, loomwright: Run) -> None:
    ran = loomwright(*args, *(["--json"] if as_json else []))
    assert ran.code == 2
    assert "Traceback" not in ran.out + ran.err
    if as_json:
        assert ran.err == ""
        assert ran.document["ok"] is False
    else:
        assert ran.out == ""
        assert ran.err.startswith("This cannot be used")


@pytest.mark.parametrize("content", [b"title = ", b"\xff\xfe\x00", b"", b"format = 99\n"])
def test_an_unreadable_file_names_itself(content: bytes, loomwright: Run, tmp_path: Path) -> None:
    rig = tmp_path / "broken.toml"
    rig.write_bytes(content)
    ran = loomwright("check", rig, "--json")
    assert ran.code == 2
    problems = ran.document["error"]["problems"]
    assert problems
    assert all(p["file"].endswith("broken.toml") and p["remedy"] for p in problems)


def test_every_problem_is_reported_not_only_the_first(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    text = rigs["trike"].read_text("utf-8")
    rig = tmp_path / "two.toml"
    rig.write_text(text.replace("ambient_c", "ambeint_c", 1).replace("length_mm", "lenght_mm", 1), "utf-8")
    ran = loomwright("check", rig)
    assert ran.code == 2
    assert "ambeint_c" in ran.err
    assert "lenght_mm" in ran.err


def test_a_fault_in_the_program_is_not_taken_for_a_finding(
    loomwright: Run, rigs: dict[str, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(path: Path) -> None:
        raise ZeroDivisionError("boom")

    monkeypatch.setattr(service, "open_study", fail)
    ran = loomwright("check", rigs["trike"], "--json")
    assert ran.code == 70
    assert ran.document["error"]["kind"] == "fault"


def test_an_unknown_command_names_the_nearest(loomwright: Run) -> None:
    assert "loomwright faults" in loomwright("fautls").err


def test_an_unknown_finding_or_figure_names_the_nearest(loomwright: Run) -> None:
    assert "conductor.awg.8.area_mm2" in loomwright("explain", "conductor.awg.8.area_mm3").err


def test_an_unknown_wire_or_kind_names_the_nearest(loomwright: Run, rigs: dict[str, Path]) -> None:
    ran = loomwright("faults", rigs["trike"], "--only", "lost-returns")
    assert (ran.code, "lost return" in ran.err) == (2, True)
    assert loomwright("faults", rigs["trike"], "--wire", "no such wire").code == 2
