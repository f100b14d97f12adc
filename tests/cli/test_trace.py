"""The command ``trace``: typed, drawn and photographed boards, files written, errors in one shape."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from tests.conftest import Run
from tests.trace.scenes import usual


def test_a_typed_board_goes_through_every_file(loomwright: Run, tmp_path: Path) -> None:
    data = loomwright("trace", "--size", "600x400r20", "--hole", "40@120,80", "--json").document["data"]
    assert (data["width_mm"], data["height_mm"]) == (600.0, 400.0)
    assert len(data["outline"]["holes"]) == 1
    for ending in ("toml", "svg", "dxf"):
        out = tmp_path / f"board.{ending}"
        assert loomwright("trace", "--size", "600x400r20", "--hole", "40@120,80", "-o", out).code == 0
        again = loomwright("trace", out, "--json").document["data"]
        assert again["area_mm2"] == pytest.approx(data["area_mm2"], abs=1.0)
    covered = loomwright("trace", tmp_path / "board.dxf", "--covering-mm", "3", "--back", "--json").document["data"]
    assert covered["width_mm"] == pytest.approx(594.0)
    assert covered["outline"]["back"] is True


def test_a_photograph_gives_sides_error_and_a_picture_to_look_at(loomwright: Run, tmp_path: Path) -> None:
    photo, over = tmp_path / "photo.jpg", tmp_path / "over.png"
    photo.write_bytes(usual())
    ran = loomwright("trace", photo, "--thickness-mm", "3", "--bars", "150x200", "--picture", over)
    assert ran.code == 0
    assert "No side is wrong by more than" in ran.out
    with Image.open(over) as image:
        assert image.size[0] > 600


def test_what_is_missing_is_said_with_what_to_do(loomwright: Run, tmp_path: Path) -> None:
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(usual())
    said = loomwright("trace", photo)
    assert said.code == 2
    assert "--thickness-mm" in said.err
    assert "Give one of them" in loomwright("trace").err
    assert "ends in .svg" in loomwright("trace", "--size", "600x400", "-o", tmp_path / "a.pdf").err
    assert "149.8x199.6" in loomwright("trace", photo, "--bars", "long").err
    assert loomwright("trace", tmp_path / "none.jpg", "--thickness-mm", "3").code == 2


def test_marker_sheets_are_written(loomwright: Run, tmp_path: Path) -> None:
    files = loomwright("trace", "--sheets", tmp_path, "--json").document["data"]["files"]
    assert [Path(f).name for f in files] == ["marker_sheets_a4.pdf", "marker_sheets_letter.pdf"]
    assert all(Path(f).read_bytes().startswith(b"%PDF") for f in files)
