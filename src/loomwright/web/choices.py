"""The choices of a list on a form. Long ones are written out once and kept: the same stand on every page."""

from __future__ import annotations

from functools import lru_cache

from markupsafe import Markup, escape

from loomwright.web.units import Units

Pairs = tuple[tuple[str, str], ...]
Groups = tuple[tuple[str, tuple[str, ...]], ...]
KEPT = 256


def options(choices: Pairs, now: str) -> Markup:
    """An ``option`` for each (value, words), the one that is chosen now marked."""
    return _marked(*_written(((None, choices),)), now)


def sizes(groups: Groups, now: str, units: Units) -> Markup:
    """Conductor sizes in groups, each with its title, the one that is chosen now marked; an unlisted one goes first."""
    pieces, places = _sizes(groups, units)
    first = Markup("")
    if now and now not in places:
        first = Markup('<option value="{}" selected>{}</option>').format(now, units.size(now))
    return first + _marked(pieces, places, now)


def _marked(pieces: tuple[str, ...], places: dict[str, int], now: str) -> Markup:
    at = places.get(now)
    if at is None:
        return Markup("".join(pieces))
    return Markup("".join((*pieces[:at], " selected", *pieces[at:])))


@lru_cache(KEPT)
def _sizes(groups: Groups, units: Units) -> tuple[tuple[str, ...], dict[str, int]]:
    return _written(tuple((title, tuple((s, units.size(s)) for s in labels)) for title, labels in groups))


@lru_cache(KEPT)
def _written(groups: tuple[tuple[str | None, Pairs], ...]) -> tuple[tuple[str, ...], dict[str, int]]:
    """Groups of options in pieces, and before which piece the mark of each value goes. The first of a value has it."""
    pieces: list[str] = []
    places: dict[str, int] = {}
    for title, choices in groups:
        if title is not None:
            pieces.append(f'<optgroup label="{escape(title)}">')
        for value, words in choices:
            pieces.append(f'<option value="{escape(value)}"')
            places.setdefault(value, len(pieces))
            pieces.append(f">{escape(words)}</option>")
        if title is not None:
            pieces.append("</optgroup>\n")
    return tuple(pieces), places
