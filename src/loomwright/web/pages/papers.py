"""Papers: the pack, each of its parts and the diagram, made when asked for."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import APIRouter, Request
from fastapi.responses import Response

from loomwright.errors import InputError, UnknownName
from loomwright.papers import pack
from loomwright.papers.paper import PaperSize
from loomwright.web import frames
from loomwright.web.pages.tasks import made, sent
from loomwright.web.service import Opened
from loomwright.web.view import View, bench_of, page, settings_of
from loomwright.web.work.advising import AdvicePaper
from loomwright.web.work.pieces import Pack, PackPart, Piece, Rig, SingleLine

router = APIRouter()
WHOLE = ("pack.pdf", "The pack", "Everything below in one PDF, for owner, builder and next technician.")
PARTS = tuple((f"{p.name}.pdf", p.title, p.what) for p in pack.PARTS if p.name != "before_and_after")
ADVICE = ("advice.pdf", "What would help", "Moves that were tried, amplifiers that suit, the chances.")
FILES = (
    ("single_line.svg", "Power diagram, to draw on", "One sheet as lines, for a drawing program."),
    ("single_line.pdf", "Power diagram, to print", "The power single-line diagram, one sheet of exact size."),
    ("single_line.png", "Power diagram, as a picture", "The same sheet for a message."),
    ("rig.toml", "Rig file", "The one description that all else follows from."),
)
_NAMES = frozenset(name for name, _, _ in (WHOLE, *PARTS, ADVICE, *FILES))


@page(router, "/jobs/{job_id}/{stage}/papers", "papers")
def papers(request: Request, job_id: str, stage: str) -> View:
    """The papers of a rig, to look at, download and print."""
    opened = bench_of(request).opened(job_id, stage)
    study = frames.settled(request, opened)

    def rows(listed: tuple[tuple[str, str, str], ...]) -> list[dict[str, str]]:
        return [{"file": f, "title": t, "what": w, "url": f"{opened.url}/papers/{f}"} for f, t, w in listed]

    every = rows((WHOLE, *PARTS, ADVICE, *FILES))
    data = {"rig": frames.about(opened, study), "papers": every, "sheet": sheet_size(request)}
    groups = (
        ("", rows((WHOLE,))), ("Parts of it", rows(PARTS)), ("By itself", rows((ADVICE,))), ("Files", rows(FILES)),
    )  # fmt: skip
    return View("papers.html", data, {**frames.around(opened, study), "groups": groups})


@router.get("/jobs/{job_id}/{stage}/papers/{name}", tags=["data"])
def paper(request: Request, job_id: str, stage: str, name: str, download: bool = False) -> Response:
    """One paper of the rig as it stands. While it is being made, a browser is shown how far it is."""
    if name not in _NAMES:
        raise UnknownName(f"no paper of that name. There are: {', '.join(sorted(_NAMES))}.")
    opened = bench_of(request).opened(job_id, stage)
    text = opened.revision.text
    if name == "rig.toml":
        return sent(text.encode(), name, download)
    if opened.worked.problems and opened.begun:
        raise InputError(opened.worked.problems)
    if not opened.worked.whole:
        raise UnknownName("no rig in this stage yet. Begin one on the rig page.")
    stem, _, ending = name.rpartition(".")
    piece: Piece
    if stem == "single_line":
        piece = SingleLine(text, opened.stage, ending, opened.own)
    elif stem == "advice":
        piece = AdvicePaper(on_paper(request, opened, stock=False))
    elif stem == "pack":
        piece = Pack(on_paper(request, opened, _earlier(request, opened)))
    else:
        piece = PackPart(on_paper(request, opened, stock=stem in pack.FROM_STOCK), stem)
    return made(request, opened, piece, download)


def on_paper(
    request: Request, opened: Opened, before: Opened | None = None, between: Sequence[Opened] = (), *,
    stock: bool = True,
) -> Rig:
    """A rig as the shop wants it on paper: sheet and units by its settings, cut from
    its spools where those matter, an earlier stage beside it.
    """
    chosen = settings_of(request)
    earlier = ("", "") if before is None else (before.revision.text, before.stage)
    spools = bench_of(request).wire_in_stock().spools if stock else ()
    return Rig(
        opened.revision.text, opened.stage, chosen.sheet, chosen.length_unit, chosen.temperature_unit, opened.own,
        spools or None, *earlier, tuple((b.revision.text, b.stage) for b in between),
    )  # fmt: skip


def _earlier(request: Request, opened: Opened) -> Opened | None:
    """The stage before this one, where it has a whole rig."""
    before = [s for s in opened.stages if s != opened.stage]
    order = [s for s in ("as found", "planned", "as built") if s in before or s == opened.stage]
    at = order.index(opened.stage) if opened.stage in order else 0
    if at == 0:
        return None
    found = bench_of(request).opened(opened.job.id, order[at - 1].replace(" ", "-"))
    return found if found.worked.whole else None


def sheet_size(request: Request) -> PaperSize:
    """The sheet that the shop has chosen."""
    return settings_of(request).sheet
