"""The list that a job is drafted from: what goes in, how many, where; and what the draft has to meet."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from starlette.datastructures import FormData

from loomwright.jobs.errors import Conflict
from loomwright.jobs.model import STAGES, Revision
from loomwright.web import catalogues, frames, short_list
from loomwright.web.service import Bench, Opened
from loomwright.web.units import read
from loomwright.web.view import View, bench_of, go, page, render, units_of

router = APIRouter()
AT = "/jobs/{job_id}/{stage}/list"
PROMPTS = ("battery", "stator, alternator", "base load", "frame", "source", "processor", "class D 4", "driver 6.5 in")
"""What the first rows of an empty list ask for."""


async def filled_form(request: Request) -> FormData:
    """The form as it was filled in."""
    return await request.form()


Filled = Annotated[FormData, Depends(filled_form)]


@page(router, AT, "list")
def listing(request: Request, job_id: str, stage: str, saved: bool = False) -> View:
    """The rows of the list, the ways between its places, and the wishes."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    return _view(request, opened, listed(bench, opened), saved=saved)


def listed(bench: Bench, opened: Opened) -> Revision:
    """The list of a job; an empty one where there is none."""
    found = bench.store.equipment(opened.job.id)
    if found.number:
        return found
    return Revision(0, short_list.empty(opened.job.title), found.at, current=True)


def base_of(bench: Bench, job_id: str, text: str) -> str:
    """The rig that a list begins with: its text; empty where it begins with nothing."""
    stage = str(short_list.tables_of(text).get("base", ""))
    return bench.store.rig_text(job_id, stage).text if stage in STAGES else ""


def _view(
    request: Request, opened: Opened, found: Revision, status: int = 200, saved: bool = False,
    conflict: Conflict | None = None,
) -> View:  # fmt: skip
    bench = bench_of(request)
    own, units = bench.own_catalogue(), units_of(request)
    base = base_of(bench, opened.job.id, found.text)
    parts = catalogues.usable(own)
    _, problems = short_list.read(found.text, base, own) if found.number else (None, ())
    data = {"rig": frames.about(opened, None), "list": short_list.tables_of(found.text), "problems": problems}
    more: dict[str, Any] = {
        **frames.around(opened, None),
        "shown": short_list.shown(found.text, base, parts, units), "list_revision": found, "saved": saved,
        "bases": [s for s in opened.stages if s != "planned"], "conflict": conflict,
        "known": [p for p, _ in catalogues.words(own) if p.terminals],
        "prompts": PROMPTS, "hazards": short_list.HAZARDS, "flags": short_list.FLAGS,
        "drafted": bool(found.number) and not problems,
    }  # fmt: skip
    return View("list.html", data, more, status)


@router.post(AT, tags=["writes"])
def save(request: Request, job_id: str, stage: str, form: Filled) -> Response:
    """Keep the list as it was typed; with ``then`` = ``draft`` have it drafted."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    before = listed(bench, opened)
    typed_in = read(_word(form, "units"))
    text = short_list.filled(before.text, form, typed_in)
    based_on = int(number) if (number := _word(form, "based_on")).isdigit() else 0
    try:
        bench.store.save_equipment(opened.job.id, text, based_on, "The list")
    except Conflict as error:
        theirs = error.theirs
        mine = Revision(theirs.number, text, theirs.at, current=True)
        view = _view(request, opened, mine, 409, conflict=error)
        return render(request, view.template, {**view.data, **view.more, "page": "list"}, 409)
    if _word(form, "then") == "draft":
        base = base_of(bench, job_id, text)
        if not short_list.read(text, base, bench.own_catalogue())[1]:
            return go(f"{opened.url}/drafts")
    return go(f"{opened.url}/list?saved=true")


@router.post(AT + "/undo", tags=["writes"])
def undo(request: Request, job_id: str, stage: str) -> Response:
    """Take the last save of the list back."""
    opened = bench_of(request).opened(job_id, stage)
    bench_of(request).store.undo_equipment(opened.job.id)
    return go(f"{opened.url}/list")


def _word(form: FormData, key: str) -> str:
    found = form.get(key, "")
    return found if isinstance(found, str) and len(found) < 200 else ""
