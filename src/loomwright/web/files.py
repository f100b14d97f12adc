"""The program's own files as a browser gets them: scripts, style sheets, the letters of the project's font.

A sum over all of them stands in their address. So a browser keeps them for as long as it likes, and asks for others as
soon as the program is another.
"""

from __future__ import annotations

import gzip
import hashlib
import re
from functools import cache
from importlib import resources

from fastapi import HTTPException
from fastapi.responses import Response

from loomwright import __version__
from loomwright.drawing import assets
from loomwright.drawing.marks import Weight

WEIGHTS: tuple[Weight, ...] = ("regular", "semibold", "bold")
_TYPES = {
    "css": "text/css; charset=utf-8", "js": "text/javascript; charset=utf-8", "svg": "image/svg+xml",
    "woff": "font/woff",
}  # fmt: skip
_PRESSED_ALREADY = "woff"
_YEAR_S = 365 * 24 * 3600
_IMPORT = re.compile(r'^import .* from "\./([\w.]+)";$', re.MULTILINE)


@cache
def own() -> dict[str, bytes]:
    """Every file by its name; nothing else can be asked for."""
    folder = resources.files("loomwright.web") / "static"
    found = {f.name: f.read_bytes() for f in folder.iterdir() if f.name.rpartition(".")[2] in _TYPES}
    found |= {f"{weight}.woff": assets.page_font(weight).read_bytes() for weight in WEIGHTS}
    return found | {"htmx.js": assets.locate("htmx/htmx.min.js").read_bytes()}


@cache
def version() -> str:
    """Changes with any of the files, and with the program."""
    summed = hashlib.sha256(__version__.encode())
    for name, content in sorted(own().items()):
        summed.update(f"\0{name}\0{len(content)}\0".encode() + content)
    return summed.hexdigest()[:16]


@cache
def base() -> str:
    """Where the files of this version are."""
    return f"/static/{version()}"


@cache
def brought_along(script: str) -> tuple[str, ...]:
    """The modules that a script imports, and those that these import: a page that names them need not wait in turn."""
    found: dict[str, None] = {}
    waiting = [script]
    while waiting:
        for name in _IMPORT.findall(own()[waiting.pop()].decode()):
            if name not in found:
                found[name] = None
                waiting.append(name)
    return tuple(found)


def served(version_asked: str, name: str, *, pressed: bool) -> Response:
    """A file. A page of another version gets what there is now, and is not to keep it. Raises HTTPException."""
    if name not in own():
        raise HTTPException(404, "no such file")
    ending = name.rpartition(".")[2]
    keep = f"public, max-age={_YEAR_S}, immutable" if version_asked == version() else "no-store"
    headers = {"cache-control": keep, "vary": "Accept-Encoding"}
    if pressed and ending != _PRESSED_ALREADY:
        return Response(_pressed(name), media_type=_TYPES[ending], headers={**headers, "content-encoding": "gzip"})
    return Response(own()[name], media_type=_TYPES[ending], headers=headers)


@cache
def _pressed(name: str) -> bytes:
    return gzip.compress(own()[name], mtime=0)
