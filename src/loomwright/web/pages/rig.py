"""The rig: diagram and tables are two views of one text; a side sheet edits what is chosen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request

from loomwright.errors import UnknownName
from loomwright.rig.keys import HeadKeys
from loomwright.rig.model import Kind
from loomwright.web import draft, frames, picture, sheets, sketch, tables, units
from loomwright.web.service import Opened
from loomwright.web.view import View, bench_of, page, units_of

router = APIRouter()
_GONE = "It may have been taken out: go back to the rig."
Word = Annotated[str, Query(max_length=200)]
USUAL_SIZES: dict[Kind, str] = {
    "power": "auto", "ground": "auto", "remote": "18 AWG", "line": "0.35 mm2", "speaker": "16 AWG",
}  # fmt: skip
"""What the sheet of a new wire begins with, by the wire's kind (common practice)."""


@page(router, "/jobs/{job_id}/{stage}/rig", "rig")
def rig(
    request: Request, job_id: str, stage: str,
    wire: Word = "", item: Word = "", add: Word = "", find: Word = "", start: Word = "", to: Word = "",
    run: Word = "", place: Word = "", table: Word = "", band: Word = "", panel: Word = "",
    view: Literal["", "power", "signals"] = "",
) -> View:  # fmt: skip
    """The rig: its diagram, its wires, items, places and runs, the vehicle and the limits."""
    opened = bench_of(request).opened(job_id, stage)
    chosen = {"wire": wire, "item": item, "add": add, "find": find, "start": start, "to": to, "view": view,
              "run": run, "place": place, "table": table, "band": band, "panel": panel}  # fmt: skip
    return rig_view(request, opened, chosen)


def rig_view(
    request: Request, opened: Opened, chosen: dict[str, str], status: int = 200, **more: Any
) -> View:
    """The page; ``more`` holds what an edit that could not be saved has to say."""
    study = frames.settled(request, opened)
    waiting = study is None and opened.begun and not opened.worked.problems
    rig = opened.worked.rig or sketch.rig(opened.draft)
    place = chosen.get("wire") or chosen.get("item") or chosen.get("start") or ""
    shown = picture.view_for(rig, place, chosen.get("view", ""))
    typed = more.get("typed")
    reader = units_of(request)
    filled_in = units.read(typed["units"]) if typed and "units" in typed else reader
    data = {
        "rig": frames.about(opened, study),
        "about": {k: v for k, v in opened.draft.raw.items() if k not in HeadKeys.beside},
        "vehicle": opened.draft.raw.get("vehicle", {}),
        "limits": opened.draft.raw.get("limits", {}),
        "items": tables.items(opened.draft),
        "wires": tables.wires(opened.draft, study),
        "places": tables.places(opened.draft),
        "panels": tables.panels(opened.draft),
        "runs": tables.runs(opened.draft, study),
        "chosen": {k: v for k, v in chosen.items() if v and k != "view"},
        "view": shown,
    }
    extra = {
        **frames.around(opened, study),
        "diagram": (
            opened.worked.diagram(view=shown) if study is not None
            else "" if waiting else picture.drawn(rig, shown)
        ),
        "views": picture.tabs(shown),
        "by_kind": tables.by_kind(data["wires"], rig, reader),
        "sheet": sheet(opened, data["wires"], chosen, filled_in), "shown": filled_in,
        "refused": (), "conflict": None, "typed": None,
        **more,
    }  # fmt: skip
    return View("rig.html", data, extra, status)


def sheet(
    opened: Opened, rows: Sequence[tables.WireRow], chosen: dict[str, str], shown: units.Units
) -> dict[str, Any]:
    """What the side sheet shows; ``rows`` are those of the wires.

    Raises
    ------
    UnknownName
        Where the address names a wire, an item, a place or a run that the rig does not have.
    """
    d = opened.draft
    if chosen.get("wire"):
        found = d.wire(chosen["wire"])
        if found is None:
            raise UnknownName(f'no wire "{chosen["wire"]}" in this rig. {_GONE}')
        row = next(r for r in rows if r.id == found.id)
        return {
            "kind": "wire", "wire": found, "row": row, "sizes": tables.sizes(),
            "fields": sheets.wire_fields(d, found, shown),
        }  # fmt: skip
    if chosen.get("item") and not chosen.get("band"):
        item = d.item(chosen["item"])
        if item is None:
            raise UnknownName(f'no item "{chosen["item"]}" in this rig. {_GONE}')
        at = {t.name: [w for w in d.wires if f"{item.id}.{t.name}" in (w.start, w.end)] for t in _terminals(item)}
        return {
            "kind": "item", "item": item, "ways": tables.ways(item), "ratings": tables.ratings(item), "at": at,
            "terminals": _terminals(item), "places": d.places,
            "fields": sheets.item_fields(d, item, shown, opened.own),
            "bands": [sheets.band_words(b) for b in sheets.bands(d, item)], "banded": bool(sheets.channels(item)),
        }  # fmt: skip
    if chosen.get("start"):
        ends = draft.fitting(d, chosen["start"])
        taken = [w.id for w in d.wires] + [i.id for i in d.items]
        return {
            "kind": "draw", "start": chosen["start"], "ends": ends, "to": chosen.get("to", ""),
            "id": draft.next_id(taken, "W"), "sizes": tables.sizes(), "usual": USUAL_SIZES,
        }  # fmt: skip
    made = sheets.form(d, chosen, shown)
    if made is not None:
        return {"kind": "form", "form": made}
    if chosen.get("add"):
        words = chosen.get("find", "")
        found_parts = tables.find_parts(words, opened.own)
        return {
            "kind": "add", "find": words, "parts": found_parts[: tables.MOST_FOUND], "total": len(found_parts),
            "places": d.places, "taken": [i.id for i in d.items],
        }  # fmt: skip
    return {"kind": ""}


def _terminals(item: draft.DraftItem) -> tuple[Any, ...]:
    return item.part.terminals if item.part else ()
