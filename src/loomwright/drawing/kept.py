"""Layouts kept on the disk, by the text the engine was given and the engine that was asked.

A layout follows from nothing else, so a kept one is the same to the last digit; what cannot be read, or is not what was
written, is laid out again. The folder may be deleted at any time: ``$XDG_CACHE_HOME/loomwright/layouts``, by default
under ``~/.cache``; under ``%LOCALAPPDATA%`` on Windows.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
import tempfile
from functools import cache
from pathlib import Path

from loomwright.drawing import assets

MOST = 1000
"""Layouts kept; beyond that the half that was not used for longest goes."""
_SUM = 64  # characters of the sum before what is kept


def folder() -> Path:
    """Where layouts are kept. It need not exist."""
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA") or str(Path.home() / "AppData" / "Local")
    else:
        base = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(base) / "loomwright" / "layouts"


def any_kept() -> bool:
    """Whether there are any layouts."""
    try:
        return next(folder().iterdir(), None) is not None
    except (OSError, RuntimeError):
        return False


def recalled(graph: str) -> str | None:
    """What was kept for a graph; None where nothing was, or it is damaged."""
    try:
        path = _path(graph)
        text = path.read_text("utf-8")
        os.utime(path)
    except (OSError, RuntimeError, UnicodeDecodeError):
        return None
    body = text[_SUM:]
    return body if text[:_SUM] == _sum(body) else None


def keep(graph: str, layout: str) -> None:
    """Keep a layout. Where the folder cannot be written to, nothing is kept."""
    with contextlib.suppress(OSError, RuntimeError):
        path = _path(graph)
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(_sum(layout) + layout)
        os.replace(name, path)
        _make_room(path.parent)


def _make_room(where: Path) -> None:
    files = list(where.iterdir())
    if len(files) > MOST:
        for path in sorted(files, key=lambda p: p.stat().st_mtime)[: len(files) - MOST // 2]:
            path.unlink(missing_ok=True)


def _path(graph: str) -> Path:
    return folder() / _sum(_engine_sum() + graph)


@cache
def _engine_sum() -> str:
    return hashlib.sha256(assets.layout_engine().read_bytes()).hexdigest()


def _sum(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
