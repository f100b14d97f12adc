"""The sheets that the boards of a rig are cut from, as long work; each is drawn for the page."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loomwright.web.pieces import Kept, Stage

if TYPE_CHECKING:
    from loomwright.template.cutting import Cutting

KERF_MM = 3.0
STEPS = 3


@dataclass(frozen=True, slots=True)
class Sawn:
    """The boards on their sheets, and a drawing of each sheet as an ``svg`` element."""

    cuttings: tuple[Cutting, ...]
    drawings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sawing:
    """Every panel of a rig laid on usual sheets of its material. Its result is a :class:`Sawn`."""

    text: str
    name: str
    own: str = ""

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
        found = cutting.cuttings(boards, (), KERF_MM)
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
