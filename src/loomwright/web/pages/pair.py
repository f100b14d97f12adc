"""Pairing: a phone on the shop's network shows the one-time code, once."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response

from loomwright.errors import Problem
from loomwright.web import guard, tokens
from loomwright.web.failures import say
from loomwright.web.view import bench_of, go, render

router = APIRouter()


@router.get("/pair", include_in_schema=False)
def ask(request: Request, code: str = "") -> Response:
    """Asks before it pairs, so that looking at the address alone uses nothing up."""
    return render(request, "pair.html", {"code": code[:100], "page": "pair"})


@router.post("/pair", tags=["writes"])
def pair(request: Request, code: Annotated[str, Form(max_length=100)]) -> Response:
    """Pair this browser with the server."""
    bench = bench_of(request)
    if bench.pairing.paused():
        problem = Problem("pairing", "code", "", "too many wrong codes", "Wait a minute, then take the new code.")
        return say(request, 429, "pairing", (problem,))
    shown = bench.pairing.token
    right = bench.pairing.accept(code)
    if bench.pairing.token != shown:
        bench.paired()
    if not right:
        problem = Problem("pairing", "code", "the code on the shop's screen", "another one", "Scan the newest code.")
        return say(request, 403, "pairing", (problem,))
    answer = go("/jobs")
    session = tokens.new_session(bench.config.secret, paired=True)
    answer.headers.append("set-cookie", guard.cookie_line(session))
    return answer
