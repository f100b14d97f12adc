"""The line of a file on which a key stands, found in text that has been read as TOML already."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

import tomli

from loomwright.rig.tables import dotted
from loomwright.rig.words import plain, show

_SKIP = re.compile(r"(?:[\s]|#[^\n]*)*")
_KEY = re.compile(r"""(?:"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[^"'=\n#])*""")
_HEAD = re.compile(r"""\[\[?((?:"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[^"'\]\n#])*)\]\]?""")
_PART = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}'
    r"|'''(?:[^']|'(?!''))*'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'|#[^\n]*|[\[\]{}]|\n|[^\[\]{}\"'#\n]+",
    re.DOTALL,
)
_LISTED = ("run", "wire")


def places(text: str) -> dict[str, int]:
    """Line, from 1, of every table and key, as messages call it: ``wire[3] (P3).from``. Empty where it is not TOML."""
    try:
        tomli.loads(text)
        return dict(_places(text.replace("\r\n", "\n")))
    except (ValueError, RecursionError):
        return {}


def line_of(place: str, known: Mapping[str, int]) -> int | None:
    """Line of the key at a place, else of the table it is wanted in; None where the place names no table."""
    while place not in known:
        shorter = re.sub(r"(?:\[\d+\]|\.[^.\[]*)$", "", place)
        if shorter == place:
            return None
        place = shorter
    return known[place]


def _places(text: str) -> Iterator[tuple[str, int]]:
    """Every table and key as messages call it, with its line. Later ones of the same name follow earlier ones."""
    counts: dict[str, int] = {}
    rows: list[tuple[tuple[int | str, ...], int]] = []
    names: dict[tuple[int | str, ...], str] = {}
    head: tuple[int | str, ...] = ()
    line, counted, at = 1, 0, _end(_SKIP, text, 0)
    while at < len(text):
        line, counted = line + text.count("\n", counted, at), at
        if text[at] == "[":
            found = _HEAD.match(text, at)
            if found is None:
                return
            path = _path(found[1])
            head = path
            if text.startswith("[[", at):
                name = ".".join(path)
                counts[name] = counts.get(name, -1) + 1
                head = (*path, counts[name])
            elif len(path) > 1 and path[0] in counts:
                head = (path[0], counts[path[0]], *path[1:])
            rows.append((head, line))
            at = found.end()
        else:
            end = _end(_KEY, text, at)
            path = _path(text[at:end])
            after = _value_end(text, end + 1)
            if len(head) == 2 and head[0] in _LISTED and path == ("id",):
                value = tomli.loads("id =" + text[end + 1 : after])["id"]
                names[head] = show(value)[1:-1] if isinstance(value, str) and value else ""
            rows.append(((*head, *path), line))
            at = after
        at = _end(_SKIP, text, at)
    write = dotted("")
    for whole, line in rows:
        place = write(whole)
        named = names.get(whole[:2])
        if named:
            first = write(whole[:2])
            place = f"{first} ({named}){place[len(first):]}"
        yield plain(place), line


def _end(pattern: re.Pattern[str], text: str, at: int) -> int:
    found = pattern.match(text, at)
    return found.end() if found else at


def _value_end(text: str, at: int) -> int:
    """Where the value ends that begins at a point: at the end of its line, brackets and quotes closed."""
    depth = 0
    while at < len(text):
        found = _PART.match(text, at)
        if found is None:
            return len(text)
        if found[0] in "[{":
            depth += 1
        elif found[0] in "]}":
            depth -= 1
        elif found[0] == "\n" and depth <= 0:
            return at
        at = found.end()
    return at


def _path(key: str) -> tuple[str, ...]:
    """The steps of a dotted key, quotes taken off."""
    table = tomli.loads(f"{key.strip()} = 0")
    steps = []
    inner: object = table
    while isinstance(inner, dict):
        ((name, inner),) = inner.items()
        steps.append(str(name))
    return tuple(steps)
