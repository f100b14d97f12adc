"""Papers: the report and the diagram, made when asked for."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Literal

from fastapi import APIRouter, Request
from fastapi.responses import Response

from loomwright.errors import InputError, UnknownName
from loomwright.papers.report import PaperSize, build
from loomwright.web import frames
from loomwright.web.view import SHEET_COOKIE, View, bench_of, page

router = APIRouter()
Paper = Literal["report.pdf", "single_line.pdf", "single_line.svg", "single_line.png", "rig.toml"]
PAPERS: tuple[tuple[Paper, str, str], ...] = (
    ("report.pdf", "Report", "Cautions, findings, figures, charts and the diagram, for owner and next technician."),
    ("single_line.pdf", "Diagram, to print", "The power single-line diagram, one sheet of exact size."),
    ("single_line.svg", "Diagram, to draw on", "The same sheet as lines, for a drawing program."),
    ("single_line.png", "Diagram, as a picture", "The same sheet for a message."),
    ("rig.toml", "Rig file", "The one description that all else follows from."),
)
_TYPES = {"pdf": "application/pdf", "svg": "image/svg+xml", "png": "image/png", "toml": "application/toml"}


@page(router, "/jobs/{job_id}/{stage}/papers", "papers")
def papers(request: Request, job_id: str, stage: str) -> View:
    """The papers of a rig, to look at, download and print."""
    opened = bench_of(request).opened(job_id, stage)
    study = frames.settled(request, opened)
    rows = [{"file": f, "title": t, "what": w, "url": f"{opened.url}/papers/{f}"} for f, t, w in PAPERS]
    data = {"rig": frames.about(opened, study), "papers": rows, "sheet": _size(request)}
    return View("papers.html", data, frames.around(bench_of(request), opened, study))


@router.get("/jobs/{job_id}/{stage}/papers/{name}", tags=["data"])
def paper(request: Request, job_id: str, stage: str, name: Paper, download: bool = False) -> Response:
    """One paper, set now from the rig as it stands."""
    opened = bench_of(request).opened(job_id, stage)
    if name == "rig.toml":
        content = opened.revision.text.encode()
    else:
        study = opened.worked.study
        if study is None:
            if opened.worked.problems:
                raise InputError(opened.worked.problems)
            raise UnknownName("no rig in this stage yet. Begin one on the rig page.")
        with tempfile.TemporaryDirectory(prefix="loomwright-") as folder:
            files = {p.name: p for p in build(study, opened.worked.findings, Path(folder), _size(request))}
            if name not in files:
                raise UnknownName("no diagram: the rig has nothing to draw. Add items and wires first.")
            content = files[name].read_bytes()
    ending = name.rpartition(".")[2]
    way = "attachment" if download or ending in ("svg", "toml") else "inline"
    headers = {"content-disposition": f'{way}; filename="{name}"'}
    return Response(content, media_type=_TYPES[ending], headers=headers)


def _size(request: Request) -> PaperSize:
    return "letter" if request.cookies.get(SHEET_COOKIE) == "letter" else "a4"
