"""What the panel command writes for the workshop: templates true to size, and the sheets that boards come from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from rich.console import Console

from loomwright.cli import service
from loomwright.cli.terminal import cell, heading, note, put, table
from loomwright.drawing.frame import SheetSize
from loomwright.errors import InputError, Problem

if TYPE_CHECKING:
    from loomwright.panel.results import PanelLayout
    from loomwright.template.cutting import Cutting, PanelGrain
    from loomwright.template.model import Template
    from loomwright.trace.allowances import Allowances

Paper = Literal["a3", "a4", "letter", "tabloid"]
SIZES: dict[str, SheetSize] = {"a3": "A3", "a4": "A4", "letter": "Letter", "tabloid": "Tabloid"}


@dataclass(frozen=True, slots=True)
class Workshop:
    """What is wanted of the boards beside their layout."""

    template: Path | None
    mirrored: bool
    sheets: Path | None
    stock: Path | None
    data: Path | None
    kerf_mm: float
    covering_mm: float
    clearance_mm: float
    saw: Literal["waste", "middle", "board"]
    grain: PanelGrain
    pieces: tuple[str, ...]

    @property
    def any(self) -> bool:
        """Whether anything is wanted."""
        return self.template is not None or self.sheets is not None

    def allowances(self) -> Allowances:
        """What to leave for covering, air and blade."""
        from loomwright.trace.allowances import Allowances

        return Allowances(self.covering_mm, self.clearance_mm, self.saw, self.kerf_mm)

    def check(self) -> None:
        """Refuse options that go with others which are not given."""
        alone = [
            (self.mirrored and self.template is None, "--mirrored", "--template"),
            (bool(self.pieces) and self.sheets is None, "--piece", "--sheets"),
            (self.stock is not None and self.sheets is None, "--stock", "--sheets"),
            (self.data is not None and self.stock != service.SHOP, "--data", "--stock shop"),
        ]
        problems = [
            Problem("command line", f"panel {one}", f"it together with {other}", "it alone",
                    f"Add {other}{' DIR' if ' ' not in other else ''}.")
            for wrong, one, other in alone if wrong
        ]  # fmt: skip
        if not 0.0 <= self.kerf_mm <= 20.0:
            problems.append(Problem(
                "command line", "panel --kerf-mm", "0 to 20 mm", f"{self.kerf_mm:g}", "Measure a cut in scrap.",
            ))  # fmt: skip
        if problems:
            raise InputError(problems)


def templates(layouts: Sequence[PanelLayout], title: str, shop: Workshop) -> list[Template]:
    """The template of each panel, from its face or its back."""
    from loomwright.template.board import template

    made = [template(one, title, shop.allowances()) for one in layouts]
    return [t.mirrored() for t in made] if shop.mirrored else made


def write_templates(
    layouts: Sequence[PanelLayout], made: Sequence[Template], folder: Path, paper: Paper
) -> list[Path]:  # fmt: skip
    """Each template tiled, on one page, as DXF and as SVG."""
    from loomwright.papers import template as pdf
    from loomwright.template import dxf_file, svg_file

    folder.mkdir(parents=True, exist_ok=True)
    size: Literal["a4", "letter"] = "letter" if paper in ("letter", "tabloid") else "a4"
    out = []
    for layout, one in zip(layouts, made, strict=True):
        name = f"template_{layout.panel.id}{'_back' if one.outline.back else ''}"
        for ending, data in (
            (f"_{size}.pdf", pdf.tiled(one, size)), ("_one_page.pdf", pdf.one_page(one)),
            (".dxf", dxf_file.content(one)), (".svg", svg_file.text(one).encode()),
        ):  # fmt: skip
            path = folder / f"{name}{ending}"
            path.write_bytes(data)
            out.append(path)
    return out


def cuttings(
    layouts: Sequence[PanelLayout], made: Sequence[Template], shop: Workshop, rig: Path
) -> tuple[Cutting, ...]:  # fmt: skip
    """The boards on sheets: those of the stock named, of ``stock.toml`` beside the rig, or usual ones."""
    from loomwright.template import cutting

    sheets = service.sheets(rig, shop.stock, shop.data)
    boards = [
        cutting.wanted(layout.panel, one.outline, shop.grain) for layout, one in zip(layouts, made, strict=True)
    ]  # fmt: skip
    return cutting.cuttings(boards, sheets, shop.kerf_mm, cutting.extras(shop.pieces))


def write_sheets(found: Sequence[Cutting], title: str, stage: str, folder: Path, paper: Paper) -> list[Path]:
    """A drawing of each sheet, as PDF and SVG."""
    from loomwright.drawing import cut_sheet, pages

    every = [(c, s, p) for c in found for s, p in zip(c.sheets, c.cuts, strict=True)]
    out = []
    for n, (c, sheet, plan) in enumerate(every, 1):
        drawn = cut_sheet.draw(
            sheet, plan, title, f"{c.material}, {c.thickness_mm:g} mm", c.kerf_mm, SIZES[paper], stage,
            f"{n} / {len(every)}",
        )  # fmt: skip
        out += [pages.write(drawn, folder / f"sheet_{n}.{ending}") for ending in ("pdf", "svg")]
    return out


def show(on: Console, found: Sequence[Cutting]) -> None:
    """The cuts of each sheet in their order."""
    from loomwright.drawing.cut_sheet import what

    for c in found:
        for sheet, plan in zip(c.sheets, c.cuts, strict=True):
            s = sheet.stock
            heading(on, f"Sheet {sheet.number} of {c.material}, {c.thickness_mm:g} mm: {s.id}, {s.width_mm:g} x "
                        f"{s.height_mm:g} mm, {100.0 * sheet.used_share:.0f} % used")  # fmt: skip
            made = table("cut", "fence mm", "edge at fence", "what", left=("edge at fence", "what"))
            for cut in plan.cuts:
                made.add_row(f"{cut.number}", f"{cut.fence_mm:.1f}", cut.against, cell(what(cut)))
            put(on, made)
            if plan.jigsaw:
                note(on, f"Then the jigsaw: {', '.join(plan.jigsaw)}.")
        if c.assumed:
            note(on, f"No sheet of {c.material}, {c.thickness_mm:g} mm, in stock: a usual full sheet was taken.")
        elif c.price:
            note(on, f"The sheets cost {c.price:g}.")
        if c.bound_sheets and len(c.sheets) == c.bound_sheets:
            note(on, f"No layout needs fewer than {c.bound_sheets}.")
        for name in c.left_out:
            note(on, f"{name} goes on no sheet.")
    note(on, "Guard, riving knife and push stick at the saw; eyes, ears and lungs. Never laser PVC.")
