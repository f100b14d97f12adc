"""Build: one step at a time on a phone, ticked, measured, photographed and signed, with a connection or without."""

from __future__ import annotations

import json
import secrets
from collections import defaultdict
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Form, Query, Request, UploadFile
from fastapi.responses import JSONResponse, Response

from loomwright import answer
from loomwright.errors import InputError, Problem, UnknownName
from loomwright.jobs.acts import Standing, standings
from loomwright.jobs.images import MAX_BYTES
from loomwright.jobs.model import Act
from loomwright.jobs.names import LOOKS
from loomwright.web import building, files, frames
from loomwright.web.service import Bench, Opened
from loomwright.web.view import View, bench_of, go, page, quoted, wants_page
from loomwright.web.work import build_sheets

router = APIRouter()
AT = "/jobs/{job_id}/{stage}/build"
Name = Annotated[str, Form(max_length=200)]
Long = Annotated[str, Form(max_length=3_000)]
WORKER = "build_worker.js"
"""The script that keeps the page and all other files of the program on the phone."""


@page(router, AT, "build")
def build(request: Request, job_id: str, stage: str, step: Annotated[str, Query(max_length=3_000)] = "") -> View:
    """The steps of the build, how far each is, and one of them in full."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    study = frames.settled(request, opened)
    before = _as_found(bench, opened)
    there = study is not None and (opened.worked.ask_building(before, opened.by) or frames.must_wait(request))
    made = opened.worked.building(before) if there else None
    acts = bench.store.acts(opened.job.id, opened.stage)
    data = {
        "rig": frames.about(opened, study),
        "key": made.key if made is not None else None,
        "plan": made.plan if made is not None else None,
        "progress": building.progress(made.plan, acts) if made is not None else None,
        "acts": acts,
    }
    more = {**frames.around(opened, study), "building": made, "last_act": _last(acts), "names": building}
    if made is not None:
        far = building.progress(made.plan, acts)
        numbers = {s.id: s.number for s in made.plan.steps}
        more |= {
            "asked": step, "looks": LOOKS,
            "current": made.plan.steps[numbers.get(step, numbers.get(far.next or "", 1)) - 1],
            "gates": building.gates_before(made.plan),
            "numbers": numbers,
            "found": defaultdict(Standing, standings(acts)),
            "fresh_id": secrets.token_hex(12),
            "shows": {s.id: build_sheets.to_show(made.sheets, s.look) for s in made.plan.steps},
            "places": {s.id: building.place_of(opened.worked.rig, s) for s in made.plan.steps},
        }
    elif study is not None:
        more["pending"] = True
    return View("build.html", data, more)


@router.get(AT + "/sheets/{sheet}.svg", tags=["data"])
def sheet(
    request: Request, job_id: str, stage: str, sheet: str, mark: Annotated[str, Query(max_length=64)] = ""
) -> Response:  # fmt: skip
    """One sheet of the wiring diagram, for the step that is looked at; ``mark`` says which drawing of it is meant."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    sheets = opened.worked.building(_as_found(bench, opened)).sheets if opened.worked.whole else ()
    found = next((s for s in sheets if s.id == sheet), None)
    if found is None:
        raise UnknownName("no such sheet in the build of this rig. Load the page Build again.")
    lasts = "private, max-age=31536000, immutable" if mark == found.mark else "no-store"
    return Response(found.svg, media_type="image/svg+xml; charset=utf-8", headers={"cache-control": lasts})


@router.get(AT + "/acts.json", tags=["data"])
def acts(request: Request, job_id: str, stage: str, since: Annotated[int, Query(ge=0)] = 0) -> Response:
    """What was done after act number ``since``, and the key of the plan that it belongs to, where that is known."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    found = bench.store.acts(opened.job.id, opened.stage, since)
    last = _last(found) or _last(bench.store.acts(opened.job.id, opened.stage))
    return JSONResponse(answer.result("build acts", {"acts": found, "last": last, "key": _key(bench, opened)}))


@router.post(AT + "/act", tags=["writes"])
def act(
    request: Request, job_id: str, stage: str, id: Name, step: Long, kind: Name, by: Name = "", at: Name = "",
    measure: Long = "", value: Name = "", unit: Name = "", text: Long = "", of: Name = "", place: Name = "",
    caption: Long = "", file: UploadFile | None = None,
) -> Response:  # fmt: skip
    """Tick a step, sign it, note a reading or a few words, keep a photograph, or take one of these back.

    ``id`` is made by the sender: the same act sent again is kept once.
    """
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    picture = file.file.read(MAX_BYTES + 1) if file is not None and file.filename else None
    kept = bench.store.add_act(
        opened.job.id, opened.stage, id, step, kind, by, _time(at), measure, _amount(value), unit,
        text.replace("\r\n", "\n"), of, picture, place, caption[:2_000],
    )  # fmt: skip
    if wants_page(request):
        return go(f"{opened.url}/build?step={quoted(kept.step)}")
    return JSONResponse(answer.result("build act", {"act": kept}))


@router.get(AT + "/worker.js", include_in_schema=False)
def worker(request: Request, job_id: str, stage: str) -> Response:
    """The script that keeps this page on the phone: its reach is this one page."""
    home = f"{bench_of(request).opened(job_id, stage).url}/build"
    needed = [f"{files.base()}/{name}" for name in sorted(files.own()) if name != WORKER]
    head = f"const VERSION = {json.dumps(files.version())}, HOME = {json.dumps(home)}, FILES = {json.dumps(needed)};\n"
    script = head + files.own()[WORKER].decode()
    headers = {"service-worker-allowed": home}
    return Response(script, media_type="text/javascript; charset=utf-8", headers=headers)


def _as_found(bench: Bench, opened: Opened) -> str:
    """The text of the rig as found, where the rig is another stage and that one can be read; else empty."""
    if opened.stage == "as found" or "as found" not in opened.stages:
        return ""
    text = bench.store.rig_text(opened.job.id, "as found").text
    return text if bench.shelf.worked(text, "as found", opened.own).whole else ""


def _key(bench: Bench, opened: Opened) -> str | None:
    """The key of the plan as it stands; None while it is being worked out."""
    if not opened.worked.ready:
        return None
    before = _as_found(bench, opened)
    return opened.worked.building(before).key if opened.worked.ask_building(before, opened.by) else None


def _last(found: tuple[Act, ...]) -> int:
    return found[-1].n if found else 0


def _time(at: str) -> datetime | None:
    """When it was done, as a script writes it. Raises InputError."""
    if not at.strip():
        return None
    try:
        return datetime.fromisoformat(at.strip().replace("Z", "+00:00"))
    except ValueError:
        raise InputError([Problem("build", "at", "a time such as 2026-05-01T10:02:00Z", at, "Put it right.")]) from None


def _amount(value: str) -> float | None:
    """A number as typed, comma or point; None where nothing was typed. Raises InputError."""
    if not value.strip():
        return None
    try:
        return float(value.strip().replace(",", ".").replace("\u2212", "-"))
    except ValueError:
        raise InputError([Problem("reading", "value", "a number", value, "Type the number alone.")]) from None
