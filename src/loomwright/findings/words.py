"""How a finding says numbers and lists."""

from __future__ import annotations

import math
from collections.abc import Iterable

UNITS = {"C": "°C", "ohm": "Ω", "mohm": "mΩ", "mm2": "mm²"}
SHOWN = 6
"""Names shown in a list before the rest is counted."""


def num(value: float) -> str:
    """A number to three significant digits, without exponent: ``38.3``, ``1016``, ``0.0208``."""
    if math.isnan(value):
        return "unknown"
    if math.isinf(value):
        return "unlimited" if value > 0 else "-unlimited"
    if value == 0:
        return "0"
    places = max(0, 2 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def amount(value: float, unit: str) -> str:
    """A number with its unit: ``38.3 A``. The unit may be given in plain letters: C, ohm, mohm, mm2."""
    return f"{num(value)} {UNITS.get(unit, unit)}"


def span(hours: float) -> str:
    """A time, in minutes below an hour: ``9 min``, ``1.5 h``."""
    if 0.0 < hours < 1.0:
        return f"{max(1, round(60.0 * hours))} min"
    return amount(hours, "h")


def listing(names: Iterable[str], shown: int = SHOWN) -> str:
    """Names in a sentence: ``P1, P2 and P3``; a long list ends in ``and 5 more``."""
    items = list(names)
    if len(items) > shown:
        return f"{', '.join(items[:shown])} and {len(items) - shown} more"
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def count(n: int, one: str, many: str | None = None) -> str:
    """``1 fault``, ``3 faults``."""
    return f"{n} {one if n == 1 else many or one + 's'}"
