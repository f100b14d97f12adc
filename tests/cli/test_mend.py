"""``mend`` shows the edits and makes one of them, comments and all; the file as it was stays."""

from __future__ import annotations

from pathlib import Path

from loomwright.cli import samples
from loomwright.rig.edit import set_fuse, set_wire
from loomwright.rig.file import parse
from tests.conftest import Run


def thin(folder: Path) -> Path:
    """The small rig with a feed that is far too thin for its fuse."""
    path = folder / "rig.toml"
    path.write_text(set_wire(set_fuse(samples.text(samples.BLANK), "block", 1, 40), "P3", size="18 AWG"), "utf-8")
    return path


def test_the_list_shows_every_change(loomwright: Run, tmp_path: Path) -> None:
    path = thin(tmp_path)
    before = path.read_text("utf-8")
    ran = loomwright("mend", path)
    assert ran.code == 1
    assert "P3: size 18 AWG \u2192" in ran.out
    assert f"loomwright mend {path} --make 1" in ran.out.replace("\n", "")
    assert path.read_text("utf-8") == before


def test_one_is_made_and_the_file_as_it_was_stays(loomwright: Run, tmp_path: Path) -> None:
    path = thin(tmp_path)
    before = path.read_text("utf-8")
    remedies = loomwright("mend", path, "--json").document["data"]["remedies"]
    wanted = next(r for r in remedies if r["code"] == "E202" and "P3: size" in r["changes"][0])
    ran = loomwright("mend", path, "--make", wanted["number"], fresh=True)
    assert ran.code == 0
    assert "Made: " in ran.out
    after = path.read_text("utf-8")
    new = wanted["changes"][0].rpartition(" ")[0].rpartition(" ")[2] + " AWG"
    assert [b for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b] == [f'size = "{new}"']
    assert (tmp_path / "rig.toml.before").read_text("utf-8") == before
    assert "E202" not in loomwright("check", path, fresh=True).out


def test_elsewhere_leaves_the_file_alone(loomwright: Run, tmp_path: Path) -> None:
    path, out = thin(tmp_path), tmp_path / "mended.toml"
    before = path.read_text("utf-8")
    data = loomwright("mend", path, "--make", 1, "--out", out, "--json").document["data"]
    assert data["made"]["number"] == 1
    assert data["files"] == [str(out)]
    assert path.read_text("utf-8") == before
    assert parse(out.read_text("utf-8"), "x").items
    assert not (tmp_path / "rig.toml.before").exists()


def test_a_number_that_is_not_on_the_list(loomwright: Run, tmp_path: Path, rigs: dict[str, Path]) -> None:
    ran = loomwright("mend", thin(tmp_path), "--make", 99)
    assert ran.code == 2
    assert "a number from 1 to" in ran.err
    assert "nothing is offered" in loomwright("mend", rigs["launch"], "--make", 1).err
    assert "No finding of this rig" in loomwright("mend", rigs["launch"]).out
