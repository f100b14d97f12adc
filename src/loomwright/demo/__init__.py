"""The demo rigs: our own scenario, invented data, each file marked ``demo = true``."""

from __future__ import annotations

import difflib
from importlib import resources
from pathlib import Path

from loomwright.errors import UnknownName


def names() -> tuple[str, ...]:
    """Names of the demo rigs, in order."""
    return tuple(sorted(p.stem for p in _folder().glob("*.toml")))


def path(name: str) -> Path:
    """Where a demo rig's file lies.

    Raises
    ------
    UnknownName
        Where there is no demo rig of that name; the message gives the nearest one.
    """
    if name not in names():
        near = difflib.get_close_matches(name, names(), n=1, cutoff=0.4)
        hint = f'Did you mean "{near[0]}"?' if near else f"There are: {', '.join(names())}."
        raise UnknownName(f'no demo rig "{name}". {hint}')
    return _folder() / f"{name}.toml"


def stock_path() -> Path:
    """Where the demo workshop's stock of wire lies; invented, as all of it."""
    return _folder() / "stock" / "workshop.toml"


def list_names() -> tuple[str, ...]:
    """Names of the demo equipment lists, in order."""
    return tuple(sorted(p.stem for p in (_folder() / "lists").glob("*.toml")))


def list_path(name: str) -> Path:
    """Where a demo equipment list lies. Raises UnknownName."""
    if name not in list_names():
        raise UnknownName(f'no demo list "{name}". There are: {", ".join(list_names())}.')
    return _folder() / "lists" / f"{name}.toml"


def text(name: str) -> str:
    """The text of a demo rig's file."""
    return path(name).read_text(encoding="utf-8")


def _folder() -> Path:
    return Path(str(resources.files(__name__)))
