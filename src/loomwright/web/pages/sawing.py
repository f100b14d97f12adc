"""What the saw needs: the template of a panel true to size, and the sheets that the boards are cut from."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from loomwright.drawing import svg, template_pages
from loomwright.errors import InputError, Problem
from loomwright.jobs.boards import sheets_at_hand
from loomwright.study import Study
from loomwright.template.board import template
from loomwright.template.model import Template
from loomwright.template.tiles import tiled
from loomwright.web import frames
from loomwright.web.pages.panel import known_panel, study_in
from loomwright.web.pages.saving import AT
from loomwright.web.pages.tasks import sent
from loomwright.web.units import read
from loomwright.web.view import View, bench_of, page, settings_of, units_of
from loomwright.web.work.sawing import KERF_MM, Saw, Sawing, Sawn, saw

router = APIRouter()
Word = Annotated[str, Query(max_length=200)]
Typed = Annotated[str, Query(max_length=20)]
Ending = Literal["pdf", "page.pdf", "dxf", "svg"]


@page(router, f"{AT}/panel/sawing", "panel/sawing")
def sawing(
    request: Request, job_id: str, stage: str, panel: Word = "", back: bool = False, across: Typed = "",
    down: Typed = "", kerf: Typed = "", units: Typed = "",
) -> View:  # fmt: skip
    """The template of a panel, page by page, and the sheets with their cuts.

    Sizes are typed in the shop's unit of length, or in that of ``units``, as the form sends it along.
    """
    opened = bench_of(request).opened(job_id, stage)
    study = study_in(opened)
    name = known_panel(study, panel)
    made = _template(study, name)
    shown = made.mirrored() if back else made
    paper = settings_of(request).sheet
    tiling = tiled(shown.outline, paper)
    refused: tuple[Problem, ...] = ()
    try:
        given = saw(across, down, kerf, read(units) if units else units_of(request))
    except InputError as error:
        given, refused = Saw(), tuple(error.problems)
    if given.sheet_mm is None:
        given = replace(given, stock=sheets_at_hand(bench_of(request).store.stock()))
    piece = Sawing(opened.revision.text, opened.stage, opened.own, given)
    task = opened.worked.ask_piece(piece, opened.by)
    waits = frames.must_wait(request)
    sawn: Sawn | None = opened.worked.of_piece(piece) if waits else (
        task.value() if task is not None and task.state == "done" else None
    )  # fmt: skip
    settled = frames.settled(request, opened)
    data = {
        "rig": frames.about(opened, settled), "panel": name, "back": back, "template": shown,
        "pages": len(tiling.tiles), "cuttings": sawn.cuttings if sawn is not None else None,
    }  # fmt: skip
    drawn = svg.render(template_pages.map_page(shown, tiling, paper), css_colours=True).partition("\n")[2]
    more = {**frames.around(opened, settled), "drawn_map": drawn, "paper": paper, "refused": refused,
            "typed": {"across": across, "down": down, "kerf": kerf}, "usual_kerf_mm": KERF_MM,
            "sawn": sawn, "typed_sheet": given.sheet_mm is not None,
            "work": task.standing if task is not None and sawn is None else None}  # fmt: skip
    return View("sawing.html", data, more, 422 if refused else 200)


@router.get(AT + "/panel/{name}/template.{ending}", tags=["data"])
def file(
    request: Request, job_id: str, stage: str, name: str, ending: Ending, back: bool = False, download: bool = False
) -> Response:
    """The template of a panel, true to size: tiled or on one page as PDF, as DXF in layers, or as SVG in mm."""
    from loomwright.papers import template as pdf
    from loomwright.template import dxf_file, svg_file

    study = study_in(bench_of(request).opened(job_id, stage))
    made = _template(study, known_panel(study, name))
    made = made.mirrored() if back else made
    called = f"template_{name}{'_back' if back else ''}.{ending}"
    if ending == "pdf":
        return sent(pdf.tiled(made, settings_of(request).sheet), called, download)
    if ending == "page.pdf":
        return sent(pdf.one_page(made), called, download)
    if ending == "dxf":
        return sent(dxf_file.content(made), called, download=True)
    return sent(svg_file.text(made).encode(), called, download)


def _template(study: Study, panel_id: str) -> Template:
    return template(next(b for b in study.boards if b.panel.id == panel_id), study.given.title)
