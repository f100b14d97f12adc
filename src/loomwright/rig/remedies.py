"""What to do about a value that a key cannot take."""

from __future__ import annotations

import math
import re
from typing import Any

from loomwright.rig.holds import Asked, unit
from loomwright.rig.sizes import in_quotes
from loomwright.rig.words import nearest, show

_FIGURE = re.compile(r"\s*([+-]?\d+(?:[.,]\d+)?)\s*[^\d]*")
_YES_NO = {"yes": "true", "true": "true", "on": "true", "no": "false", "false": "false", "off": "false"}


def remedy(key: str, wanted: Asked, value: object) -> str:
    """What to write for ``key`` instead of ``value``, as an instruction."""
    if wanted.is_list:
        return _list(key, wanted, value)
    if wanted.choices:
        return _choice(wanted.choices, value)
    if wanted.annotation is bool:
        word = _YES_NO.get(str(value).casefold())
        return f"Write {word}, without quotes." if word else "Write true or false, without quotes."
    if wanted.annotation is str:
        return _text(key, value)
    if wanted.annotation in (int, float, Any):
        return _number(key, wanted, value)
    return f"Write {wanted.words()}."


def _list(key: str, wanted: Asked, value: object) -> str:
    if isinstance(value, list):
        return f"Write {wanted.words()}."
    if isinstance(value, dict):
        return f"Write {key} = [..], {wanted.words()}."
    figure = _figure(value)
    takes_words = bool(wanted.element().choices) or wanted.element().annotation is str
    inside = f"{figure:g}" if figure is not None and isinstance(value, str) and not takes_words else show(value)
    return f"Write {key} = [{inside}]: a list stands in square brackets, even with one value in it."


def _choice(choices: tuple[Any, ...], value: object) -> str:
    words = [c for c in choices if isinstance(c, str)]
    if isinstance(value, str) and words:
        near = nearest(value, words)
        return f'Did you mean "{near}"?' if near else "Write one of these."
    numbers = [c for c in choices if not isinstance(c, str | bool)]
    figure = _figure(value)
    if figure is not None and numbers:
        near_number = min(numbers, key=lambda n: abs(n - figure))
        return f"Write {near_number}, the nearest, or another of these; without quotes."
    return "Write one of these, in quotes." if words else "Write one of these, without quotes."


def _text(key: str, value: object) -> str:
    if isinstance(value, str):
        return "Write at least one character." if not value else "Make it shorter."
    if key == "size" and isinstance(value, int | float) and not isinstance(value, bool):
        return f"Write size = {in_quotes(value)}, in quotes and with its system: AWG, SAE or mm2."
    if isinstance(value, int | float | bool):
        return f'Write {key} = "{show(value)}", in quotes.'
    return "Write text in quotes."


def _number(key: str, wanted: Asked, value: object) -> str:
    figure = _figure(value)
    if isinstance(value, str):
        if figure is None:
            return "Write a number, without quotes." if wanted.annotation is not Any else 'Write a number, or "auto".'
        return f"Write {figure:g}: a number without quotes; its unit stands in the name of the key."
    if figure is None:
        return "Write a number."
    if not math.isfinite(figure):
        return f"Write a figure {_limits(key, wanted)}, measured or from the data sheet; {show(value)} is none."
    low, high = (0.0, 500.0) if wanted.annotation is Any else wanted.bounds
    if low is not None and figure < low:
        if figure < 0 and low >= 0 and (high is None or low <= -figure <= high):
            return f"Take the minus off: write {-figure:g}, or what it measures {_limits(key, wanted)}."
        return f"Raise it: write a figure {_limits(key, wanted)}."
    if high is not None and figure > high:
        check = f" The unit is {unit(key)}." if unit(key) else ""
        return f"Lower it: write a figure {_limits(key, wanted)}.{check}"
    return f"Write {wanted.words()}."


def _limits(key: str, wanted: Asked) -> str:
    """The range with its unit: ``from 1 to 50,000 mm``."""
    words = wanted.words().partition("number")[2].strip()
    words = "from 0 to 500" if wanted.annotation is Any else words
    mark = unit(key)
    return f"{words} {mark}".strip() if words else f"in {mark}" if mark else "that is finite"


def _figure(value: object) -> float | None:
    """The number in a value, or at the start of a text such as ``30A``."""
    if isinstance(value, bool):
        return None
    if isinstance(value, int | float):
        try:
            return float(value)
        except OverflowError:
            return math.inf
    found = _FIGURE.fullmatch(value) if isinstance(value, str) else None
    return float(found[1].replace(",", ".")) if found else None
