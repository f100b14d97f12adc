"""``demo`` and ``pack``: the main job on the carnival trike."""

from __future__ import annotations

from pathlib import Path

from tests.conftest import Run


def test_the_demo_says_where_the_report_is(loomwright: Run, tmp_path: Path) -> None:
    ran = loomwright("demo", tmp_path / "demo")
    assert ran.code == 0, ran.err
    said = [line.partition(": ")[2] for line in ran.out.splitlines() if line.startswith("Open the report")]
    assert len(said) == 1
    assert Path(said[0]).parent == tmp_path / "demo" / "planned"
    assert Path(said[0]).read_bytes().startswith(b"%PDF")


def test_the_demo_in_json_lists_files_that_exist(loomwright: Run, tmp_path: Path) -> None:
    data = loomwright("demo", tmp_path, "--json").document["data"]
    assert data["as_found"]["counts"]["Stop"] > 0
    assert (data["planned"]["counts"]["Stop"], data["planned"]["counts"]["Fix"]) == (0, 0)
    assert [Path(f).read_bytes()[:4] for f in data["files"]] == [b"%PDF"]
    for stage in ("as_found", "planned"):
        assert data[stage]["files"]
        assert all(Path(f).is_file() for f in data[stage]["files"])


def test_pack_leaves_with_1_where_there_is_a_stop(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    ran = loomwright("pack", rigs["trike as found"], "-o", tmp_path / "out", "--json")
    assert ran.code == 1
    assert all(Path(f).is_file() for f in ran.document["data"]["files"])
