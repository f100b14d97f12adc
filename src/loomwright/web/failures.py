"""What a page says when something cannot be done: in one shape, with the remedy."""

from __future__ import annotations

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException

from loomwright import answer
from loomwright.errors import EngineMissing, InputError, Problem, UnknownName
from loomwright.jobs.errors import Conflict, Deleted, StoreError
from loomwright.web.view import render, wants_page
from loomwright.web.work.tasks import WorkFailed, WorkStopped


def say(request: Request, status: int, kind: str, problems: tuple[Problem, ...]) -> Response:
    """Problems as a page or as JSON, by who asks."""
    if wants_page(request) and not request.url.path.endswith(".json"):
        return render(request, "failure.html", {"kind": kind, "problems": problems, "status": status}, status)
    return JSONResponse(answer.refusal("serve", kind, problems), status)


def _input(request: Request, error: Exception) -> Response:
    assert isinstance(error, InputError)
    return say(request, 422, "input", error.problems)


def _unknown(request: Request, error: Exception) -> Response:
    what, _, hint = str(error).partition(". ")
    return say(request, 404, "unknown name", (_plain(request, what, hint or "Go back to the jobs and choose again."),))


def _deleted(request: Request, error: Exception) -> Response:
    return say(request, 410, "deleted", (_plain(request, str(error), "Restore it on the page of jobs."),))


def _conflict(request: Request, error: Exception) -> Response:
    return say(request, 409, "conflict", (_plain(request, str(error), "Open the page again: nothing is lost."),))


def _store(request: Request, error: Exception) -> Response:
    return say(request, 503, "store", (_plain(request, str(error), "Then try again."),))


def _stopped(request: Request, error: Exception) -> Response:
    what, _, hint = str(error).partition(". ")
    return say(request, 409, "stopped", (_plain(request, what, hint),))


def _failed(request: Request, error: Exception) -> Response:
    what, _, hint = str(error).partition(". ")
    return say(request, 500, "failed", (_plain(request, what, hint),))


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    remedy = "Go back to the jobs." if error.status_code == 404 else "Open the page again and repeat the step."
    what = "no such page" if error.status_code == 404 else str(error.detail)
    return say(request, error.status_code, "request", (_plain(request, what, remedy),))


def _form(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    problems = tuple(
        Problem("request", ".".join(map(str, e["loc"])), e["msg"], repr(e.get("input"))[:80], "Correct it.")
        for e in error.errors()
    )
    return say(request, 422, "input", problems)


def _plain(request: Request, received: str, remedy: str) -> Problem:
    return Problem("loomwright", request.url.path, "", received, remedy)


def install(app: FastAPI) -> None:
    """Answer every error raised on purpose."""
    for kind, handler in (
        (InputError, _input), (UnknownName, _unknown), (Deleted, _deleted), (Conflict, _conflict),
        (WorkStopped, _stopped), (WorkFailed, _failed),
        (StoreError, _store), (EngineMissing, _store), (HTTPException, _http), (RequestValidationError, _form),
    ):  # fmt: skip
        app.add_exception_handler(kind, handler)
