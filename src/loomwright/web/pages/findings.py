"""Findings: what the checks say, each with its place on the diagram, and its remedy to press where it is an edit."""

from __future__ import annotations

from collections import Counter
from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response

from loomwright.errors import InputError, Problem
from loomwright.findings.model import SEVERITIES, Finding
from loomwright.jobs.errors import Conflict
from loomwright.web import failures, frames, mending
from loomwright.web.service import Opened
from loomwright.web.view import View, bench_of, go, page, render, wants_page

router = APIRouter()


@page(router, "/jobs/{job_id}/{stage}/findings", "findings")
def findings(
    request: Request, job_id: str, stage: str, n: Annotated[int, Query(ge=0, le=9999)] = 0,
    mended: Annotated[int, Query(ge=0, le=2**31)] = 0,
) -> View:  # fmt: skip
    """What the checks found, most urgent first; ``n`` is the one whose place is shown, ``mended`` a revision."""
    return findings_view(request, bench_of(request).opened(job_id, stage), n, mended)


def findings_view(
    request: Request, opened: Opened, n: int = 0, mended: int = 0, refused: tuple[Problem, ...] = (), status: int = 200
) -> View:
    """The page; ``refused`` says why a remedy was not taken."""
    study = frames.settled(request, opened)
    found = opened.worked.findings if study is not None else ()
    offered = mending.offers(opened.worked) if study is not None else ()
    chosen = found[n - 1] if 0 < n <= len(found) else None
    counts = Counter(f.severity for f in found)
    data = {
        "rig": frames.about(opened, study),
        "counts": {s: counts[s] for s in SEVERITIES},
        "findings": found,
        "remedies": offered,
        "chosen": n if chosen else 0,
    }
    more = {
        **frames.around(opened, study),
        "diagram": opened.worked.diagram() if study is not None else "",
        "marks": marks(found, chosen),
        "links": [places(opened, f) for f in found],
        "mended": opened.revision if 0 < mended == opened.revision.number and opened.revision.can_undo else None,
        "refused": refused,
    }
    return View("findings.html", data, more, status)


@router.post("/jobs/{job_id}/{stage}/mend", tags=["writes"])
def mend(request: Request, job_id: str, stage: str, remedy: Annotated[str, Form(max_length=64)]) -> Response:
    """Make the changes of one remedy, as one revision; refused where they would not help."""
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    try:
        saved = mending.mend(bench, opened, remedy)
    except InputError as error:
        return _not_mended(request, opened, error.problems, 422)
    except (mending.Outdated, Conflict):
        changed = Problem(
            "remedy", "rig", "the rig as this page showed it", "a rig that was changed meanwhile",
            "Look through what is offered now; nothing was changed by this press.",
        )  # fmt: skip
        return _not_mended(request, bench.opened(job_id, stage), (changed,), 409)
    return go(f"{opened.url}/findings?mended={saved.number}")


def _not_mended(request: Request, opened: Opened, problems: tuple[Problem, ...], status: int) -> Response:
    if not wants_page(request):
        return failures.say(request, status, "input" if status == 422 else "conflict", problems)
    view = findings_view(request, opened, refused=problems, status=status)
    return render(request, view.template, {**view.data, **view.more, "page": "findings"}, status)


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
