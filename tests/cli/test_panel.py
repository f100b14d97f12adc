"""The command panel: what it says, the JSON behind it, what it writes."""

from __future__ import annotations

from pathlib import Path

from loomwright import demo
from tests.conftest import Run


def rig(folder: Path, *edits: tuple[str, str]) -> Path:
    text = demo.text("canal_launch")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    file = folder / "rig.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_it_tells_what_lies_where_and_what_to_drill(loomwright: Run, tmp_path: Path) -> None:
    file = rig(tmp_path)
    ran = loomwright("panel", file)
    assert ran.code == 0
    for word in ("Panel fore at fore_locker, 680 x 500 mm", "fore_block", "18 holes", "Isolate the battery"):
        assert word in ran.out.replace("\n", " ")
    data = loomwright("panel", file, "--json").document["data"]
    (panel,) = data["panels"]
    assert len(panel["drills"]) == 18
    assert {i["id"] for i in panel["items"]} == {"fore_block", "fore_gnd", "processor", "main_amp", "bass_amp"}
    assert panel["broken"] == []


def test_place_and_write_puts_the_items_into_the_file_and_says_the_proof(loomwright: Run, tmp_path: Path) -> None:
    # All but one item stay where they are: the search is short.
    file = rig(
        tmp_path, ("at_mm = [112, 421]\n", "at_mm = [112, 421]\nfixed = true\n"),
        ("at_mm = [270, 421]\n", "at_mm = [270, 421]\nfixed = true\n"),
        ("at_mm = [418, 302]\n", "at_mm = [418, 302]\nfixed = true\n"),
        ("at_mm = [81, 187]\n", "at_mm = [81, 187]\nfixed = true\n"), ("at_mm = [312, 92]\n", ""),
    )  # fmt: skip
    assert "at_mm = [112, 421]" in file.read_text(encoding="utf-8")
    ran = loomwright("panel", file, "--place", "--write", "--json")
    assert ran.code == 0
    (found,) = ran.document["data"]["placements"]
    assert found["status"] == "proven"
    after = loomwright("panel", file, "--json").document["data"]["panels"][0]
    at = {i["id"]: i["at_mm"] for i in after["items"]}
    assert at == {s["item"]: s["at_mm"] for s in found["spots"]}
    assert after["broken"] == []
    assert "# board against the fore bulkhead" in file.read_text(encoding="utf-8")


def test_items_larger_than_the_board_cannot_fit_and_it_leaves_with_1(loomwright: Run, tmp_path: Path) -> None:
    file = rig(
        tmp_path, ("width_mm = 680\nheight_mm = 500", "width_mm = 160\nheight_mm = 110"),
        ("entry_mm = [340, 500]", "entry_mm = [80, 110]"),
    )  # fmt: skip
    ran = loomwright("panel", file, "--place", "--json")
    assert ran.code == 1
    (found,) = ran.document["data"]["placements"]
    assert found["status"] == "cannot fit"
    assert any("larger than the board" in w for w in found["why"])


def test_what_it_cannot_use_is_said(loomwright: Run, tmp_path: Path) -> None:
    file = rig(tmp_path)
    assert "Did you mean fore?" in loomwright("panel", file, "--panel", "for").err
    assert "Add --place." in loomwright("panel", file, "--write").err
    assert loomwright("panel", file, "--place", "--effort", "5").code == 2
