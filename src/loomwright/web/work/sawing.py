"""The sheets that the boards of a rig are cut from, as long work; each is drawn for the page."""

from __future__ import annotations

from collections.abc import Generator, Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from loomwright.errors import InputError, Problem
from loomwright.web.lengths import length_mm
from loomwright.web.units import Units
from loomwright.web.work.pieces import Kept, Stage

if TYPE_CHECKING:
    from loomwright.template.cutting import Cutting, Wanted
    from loomwright.template.sheet_stock import Sheet

KERF_MM = 3.0
STEPS = 3
SIDE_MM = (50.0, 5000.0)
BLADE_MM = (0.5, 10.0)


@dataclass(frozen=True, slots=True)
class Saw:
    """What is cut from and with: the size of the sheet where it is said, else the shop's stock; and the blade."""

    sheet_mm: tuple[float, float] | None = None
    kerf_mm: float = KERF_MM
    stock: tuple[Sheet, ...] = ()

    def sheets(self, boards: Iterable[Wanted]) -> tuple[Sheet, ...]:
        """Sheets of that size for each material and thickness; those of the stock where no size is said."""
        from loomwright.template.sheet_stock import usual

        if self.sheet_mm is None:
            return self.stock
        width, height = self.sheet_mm
        kinds = dict.fromkeys((b.material, b.thickness_mm) for b in boards)
        return tuple(replace(usual(m, t), width_mm=width, height_mm=height) for m, t in kinds)


def saw(across: str, down: str, kerf: str, units: Units) -> Saw:
    """What is typed on the page, in the reader's units; left out, usual sheets and a usual blade.

    Raises
    ------
    InputError
        Where something is no length, or a sheet has one side only.
    """
    typed = [(name, words) for name, words in (("across", across), ("down", down)) if words.strip()]
    sides = [length_mm("sheet", name, words, SIDE_MM, units) for name, words in typed]
    if len(sides) == 1:
        raise InputError([Problem("sheet", "size", "both sides of it", "one of them", "Type the other one too.")])
    blade = length_mm("sheet", "saw cut", kerf, BLADE_MM, units) if kerf.strip() else KERF_MM
    return Saw((sides[0], sides[1]) if sides else None, blade)


@dataclass(frozen=True, slots=True)
class Sawn:
    """The boards on their sheets, and a drawing of each sheet as an ``svg`` element."""

    cuttings: tuple[Cutting, ...]
    drawings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sawing:
    """Every panel of a rig laid on sheets of its material. Its result is a :class:`Sawn`."""

    text: str
    name: str
    own: str = ""
    saw: Saw = Saw()

    @property
    def title(self) -> str:
        return "Sheets to saw"

    @property
    def file(self) -> str:
        return ""

    def stages(self, kept: Kept) -> Generator[Stage, None, Sawn]:
        """Sizes, sheets, drawings."""
        from loomwright.drawing import cut_sheet, svg
        from loomwright.rig.file import parse
        from loomwright.study import Study
        from loomwright.template import cutting
        from loomwright.template.board import template
        from loomwright.web.catalogues import read_with

        yield Stage("Sizes", 0, STEPS)
        study = Study(parse(self.text, self.name, read_with(self.own)))
        title = study.given.title
        boards = [cutting.wanted(b.panel, template(b, title).outline) for b in study.boards]
        yield Stage("Sheets", 1, STEPS)
        found = cutting.cuttings(boards, self.saw.sheets(boards), self.saw.kerf_mm)
        yield Stage("Drawings", 2, STEPS)
        every = [(c, s, p) for c in found for s, p in zip(c.sheets, c.cuts, strict=True)]
        drawings = tuple(
            svg.render(cut_sheet.draw(
                sheet, plan, title, f"{c.material}, {c.thickness_mm:g} mm", c.kerf_mm, "A3", study.given.stage,
                f"{n} / {len(every)}",
            ), css_colours=True).partition("\n")[2]
            for n, (c, sheet, plan) in enumerate(every, 1)
        )  # fmt: skip
        return Sawn(found, drawings)
