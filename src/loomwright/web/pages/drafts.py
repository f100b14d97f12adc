"""What comes of a job's list: finished rigs side by side, one of them to take; or the demands that conflict."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response

from loomwright.draft.results import Alternative
from loomwright.drawing import figures
from loomwright.errors import InputError, Problem, UnknownName
from loomwright.jobs.errors import Conflict
from loomwright.papers.cells import Column, Value, table
from loomwright.papers.protection_tables import VERDICT_WORDS, WORST_FIRST
from loomwright.web import catalogues, failures, frames, short_list
from loomwright.web.pages.listing import base_of, listed
from loomwright.web.service import Bench, Opened
from loomwright.web.view import View, bench_of, go, page
from loomwright.web.work.drafting import Drafted, Drafts, Drill
from loomwright.web.work.pieces import key_of
from loomwright.web.work.tasks import Task

router = APIRouter()
AT = "/jobs/{job_id}/{stage}/drafts"
STAGE = "planned"
"""The stage that a draft is for."""


@page(router, AT, "list/drafts")
def drafts(request: Request, job_id: str, stage: str, taken: Annotated[int, Query(ge=0, le=2**31)] = 0) -> View:
    """The rigs drafted from the list as it stands; ``taken`` is the revision that one of them became."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    revision = listed(bench, opened)
    piece, problems = drafted(bench, opened, text := revision.text)
    found: Drafts | None = None
    task: Task | None = None
    if piece is not None:
        task = bench.tasks.ask(piece, opened.by, asked=True)
        if task.state == "done" or frames.must_wait(request):
            found = bench.tasks.wait(task)
    result = found.result if found is not None else None
    planned = bench.store.rig_text(opened.job.id, STAGE)
    data = {
        "rig": frames.about(opened, None),
        "problems": problems,
        "key": key_of(piece) if piece is not None else None,
        "drafts": None if found is None else _all_told(found),
        "proof": result.proof if result else None,
        "conflict": result.conflict if result else None,
        "notes": result.notes if result else (),
    }
    more: dict[str, Any] = {
        **frames.around(opened, None),
        "work": task.standing if task is not None and found is None else None,
        "why": str(task.error) if task is not None and task.state == "failed" else "",
        "list_revision": revision,
        "sides": _sides(found) if found is not None and result and result.alternatives else None,
        "rigs": result.alternatives if result else (),
        "drills": [(d.tried, d.held, _other(d)) for d in found.drills] if found else [],
        "held": planned, "taken": planned if 0 < taken == planned.number and planned.can_undo else None,
        "givable": _givable(text, result.conflict.demands if result and result.conflict else ()),
    }  # fmt: skip
    return View("drafts.html", data, more)


def drafted(bench: Bench, opened: Opened, text: str) -> tuple[Drafted | None, tuple[Problem, ...]]:
    """The work of drafting a list, or why it cannot be drafted yet."""
    base, own = base_of(bench, opened.job.id, text), bench.own_catalogue()
    given, problems = short_list.read(text, base, own)
    return (None if given is None else Drafted(short_list.whole(text, base), STAGE, own)), problems


@router.post(AT + "/take", tags=["writes"])
def take(
    request: Request, job_id: str, stage: str, key: Annotated[str, Form(max_length=64)],
    n: Annotated[int, Form(ge=1, le=9)], based_on: Annotated[int, Form(ge=0, le=2**31)],
) -> Response:  # fmt: skip
    """Make one of the drafted rigs the planned rig of the job, as one revision."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    piece, problems = drafted(bench, opened, listed(bench, opened).text)
    if piece is None:
        raise InputError(problems)
    changed = Problem("list", "list", "the list as this page showed it", "a list that was changed meanwhile",
                      "Look at what is drafted now; nothing was taken.")  # fmt: skip
    if key_of(piece) != key:
        return _refused(request, (changed,))
    found: Drafts = bench.tasks.wait(bench.tasks.ask(piece, opened.by, asked=True, again=True))
    if n > len(found.result.alternatives):
        raise UnknownName("no such rig among those drafted. Look at the page of drafts.")
    chosen = found.result.alternatives[n - 1]
    try:
        saved = bench.take_draft(opened.job.id, chosen.text, based_on, f"Drafted from the list: {chosen.name}")
    except Conflict:
        rig = Problem("rig", "planned", "the planned rig as it was", "a rig that was changed meanwhile",
                      "It is kept as it stands. Take the draft again to put it on top.")  # fmt: skip
        return _refused(request, (rig,))
    return go(f"/jobs/{opened.job.id}/{STAGE}/drafts?taken={saved.number}")


def _refused(request: Request, problems: tuple[Problem, ...]) -> Response:
    return failures.say(request, 409, "conflict", problems)


@router.post(AT + "/give-up", tags=["writes"])
def give_up(
    request: Request, job_id: str, stage: str, demand: Annotated[str, Form(max_length=200)],
    based_on: Annotated[int, Form(ge=0, le=2**31)],
) -> Response:  # fmt: skip
    """Take one demand out of the list, and draft again."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    text = listed(bench, opened).text
    parts = catalogues.usable(bench.own_catalogue())
    try:
        after = short_list.without(text, demand, parts)
    except (KeyError, ValueError, TypeError):
        raise UnknownName("no such demand in the list. Look at the page of drafts.") from None
    bench.store.save_equipment(opened.job.id, after, based_on, f"Given up: {demand}"[:200])
    return go(f"{opened.url}/drafts")


@router.post(AT + "/again", tags=["writes"])
def again(request: Request, job_id: str, stage: str) -> Response:
    """Begin a draft again that was stopped or failed."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    piece, _ = drafted(bench, opened, listed(bench, opened).text)
    if piece is not None:
        bench.tasks.ask(piece, opened.by, asked=True, again=True)
    return go(f"{opened.url}/drafts")


def _all_told(found: Drafts) -> list[dict[str, object]]:
    return [_told(a, d) for a, d in zip(found.result.alternatives, found.drills, strict=True)]


def _told(a: Alternative, drill: Drill) -> dict[str, object]:
    return {
        "name": a.name, "copper_g": a.copper_g, "price": a.price, "lowest_v": a.lowest_v, "drop_v": a.drop_v,
        "volts_v": dict(a.volts_v), "findings": a.findings, "choices": a.choices, "drill": drill,
    }  # fmt: skip


def _other(drill: Drill) -> tuple[tuple[str, int], ...]:
    return tuple((VERDICT_WORDS[v], drill.other[v]) for v in WORST_FIRST if drill.other.get(v))


def _sides(found: Drafts) -> dict[str, Any]:
    """The rigs side by side: a column for each."""
    rigs = found.result.alternatives
    columns = (Column("What", strong=True), *(Column(a.name, "", True) for a in rigs))
    rows: list[list[Value]] = [
        [f"{amp}, V", *(figures.fixed(a.volts_v[amp], 2) for a in rigs)] for amp in rigs[0].volts_v
    ]
    rows += [
        ["most lost on the way, V", *(figures.fixed(a.drop_v, 2) for a in rigs)],
        ["copper of feeds and returns, g", *(figures.fixed(a.copper_g, 0) for a in rigs)],
    ]
    if any(a.price is not None for a in rigs):
        rows.append(["wire and drafted parts", *(None if a.price is None else f"{a.price:.2f}" for a in rigs)])
    rows.append(["single faults that end in their own branch or do no harm",
                 *(f"{d.held} of {d.tried}" for d in found.drills)])  # fmt: skip
    for verdict in WORST_FIRST:
        if any(d.other.get(verdict) for d in found.drills):
            words = f"other faults: {VERDICT_WORDS[verdict]}"
            rows.append([words, *(str(d.other.get(verdict, 0)) for d in found.drills)])
    rows.append(["Know lines", *(str(len(a.findings)) for a in rigs)])
    return table(columns, rows)


def _givable(text: str, demands: Any) -> list[tuple[str, str, str]]:
    """Each demand with what a press would do, empty where it can only be changed in the list itself."""
    words = {
        "wishes.keep": "Let them be sized anew", "limits.drop_v": "Allow twice as much",
        "limits.session_h": "Play half as long",
    }  # fmt: skip
    rows = short_list.tables_of(text).get("equipment", [])
    made = []
    for d in demands:
        kind = d.key.partition(".")[0]
        what = words.get(d.key, "Leave it out" if kind == "item" else "Give it up")
        if kind == "item" and not rows:
            what = ""
        made.append((d.key, d.words, what))
    return made
