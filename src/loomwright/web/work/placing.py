"""Placing a panel as long work: how far it is comes out as stages, and whoever stops it stops the search."""

from __future__ import annotations

import queue
import threading
from collections.abc import Generator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loomwright.web.work.pieces import Kept, Stage

if TYPE_CHECKING:
    from loomwright.panel.place import Progress
    from loomwright.panel.results import Placement

STEPS = 20
EFFORT = 12_000
"""Nodes to look at; a thousand take about three seconds on a busy machine."""
LOOK_S = 0.4


@dataclass(frozen=True, slots=True)
class Placing:
    """The cheapest layout of one panel, with its proof. Its result is a :class:`Placement`."""

    text: str
    name: str
    panel: str
    own: str = ""
    effort: int = EFFORT

    @property
    def title(self) -> str:
        return f"Places on {self.panel}"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Generator[Stage, None, Placement]:
        """The search runs beside; what it tells is passed on, and between two tellings it can be stopped."""
        from loomwright.panel.place import place
        from loomwright.panel.results import Placement
        from loomwright.rig.file import parse
        from loomwright.study import Study
        from loomwright.web.catalogues import read_with

        yield Stage("Sizes", 0, STEPS)
        parts = read_with(self.own)
        rig = Study(parse(self.text, self.name, parts)).rig
        told: queue.SimpleQueue[Progress | Placement | BaseException] = queue.SimpleQueue()
        stop = threading.Event()

        def tell(progress: Progress) -> bool:
            told.put(progress)
            return stop.is_set()

        def search() -> None:
            try:
                told.put(place(rig, self.panel, effort=self.effort, tell=tell, catalogue=parts))
            except BaseException as error:
                told.put(error)

        threading.Thread(target=search, name="placing", daemon=True).start()
        now = Stage("First layout", 1, STEPS)
        try:
            while True:
                yield now
                try:
                    said = told.get(timeout=LOOK_S)
                except queue.Empty:
                    continue
                if isinstance(said, BaseException):
                    raise said
                if isinstance(said, Placement):
                    return said
                now = self._stage(said)
        finally:
            stop.set()

    def _stage(self, said: Progress) -> Stage:
        words = said.stage.capitalize()
        if said.cost_g is not None:
            words += f": {said.cost_g:.0f} g so far"
        if said.bound_g:
            words += f", nothing under {said.bound_g:.0f} g"
        return Stage(words, min(STEPS - 1, 1 + (STEPS - 2) * said.nodes // self.effort), STEPS)
