"""Long work: how far it is, what came of it, and a way to stop it. The address names the work, so a reload finds it."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from loomwright.errors import UnknownName
from loomwright.web import frames
from loomwright.web.service import Bench, Opened
from loomwright.web.view import View, bench_of, go, page, wants_page
from loomwright.web.work.pieces import Piece
from loomwright.web.work.tasks import Task

router = APIRouter()
AT = "/jobs/{job_id}/{stage}/tasks/{key}"
_NO_PAPER = "nothing to print: this rig has nothing for that paper."
_NO_DIAGRAM = "no diagram: the rig has more items than a sheet can show. Print the pack instead."
_NO_CARD = "no gain card: no signal reaches an amplifier with a loudspeaker on it. Draw the line leads first."
_TYPES = {"pdf": "application/pdf", "svg": "image/svg+xml", "png": "image/png", "toml": "application/toml",
          "csv": "text/csv; charset=utf-8", "dxf": "image/vnd.dxf"}


@page(router, AT, "task")
def task(request: Request, job_id: str, stage: str, key: str, download: bool = False) -> View:
    """How a piece of long work stands."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    found = _found(bench, key)
    standing = found.standing
    file = f"{opened.url}/tasks/{standing.key}/file" if standing.state == "done" and found.piece.file else None
    data = {"rig": frames.about(opened, None), "task": standing, "file": file}
    error = found.error
    why = str(error) if standing.state == "failed" and error is not None else ""
    return View("task.html", data, {"o": opened, "download": download, "tabs": frames.RIG_PAGES, "why": why,
                                    "last": opened.job.revision, "named": bool(found.piece.file)})  # fmt: skip


@router.get(AT + "/file", tags=["data"])
def file(request: Request, job_id: str, stage: str, key: str, download: bool = False) -> Response:
    """The paper that a piece of work has made."""
    bench = bench_of(request)
    bench.opened(job_id, stage)
    found = _found(bench, key)
    if not found.piece.file:
        raise UnknownName("no paper comes of that work. Go back to the papers.")
    return _paper(bench, found, download)


@router.post(AT + "/stop", tags=["writes"])
def stop(request: Request, job_id: str, stage: str, key: str) -> Response:
    """Stop a piece of work; it can be begun again."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    _found(bench, key)
    bench.tasks.stop(key)
    return go(f"{opened.url}/tasks/{key}")


@router.post(AT + "/again", tags=["writes"])
def again(request: Request, job_id: str, stage: str, key: str) -> Response:
    """Begin a piece of work again that was stopped or failed."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    found = _found(bench, key)
    bench.tasks.ask(found.piece, opened.by, asked=found.asked, again=True)
    return go(f"{opened.url}/tasks/{key}")


def made(request: Request, opened: Opened, piece: Piece, download: bool) -> Response:
    """The paper that a piece of work makes; a browser that would have to wait is shown how far it is."""
    bench = bench_of(request)
    asked = bench.tasks.ask(piece, opened.by, asked=True, again=True)
    if asked.live and wants_page(request):
        return go(f"{opened.url}/tasks/{asked.key}" + ("?download=true" if download else ""))
    return _paper(bench, asked, download)


def sent(content: bytes, name: str, download: bool) -> Response:
    """A paper as a file."""
    ending = name.rpartition(".")[2]
    way = "attachment" if download or ending in ("svg", "toml", "csv") else "inline"
    headers = {"content-disposition": f'{way}; filename="{name}"'}
    return Response(content, media_type=_TYPES[ending], headers=headers)


def _paper(bench: Bench, task: Task, download: bool) -> Response:
    content: bytes = bench.tasks.wait(task)
    if not content:
        stem = task.piece.file.partition(".")[0]
        raise UnknownName({"gain_card": _NO_CARD, "single_line": _NO_DIAGRAM}.get(stem, _NO_PAPER))
    return sent(content, task.piece.file, download)


def _found(bench: Bench, key: str) -> Task:
    found = bench.tasks.find(key)
    if found is None:
        raise UnknownName("no such work in hand: the server has begun anew, or it was long ago. Ask for it again.")
    return found
