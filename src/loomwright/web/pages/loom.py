"""The loom: wires as they are cut, bundles cut through, disconnects, cutting plan, shopping list, labels, ring-out."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from loomwright.errors import InputError, UnknownName
from loomwright.jobs.spools import OnTheShelf
from loomwright.loom.labels import size_of
from loomwright.loom.sheets import tables
from loomwright.web import frames, loom_pieces, loom_sheets, units
from loomwright.web.loom_lists import Sort, at_their_places, filtered, in_order, of_the_loom
from loomwright.web.pages import findings
from loomwright.web.pages.tasks import made, sent
from loomwright.web.service import Opened
from loomwright.web.view import View, bench_of, page, settings_of, units_of
from loomwright.web.work.looms import CutOut, Cutting, Drawing, Drawings, Harness, Harnessed, Labels
from loomwright.web.work.pieces import Piece
from loomwright.web.work.tasks import Standing

router = APIRouter()
AT = "/jobs/{job_id}/{stage}/loom"
Word = Annotated[str, Query(max_length=200)]
Table = Literal[
    "cut_list.csv", "bundles.csv", "pinouts.csv", "ring_out.csv", "labels.csv", "cutting_plan.csv", "shopping.csv"
]
TABLES: tuple[tuple[Table, str], ...] = (
    ("cut_list.csv", "Cut list"), ("bundles.csv", "Bundles"), ("pinouts.csv", "Pinouts"), ("labels.csv", "Labels"),
    ("cutting_plan.csv", "Cutting plan"), ("shopping.csv", "Shopping list"), ("ring_out.csv", "Ring-out"),
)  # fmt: skip
USUAL_LABEL = "50x20"


@page(router, AT, "loom")
def loom(
    request: Request, job_id: str, stage: str, wire: Word = "", run: Word = "", place: Word = "", item: Word = "",
    sort: Sort = "", find: Word = "", view: Word = "",
) -> View:  # fmt: skip
    """The loom: wires to cut, bundles, disconnects, cutting plan over the shop's stock, ring-out."""
    opened = bench_of(request).opened(job_id, stage)
    chosen = {"wire": wire, "run": run, "place": place, "item": item, "sort": sort, "find": find, "view": view}
    return loom_view(request, opened, chosen)


def loom_view(request: Request, opened: Opened, chosen: dict[str, str], status: int = 200, **more: Any) -> View:
    """The page; ``more`` holds what an edit that could not be saved has to say."""
    study = frames.settled(request, opened)
    shelf = stock_of(request)
    harness: Harnessed | None = None
    cut: CutOut | None = None
    drawings: tuple[Drawing, ...] | None = None
    work: dict[str, Standing | None] = {"harness": None, "cutting": None, "drawings": None}
    if study is not None:
        harness, work["harness"] = _now(request, opened, harness_of(opened))
        cut, work["cutting"] = _now(request, opened, cutting_of(opened, shelf))
        if not request.url.path.endswith(".json"):
            piece = Drawings(opened.revision.text, opened.stage, opened.own)
            drawings, work["drawings"] = _now(request, opened, piece)
    found = of_the_loom(opened.worked.findings) if study is not None else ()
    ref = chosen.get("wire") or chosen.get("item") or ""
    typed = more.get("typed")
    filled_in = units.read(typed["units"]) if typed and "units" in typed else units_of(request)
    around = frames.around(opened, study)
    pending = around["pending"] or any(w is not None and w.live for w in work.values())
    data = {
        "rig": frames.about(opened, study),
        "loom": harness.loom if harness else None,
        "cutting_plan": cut.plan if cut else None,
        "wire_to_buy": cut.buys if cut else (),
        "small_parts": harness.small if harness else (),
        "left_aside": shelf.aside,
        "findings": found,
        "chosen": {k: chosen[k] for k in ("wire", "run", "place", "item") if chosen.get(k)},
    }
    number_of = {f: n for n, f in enumerate(opened.worked.findings, 1)} if study is not None else {}
    at = at_their_places(found)
    pieces = loom_pieces.Around(at, number_of, opened.url, units_of(request))
    picked = next((w for w in harness.loom.wires if w.id == ref), None) if harness else None
    lit = [ref, *(f"run {n}" for n in picked.runs)] if picked else [ref] if ref else []
    wires = in_order(filtered(harness.loom.wires, chosen.get("find", "")), chosen.get("sort", "")) if harness else ()
    extra = {
        **around,
        "waiting": pending,
        "work": work,
        "harness": harness, "cut": cut, "shelf": shelf,
        "drawings": drawings or (), "drawing": shown_of(drawings or (), chosen.get("view", ""), chosen.get("wire", "")),
        "marks": {**findings.marks(found, None), **dict.fromkeys(lit, "chosen")},
        "wires": wires, "sort": chosen.get("sort", ""), "find": chosen.get("find", ""),
        "rows": loom_pieces.rows(opened, harness.loom.wires, chosen.get("wire", ""), pieces) if harness else {},
        "made": {
            **(loom_pieces.sections(opened, harness, pieces) if harness else {}),
            "cutting": loom_pieces.cutting(opened, cut, harness, shelf, pieces) if harness and cut else "",
        },
        "at": at, "number_of": number_of, "tables": TABLES, "usual_label": USUAL_LABEL,
        "sheet": loom_sheets.sheet(opened, harness, chosen, filled_in), "shown": filled_in,
        "refused": (), "conflict": None, "typed": None,
        **more,
    }  # fmt: skip
    return View("loom.html", data, extra, status)


@router.get(f"{AT}/labels.pdf", tags=["data"])
def labels(request: Request, job_id: str, stage: str, label: Word = USUAL_LABEL, download: bool = False) -> Response:
    """A sheet of labels; ``label`` is the size of one in mm, such as 63.5x38.1 or 63.5x38.1+2.5x0 with gaps."""
    opened = _whole(request, job_id, stage)
    size, gap = size_of(label)
    piece = Labels(opened.revision.text, opened.stage, opened.own, size, gap, settings_of(request).sheet)
    return made(request, opened, piece, download)


@router.get(AT + "/tables/{name}", tags=["data"])
def table(request: Request, job_id: str, stage: str, name: Table) -> Response:
    """One list of the loom as CSV that a spreadsheet takes as text."""
    opened = _whole(request, job_id, stage)
    harness: Harnessed = opened.worked.of_piece(harness_of(opened))
    cut: CutOut = opened.worked.of_piece(cutting_of(opened, stock_of(request)))
    found = tables(harness.loom, cut.plan, cut.buys, harness.small)
    if name not in found:
        raise UnknownName("no cutting plan: there is no wire in the stock. Add the spools in the settings.")
    return sent(found[name].encode("utf-8-sig"), name, download=True)


def shown_of(drawings: tuple[Drawing, ...], view: str, wire: str) -> Drawing | None:
    """The drawing that is asked for; else the map; else the first that shows the chosen wire."""
    by_id = {d.id: d for d in drawings}
    holds = [d for d in drawings if not wire or wire in d.wires] or list(drawings)
    return by_id.get(view) or next((d for d in holds if d.id == "map"), holds[0] if holds else None)


def harness_of(opened: Opened) -> Harness:
    """The harness of a rig as a piece of work."""
    return Harness(opened.revision.text, opened.stage, opened.own)


def cutting_of(opened: Opened, shelf: OnTheShelf) -> Cutting:
    """The cutting plan of a rig over the shop's spools as a piece of work."""
    return Cutting(opened.revision.text, opened.stage, opened.own, shelf.spools)


def stock_of(request: Request) -> OnTheShelf:
    """The wire in the shop's stock."""
    return bench_of(request).wire_in_stock()


def _whole(request: Request, job_id: str, stage: str) -> Opened:
    opened = bench_of(request).opened(job_id, stage)
    if opened.worked.problems and opened.begun:
        raise InputError(opened.worked.problems)
    if not opened.worked.whole:
        raise UnknownName("no rig in this stage yet. Begin one on the rig page.")
    return opened


def _now(request: Request, opened: Opened, piece: Piece) -> tuple[Any, Standing | None]:
    """What comes of a piece of work if the page need not wait for it; else how it stands."""
    if frames.must_wait(request):
        return opened.worked.of_piece(piece), None
    task = opened.worked.ask_piece(piece, opened.by)
    if task is None or task.state == "done":
        return (None if task is None else task.value()), None
    return None, task.standing
