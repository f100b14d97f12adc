"""The advice off the request path: what would help, which amplifiers suit, the chances; and all of it on paper."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from loomwright.errors import InputError, Problem
from loomwright.web.work.pieces import STUDIED, Kept, Rig, Stage, Stages
from loomwright.web.work.telling import told

if TYPE_CHECKING:
    from loomwright.advice.chances import Chances
    from loomwright.rig.model import Rig as Given


@dataclass(frozen=True, slots=True)
class Helped:
    """What would help a rig. Its result is a :class:`loomwright.advice.results.Help`."""

    text: str
    name: str
    own: str = ""

    @property
    def title(self) -> str:
        return "What would help"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        from loomwright.advice.helping import what_would_help
        from loomwright.web.catalogues import read_with

        study, found = yield from kept.study(self.text, self.name, self.own, STUDIED + 1)
        parts = read_with(self.own)
        return (
            yield from told(
                lambda say: what_would_help(study, self.text, parts, found, say),
                lambda words: Stage(words, STUDIED, STUDIED + 1),
            )
        )


@dataclass(frozen=True, slots=True)
class Suited:
    """Which amplifiers suit. Its result is a tuple of :class:`loomwright.advice.equipment.Position`."""

    text: str
    name: str
    own: str = ""

    @property
    def title(self) -> str:
        return "Amplifiers that suit"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        from loomwright.advice.equipment import equipment
        from loomwright.web.catalogues import read_with

        study, _ = yield from kept.study(self.text, self.name, self.own, STUDIED + 1)
        yield Stage("Amplifiers", STUDIED, STUDIED + 1)
        return equipment(study, read_with(self.own))


@dataclass(frozen=True, slots=True)
class Chanced:
    """The chance that a rig works. Its result is a :class:`loomwright.advice.chances.Chances`."""

    text: str
    name: str
    own: str = ""

    @property
    def title(self) -> str:
        return "Chances"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        study, _ = yield from kept.study(self.text, self.name, self.own, STUDIED + 1)
        yield Stage("Drawing rigs", STUDIED, STUDIED + 1)
        return drawn(study.rig)


def drawn(rig: Given) -> Chances:
    """The chances of a rig. Raises InputError where there is nothing to draw."""
    from loomwright.advice.chances import chances

    try:
        return chances(rig)
    except ValueError:
        expected, received = "amplifiers that hold at loud", "no amplifier, or none that holds"
        raise InputError([Problem("rig", "chances", expected, received, "See the findings first.")]) from None


@dataclass(frozen=True, slots=True)
class AdvicePaper:
    """The advice on paper: moves, levers, amplifiers, chances."""

    rig: Rig

    @property
    def title(self) -> str:
        return "What would help, on paper"

    @property
    def file(self) -> str:
        return "advice.pdf"

    def stages(self, kept: Kept) -> Stages:
        from loomwright.advice.equipment import equipment
        from loomwright.advice.helping import what_would_help
        from loomwright.papers import pack
        from loomwright.papers.order import Advice
        from loomwright.web.catalogues import read_with

        begun, total = self.rig.studied, self.rig.studied + 3
        order = yield from self.rig.order(kept, total)
        study, parts = order.study, read_with(self.rig.own)
        helps = yield from told(
            lambda say: what_would_help(study, self.rig.text, parts, tuple(order.findings), say),
            lambda words: Stage(words, begun, total),
        )
        yield Stage("Drawing rigs", begun + 1, total)
        try:
            chances = drawn(study.rig)
        except InputError:
            chances = None
        yield Stage("Setting the pages", begun + 2, total)
        advice = Advice(helps, equipment(study, parts), chances)
        return pack.one_part(replace(order, advice=advice), "advice") or b""
