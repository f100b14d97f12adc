"""Unknown names, answered with the nearest valid ones."""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.errors import UnknownName


def nearest(name: str, valid: Iterable[str], count: int = 3) -> tuple[str, ...]:
    """The valid names most like ``name``, best first; empty if none is like it."""
    from difflib import get_close_matches

    by_lower = {v.lower(): v for v in sorted(valid, reverse=True)}
    return tuple(by_lower[m] for m in get_close_matches(name.lower(), sorted(by_lower), n=count, cutoff=0.5))


def unknown(what: str, name: str, valid: Iterable[str], most: int = 40) -> UnknownName:
    """The error for a name that does not exist: says the nearest, and the whole list where it is short."""
    names = list(valid)
    near = nearest(name, names)
    text = f"no {what} named {name!r}"
    if near:
        text += "; nearest: " + ", ".join(near)
    if len(names) <= most:
        text += "; valid: " + ", ".join(names)
    return UnknownName(text)
