"""The steps of the guided first job can be done as they are written, and each has its picture."""

from __future__ import annotations

import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from PIL import Image

from scripts import make_first_job


def test_every_step_of_the_first_job_can_be_done(tmp_path: Path) -> None:
    chromium = shutil.which("chromium")
    assert chromium
    with ThreadPoolExecutor(1) as apart:  # the browser of the other tests is at home in this thread
        apart.submit(make_first_job.walk, chromium, tmp_path).result()
    for step in make_first_job.STEPS:
        with Image.open(tmp_path / f"{step.name}.png") as picture:
            assert picture.size == (make_first_job.SIZE["width"], make_first_job.SIZE["height"])
            assert len(picture.getcolors(1_000_000) or ()) > 20, step.name
