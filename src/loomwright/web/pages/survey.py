"""Survey: walk the vehicle place by place: items, photographs with marks, readings, a note; findings as one goes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Query, Request, UploadFile
from fastapi.responses import Response

from loomwright.errors import InputError, Problem
from loomwright.jobs.errors import Conflict
from loomwright.jobs.images import MAX_BYTES, SMALL_PX
from loomwright.rig import edit_vehicle
from loomwright.web import frames, tables
from loomwright.web.service import Opened
from loomwright.web.view import View, bench_of, go, page, quoted, render, wants_page

router = APIRouter()
AT = "/jobs/{job_id}/{stage}/survey"
Word = Annotated[str, Form(max_length=200)]
Prose = Annotated[str, Form(max_length=20_000)]
Share = Annotated[float, Form(ge=0, le=100)]
Seen = Annotated[int, Form(ge=0, le=2**31)]
QUANTITIES = (("volts", "V"), ("current", "A"), ("resistance", "mΩ"), ("length", "mm"), ("temperature", "°C"))


@page(router, AT, "survey")
def survey(
    request: Request, job_id: str, stage: str, place: Annotated[str, Query(max_length=200)] = "",
    undo: Annotated[str, Query(max_length=80)] = "",
) -> View:  # fmt: skip
    """One place of the vehicle: what is there, what it looks like, what was measured, what is wrong."""
    return survey_view(request, bench_of(request).opened(job_id, stage), place, undo)


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed and could not be saved; ``what`` names what somebody else saved meanwhile."""

    what: str = ""
    note: str | None = None
    name: str = ""
    where: str = ""
    quantity: str = ""
    value: str = ""


def survey_view(
    request: Request, opened: Opened, place: str = "", undo: str = "", typed: Typed = Typed(),
    refused: tuple[Problem, ...] = (), conflict: Conflict | None = None,
) -> View:  # fmt: skip
    """The page; with what was typed, where it could not be saved as it stands."""
    bench = bench_of(request)
    study = frames.settled(request, opened)
    photos, readings = bench.store.photos(opened.job.id), bench.store.readings(opened.job.id)
    known = dict.fromkeys([*opened.draft.places, *(p.place for p in photos if p.place)])
    here = place or next(iter(known), "")
    ids = {here, *(i.id for i in opened.draft.items if i.place == here)}
    numbered = enumerate(opened.worked.findings if study is not None else (), 1)
    found = [(n, f) for n, f in numbered if ids & set(f.where)]
    data = {
        "rig": frames.about(opened, study),
        "places": tuple(known),
        "place": here,
        "items": tuple(i for i in tables.items(opened.draft) if i.place == here),
        "photos": tuple(p for p in photos if p.place == here),
        "readings": tuple(r for r in readings if r.where in ids),
        "note": bench.store.note(opened.job.id, here),
        "findings": [f for _, f in found],
    }
    counts = {p: sum(i.place == p for i in opened.draft.items) for p in known}
    kind, _, ref = undo.partition(":")
    more = {**frames.around(opened, study), "counts": counts, "quantities": QUANTITIES, "undo": (kind, ref),
            "ids": sorted(ids - {here}), "small_px": SMALL_PX, "numbers": [n for n, _ in found], "typed": typed,
            "refused": refused, "conflict": conflict}  # fmt: skip
    return View("survey.html", data, more, 409 if conflict else 422 if refused else 200)


def _again(request: Request, view: View) -> Response:
    return render(request, view.template, {**view.data, **view.more, "page": "survey"}, view.status)


@router.get("/photos/{photo_id}", tags=["data"])
def photo(request: Request, photo_id: str) -> Response:
    """The bytes of a photograph, without anything that the camera wrote beside the picture."""
    return _picture(request, photo_id, bench_of(request).store.photo_bytes)


@router.get("/photos/{photo_id}/small", tags=["data"])
def photo_small(request: Request, photo_id: str) -> Response:
    """A photograph at most 640 px on its longer side: for a phone, and for a list."""
    return _picture(request, photo_id, bench_of(request).store.photo_small)


def _picture(request: Request, photo_id: str, fetch: Callable[[str], bytes]) -> Response:
    found = bench_of(request).store.photo(photo_id)
    headers = {"cache-control": "private, max-age=86400", "content-disposition": "inline"}
    return Response(fetch(photo_id), media_type=found.media_type, headers=headers)


@router.post(AT + "/place", tags=["writes"])
def add_place(request: Request, job_id: str, stage: str, name: Word, based_on: Seen) -> Response:
    """Add a place to the rig."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    try:
        bench.edit(opened, based_on, lambda text: edit_vehicle.add_place(text, name, {}), f"Place {name}")
    except Conflict as error:
        if not wants_page(request):
            raise
        typed = Typed("rig", name=name)
        return _again(request, survey_view(request, bench.opened(job_id, stage), typed=typed, conflict=error))
    return _back(opened, name)


@router.post(AT + "/photo", tags=["writes"])
def add_photo(
    request: Request, job_id: str, stage: str, file: UploadFile, place: Word = "", caption: Prose = ""
) -> Response:
    """Keep a photograph of a place."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    content = file.file.read(MAX_BYTES + 1)
    if not content:
        problem = Problem("photograph", "file", "a photograph", "nothing", "Choose or take a photograph first.")
        raise InputError([problem])
    bench.store.add_photo(opened.job.id, place, content, caption)
    return _back(opened, place)


@router.post(AT + "/mark", tags=["writes"])
def add_mark(
    request: Request, job_id: str, stage: str, photo: Word, x_pct: Share, y_pct: Share, text: Prose, place: Word = ""
) -> Response:
    """Mark a spot on a photograph."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    bench.store.add_mark(photo, x_pct, y_pct, text)
    return _back(opened, place)


@router.post(AT + "/reading", tags=["writes"])
def add_reading(
    request: Request, job_id: str, stage: str, where: Word, quantity: Word, value: Word, place: Word = ""
) -> Response:
    """Note what was measured."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    units = dict(QUANTITIES)
    try:
        if quantity not in units:
            raise InputError([Problem("reading", "quantity", ", ".join(units), quantity, "Choose one of these.")])
        bench.store.add_reading(opened.job.id, where, quantity, _amount(value), units[quantity])
    except InputError as error:
        if not wants_page(request):
            raise
        typed = Typed(where=where, quantity=quantity, value=value)
        return _again(request, survey_view(request, opened, place, typed=typed, refused=error.problems))
    return _back(opened, place)


def _amount(value: str) -> float:
    """A number as typed, comma or point. Raises InputError."""
    try:
        return float(value.strip().replace(",", ".").replace("\u2212", "-"))
    except ValueError:
        raise InputError([Problem("reading", "value", "a number", value, "Type the number alone.")]) from None


@router.post(AT + "/note", tags=["writes"])
def save_note(
    request: Request, job_id: str, stage: str, place: Word, based_on: Seen, text: Prose = ""
) -> Response:
    """Keep the note on a place."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    text = text.replace("\r\n", "\n")
    try:
        bench.store.save_note(opened.job.id, place, text, based_on)
    except Conflict as error:
        if not wants_page(request):
            raise
        return _again(request, survey_view(request, opened, place, typed=Typed("note", note=text), conflict=error))
    return _back(opened, place)


@router.post(AT + "/remove", tags=["writes"])
def remove(request: Request, job_id: str, stage: str, kind: Word, ref: Word, place: Word = "") -> Response:
    """Take a photograph, a mark or a reading away; it can be brought back."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    acts = {"photo": bench.store.delete_photo, "mark": bench.store.delete_mark, "reading": bench.store.delete_reading}
    _known(kind, acts)
    acts[kind](ref)
    return go(f"{opened.url}/survey?place={quoted(place)}&undo={quoted(f'{kind}:{ref}')}")


@router.post(AT + "/restore", tags=["writes"])
def restore(request: Request, job_id: str, stage: str, kind: Word, ref: Word, place: Word = "") -> Response:
    """Bring back what was taken away."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    acts = {"photo": bench.store.restore_photo, "mark": bench.store.restore_mark,
            "reading": bench.store.restore_reading}  # fmt: skip
    _known(kind, acts)
    acts[kind](ref)
    return _back(opened, place)


def _known(kind: str, acts: Mapping[str, object]) -> None:
    if kind not in acts:
        raise InputError([Problem("survey", "kind", ", ".join(acts), kind, "Open the page again.")])


def _back(opened: Opened, place: str) -> Response:
    return go(f"{opened.url}/survey?place={quoted(place)}")
