"""Compare: another stage of the job beside this one: findings, volts, drill, sessions."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from loomwright.errors import UnknownName
from loomwright.jobs.model import STAGES
from loomwright.papers import compare as paper
from loomwright.web import frames
from loomwright.web.service import Bench, Opened
from loomwright.web.view import View, bench_of, page

router = APIRouter()
Before = Annotated[str, Query(max_length=40)]


@page(router, "/jobs/{job_id}/{stage}/compare", "compare")
def compare(request: Request, job_id: str, stage: str, before: Before = "") -> View:
    """What changed from another stage to this one."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    others = _others(bench, opened)
    other = bench.opened(job_id, before or (others[0] if others else opened.slug))
    after_study = frames.settled(request, opened)
    before_study = frames.settled(request, other) if other.stage != opened.stage else None
    changes: dict[str, Any] | None = None
    if after_study is not None and before_study is not None:
        made = paper.gather(before_study, after_study, other.worked.findings, opened.worked.findings)
        changes = json.loads(made["data.json"])
    around = frames.around(bench, opened, after_study)
    waits = opened.begun and other.begun and not opened.worked.problems and not other.worked.problems
    same = other.stage == opened.stage
    data = {"rig": frames.about(opened, after_study), "before": None if same else other.stage, "changes": changes}
    more = {**around, "others": others, "other": other, "waits": waits and changes is None and not same}
    return View("compare.html", data, more)


@router.get("/jobs/{job_id}/{stage}/compare.pdf", tags=["data"])
def compare_paper(request: Request, job_id: str, stage: str, before: Before) -> Response:
    """Before and after on one page, to print."""
    bench = bench_of(request)
    after, first = bench.opened(job_id, stage), bench.opened(job_id, before)
    one, two = first.worked.study, after.worked.study
    if one is None or two is None:
        raise UnknownName("no whole rig in one of the two stages. Finish both first.")
    with tempfile.TemporaryDirectory(prefix="loomwright-") as folder:
        path = paper.build(one, two, first.worked.findings, after.worked.findings, Path(folder))
        content = path.read_bytes()
    headers = {"content-disposition": 'inline; filename="compare.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


def _others(bench: Bench, opened: Opened) -> list[str]:
    """The other stages that have a rig, as an address writes them."""
    begun = [s for s in STAGES if s != opened.stage and bench.store.rig_text(opened.job.id, s).text]
    return [s.replace(" ", "-") for s in begun]
