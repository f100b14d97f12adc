"""Names and how they are shown: what an id may hold, the nearest valid name, a value as the file writes it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping

MAX_ID_LENGTH = 64


def bad_id(name: str) -> str | None:
    """Why a name cannot be an id; None where it can.

    An id holds any printable characters, quotes and markup included: they travel as data. A full stop is
    kept for ``item.terminal``.
    """
    if not name:
        return "an empty name"
    if len(name) > MAX_ID_LENGTH:
        return f"a name of {len(name)} characters"
    if "." in name:
        return "a name with a full stop in it"
    if not name.isprintable():
        return "a name with a control character in it"
    if name != name.strip():
        return "a name that starts or ends with a space"
    return None


ID_RULE = f"1 to {MAX_ID_LENGTH} printable characters, no full stop, no space at either end"


def nearest(name: str, names: Iterable[str]) -> str | None:
    """The valid name most like ``name``, or None where nothing is near."""
    wanted = name.casefold()
    by_fold = {n.casefold(): n for n in sorted(names)}
    found = difflib.get_close_matches(wanted, by_fold, n=6, cutoff=0.5)
    return by_fold[max(found, key=lambda n: _likeness(wanted, n))] if found else None


def _likeness(a: str, b: str) -> float:
    """How alike two names are; names that begin alike are more so."""
    same = next((k for k, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), min(len(a), len(b)))
    return difflib.SequenceMatcher(None, b, a).ratio() + 0.4 * same / max(1, min(len(a), len(b)))


def some(names: Iterable[str], most: int = 12) -> str:
    """Names in a row, cut short where there are many."""
    listed = list(names)
    if not listed:
        return "none"
    text = ", ".join(listed[:most])
    return text if len(listed) <= most else f"{text} and {len(listed) - most} more"


def plain(text: str, most: int = 200) -> str:
    """Text on one line that a terminal can print: control characters written out, the rest as it is."""
    safe = "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text[: most + 1])
    return safe if len(text) <= most else f"{safe[:most]}.."


def show(value: object, most: int = 60) -> str:
    """A value as a rig file would write it, cut to ``most`` characters, on one line."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{plain(value, most)}"'
    if isinstance(value, Mapping):
        return f"a table with {some((plain(str(k), 20) for k in value), 4)}" if value else "an empty table"
    if isinstance(value, list | tuple):
        inside = ", ".join(show(v, 20) for v in value[:6])
        return f"[{inside}]" if len(value) <= 6 else f"[{inside}, ..] ({len(value)} values)"
    text = str(value) if not isinstance(value, int) or abs(value) < 10**most else "a very large whole number"
    return text if len(text) <= most else text[:most] + ".."
