"""Drafting off the request path: a list becomes finished rigs, each worked out whole, or the demands that conflict."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loomwright.web.work.pieces import STUDIED, Kept, Stage, Stages
from loomwright.web.work.telling import told

if TYPE_CHECKING:
    from loomwright.draft.results import DraftResult
    from loomwright.protection.results import Verdict
    from loomwright.study import Study

SINGLE, HELD = ("chafe", "amplifier"), ("cleared", "no harm")
MOST = 3
"""Rigs that are offered side by side."""


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
