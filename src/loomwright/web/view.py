"""How a page is made: one function gives its data; the page and its JSON twin come from the same data."""

from __future__ import annotations

import functools
import json
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from loomwright import __version__, answer
from loomwright.drawing import figures
from loomwright.jobs.errors import StoreError
from loomwright.jobs.model import Settings
from loomwright.web import choices, files, refusals, tokens, units
from loomwright.web.service import Bench
from loomwright.web.units import Units

THEMES = ("auto", "paper", "night")
LOOK_COOKIE = "loomwright_look"
KEPT = 4000
"""So many parts of pages are kept, those that were asked for last."""


@dataclass(frozen=True, slots=True)
class View:
    """What a page shows. ``data`` goes into the JSON twin too; ``more`` is for the page alone."""

    template: str
    data: Mapping[str, object]
    more: Mapping[str, Any] = field(default_factory=dict)
    status: int = 200


def bench_of(request: Request) -> Bench:
    """The bench that serves a request."""
    bench: Bench = request.app.state.bench
    return bench


def settings_of(request: Request) -> Settings:
    """The shop's settings; the usual ones where the store cannot say."""
    try:
        return bench_of(request).shop.settings()
    except StoreError:
        return Settings()


def units_of(request: Request) -> Units:
    """The units that the shop reads in."""
    return units.of(settings_of(request))


def quoted(text: object) -> str:
    """A name as part of an address."""
    return quote(str(text), safe="")


def _templates() -> Environment:
    made = Environment(
        loader=PackageLoader("loomwright.web"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, auto_reload=False,
    )  # fmt: skip
    made.filters.update(
        three=figures.three, amps=figures.amps, volts=figures.volts, seconds=figures.seconds, rating=figures.rating,
        q=quoted, on_a_form=refusals.on_a_form, figure=units.figure, drawn=Markup, fixed=figures.fixed,
        json=lambda value: json.dumps(answer.plain(value)),
    )  # fmt: skip
    made.globals.update(
        version=__version__, NARROW=figures.THIN_SPACE, option_list=choices.options, size_list=choices.sizes
    )
    return made


TEMPLATES = _templates()


def written(template: str, macro: str, *given: object) -> Markup:
    """A part of a page, by a macro of a template that holds nothing else."""
    made: Markup = getattr(TEMPLATES.get_template(template).module, macro)(*given)
    return made


@lru_cache(KEPT)
def kept(template: str, macro: str, *given: Hashable) -> Markup:
    """The same, made once for the same content."""
    return written(template, macro, *given)


TEMPLATES.globals.update(kept=kept, static=files.base, brought_along=files.brought_along)


def render(request: Request, template: str, context: Mapping[str, Any], status: int = 200) -> HTMLResponse:
    """A page as HTML."""
    session = request.scope["state"]["session"]
    theme = request.cookies.get(LOOK_COOKIE, "auto")
    settings = settings_of(request)
    html = TEMPLATES.get_template(template).render(
        {
            "request": request,
            "path": request.url.path,
            "token": tokens.write_token(bench_of(request).config.secret, session),
            "theme": theme if theme in THEMES else "auto",
            "units": units.of(settings),
            "sheet_size": settings.sheet,
            **context,
        }
    )
    return HTMLResponse(html, status)


def page(router: APIRouter, path: str, name: str) -> Callable[[Callable[..., View]], Callable[..., View]]:
    """Serve a function's view at ``path`` as a page and at ``path.json`` as data."""

    def enter(make: Callable[..., View]) -> Callable[..., View]:
        @functools.wraps(make)
        def html(request: Request, **given: Any) -> Response:
            view = make(request, **given)
            return render(request, view.template, {**view.data, **view.more, "page": name}, view.status)

        @functools.wraps(make)
        def data(request: Request, **given: Any) -> Response:
            view = make(request, **given)
            return JSONResponse(answer.result(name, view.data), view.status)

        summary = (make.__doc__ or name).strip().splitlines()[0]
        router.add_api_route(
            f"{path}.json", data, methods=["GET"], response_class=JSONResponse, response_model=None, tags=["data"],
            summary=summary, operation_id=f"{name.replace('/', '_')}_data",
        )  # fmt: skip
        router.add_api_route(
            path, html, methods=["GET"], response_class=HTMLResponse, response_model=None, tags=["pages"],
            summary=summary, operation_id=f"{name.replace('/', '_')}_page",
        )  # fmt: skip
        return make

    return enter


def wants_page(request: Request) -> bool:
    """True where a browser asks, not a script."""
    return "text/html" in request.headers.get("accept", "") or "hx-request" in request.headers


def go(url: str) -> RedirectResponse:
    """After a write: look at the page, so that a reload writes nothing twice."""
    return RedirectResponse(url, 303)
