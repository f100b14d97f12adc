"""Compare: another stage of the job beside this one: findings, volts, drill, sessions."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from loomwright.errors import UnknownName
from loomwright.papers import compare as paper
from loomwright.papers.paper import plain
from loomwright.web import frames
from loomwright.web.pages.papers import on_paper
from loomwright.web.pages.tasks import made
from loomwright.web.pieces import PackPart
from loomwright.web.view import View, bench_of, page

router = APIRouter()
Before = Annotated[str, Query(max_length=40)]


@page(router, "/jobs/{job_id}/{stage}/compare", "compare")
def compare(request: Request, job_id: str, stage: str, before: Before = "") -> View:
    """What changed from another stage to this one."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    others = [s.replace(" ", "-") for s in opened.stages if s != opened.stage]
    other = bench.opened(job_id, before or (others[0] if others else opened.slug))
    after_study = frames.settled(request, opened)
    before_study = frames.settled(request, other) if other.stage != opened.stage else None
    changes: dict[str, Any] | None = None
    if after_study is not None and before_study is not None:
        first, found_first, found = before_study, other.worked.findings, opened.worked.findings
        changes = opened.worked.once(
            f"compare with {other.stage}\n{other.revision.text}",
            lambda s: plain(paper.gather((first, s), (found_first, found))),
        )
    around = frames.around(opened, after_study)
    waits = opened.begun and other.begun and not opened.worked.problems and not other.worked.problems
    same = other.stage == opened.stage
    data = {"rig": frames.about(opened, after_study), "before": None if same else other.stage, "changes": changes}
    more = {**around, "others": others, "other": other, "waits": waits and changes is None and not same}
    return View("compare.html", data, more)


@router.get("/jobs/{job_id}/{stage}/compare.pdf", tags=["data"])
def compare_paper(request: Request, job_id: str, stage: str, before: Before, download: bool = False) -> Response:
    """Before and after on one page, to print. While it is being made, a browser is shown how far it is."""
    bench = bench_of(request)
    after, first = bench.opened(job_id, stage), bench.opened(job_id, before)
    if not (first.worked.whole and after.worked.whole):
        raise UnknownName("no whole rig in one of the two stages. Finish both first.")
    return made(request, after, PackPart(on_paper(request, after, first, stock=False), "before_and_after"), download)
