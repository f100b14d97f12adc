"""Tracing a board on its photographs as long work: they are read where it is done, not at each look at the page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from loomwright.web.work.pieces import Kept, Stage, Stages
from loomwright.web.work.telling import told

if TYPE_CHECKING:
    from loomwright.web.outlines import OnPhoto

STEPS = 5


@dataclass(frozen=True, slots=True)
class Shot:
    """A photograph that is kept: what it is called, the sum of its content, and where that lies."""

    name: str
    sha256: str
    path: Path


@dataclass(frozen=True, slots=True)
class Tracing:
    """The board in a photograph, or in several that overlap.

    Its result is an :class:`OnPhoto` of the first; it raises InputError where it cannot be trusted.
    """

    shots: tuple[Shot, ...]
    thickness_mm: float
    bars: tuple[float, float] | None

    @property
    def title(self) -> str:
        return "Outline on the photograph"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        done = count()
        return (yield from told(self._traced, lambda words: Stage(words, min(next(done), STEPS - 1), STEPS)))

    def _traced(self, say: Callable[[str], None]) -> OnPhoto:
        from io import BytesIO

        from PIL import Image

        from loomwright.jobs.photos import content
        from loomwright.trace import photograph
        from loomwright.web.outlines import on_photo

        bars = photograph.Bars(*self.bars) if self.bars is not None else None
        say("Reading the photograph" if len(self.shots) == 1 else "Reading the photographs")
        shots = [(shot.name, content(shot.path, shot.sha256)) for shot in self.shots]
        found = photograph.trace(shots, self.thickness_mm, bars, progress=say)
        with Image.open(BytesIO(shots[0][1])) as first:
            return on_photo(found, first.size)
