"""A rig's text worked out: study, findings and diagram, each once, kept while the rig is in use.

A study is a pure function of a rig, so its text is the key. What several pages ask for at once is worked out by one of
them; the others wait.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cached_property
from hashlib import sha256

from loomwright.drawing import svg
from loomwright.drawing.marks import Circle, Group, Mark, Path, Sheet, Text, flat, placed
from loomwright.drawing.single_line import TooLarge, draw
from loomwright.errors import InputError, Problem
from loomwright.findings.model import Finding
from loomwright.findings.run import check
from loomwright.rig.file import parse
from loomwright.rig.model import EngineState, Programme, Rig
from loomwright.study import Study

KEPT = 24
_EDGE_MM = 6.0


class Worked:
    """One rig text and all that follows from it. Raises nothing: what cannot be read is in ``problems``."""

    def __init__(self, text: str, name: str) -> None:
        self.text = text
        self.name = name
        self._lock = threading.RLock()
        self._reading = threading.Lock()  # apart, so that a page can be shown while the study is worked out
        self._diagrams: dict[tuple[EngineState, Programme], str] = {}

    @cached_property
    def _read(self) -> tuple[Rig | None, tuple[Problem, ...]]:
        try:
            return parse(self.text, self.name), ()
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
    def _study(self) -> Study | None:
        rig = self.rig
        return None if rig is None or not rig.items else Study(rig)

    @cached_property
    def _findings(self) -> tuple[Finding, ...]:
        return check(self._study) if self._study is not None else ()

    @property
    def study(self) -> Study | None:
        """The study, volts and faults worked out."""
        with self._lock:
            self._findings  # noqa: B018  # findings ask for all of the study
            return self._study

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the checks say."""
        with self._lock:
            return self._findings

    def diagram(self, engine: EngineState = "cruise", programme: Programme = "music") -> str:
        """The single-line diagram for a page: an ``svg`` element; empty where there is none to draw."""
        with self._lock:
            key = (engine, programme)
            if key not in self._diagrams:
                self._diagrams[key] = self._drawn(engine, programme)
            return self._diagrams[key]

    def _drawn(self, engine: EngineState, programme: Programme) -> str:
        study = self.study
        if study is None or not study.rig.wires:
            return ""
        try:
            sheet = draw(study, engine, programme)
        except TooLarge:
            return ""
        return svg.render(bare(sheet), css_colours=True).partition("\n")[2]

    @property
    def ready(self) -> bool:
        """True where pages need not wait."""
        return "_findings" in self.__dict__ and bool(self._diagrams)

    def work(self) -> None:
        """Work everything out now."""
        self.diagram()


class Shelf:
    """The rigs in use, the least lately used dropped first, and one worker that works ahead of the pages."""

    def __init__(self, kept: int = KEPT) -> None:
        self._kept = kept
        self._rigs: OrderedDict[str, Worked] = OrderedDict()
        self._lock = threading.Lock()
        self._worker = ThreadPoolExecutor(1, "study")

    def worked(self, text: str, name: str) -> Worked:
        """The rig of a text."""
        key = sha256(f"{name}\n{text}".encode()).hexdigest()
        with self._lock:
            found = self._rigs.get(key) or Worked(text, name)
            self._rigs[key] = found
            self._rigs.move_to_end(key)
            while len(self._rigs) > self._kept:
                self._rigs.popitem(last=False)
        return found

    def ahead(self, worked: Worked) -> None:
        """Work a rig out off the request path, for the pages that will ask next."""
        if not worked.ready:
            self._worker.submit(_quietly, worked.work)

    def close(self) -> None:
        """Let go of the worker; what is not begun is dropped."""
        self._worker.shutdown(wait=False, cancel_futures=True)


def _quietly(work: Callable[[], None]) -> None:
    try:
        work()
    except Exception:  # the page that asks will meet the same error and say it
        return


def bare(sheet: Sheet) -> Sheet:
    """The drawing of a sheet without frame, title block and notes, with a narrow edge: what a screen shows."""
    drawing = [m for m in sheet.marks if isinstance(m, Group) and m.kind == "diagram"]
    points = [p for m in flat(drawing) for p in _corners(m)]
    if not points:
        return sheet
    left, top = min(x for x, _ in points) - _EDGE_MM, min(y for _, y in points) - _EDGE_MM
    width = max(x for x, _ in points) - left + _EDGE_MM
    height = max(y for _, y in points) - top + _EDGE_MM
    return Sheet(width, height, placed(drawing, -left, -top), sheet.title)


def _corners(mark: Mark) -> tuple[tuple[float, float], ...]:
    if isinstance(mark, Path):
        return mark.points
    if isinstance(mark, Circle):
        (x, y), r = mark.centre, mark.radius_mm
        return ((x - r, y - r), (x + r, y + r))
    return (mark.at,) if isinstance(mark, Text) else ()
