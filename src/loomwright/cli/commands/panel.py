"""``panel``: what lies where on the panels and against which rules; with --place the cheapest layout, proven."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer
from rich.console import Console

from loomwright.cli import answer, board_files, service
from loomwright.cli.commands import check
from loomwright.cli.commands._options import AsJson, Data, RigFile
from loomwright.cli.names import no_such
from loomwright.cli.terminal import cell, console, copyable, heading, note, put, table, waiting
from loomwright.drawing.figures import NOTHING
from loomwright.errors import InputError, Problem

if TYPE_CHECKING:
    from loomwright.findings.model import Finding
    from loomwright.panel.place import Progress, Tell
    from loomwright.panel.results import PanelLayout, Placement
    from loomwright.study import Study
    from loomwright.template.cutting import Cutting

NAME = "panel"
UNFIT = 1
FEWEST, MOST = 100, 10_000_000

Only = Annotated[str | None, typer.Option("--panel", metavar="NAME", help="Only this panel.", show_default=False)]
Place = Annotated[bool, typer.Option("--place", help="Find the cheapest layout that keeps the rules, and prove it.")]
Write = Annotated[bool, typer.Option("--write", help="With --place: write the places into the rig file.")]
Effort = Annotated[int, typer.Option("--effort", help="Nodes to look at before stopping; 1000 take about a second.")]
Drawings = Annotated[
    Path | None,
    typer.Option("--drawings", metavar="DIR", help="Folder for a drawing of each panel.", show_default=False),
]
DrawingPaper = Annotated[Literal["a3", "a4", "letter", "tabloid"], typer.Option("--paper", help="Size of the paper.")]

TemplateTo = Annotated[
    Path | None,
    typer.Option(
        "--template", metavar="DIR", help="Folder for templates true to size: PDF to tile and on one page, DXF, SVG.",
        show_default=False,
    ),
]  # fmt: skip
Mirrored = Annotated[bool, typer.Option("--mirrored", help="With --template: as seen from the back.")]
SheetsTo = Annotated[
    Path | None,
    typer.Option("--sheets", metavar="DIR", help="Folder for the sheets that boards are cut from.", show_default=False),
]
StockOption = Annotated[
    Path | None,
    typer.Option(
        "--stock", metavar="FILE", help="With --sheets: a stock file with the shop's sheets, or `shop` for the stock "
        "kept in the browser. Left out: stock.toml beside the rig, else a usual full sheet.", show_default=False,
    ),
]  # fmt: skip
Kerf = Annotated[float, typer.Option("--kerf-mm", help="Width of the cut.")]
Covering = Annotated[float, typer.Option("--covering-mm", help="Thickness of a covering that wraps the edge.")]
Clearance = Annotated[float, typer.Option("--clearance-mm", help="Air to leave all round.")]
Saw = Annotated[
    Literal["waste", "middle", "board"],
    typer.Option("--saw", help="Where the blade runs: on the waste side of the line, on it, or inside."),
]
GrainOption = Annotated[
    Literal["any", "across", "down"], typer.Option("--grain", help="Which way the sheet's grain runs on the boards.")
]
More = Annotated[
    list[str] | None,
    typer.Option(
        "--piece", metavar="NAME=WxH", help="With --sheets: another rectangle to cut, such as lid=300x200 or "
        "plate=120x80*2. Repeat it.", show_default=False,
    ),
]  # fmt: skip


def command(
    rig: RigFile,
    panel: Only = None,
    place: Place = False,
    write: Write = False,
    effort: Effort = 60_000,
    drawings: Drawings = None,
    paper: DrawingPaper = "a3",
    template: TemplateTo = None,
    mirrored: Mirrored = False,
    sheets: SheetsTo = None,
    stock: StockOption = None,
    data: Data = None,
    kerf_mm: Kerf = 3.0,
    covering_mm: Covering = 0.0,
    clearance_mm: Clearance = 0.0,
    saw: Saw = "waste",
    grain: GrainOption = "any",
    piece: More = None,
    as_json: AsJson = False,
) -> int:
    """The panels: what lies where, what to drill, how the leads run, what is against the rules.

    With --place, the layout with the least copper that keeps every rule, proven or with the gap that is left; where
    nothing fits, why, and the smallest changes that would make it fit. Ctrl-C stops the search and shows the best.
    With --template, what to cut and drill true to size, to print; with --sheets, the boards on the shop's sheets.
    """
    shop = board_files.Workshop(
        template, mirrored, sheets, stock, data, kerf_mm, covering_mm, clearance_mm, saw, grain, tuple(piece or ())
    )
    shop.check()
    study = service.open_study(rig)
    wanted = _wanted(study, panel)
    if not FEWEST <= effort <= MOST:
        raise InputError(
            [
                Problem(
                    "command line",
                    "panel --effort",
                    f"a whole number from {FEWEST} to {MOST:,}",
                    f"{effort}",
                    "60000 is usual.",
                )
            ]
        )
    if write and not place:
        raise InputError(
            [Problem("command line", "panel --write", "it together with --place", "it alone", "Add --place.")]
        )
    placements = [_placed(study, name, effort, rig) for name in wanted] if place else []
    if write:
        study = _written(study, rig, placements)
    with waiting("Laying the leads"):
        layouts = _layouts(study, wanted, placements)
    files = [*_draw(study, layouts, drawings, paper)] if drawings is not None else []
    made = board_files.templates(layouts, study.given.title, shop) if shop.any else []
    cut: tuple[Cutting, ...] = ()
    if template is not None:
        with waiting("Drawing the templates"):
            files += board_files.write_templates(layouts, made, template, paper)
    if sheets is not None:
        with waiting("Laying the boards on sheets"):
            cut = board_files.cuttings(layouts, made, shop, rig)
            files += board_files.write_sheets(cut, study.given.title, study.given.stage, sheets, paper)
    code = UNFIT if any(p.status == "cannot fit" for p in placements) else 0
    found = () if placements and not write else _findings(study, wanted)
    if as_json:
        answer.give(NAME, {"rig": check.summary(study.given), "panels": [x.as_data() for x in layouts],
                           "placements": placements, "findings": found, "sheets": cut, "files": files})  # fmt: skip
        return code
    on = console()
    check.title(on, study.given)
    if not wanted:
        note(on, 'This rig has no panel: add a table [panel.name], and panel = "name" to the items on it.')
    for layout in layouts:
        placed = next((p for p in placements if p.panel == layout.panel.id), None)
        if placed is not None:
            _proof(on, placed)
        if placed is None or placed.spots:
            _layout(on, layout)
    if found:
        check.show(on, found)
    if cut:
        board_files.show(on, cut)
    for f in files:
        copyable(on, str(f))
    if wanted:
        note(on, "Look behind the board before you drill: tanks, wires, pipes. Isolate the battery first.")
    return code


def _wanted(study: Study, panel: str | None) -> tuple[str, ...]:
    names = tuple(study.given.panels)
    if panel is not None and panel not in names:
        raise no_such("panel --panel", "panel", panel, names)
    return names if panel is None else (panel,)


def _findings(study: Study, wanted: Sequence[str]) -> tuple[Finding, ...]:
    """What the checks of panels say of these ones."""
    from loomwright.findings.run import check_panels

    return tuple(f for f in check_panels(study) if set(wanted) & set(f.where))


def _placed(study: Study, name: str, effort: int, rig: Path) -> Placement:
    from loomwright.panel.place import place
    from loomwright.rig.catalogue import beside

    with _progress(name) as tell:
        return place(study.rig, name, effort=effort, tell=tell, catalogue=beside(rig))


@contextmanager
def _progress(name: str) -> Iterator[Tell]:
    """A line on the error stream, if someone is watching, that says how far the search is; Ctrl-C stops it."""
    import signal
    import threading

    on = console(sys.stderr)
    stopped = threading.Event()
    main = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGINT, lambda *_: stopped.set()) if main else None
    status = on.status(f"Panel {name}: starting") if on.is_terminal else None
    if status is not None:
        status.start()

    def tell(p: Progress) -> bool:
        if status is not None:
            cost = "" if p.cost_g is None else f", {p.cost_g:.0f} g"
            proven = "" if p.bound_g is None else f", at least {p.bound_g:.0f} g"
            status.update(f"Panel {name}: {p.stage}{cost}{proven}, {p.nodes} nodes")
        return stopped.is_set()

    try:
        yield tell
    finally:
        if status is not None:
            status.stop()
        if main:
            signal.signal(signal.SIGINT, before)


def _written(study: Study, rig: Path, placements: Sequence[Placement]) -> Study:
    """The study of the rig file with the places in it."""
    from loomwright.panel.write import written
    from loomwright.rig.read import read_text

    text = read_text(rig)
    for p in placements:
        text = written(text, study.given, p)
    rig.write_text(text, encoding="utf-8")
    return service.open_study(rig)


def _layouts(study: Study, wanted: Sequence[str], placements: Sequence[Placement]) -> list[PanelLayout]:
    from loomwright.panel.layout import layout

    spots = {p.panel: p.spots for p in placements if p.spots}
    return [layout(study.rig, name, spots.get(name)) if name in spots else study.panels.layout(name) for name in wanted]


def _draw(study: Study, layouts: Sequence[PanelLayout], folder: Path, paper: str) -> tuple[Path, ...]:
    from loomwright.drawing import board, pages

    size = {"a3": "A3", "a4": "A4", "letter": "Letter", "tabloid": "Tabloid"}[paper]
    out = []
    for n, one in enumerate(layouts, 1):
        made = board.draw(one, study.given.title, size, study.given.stage, f"{n} / {len(layouts)}")  # type: ignore[arg-type]
        out += [pages.write(made, folder / f"panel_{one.panel.id}.{ending}") for ending in ("svg", "pdf", "png")]
    return tuple(out)


def _proof(on: Console, found: Placement) -> None:
    heading(on, f"Panel {found.panel}: placed" if found.spots else f"Panel {found.panel}: {found.status}")
    cost = found.cost
    if cost is not None:
        proof = (
            f"no layout costs less than {found.bound_g:.1f} g" if found.status == "proven"
            else f"stopped; proven so far: nothing costs less than {found.bound_g:.1f} g"
        )  # fmt: skip
        note(on, f"{cost.total_g:.1f} g: {cost.copper_g:.1f} g of copper, {cost.crossings} of feeds with line leads, "
                 f"{cost.hot_pairs} warm pairs; {proof}; gap {100 * found.gap:.1f} %.")  # fmt: skip
    for line in found.why:
        on.print(line, soft_wrap=True)
    if found.clash:
        note(on, f"Fewest items that clash: {', '.join(found.clash)}.")
    if found.status == "cannot fit":
        for r in found.relaxations:
            on.print(f"  would fit: {r.text}", soft_wrap=True)
        if not found.relaxations:
            note(on, "No single change was found that makes it fit.")
    elif found.status == "not found":
        note(on, "No layout was found, and none is ruled out: try a larger --effort.")


def _layout(on: Console, layout: PanelLayout) -> None:
    width, height = layout.panel.size_mm
    heading(on, f"Panel {layout.panel.id} at {layout.panel.place}, {width:g} x {height:g} mm")
    made = table("item", "across", "down", "width", "depth", "turn", "layer", left=("item",))
    for i in layout.items:
        made.add_row(cell(i.id), *(f"{v:g}" for v in (*i.at_mm, *i.size_mm)), f"{i.turn_deg}", f"{i.layer}")
    for name in layout.unplaced:
        made.add_row(cell(name), *(NOTHING,) * 6)
    put(on, made)
    for b in layout.broken:
        on.print(f"  {b.text}", soft_wrap=True)
    held = sum(lead.held for lead in layout.leads)
    mixed = sum(c.mixed for c in layout.crossings)
    note(on, f"{len(layout.drills)} holes. {len(layout.leads)} leads, {held} of them in lanes that keep their bends; "
             f"{len(layout.crossings)} crossings, {mixed} of a feed with a line lead.")  # fmt: skip
