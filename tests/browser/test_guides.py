"""The steps of the guided pages can be done as they are written, and each has its picture."""

from __future__ import annotations

import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from PIL import Image

from scripts.guide import SIZE, Guide
from scripts.make_guides import GUIDES


@pytest.mark.parametrize("guide", GUIDES, ids=lambda g: g.name)
def test_every_step_of_a_guide_can_be_done(guide: Guide, tmp_path: Path) -> None:
    chromium = shutil.which("chromium")
    assert chromium
    with ThreadPoolExecutor(1) as apart:  # the browser of the other tests is at home in this thread
        apart.submit(guide.walk, chromium, tmp_path).result()
    for step in guide.steps:
        with Image.open(tmp_path / f"{step.name}.png") as picture:
            assert picture.size == (SIZE["width"], SIZE["height"])
            assert len(picture.getcolors(1_000_000) or ()) > 20, step.name
