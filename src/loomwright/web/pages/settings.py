"""Settings of this browser: how pages look. They are kept in a cookie, for a phone and a laptop differ."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response

from loomwright.web.view import LOOK_COOKIE, SHEET_COOKIE, SHEETS, THEMES, View, go, page

router = APIRouter()
_YEAR_S = 365 * 24 * 3600


@page(router, "/settings", "settings")
def settings(request: Request, saved: bool = False) -> View:
    """How pages look and how large papers are, in this browser."""
    theme = request.cookies.get(LOOK_COOKIE, "auto")
    sheet = request.cookies.get(SHEET_COOKIE, "a4")
    data = {"theme": theme if theme in THEMES else "auto", "sheet": sheet if sheet in SHEETS else "a4"}
    return View("settings.html", data, {"saved": saved})


@router.post("/settings", tags=["writes"])
def save(
    theme: Annotated[Literal["auto", "paper", "night"], Form()], sheet: Annotated[Literal["a4", "letter"], Form()]
) -> Response:
    """Keep the settings of this browser."""
    answer = go("/settings?saved=true")
    for name, value in ((LOOK_COOKIE, theme), (SHEET_COOKIE, sheet)):
        answer.set_cookie(name, value, max_age=_YEAR_S, httponly=True, samesite="lax")
    return answer
