"""Wrong words on the command line and in a rig: said in the reader's words, with the line of the file."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import Run


@pytest.mark.parametrize(
    ("args", "valid"),
    [(("power", "--engine", "fast"), "off, idle, cruise"), (("pack", "--paper", "a3"), "a4, letter")],
)
def test_a_wrong_choice_is_answered_with_the_right_ones(
    loomwright: Run, rigs: dict[str, Path], args: tuple[str, ...], valid: str
) -> None:
    said = loomwright(args[0], rigs["trike"], *args[1:])
    assert said.code == 2
    assert f"one of {valid}" in said.err
    for word in ("Invalid value", "Value error"):
        assert word not in said.err


def test_explain_says_what_it_takes_and_ends_its_sentences(loomwright: Run) -> None:
    said = loomwright("explain", "foo")
    assert "expected" in said.err
    assert "E101" in said.err
    assert "'foo' F" not in said.err
    assert said.err.rstrip().endswith(".")


def test_a_slip_in_a_rig_is_named_with_its_line(loomwright: Run, tmp_path: Path) -> None:
    file = tmp_path / "rig.toml"
    file.write_text('format = 1\ntitle = "x"\n# words\nambient_c = 300\n', encoding="utf-8")
    said = loomwright("check", file)
    assert "rig.toml,line4:ambient_c" in "".join(said.err.split())
