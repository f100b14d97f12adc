"""Settings: how this browser looks, and how the shop reads and prints.

The look is kept in a cookie, for a phone and a laptop differ. The shop's settings lie in its store: every browser and
every job has the same.
"""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response

from loomwright.errors import InputError, Problem
from loomwright.jobs.errors import Conflict
from loomwright.jobs.model import Settings
from loomwright.rig.words import show
from loomwright.web.view import LOOK_COOKIE, THEMES, View, bench_of, go, page, render

router = APIRouter()
Word = Annotated[str, Form(max_length=40)]
_YEAR_S = 365 * 24 * 3600


@page(router, "/settings", "settings")
def settings(request: Request, saved: bool = False) -> View:
    """How pages look in this browser; the shop's units and sheets; the way to its catalogue and its stock."""
    return _view(request, bench_of(request).store.settings(), saved=saved)


def _view(request: Request, shown: Settings, status: int = 200, **more: Any) -> View:
    theme = request.cookies.get(LOOK_COOKIE, "auto")
    data = {"theme": theme if theme in THEMES else "auto", "shop": shown}
    return View("settings.html", data, {"saved": False, "refused": (), "theirs": None, **more}, status)


@router.post("/settings/look", tags=["writes"])
def save_look(theme: Word) -> Response:
    """Keep how pages look in this browser."""
    if theme not in THEMES:
        raise InputError([Problem("settings", "theme", f"one of {', '.join(THEMES)}", show(theme), "Choose one.")])
    answer = go("/settings?saved=true")
    answer.set_cookie(LOOK_COOKIE, theme, max_age=_YEAR_S, httponly=True, samesite="lax")
    return answer


@router.post("/settings", tags=["writes"])
def save(
    request: Request, based_on: Annotated[int, Form(ge=0, le=2**31)], length_unit: Word = "mm",
    temperature_unit: Word = "C", wire_size: Word = "as written", sheet: Word = "a4",
) -> Response:  # fmt: skip
    """Keep the settings of the shop."""
    given = Settings(length_unit, temperature_unit, wire_size, sheet, based_on)  # type: ignore[arg-type]
    store = bench_of(request).store
    try:
        store.save_settings(given)
    except InputError as error:
        view = _view(request, store.settings(), 422, refused=error.problems)
    except Conflict as conflict:
        view = _view(request, _on_top(given, conflict.theirs.number), 409, theirs=store.settings())
    else:
        return go("/settings?saved=true")
    return render(request, view.template, {**view.data, **view.more, "page": "settings"}, view.status)


def _on_top(given: Settings, number: int) -> Settings:
    return Settings(given.length_unit, given.temperature_unit, given.wire_size, given.sheet, number)
