"""A shop at work on one server: no error, and no edit lost."""

from __future__ import annotations

from pathlib import Path

from bench._shop import lost, serving, work
from loomwright import demo


def test_technicians_at_once_lose_nothing(tmp_path: Path) -> None:
    with serving(tmp_path) as bench:
        crew = work(bench, demo.text("carnival_trike_planned"), 20, most_edits=4)
        assert [w for t in crew for w in t.wrong] == []
        assert all(len(t.saved_mm) == 4 for t in crew)
        assert lost(bench, crew) == []
