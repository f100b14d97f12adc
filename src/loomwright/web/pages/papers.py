"""Papers: the report, the gain cards and the diagram, made when asked for."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter, Request
from fastapi.responses import Response

from loomwright.errors import InputError, UnknownName
from loomwright.papers.report import PaperSize
from loomwright.web import frames
from loomwright.web.pages.tasks import made, sent
from loomwright.web.pieces import GainCard, Piece, Report, SingleLine
from loomwright.web.view import View, bench_of, page, settings_of

router = APIRouter()
Paper = Literal["report.pdf", "gain_card.pdf", "single_line.pdf", "single_line.svg", "single_line.png", "rig.toml"]
PAPERS: tuple[tuple[Paper, str, str], ...] = (
    ("report.pdf", "Report", "Cautions, findings, figures, charts and the diagram, for owner and next technician."),
    ("gain_card.pdf", "Gain card", "A page for each amplifier: volts to set, limiter, room for what is measured."),
    ("single_line.pdf", "Diagram, to print", "The power single-line diagram, one sheet of exact size."),
    ("single_line.svg", "Diagram, to draw on", "The same sheet as lines, for a drawing program."),
    ("single_line.png", "Diagram, as a picture", "The same sheet for a message."),
    ("rig.toml", "Rig file", "The one description that all else follows from."),
)


@page(router, "/jobs/{job_id}/{stage}/papers", "papers")
def papers(request: Request, job_id: str, stage: str) -> View:
    """The papers of a rig, to look at, download and print."""
    opened = bench_of(request).opened(job_id, stage)
    study = frames.settled(request, opened)
    rows = [{"file": f, "title": t, "what": w, "url": f"{opened.url}/papers/{f}"} for f, t, w in PAPERS]
    data = {"rig": frames.about(opened, study), "papers": rows, "sheet": sheet_size(request)}
    return View("papers.html", data, frames.around(opened, study))


@router.get("/jobs/{job_id}/{stage}/papers/{name}", tags=["data"])
def paper(request: Request, job_id: str, stage: str, name: Paper, download: bool = False) -> Response:
    """One paper of the rig as it stands. While it is being made, a browser is shown how far it is."""
    opened = bench_of(request).opened(job_id, stage)
    text = opened.revision.text
    if name == "rig.toml":
        return sent(text.encode(), name, download)
    if opened.worked.problems and opened.begun:
        raise InputError(opened.worked.problems)
    if not opened.worked.whole:
        raise UnknownName("no rig in this stage yet. Begin one on the rig page.")
    ending = name.rpartition(".")[2]
    size = sheet_size(request)
    pieces: dict[str, Piece] = {
        "report.pdf": Report(text, opened.stage, size, opened.own),
        "gain_card.pdf": GainCard(text, opened.stage, size, opened.own),
    }
    return made(request, opened, pieces.get(name) or SingleLine(text, opened.stage, ending, opened.own), download)


def sheet_size(request: Request) -> PaperSize:
    """The sheet that the shop has chosen."""
    return settings_of(request).sheet
