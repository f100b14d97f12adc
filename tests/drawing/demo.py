"""The demo rigs as studies, each worked out once for a test process."""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path

from loomwright.findings.model import Finding
from loomwright.findings.run import check
from loomwright.rig.file import load
from loomwright.study import Study
from tests.drawing import samples

NAMES = ("carnival_trike_as_found", "carnival_trike_planned", "harvest_buggy", "canal_launch")
MADE_BY_HAND = ("trike", "buggy", "tiny", "hostile")
ALL = (*MADE_BY_HAND, *NAMES)


@cache
def study(name: str) -> Study:
    """A demo rig by its file's name, or a rig made by hand."""
    if name in samples.ALL:
        return samples.study(samples.ALL[name]())
    return Study(load(Path(str(resources.files("loomwright.demo") / f"{name}.toml"))))


@cache
def findings(name: str) -> tuple[Finding, ...]:
    return check(study(name))
