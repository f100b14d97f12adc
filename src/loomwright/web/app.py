"""The application: pages, files and the guard before them."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator
from typing import Annotated

from fastapi import Depends, FastAPI, Form, Header, HTTPException, Request
from fastapi.responses import Response
from starlette.middleware.gzip import GZipMiddleware

from loomwright import __version__
from loomwright.jobs.errors import StoreError
from loomwright.jobs.store import Store
from loomwright.web import failures, files, tokens
from loomwright.web.config import Config
from loomwright.web.guard import Guard
from loomwright.web.pages import routers
from loomwright.web.service import Bench
from loomwright.web.view import TEMPLATES
from loomwright.web.worked import Shelf

_PAGE_LEVEL = 2  # pages are pressed anew for each answer, files once for all
_SAFE = ("GET", "HEAD", "OPTIONS")


async def check_write(
    request: Request, x_write_token: Annotated[str, Header()] = "", write_token: Annotated[str, Form()] = ""
) -> None:
    """Every write carries the token of its session, in the form or in the header."""
    if request.method in _SAFE:
        return
    session = request.scope["state"]["session"]
    secret = request.app.state.bench.config.secret
    if not tokens.write_ok(secret, session, x_write_token or write_token):
        raise HTTPException(403, "the page was opened too long ago, or not here")


def static_file(version: str, name: str, accept_encoding: Annotated[str, Header()] = "") -> Response:
    """One of the program's own files, by name; nothing else can be asked for."""
    return files.served(version, name, pressed="gzip" in accept_encoding)


def create_app(config: Config, shelf: Shelf | None = None) -> FastAPI:
    """The application over one store. A ``shelf`` that is given is shared with others, and stays open at the end."""
    bench = Bench(config, shelf)

    @contextlib.asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        bench.tasks.warm()
        loop = asyncio.get_running_loop()
        begun = [loop.run_in_executor(None, _warm), loop.run_in_executor(None, _tidy, bench.store)]
        try:
            yield
        finally:
            await asyncio.gather(*begun)
            bench.close()

    app = FastAPI(
        title="Loomwright", version=__version__, lifespan=lifespan, docs_url=None, redoc_url=None,
        openapi_url="/openapi.json", dependencies=[Depends(check_write)],
    )  # fmt: skip
    app.state.bench = bench
    app.add_api_route(
        "/static/{version}/{name}", static_file, methods=["GET"], include_in_schema=False, response_model=None
    )
    for router in routers():
        app.include_router(router)
    failures.install(app)
    app.add_middleware(GZipMiddleware, minimum_size=800, compresslevel=_PAGE_LEVEL)
    app.add_middleware(Guard, config=config)
    return app


def _tidy(store: Store) -> None:
    """Housekeeping at the start; a store that cannot be tidied today serves all the same."""
    with contextlib.suppress(StoreError):
        store.tidy()


def _warm() -> None:
    """Templates, which the first pages would wait for."""
    for template in TEMPLATES.list_templates():
        TEMPLATES.get_template(template)
