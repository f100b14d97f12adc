"""The rigs in use: each text read once, and worked out once, off the request path."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from functools import cached_property
from typing import Any, TypeVar

from loomwright.drawing.hookup import View
from loomwright.errors import InputError, Problem
from loomwright.findings.model import Finding
from loomwright.rig.file import parse
from loomwright.rig.model import EngineState, Programme, Rig
from loomwright.sound.wiring_results import WiringChoices
from loomwright.study import Study
from loomwright.web import catalogues, draft
from loomwright.web.draft import Draft
from loomwright.web.work.pieces import Building, Built, Drawn, Outcome, Piece, Studied, Ways
from loomwright.web.work.tasks import Standing, Task, Tasks

Made = TypeVar("Made")
KEPT = 48
USUAL: tuple[EngineState, Programme, View] = ("cruise", "music", "power")
"""The case and view that the diagram of a worked-out rig shows."""


class Worked:
    """One rig text and all that follows from it. What cannot be read is in ``problems``.

    A study is a pure function of a rig, so its text is the key, with that of the shop's own catalogue. Results come
    from a task: to ask for one waits until it is done; :attr:`ready` says whether it would.
    """

    def __init__(self, text: str, name: str, tasks: Tasks, own: str = "") -> None:
        self.text = text
        self.name = name
        self.own = own
        self._tasks = tasks
        self._reading = threading.Lock()
        self._task: Task | None = None
        self._drawn: dict[tuple[EngineState, Programme, View], Task] = {}
        self._ways: dict[tuple[tuple[str, ...], tuple[str, ...]], Task] = {}
        self._builds: dict[str, Task] = {}
        self._made: dict[str, Any] = {}

    @cached_property
    def _read(self) -> tuple[Rig | None, tuple[Problem, ...]]:
        try:
            return parse(self.text, self.name, catalogues.read_with(self.own)), ()
        except InputError as error:
            return None, error.problems

    @property
    def rig(self) -> Rig | None:
        """The rig, or None while it cannot be read."""
        with self._reading:
            return self._read[0]

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Why it cannot be read."""
        with self._reading:
            return self._read[1]

    @cached_property
    def draft(self) -> Draft:
        """The text as far as it goes."""
        return draft.read(self.text, catalogues.usable(self.own))

    @property
    def whole(self) -> bool:
        """True where there is a rig to work out."""
        rig = self.rig
        return rig is not None and bool(rig.items)

    def ask(self, by: str = "", again: bool = False) -> Task | None:
        """Have it worked out for the pages of a rig, and do not wait. None where there is no rig to work out."""
        if not self.whole:
            return None
        task = self._task
        if task is None or task.live or (task.state != "done" and (again or not self._stays_stopped(task))):
            self._task = task = self._tasks.ask(Studied(self.text, self.name, self.own), by, again=again)
        return task

    def _stays_stopped(self, task: Task) -> bool:
        """True where somebody stopped it; False where a newer edit did, which is gone again."""
        return self._tasks.find(task.key) is task

    @property
    def ready(self) -> bool:
        """True where pages need not wait."""
        return self._task is not None and self._task.state == "done"

    @property
    def standing(self) -> Standing | None:
        """How the work stands; None where there is none."""
        return None if self._task is None else self._task.standing

    @property
    def _outcome(self) -> Outcome | None:
        task = self.ask(again=True)
        if task is None:
            return None
        found: Outcome = task.value() if task.state == "done" else self._tasks.wait(task)
        return found

    @property
    def study(self) -> Study | None:
        """The study, volts and faults worked out. Raises what the work raised."""
        outcome = self._outcome
        return None if outcome is None else outcome.study

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the checks say."""
        outcome = self._outcome
        return () if outcome is None else outcome.findings

    def once(self, name: str, make: Callable[[Study], Made]) -> Made | None:
        """What a page makes of the study alone, made once under its name; None where there is no study."""
        study = self.study
        if study is None:
            return None
        if name not in self._made:
            self._made[name] = make(study)
        made: Made = self._made[name]
        return made

    def ask_diagram(self, engine: EngineState, programme: Programme, by: str = "", view: View = "power") -> bool:
        """Have a view of the diagram drawn for a case, and do not wait. True where it is there."""
        if not self.whole or (engine, programme, view) == USUAL:
            return self.ready
        task = self._drawn.get((engine, programme, view))
        if task is None or task.state in ("failed", "stopped"):
            piece = Drawn(self.text, self.name, engine, programme, view, self.own)
            task = self._tasks.ask(piece, by, again=True)
            self._drawn[engine, programme, view] = task
        return task.state == "done"

    def diagram(
        self, engine: EngineState = USUAL[0], programme: Programme = USUAL[1], view: View = USUAL[2]
    ) -> str:
        """A view of the diagram for a page: an ``svg`` element; empty where there is none to draw."""
        outcome = self._outcome
        if outcome is None or (engine, programme, view) == USUAL:
            return "" if outcome is None else outcome.diagram
        self.ask_diagram(engine, programme, view=view)
        drawn: str = self._tasks.wait(self._drawn[engine, programme, view])
        return drawn

    def ask_piece(self, piece: Piece, by: str = "") -> Task | None:
        """Have something made of this rig, and do not wait. None where there is no rig to work out."""
        return self._tasks.ask(piece, by) if self.whole else None

    def of_piece(self, piece: Piece) -> Any:
        """What comes of it, waited for; None where there is no rig. Raises what the work raised."""
        task = self._tasks.ask(piece, again=True) if self.whole else None
        return None if task is None else self._tasks.wait(task)

    def ask_ways(self, drivers: tuple[str, ...], channels: tuple[str, ...], by: str = "") -> bool:
        """Have every way to wire some drivers to some channels looked through, and do not wait. True where it is."""
        key = (drivers, channels)
        task = self._ways.get(key)
        if task is None or task.state in ("failed", "stopped"):
            piece = Ways(self.text, self.name, drivers, channels, self.own)
            task = self._ways[key] = self._tasks.ask(piece, by, again=True)
        return not task.live

    def ways(self, drivers: tuple[str, ...], channels: tuple[str, ...]) -> WiringChoices:
        """Every way to wire some drivers to some channels. Raises what the work raised."""
        self.ask_ways(drivers, channels)
        found: WiringChoices = self._tasks.wait(self._ways[drivers, channels])
        return found

    def ask_building(self, before: str, by: str = "") -> bool:
        """Have the build put in order, with the text of the rig as found, and do not wait. True where it is."""
        task = self._builds.get(before)
        if task is None or task.state in ("failed", "stopped"):
            task = self._builds[before] = self._tasks.ask(Built(self.text, self.name, before, self.own), by, again=True)
        return not task.live

    def building(self, before: str) -> Building:
        """The build, step by step, with its drawings. Raises what the work raised."""
        self.ask_building(before)
        found: Building = self._tasks.wait(self._builds[before])
        return found


class Shelf:
    """The rigs in use, the least lately used dropped first."""

    def __init__(self, tasks: Tasks, kept: int = KEPT) -> None:
        self.tasks = tasks
        self._kept = kept
        self._rigs: OrderedDict[tuple[str, str, str], Worked] = OrderedDict()
        self._lock = threading.Lock()

    def worked(self, text: str, name: str, own: str = "") -> Worked:
        """The rig of a text, read with the shop's own catalogue."""
        key = (name, own, text)
        with self._lock:
            found = self._rigs.get(key) or Worked(text, name, self.tasks, own)
            self._rigs[key] = found
            self._rigs.move_to_end(key)
            while len(self._rigs) > self._kept:
                self._rigs.popitem(last=False)
        return found

    def ahead(self, worked: Worked, by: str) -> None:
        """Have a rig worked out for the pages that will ask next, and drop work for its older texts."""
        self.tasks.replaced(by, worked.text)
        worked.ask(by)
