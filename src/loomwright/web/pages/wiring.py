"""Writes to a rig: wires, items, fuses, undo and redo. Each keeps the file's comments and names the revision it saw."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Literal
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.jobs.errors import Conflict
from loomwright.rig import edit
from loomwright.rig.catalogue import builtin
from loomwright.web import draft, tables
from loomwright.web.pages.rig import rig_view
from loomwright.web.service import Opened
from loomwright.web.view import bench_of, go, render

router = APIRouter(tags=["writes"])
Field = Annotated[str, Form(max_length=200)]
Seen = Annotated[int, Form(ge=0, le=2**31)]
Many = Annotated[list[str], Form(max_length=40)]
_USUAL = {"metal": "copper", "insulation_c": "105"}
AT = "/jobs/{job_id}/{stage}"
Back = Annotated[Literal["rig", "findings"], Form()]


@router.post(AT + "/begin")
def begin(request: Request, job_id: str, stage: str, source: Field = "empty") -> Response:
    """Put a first rig into a stage."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    if not opened.begun:
        bench.begin_stage(opened, source)
    return go(f"{opened.url}/rig")


@router.post(AT + "/undo")
def undo(request: Request, job_id: str, stage: str, back: Back = "rig") -> Response:
    """Take the last save back."""
    opened = bench_of(request).opened(job_id, stage)
    bench_of(request).store.undo(opened.job.id, opened.stage)
    return go(f"{opened.url}/{back}")


@router.post(AT + "/redo")
def redo(request: Request, job_id: str, stage: str) -> Response:
    """Take the last undo back."""
    opened = bench_of(request).opened(job_id, stage)
    bench_of(request).store.redo(opened.job.id, opened.stage)
    return go(f"{opened.url}/rig")


@router.post(AT + "/wire")
def set_wire(
    request: Request, job_id: str, stage: str, wire: Field, based_on: Seen, size: Field,
    length_mm: Field = "", metal: Field = "", insulation_c: Field = "", cover: Many = [],  # noqa: B006
) -> Response:  # fmt: skip
    """Change size, length, metal, insulation and cover of a wire."""
    typed = {"size": size, "length_mm": length_mm, "metal": metal, "insulation_c": insulation_c, "cover": cover}

    def change(text: str) -> str:
        was = draft.read(text).wire(wire)
        if was is None:
            return edit.set_wire(text, wire, size=size)
        keys: dict[str, Any] = {}
        if size != was.size:
            keys["size"] = size
        if number(length_mm) != number(was.length_mm):
            keys["length_mm"] = number(length_mm)
        if metal not in ("", was.metal or _USUAL["metal"]):
            keys["metal"] = metal
        if insulation_c not in ("", was.insulation_c or _USUAL["insulation_c"]):
            keys["insulation_c"] = number(insulation_c)
        if sorted(cover) != sorted(was.cover):
            keys["cover"] = cover or None
        return edit.set_wire(text, wire, **keys) if keys else text

    return _saved(request, job_id, stage, based_on, change, f"Wire {wire}", {"wire": wire}, typed)


@router.post(AT + "/wire/remove")
def remove_wire(request: Request, job_id: str, stage: str, wire: Field, based_on: Seen) -> Response:
    """Take a wire out."""
    return _saved(
        request, job_id, stage, based_on, lambda text: edit.remove_wire(text, wire), f"Wire {wire} taken out",
        {"wire": wire}, {}, after={},
    )  # fmt: skip


@router.post(AT + "/wire/add")
def add_wire(
    request: Request, job_id: str, stage: str, start: Field, to: Field, wire: Field, size: Field, based_on: Seen,
    length_mm: Field = "",
) -> Response:  # fmt: skip
    """Draw a wire from terminal to terminal."""

    def change(text: str) -> str:
        keys = {} if not length_mm.strip() else {"length_mm": number(length_mm)}
        drawn = edit.add_wire(text, wire, start, to, size, **keys)  # type: ignore[arg-type]
        return _fused(_fused(drawn, start), to)

    chosen = {"start": start, "to": to}
    typed = {"wire": wire, "size": size, "length_mm": length_mm}
    return _saved(request, job_id, stage, based_on, change, f"Wire {wire} drawn", chosen, typed, after={"wire": wire})


@router.post(AT + "/item")
def set_item(
    request: Request, job_id: str, stage: str, item: Field, place: Field, based_on: Seen, fuse: Many = [],  # noqa: B006
) -> Response:  # fmt: skip
    """Change the place and the fuses of an item."""

    def change(text: str) -> str:
        was = draft.read(text).item(item)
        if was is None:
            return edit.set_item(text, item, place=place)
        if was.place != place:
            text = edit.set_item(text, item, place=place)
        if fuse and len(was.fuses_a) != len(fuse):
            return edit.set_item(text, item, fuses_a=[_rating(f) for f in fuse])
        for way, rating in enumerate(fuse, 1):
            if was.fuses_a[way - 1] != rating:
                text = edit.set_fuse(text, item, way, _rating(rating))
        return text

    typed = {"place": place, "fuse": fuse}
    return _saved(request, job_id, stage, based_on, change, f"Item {item}", {"item": item}, typed)


@router.post(AT + "/item/add")
def add_item(
    request: Request, job_id: str, stage: str, item: Field, part: Field, place: Field, based_on: Seen, find: Field = ""
) -> Response:
    """Add an item from the catalogue."""

    def change(text: str) -> str:
        made = draft.DraftItem(item, part, builtin().part(part), place, ())
        count = tables.ways(made)
        fuses: list[float | str] = ["auto"] if count == 1 else [0] * count
        return edit.add_item(text, item, part, place, **({"fuses_a": fuses} if fuses else {}))

    chosen = {"add": "item", "find": find}
    typed = {"item": item, "part": part, "place": place}
    return _saved(request, job_id, stage, based_on, change, f"Item {item} added", chosen, typed, after={"item": item})


@router.post(AT + "/item/remove")
def remove_item(request: Request, job_id: str, stage: str, item: Field, based_on: Seen) -> Response:
    """Take an item out, and the wires that end on it."""

    def change(text: str) -> str:
        for wire in draft.read(text).at(item):
            text = edit.remove_wire(text, wire.id)
        return edit.remove_item(text, item)

    return _saved(
        request, job_id, stage, based_on, change, f"Item {item} taken out", {"item": item}, {}, after={}
    )


def _fused(text: str, ref: str) -> str:
    """A wire on an empty way gets a fuse, to be sized."""
    name, _, terminal = ref.partition(".")
    item = draft.read(text).item(name)
    if item is None or tables.ways(item) < 2 or not terminal.startswith("out"):
        return text
    way = int(terminal[3:]) if terminal[3:].isdigit() else 0
    empty = 0 < way <= len(item.fuses_a) and item.fuses_a[way - 1] == "0"
    return edit.set_fuse(text, name, way, "auto") if empty else text


def number(text: str) -> float | str | None:
    """A number as typed, comma or point; None for nothing; anything else as it is, for the rig file to refuse."""
    given = text.strip().replace(",", ".").replace("\u2212", "-")
    if not given:
        return None
    try:
        value = float(given)
    except ValueError:
        return given
    return int(value) if value.is_integer() and abs(value) < 1e15 else value


def _rating(text: str) -> float | str:
    given = number(text)
    return 0 if given is None else given


def _saved(
    request: Request, job_id: str, stage: str, based_on: int, change: Callable[[str], str], note: str,
    chosen: dict[str, str], typed: dict[str, Any], after: dict[str, str] | None = None,
) -> Response:  # fmt: skip
    """Save an edit; show what came of it, what stands against it, or what somebody else saved meanwhile."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    refused: tuple[Problem, ...] = ()
    conflict: Conflict | None = None
    try:
        bench.edit(opened, based_on, change, note)
    except InputError as error:
        refused = error.problems
    except UnknownName as error:
        what, _, hint = str(error).partition(". ")
        refused = (Problem("rig", note, "", what, hint or "Choose another name."),)
    except Conflict as error:
        conflict = error
        opened = bench.opened(job_id, stage)
    if not refused and conflict is None:
        show = chosen if after is None else after
        query = "&".join(f"{k}={quote(v, safe='')}" for k, v in show.items())
        return go(f"{opened.url}/rig" + (f"?{query}" if query else ""))
    return _not_saved(request, opened, chosen, typed, refused, conflict)


def _not_saved(
    request: Request, opened: Opened, chosen: dict[str, str], typed: dict[str, Any],
    refused: tuple[Problem, ...], conflict: Conflict | None,
) -> Response:  # fmt: skip
    fields = {"typed": typed, "refused": refused, "conflict": conflict, "again": request.url.path}
    status = 409 if conflict else 422
    try:
        view = rig_view(request, opened, chosen, status, **fields)
    except UnknownName:
        view = rig_view(request, opened, {}, status, **fields)
    return render(request, view.template, {**view.data, **view.more, "page": "rig"}, status)
