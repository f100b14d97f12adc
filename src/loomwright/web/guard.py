"""What stands before every page: the host name, pairing, the size of what is sent, and the headers of every answer.

Written against ASGI itself, so that it holds for pages, files, errors and event streams alike.
"""

from __future__ import annotations

from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from loomwright.web import tokens
from loomwright.web.config import Config

COOKIE = "loomwright"
MOST_BYTES = 24 * 1024 * 1024
OPEN_PATHS = ("/pair", "/static/")
_LOOPBACK_CLIENTS = ("127.0.0.1", "::1", "testclient")
_DAY_S = 24 * 3600
POLICY = "; ".join(
    (
        "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self' blob:", "font-src 'self'",
        "connect-src 'self'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'",
    )
)  # fmt: skip
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}


class TooMuch(Exception):
    """More bytes came than a request may hold."""


class Guard:
    """The outermost layer of the application."""

    def __init__(self, app: ASGIApp, config: Config) -> None:
        self.app = app
        self.config = config

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        session = session_of(headers, self.config.secret)
        fresh = not session
        if fresh:
            session = tokens.new_session(self.config.secret, paired=False)
        scope.setdefault("state", {})["session"] = session

        async def answered(message: Message) -> None:
            if message["type"] == "http.response.start":
                out = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    out[name] = value
                if "cache-control" not in out:
                    out["cache-control"] = "no-store"
                if fresh and "set-cookie" not in out:
                    out.append("set-cookie", cookie_line(session))
            await send(message)

        refusal = self._refusal(scope, headers, session)
        if refusal is not None:
            await refusal(scope, receive, answered)
            return
        taken = 0

        async def counted() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > MOST_BYTES:
                raise TooMuch
            return message

        try:
            await self.app(scope, counted, answered)
        except TooMuch:
            await _too_much()(scope, receive, answered)

    def _refusal(self, scope: Scope, headers: Headers, session: str) -> Response | None:
        host = headers.get("host", "")
        if host_name(host) not in self.config.hosts:
            return PlainTextResponse(
                "This server does not answer to that name. Use the address that it printed when it started.", 421
            )
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > MOST_BYTES:
            return _too_much()
        origin = headers.get("origin")
        if origin is not None and scope["method"] not in ("GET", "HEAD") and origin != f"{scope['scheme']}://{host}":
            return PlainTextResponse("That came from another page. Open the page here and try again.", 403)
        if not self._admitted(scope, session):
            wants_page = "text/html" in headers.get("accept", "")
            if wants_page and scope["method"] == "GET":
                return RedirectResponse("/pair", 303)
            return PlainTextResponse("Pair this device first, with the code on the shop's screen.", 401)
        return None

    def _admitted(self, scope: Scope, session: str) -> bool:
        client = (scope.get("client") or ("", 0))[0]
        return (
            not self.config.lan
            or client in _LOOPBACK_CLIENTS
            or tokens.is_paired(session)
            or scope["path"].startswith(OPEN_PATHS)
        )


def session_of(headers: Headers, secret: bytes) -> str:
    """The session that a request's cookie names; empty where there is none that this server signed."""
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found is not None and tokens.session_ok(secret, found.value) else ""


def cookie_line(session: str) -> str:
    """The cookie: out of reach of scripts, never sent along from another site."""
    return f"{COOKIE}={session}; Path=/; Max-Age={30 * _DAY_S}; HttpOnly; SameSite=Lax"


def host_name(host: str) -> str:
    """A Host header without its port, in lower case."""
    name, colon, port = host.lower().rpartition(":")
    return name if colon and port.isdigit() else host.lower()


def _too_much() -> Response:
    return PlainTextResponse(f"Too much at once: at most {MOST_BYTES // 1024 // 1024} MB.", 413)
