"""Long work for the loom: the harness with its sections, its cutting plan over the shop's stock, its labels."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loomwright.drawing.marks import Group, Mark
from loomwright.web.work.pieces import STUDIED, Kept, Stage, Stages

if TYPE_CHECKING:
    from loomwright.loom.cut_plan import CutPlan
    from loomwright.loom.results import LoomResult
    from loomwright.loom.shopping import Buy, Consumable
    from loomwright.loom.stock_file import Spool
    from loomwright.papers.paper import PaperSize
    from loomwright.study import Study


@dataclass(frozen=True, slots=True)
class Harnessed:
    """The harness of a rig. ``sections`` are ``svg`` elements by the number of the run."""

    loom: LoomResult
    small: tuple[Consumable, ...]
    sections: Mapping[int, str]


@dataclass(frozen=True, slots=True)
class CutOut:
    """What to cut from which spool, and what to buy. ``plan`` is None where there is no stock to cut from."""

    plan: CutPlan | None
    buys: tuple[Buy, ...]


@dataclass(frozen=True, slots=True)
class Harness:
    """The harness worked out. Its result is a :class:`Harnessed`."""

    text: str
    name: str
    own: str = ""

    @property
    def title(self) -> str:
        return "Harness"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        from loomwright.loom.shopping import consumables

        study, _ = yield from kept.study(self.text, self.name, self.own, STUDIED + 2)
        yield Stage("Bundles, ends, ring-out", STUDIED, STUDIED + 2)
        loom = study.loom
        yield Stage("Sections", STUDIED + 1, STUDIED + 2)
        return Harnessed(loom, consumables(study.rig, loom), sections(study))


@dataclass(frozen=True, slots=True)
class Cutting:
    """The cutting plan over spools of the stock. Its result is a :class:`CutOut`."""

    text: str
    name: str
    own: str
    spools: tuple[Spool, ...]

    @property
    def title(self) -> str:
        return "Cutting plan"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        from loomwright.loom.cut_plan import pieces, plan
        from loomwright.loom.shopping import wire_to_buy

        study, _ = yield from kept.study(self.text, self.name, self.own, STUDIED + 2)
        yield Stage("Lengths", STUDIED, STUDIED + 2)
        wanted = pieces(study.loom.wires)
        yield Stage("Cutting plan", STUDIED + 1, STUDIED + 2)
        made = plan(wanted, self.spools) if self.spools else None
        return CutOut(made, wire_to_buy(wanted if made is None else made.missing))


@dataclass(frozen=True, slots=True)
class Drawing:
    """One sheet of the drawings as an ``svg`` element in the page's colours; ``wires`` are those that it shows."""

    id: str
    title: str
    svg: str
    wires: frozenset[str]


@dataclass(frozen=True, slots=True)
class Drawings:
    """Every drawing of a rig, as pages show them. Its result is a tuple of :class:`Drawing`."""

    text: str
    name: str
    own: str = ""

    @property
    def title(self) -> str:
        return "Drawings"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Stages:
        from loomwright.drawing import svg
        from loomwright.drawing.sheets import sheets

        study, _ = yield from kept.study(self.text, self.name, self.own, STUDIED + 2)
        yield Stage("Map, faces and wiring", STUDIED, STUDIED + 2)
        made = sheets(study)
        yield Stage("Colours of the page", STUDIED + 1, STUDIED + 2)
        return tuple(
            Drawing(s.id, s.title, svg.render(s.drawing, css_colours=True).partition("\n")[2],
                    frozenset(_wires(s.drawing.marks)))
            for s in made
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Labels:
    """A sheet of labels for both ends of every wire, as PDF. Sizes and gaps in mm."""

    text: str
    name: str
    own: str
    label_mm: tuple[float, float]
    gap_mm: tuple[float, float]
    paper: PaperSize

    @property
    def title(self) -> str:
        return "Labels"

    @property
    def file(self) -> str:
        return "labels.pdf"

    def stages(self, kept: Kept) -> Stages:
        from loomwright.papers import labels

        study, _ = yield from kept.study(self.text, self.name, self.own, STUDIED + 2)
        yield Stage("Ends", STUDIED, STUDIED + 2)
        wires = study.loom.wires
        yield Stage("Setting the sheet", STUDIED + 1, STUDIED + 2)
        sheet = labels.sheet_of(self.label_mm, self.paper, self.gap_mm)
        return labels.pdf(wires, sheet, f"Labels, {study.given.title}")


def _wires(marks: Iterable[Mark]) -> Iterator[str]:
    for mark in marks:
        if isinstance(mark, Group):
            if mark.kind == "wire" and mark.ref:
                yield mark.ref
            yield from _wires(mark.marks)


def sections(study: Study) -> dict[int, str]:
    """The section of every bundle as an ``svg`` element in the page's colours."""
    from loomwright.drawing import bundle_section, svg
    from loomwright.facts import colours

    cores = {
        w.id: bundle_section.Core(w.colour, f"{w.id}: {w.size}, {colours.words(w.colour)}") for w in study.loom.wires
    }
    return {
        b.run: svg.render(bundle_section.draw(b, cores), css_colours=True).partition("\n")[2]
        for b in study.loom.bundles
    }
