"""The guided pages say the steps that the walks do, and what they type at a terminal works."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from loomwright.rig.file import load
from scripts.from_list import ROWS
from scripts.guide import Guide
from scripts.make_guides import GUIDES
from tests.conftest import Run
from tests.docs.test_pages import blocks


@pytest.mark.parametrize("guide", GUIDES, ids=lambda g: g.name)
def test_the_page_holds_the_steps_that_are_walked(guide: Guide) -> None:
    stale = guide.page.read_text("utf-8") != guide.text()
    assert not stale, f"{guide.page.name} is stale. Type: make docs"


def test_the_commands_from_a_list_to_a_pack_work(
    loomwright: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    guide = next(g for g in GUIDES if g.name == "from_list")
    (listed,) = blocks(guide.page, "toml")
    monkeypatch.chdir(tmp_path)
    Path("list.toml").write_text(listed, encoding="utf-8")
    (commands,) = blocks(guide.page, "sh")
    lines = [*commands.splitlines(), *re.findall(r"`loomwright (compare [^`]*)`", guide.page.read_text("utf-8"))]
    assert len(lines) == 6
    for line in lines:
        ran = loomwright(*shlex.split(line.removeprefix("loomwright ")))
        assert ran.code == 0, (line, ran.err)
    assert Path("papers/pack.pdf").read_bytes().startswith(b"%PDF")
    parts = {i.part.id for i in load(Path("rig.toml")).items.values()}
    typed = {what for _, what, _ in ROWS if "_" in what}
    assert typed <= parts
