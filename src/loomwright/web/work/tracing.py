"""Tracing a board on its photograph as long work. The photograph goes along; what comes back is what the page shows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from itertools import count
from typing import TYPE_CHECKING

from loomwright.web.work.pieces import Kept, Stage, Stages
from loomwright.web.work.telling import told

if TYPE_CHECKING:
    from loomwright.web.outlines import OnPhoto

STEPS = 5


class Shot(bytes):
    """A photograph. It is named by its content."""

    def __repr__(self) -> str:
        return sha256(self).hexdigest()


@dataclass(frozen=True, slots=True)
class Tracing:
    """The board in a photograph. Its result is an :class:`OnPhoto`; it raises InputError where it cannot be trusted."""

    name: str
    shot: Shot
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
        from loomwright.trace import photograph
        from loomwright.web.outlines import on_photo

        bars = photograph.Bars(*self.bars) if self.bars is not None else None
        say("Reading the photograph")
        return on_photo(photograph.trace([(self.name, bytes(self.shot))], self.thickness_mm, bars, progress=say))
