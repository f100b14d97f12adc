"""Drafting off the request path: a list becomes finished rigs, each worked out whole, or the demands that conflict."""

from __future__ import annotations

import queue
import threading
from collections import Counter
from collections.abc import Callable, Generator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from loomwright.web.pieces import STUDIED, Kept, Stage, Stages

if TYPE_CHECKING:
    from loomwright.draft.results import DraftResult
    from loomwright.draft.solving import Say
    from loomwright.protection.results import Verdict
    from loomwright.study import Study

SINGLE, HELD = ("chafe", "amplifier"), ("cleared", "no harm")
MOST = 3
"""Rigs that are offered side by side."""
Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class Drill:
    """How a rig stands its fault drill. ``held`` of ``tried`` single faults, chafes and amplifiers, end in their own
    branch or do no harm; ``other`` counts the verdicts of the rest: fuses swapped, joints loosened, returns lost.
    """

    tried: int
    held: int
    other: Mapping[Verdict, int]


@dataclass(frozen=True, slots=True)
class Drafts:
    """What came of a list: the draft, and for each of its rigs how it stands its fault drill."""

    result: DraftResult
    drills: tuple[Drill, ...]


@dataclass(frozen=True, slots=True)
class Drafted:
    """An equipment list drafted. Its result is a :class:`Drafts`. ``name`` is the stage that the rig is for."""

    text: str
    name: str
    own: str = ""

    @property
    def title(self) -> str:
        return "Draft from the list"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        from loomwright.draft import engine, equipment
        from loomwright.web.catalogues import read_with

        total = 1 + MOST * STUDIED
        yield Stage("Reading the list", 0, total)
        given = equipment.parse(self.text, self.name, read_with(self.own))
        result = yield from told(lambda say: engine.draft(given, MOST, say), lambda words: Stage(words, 0, total))
        drills = []
        for n, found in enumerate(result.alternatives):
            study, _ = yield from kept.study(found.text, self.name, self.own, total, 1 + n * STUDIED)
            drills.append(drill_of(study))
        return Drafts(result, tuple(drills))


def drill_of(study: Study) -> Drill:
    """How a rig stands its fault drill, in numbers."""
    single = [f.verdict for f in study.protection.drill if f.kind in SINGLE]
    other = Counter(f.verdict for f in study.protection.drill if f.kind not in SINGLE)
    return Drill(len(single), sum(v in HELD for v in single), dict(other))


class _Left(Exception):
    """Nobody waits for it any more."""


def told(work: Callable[[Say], Made], stage: Callable[[str], Stage]) -> Generator[Stage, None, Made]:
    """Work that says what it does, as stages. Where nobody asks for the next stage, it ends with its next word."""
    said: queue.SimpleQueue[str | None] = queue.SimpleQueue()
    left = threading.Event()
    made: list[Made] = []
    failed: list[BaseException] = []

    def say(words: str) -> None:
        if left.is_set():
            raise _Left
        said.put(words)

    def run() -> None:
        try:
            made.append(work(say))
        except BaseException as error:
            failed.append(error)
        finally:
            said.put(None)

    thread = threading.Thread(target=run, name="draft", daemon=True)
    thread.start()
    try:
        while (words := said.get()) is not None:
            yield stage(words)
    finally:
        left.set()
    thread.join()
    if failed:
        raise failed[0]
    return made[0]
