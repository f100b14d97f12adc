"""Pieces of work for tests: some take long, some fail, some end their process."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass

from loomwright.errors import InputError, Problem
from loomwright.web.work.pieces import Kept, Stage, Stages


@dataclass(frozen=True, slots=True)
class Errand:
    """``name`` tells one from another; ``stages_s`` is how long each stage takes [s]; ``end`` is what comes then."""

    name: str
    stages_s: tuple[float, ...] = ()
    end: str = "done"
    title: str = "An errand"
    file: str = ""

    def stages(self, kept: Kept) -> Stages:
        for n, wait_s in enumerate(self.stages_s):
            yield Stage(f"Step {n + 1}", n, len(self.stages_s))
            time.sleep(wait_s)
        if self.end == "refused":
            raise InputError([Problem("rig", "item", "one", "none", "Add one.")])
        if self.end == "fault":
            raise ZeroDivisionError("a fault")
        if self.end == "killed":
            os._exit(9)
        return f"{self.name} by {os.getpid()}"


@dataclass(frozen=True, slots=True)
class Voyage(Errand):
    """An errand of the kind that takes minutes."""
