"""``demo`` and ``pack``: the main job on the carnival trike."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.cli import service
from tests.conftest import Run


def test_the_demo_says_where_the_report_is(loomwright: Run, tmp_path: Path) -> None:
    ran = loomwright("demo", tmp_path / "demo")
    assert ran.code == 0, ran.err
    said = [line.partition(": ")[2] for line in ran.out.splitlines() if line.startswith("Open the report")]
    assert len(said) == 1
    assert Path(said[0]).parent == tmp_path / "demo" / "planned"
    assert Path(said[0]).read_bytes().startswith(b"%PDF")
    assert (tmp_path / "demo" / "compare.pdf").read_bytes().startswith(b"%PDF")


def test_the_demo_in_json_counts_findings_and_names_the_files(
    loomwright: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The papers themselves are printed by the test above.
    monkeypatch.setattr(service, "papers", lambda study, found, folder: (folder / "report.pdf",))
    monkeypatch.setattr(service, "comparison_paper", lambda a, b, found_a, found_b, folder: folder / "compare.pdf")
    data = loomwright("demo", tmp_path, "--json").document["data"]
    assert data["as_found"]["counts"]["Stop"] > 0
    assert (data["planned"]["counts"]["Stop"], data["planned"]["counts"]["Fix"]) == (0, 0)
    assert data["files"] == [str(tmp_path / "compare.pdf")]
    for stage in ("as_found", "planned"):
        assert data[stage]["files"] == [str(tmp_path / stage / "report.pdf")]
        assert sum(data[stage]["verdicts"].values()) > 100


def test_pack_leaves_with_1_where_there_is_a_stop(loomwright: Run, rigs: dict[str, Path], tmp_path: Path) -> None:
    ran = loomwright("pack", rigs["trike as found"], "-o", tmp_path / "out", "--json")
    assert ran.code == 1
    assert all(Path(f).is_file() for f in ran.document["data"]["files"])
