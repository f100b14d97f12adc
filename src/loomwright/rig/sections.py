"""Where a table stands in the text of a rig file, so that an edit need not take the whole text apart."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from loomwright.rig.read import tables

_HEAD = re.compile(r"^[ \t]*\[", re.MULTILINE)
_WIRE = re.compile(r"^[ \t]*\[\[[ \t]*wire[ \t]*\]\]", re.MULTILINE)
_ITEM = re.compile(r"^[ \t]*\[[ \t]*item[ \t]*\.[ \t]*(?:\"([^\"\\\n]*)\"|'([^'\n]*)'|([\w-]+))[ \t]*\]", re.MULTILINE)


def find(text: str, kind: str, name: str) -> tuple[int, int] | None:
    """From where to where the table of a wire or an item stands, up to the next heading.

    None where that cannot be told: no such name, a name twice, tables written another way, a text that is not TOML.
    A heading inside a text of several lines may mislead it: check what comes of it with :func:`same_but`.
    """
    try:
        data = tables(text)
    except ValueError:
        return None
    if kind == "wire":
        wires = data.get("wire")
        heads = list(_WIRE.finditer(text))
        if not isinstance(wires, list) or len(heads) != len(wires) or len(wires) < 2:
            return None
        places = [n for n, w in enumerate(wires) if isinstance(w, Mapping) and w.get("id") == name]
        found = [heads[n] for n in places]
    else:
        found = [m for m in _ITEM.finditer(text) if next(g for g in m.groups() if g is not None) == name]
    if len(found) != 1:
        return None
    following = _HEAD.search(text, found[0].end())
    return found[0].start(), following.start() if following else len(text)


def same_but(before: str, after: str, kind: str, name: str) -> bool:
    """True where both texts hold the same, but for one wire or item, and that one stands as a table by itself."""
    try:
        old, new = tables(before), tables(after)
    except ValueError:
        return False
    return _without(old, kind, name) == _without(new, kind, name)


def _without(data: Mapping[str, Any], kind: str, name: str) -> object:
    held = data.get(kind)
    if kind == "item":
        rest: object = {k: v for k, v in held.items() if k != name} if isinstance(held, dict) else held
    else:
        rest = [w for w in held if w.get("id") != name] if isinstance(held, list) else held
    return [(k, rest if k == kind else v) for k, v in sorted(data.items()) if k != kind or rest]
