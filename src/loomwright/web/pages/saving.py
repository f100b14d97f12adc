"""What every write to a rig ends in: the page with what came of it, or the form again with what stands against it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Literal
from urllib.parse import quote

from fastapi import Form, Request
from fastapi.responses import Response

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.jobs.errors import Conflict
from loomwright.web.pages.loom import loom_view
from loomwright.web.pages.rig import rig_view
from loomwright.web.service import Opened
from loomwright.web.view import bench_of, go, render

AT = "/jobs/{job_id}/{stage}"
Field = Annotated[str, Form(max_length=200)]
Maybe = Annotated[str | None, Form(max_length=200)]
Prose = Annotated[str, Form(max_length=40_000)]
Seen = Annotated[int, Form(ge=0, le=2**31)]
Many = Annotated[list[str], Form(max_length=40)]
Back = Annotated[Literal["rig", "loom"], Form()]


def saved(
    request: Request, job_id: str, stage: str, based_on: int, change: Callable[[str], str], note: str,
    chosen: dict[str, str], typed: dict[str, Any], after: dict[str, str] | None = None, back: Back = "rig",
) -> Response:  # fmt: skip
    """Save an edit; show what came of it, what stands against it, or what somebody else saved meanwhile.

    ``back`` is the page that it was made on.
    """
    bench = bench_of(request)
    opened = bench.opened(job_id, stage)
    refused: tuple[Problem, ...] = ()
    conflict: Conflict | None = None
    try:
        bench.edit(opened, based_on, change, note)
    except InputError as error:
        refused = error.problems
    except UnknownName as error:
        what, _, hint = str(error).partition(". ")
        refused = (Problem("rig", note, "", what, hint or "Choose another name."),)
    except Conflict as error:
        conflict = error
        opened = bench.opened(job_id, stage)
    if not refused and conflict is None:
        show = chosen if after is None else after
        query = "&".join(f"{k}={quote(v, safe='')}" for k, v in show.items())
        return go(f"{opened.url}/{back}" + (f"?{query}" if query else ""))
    return _not_saved(request, opened, chosen, typed, refused, conflict, back)


def _not_saved(
    request: Request, opened: Opened, chosen: dict[str, str], typed: dict[str, Any],
    refused: tuple[Problem, ...], conflict: Conflict | None, back: Back,
) -> Response:  # fmt: skip
    fields = {"typed": typed, "refused": refused, "conflict": conflict, "again": request.url.path}
    status = 409 if conflict else 422
    show = loom_view if back == "loom" else rig_view
    try:
        view = show(request, opened, chosen, status, **fields)
    except UnknownName:
        view = show(request, opened, {}, status, **fields)
    return render(request, view.template, {**view.data, **view.more, "page": back}, status)
