"""Findings: what the checks say, each with its place on the diagram and the way to what mends it."""

from __future__ import annotations

from collections import Counter
from typing import Annotated

from fastapi import APIRouter, Query, Request

from loomwright.findings.model import SEVERITIES, Finding
from loomwright.web import frames
from loomwright.web.service import Opened
from loomwright.web.view import View, bench_of, page

router = APIRouter()


@page(router, "/jobs/{job_id}/{stage}/findings", "findings")
def findings(request: Request, job_id: str, stage: str, n: Annotated[int, Query(ge=0, le=9999)] = 0) -> View:
    """What the checks found, most urgent first; ``n`` is the one whose place is shown."""
    opened = bench_of(request).opened(job_id, stage)
    study = frames.settled(request, opened)
    found = opened.worked.findings if study is not None else ()
    chosen = found[n - 1] if 0 < n <= len(found) else None
    counts = Counter(f.severity for f in found)
    data = {
        "rig": frames.about(opened, study),
        "counts": {s: counts[s] for s in SEVERITIES},
        "findings": found,
        "chosen": n if chosen else 0,
    }
    more = {
        **frames.around(bench_of(request), opened, study),
        "diagram": opened.worked.diagram() if study is not None else "",
        "marks": marks(found, chosen),
        "links": [places(opened, f) for f in found],
    }
    return View("findings.html", data, more)


def marks(found: tuple[Finding, ...], chosen: Finding | None) -> dict[str, str]:
    """How the diagram marks each place: by its worst finding, and the chosen one's."""
    out: dict[str, str] = {}
    for f in reversed(found):
        if f.severity != "Know":
            out.update({ref: f.severity.lower() for ref in f.where})
    if chosen is not None:
        out.update({ref: f"{out.get(ref, '')} chosen".strip() for ref in chosen.where})
    return out


def places(opened: Opened, finding: Finding) -> list[tuple[str, str]]:
    """The places of a finding: what is written, and the query that opens it on the rig page (empty where none does)."""
    out = []
    for ref in finding.where:
        kind = "wire" if opened.draft.wire(ref) else "item" if opened.draft.item(ref) else ""
        out.append((ref, kind))
    return out
