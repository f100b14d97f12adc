"""Layouts on the disk, and the engine that makes them."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from loomwright.drawing import assets, engine, kept, layout, svg, wire_sets
from loomwright.drawing.layout import Box, Graph, Link, Port
from tests.drawing import demo


def graph(high_mm: float = 12.0) -> Graph:
    """A source and two loads, with a label on one wire."""
    boxes = tuple(
        Box(name, 20.0, high_mm, (Port(f"{name}.in", "WEST", 4.0), Port(f"{name}.out", "EAST", 4.0)))
        for name in ("battery", "front", "rear")
    )
    links = (
        Link("P1", "battery.out", "front.in", (14.0, 4.0)), Link("P2", "battery.out", "rear.in"),
    )  # fmt: skip
    return Graph(boxes, links)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """What the engine itself is asked, with an empty folder of layouts."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path))
    layout._placed.cache_clear()
    seen: list[str] = []
    place = engine.placed

    def ask(text: str) -> str:
        seen.append(text)
        return place(text)

    monkeypatch.setattr(engine, "placed", ask)
    return seen


def again(g: Graph) -> layout.Placed:
    """The layout as a new process would get it."""
    layout._placed.cache_clear()
    return layout.layout(g)


def test_a_kept_layout_is_the_same_and_costs_no_engine(asked: list[str]) -> None:
    first = again(graph())
    assert again(graph()) == first
    assert len(asked) == 1


def test_another_size_or_manner_is_another_layout(asked: list[str]) -> None:
    again(graph())
    assert again(graph(14.0)) != again(graph())
    layout.layout(graph(), "wide")
    assert len(asked) == 3


def test_the_folder_may_be_deleted(asked: list[str]) -> None:
    first = again(graph())
    for path in kept.folder().iterdir():
        path.unlink()
    kept.folder().rmdir()
    assert not kept.any_kept()
    assert again(graph()) == first
    assert len(asked) == 2


@pytest.mark.parametrize("harm", [lambda t: t[:-9], lambda t: t.replace("battery", "batterx"), lambda t: ""])
def test_a_damaged_file_is_laid_out_again(asked: list[str], harm: Any) -> None:
    first = again(graph())
    (path,) = kept.folder().iterdir()
    path.write_text(harm(path.read_text("utf-8")), "utf-8")
    assert again(graph()) == first
    assert len(asked) == 2


def test_a_folder_that_cannot_be_made_is_no_hindrance(
    asked: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "file"))
    assert again(graph()) == again(graph())
    assert len(asked) == 2


def test_the_longest_unused_go_first(asked: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "MOST", 4)
    for k in range(6):
        kept.keep(f"graph {k}", f"places {k}")
    left = [k for k in range(6) if kept.recalled(f"graph {k}")]
    assert 5 in left
    assert len(left) <= 4


def test_the_engine_places_all_the_same_with_its_helpers_written_anew(
    asked: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    script = assets.layout_engine().read_text("utf-8")
    assert [len(re.findall(old, script)) for old, _ in engine.LIGHTER] == [1] * len(engine.LIGHTER)

    def signal() -> list[str]:
        layout._placed.cache_clear()
        shutil.rmtree(kept.folder(), ignore_errors=True)
        engine._worker().submit(engine._engine.cache_clear).result()
        drafts = wire_sets.signal(demo.study("carnival_trike_planned"), "A3")
        return [svg.render(d.finish(k, len(drafts))) for k, d in enumerate(drafts, 1)]

    light = signal()
    monkeypatch.setattr(engine, "LIGHTER", ())
    try:
        assert signal() == light
    finally:
        engine._worker().submit(engine._engine.cache_clear).result()
    assert asked
