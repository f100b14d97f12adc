"""What every page about a rig shows around its own matter: where one is, and how the rig stands."""

from __future__ import annotations

from functools import cache
from typing import Any

from fastapi import Request

from loomwright.drawing import svg
from loomwright.drawing.marks import Sheet
from loomwright.findings.model import SEVERITIES, Severity
from loomwright.jobs.model import STAGES
from loomwright.papers.paper import heading
from loomwright.papers.signs import sign
from loomwright.study import Study
from loomwright.web.service import Opened
from loomwright.web.view import TEMPLATES

RIG_PAGES = (
    ("list", "List"), ("survey", "Survey"), ("rig", "Rig"), ("findings", "Findings"),
    ("faults", "Faults"), ("power", "Power"), ("sound", "Sound"), ("panel", "Panel"),
    ("advice", "Advice"), ("loom", "Loom"), ("compare", "Compare"), ("build", "Build"), ("papers", "Papers"),
)  # fmt: skip


def settled(request: Request, opened: Opened) -> Study | None:
    """The study, if the page need not wait for it or the reader has asked to wait; None where there is none yet."""
    if opened.worked.problems or not opened.begun:
        return None
    if opened.worked.ready or must_wait(request):
        return opened.worked.study
    return None


def must_wait(request: Request) -> bool:
    """True for data and for pages asked for in full: these come when all is worked out."""
    return request.url.path.endswith(".json") or request.query_params.get("wait") == "1"


def about(opened: Opened, study: Study | None) -> dict[str, object]:
    """The rig in a few words, as data."""
    return {
        "job": opened.job.id,
        "title": opened.draft.title,
        "stage": opened.stage,
        "revision": opened.revision.number,
        "readable": study is not None or not opened.worked.problems,
        "problems": opened.worked.problems,
    }


def around(opened: Opened, study: Study | None) -> dict[str, Any]:
    """The frame's own words."""
    standing = opened.worked.standing
    return {
        "o": opened,
        "stages": {s: s in opened.stages for s in STAGES},
        "tabs": RIG_PAGES,
        "head": opened.worked.once("head", lambda s: heading(s, opened.worked.findings)) if study is not None else None,
        "pending": study is None and standing is not None and (standing.live or standing.state == "done"),
        "task": standing if study is None else None,
        "last": opened.job.revision,
    }


@cache
def drawn_sign(severity: Severity) -> str:
    """The sign of a severity as an ``svg`` element; the word stands beside it."""
    shape = sign(severity)
    text = svg.render(Sheet(shape.width_mm, shape.height_mm, shape.marks), css_colours=True).partition("\n")[2]
    return text.replace("<svg ", '<svg class="sign" aria-hidden="true" focusable="false" ', 1)


TEMPLATES.globals.update(drawn_sign=drawn_sign, SEVERITIES=SEVERITIES)
