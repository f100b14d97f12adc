"""``demo`` and ``pack``: the main job on the carnival trike."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.cli import service
from tests.conftest import Run


def test_the_demo_ends_with_the_pack_and_says_where_to_look(loomwright: Run, tmp_path: Path) -> None:
    ran = loomwright("demo", tmp_path / "demo")
    assert ran.code == 0, ran.err
    said = [line.partition(": ")[2] for line in ran.out.splitlines() if line.startswith("Open the pack")]
    assert said == [str((tmp_path / "demo" / "pack" / "pack.pdf").resolve())]
    assert Path(said[0]).read_bytes().startswith(b"%PDF")
    assert (tmp_path / "demo" / "pack" / "parts" / "ring_out.pdf").read_bytes().startswith(b"%PDF")
    assert (tmp_path / "demo" / "pack" / "parts" / "tables" / "cutting_plan.csv").is_file()


def test_the_demo_in_json_counts_findings_and_names_the_files(
    loomwright: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The papers themselves are printed by the test above.
    monkeypatch.setattr(service, "pack", lambda wanted, folder: (folder / "pack.pdf",))
    data = loomwright("demo", tmp_path, "--json").document["data"]
    assert data["as_found"]["counts"]["Stop"] > 0
    assert (data["planned"]["counts"]["Stop"], data["planned"]["counts"]["Fix"]) == (0, 0)
    assert data["files"] == [str(tmp_path / "pack" / "pack.pdf")]
    for stage in ("as_found", "planned"):
        assert Path(data[stage]["rig_file"]).is_file()
        assert sum(data[stage]["verdicts"].values()) > 100


def test_pack_leaves_with_1_where_there_is_a_stop(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    command = ("pack", rigs["trike as found"], "-o", tmp_path / "out", "--paper", "letter", "--units", "us", "--json")
    ran = loomwright(*command)
    assert ran.code == 1
    files = ran.document["data"]["files"]
    assert files[0].endswith("pack.pdf")
    assert all(Path(f).is_file() for f in files)
    assert "cut_in" in (tmp_path / "out" / "parts" / "tables" / "cut_list.csv").read_text("utf-8-sig").splitlines()[0]


def test_pack_refuses_a_stock_that_is_none(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    ran = loomwright("pack", rigs["trike"], "--stock", tmp_path / "none.toml", "-o", tmp_path / "out")
    assert ran.code == 2
    assert not (tmp_path / "out").exists()
