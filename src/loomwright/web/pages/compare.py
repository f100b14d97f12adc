"""Compare: other rigs beside this one, of this job or of others: findings, volts, watts, drill, sessions, sums."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from loomwright.errors import UnknownName
from loomwright.papers.compare import MOST
from loomwright.web import frames
from loomwright.web.pages.papers import on_paper
from loomwright.web.pages.tasks import made
from loomwright.web.service import Bench, Opened
from loomwright.web.view import View, bench_of, page
from loomwright.web.work.pieces import Compared, PackPart

router = APIRouter()
Before = Annotated[list[str] | None, Query(max_length=MOST - 1)]
Choice = tuple[str, str]
"""What an address calls a rig, ``as-found`` in this job or ``job/as-found`` in another, and what a reader calls it."""


@page(router, "/jobs/{job_id}/{stage}/compare", "compare")
def compare(request: Request, job_id: str, stage: str, before: Before = None) -> View:
    """What changed from other rigs to this one."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    here, elsewhere = choices(bench, opened)
    asked = [b for b in before or [n for n, _ in here[:1]] if b != opened.slug]
    others = [rig_of(bench, opened, name) for name in dict.fromkeys(asked)]
    study = frames.settled(request, opened)
    whole = opened.worked.whole and bool(others) and all(o.worked.whole for o in others)
    changes: dict[str, Any] | None = None
    picture, standing = "", None
    if whole:
        rigs = (*((o.revision.text, o.stage) for o in others), (opened.revision.text, opened.stage))
        task = bench.tasks.ask(Compared(rigs, opened.own), opened.by, again=frames.must_wait(request))
        if frames.must_wait(request) or task.state == "done":
            changes, picture = bench.tasks.wait(task)
        else:
            standing = task.standing
    data = {"rig": frames.about(opened, study), "before": tuple(dict.fromkeys(asked)), "changes": changes}
    more = {
        **frames.around(opened, study), "here": here, "elsewhere": elsewhere, "asked": asked, "work": standing,
        "names": [_name(o, opened) for o in (*others, opened)], "picture": picture, "most": MOST - 1,
        "waits": standing is not None and standing.live,
    }  # fmt: skip
    return View("compare.html", data, more)


def choices(bench: Bench, opened: Opened) -> tuple[list[Choice], list[Choice]]:
    """The other rigs of this job, and those of other jobs."""
    here = [(s.replace(" ", "-"), s) for s in opened.stages if s != opened.stage]
    elsewhere = [
        (f"{job.id}/{s.replace(' ', '-')}", f"{job.title}, {s}")
        for job in bench.store.jobs() if job.id != opened.job.id for s in job.stages
    ]  # fmt: skip
    return here, elsewhere


def rig_of(bench: Bench, opened: Opened, name: str) -> Opened:
    """The rig that an address names. Raises UnknownName."""
    job, _, slug = name.rpartition("/")
    return bench.opened(job or opened.job.id, slug)


def _name(one: Opened, opened: Opened) -> str:
    return one.stage if one.job.id == opened.job.id else f"{one.job.title}, {one.stage}"


@router.get("/jobs/{job_id}/{stage}/compare.pdf", tags=["data"])
def compare_paper(
    request: Request, job_id: str, stage: str, before: Before = None, download: bool = False
) -> Response:
    """Rigs side by side, to print. While it is being made, a browser is shown how far it is."""
    bench = bench_of(request)
    after = bench.opened(job_id, stage)
    others = [rig_of(bench, after, name) for name in dict.fromkeys(before or ())]
    if not others or not all(o.worked.whole for o in (*others, after)):
        raise UnknownName("no whole rig in one of them. Finish them all first.")
    rig = on_paper(request, after, others[0], others[1:], stock=False)
    return made(request, after, PackPart(rig, "before_and_after"), download)
