"""Numbers as a reader wants them: three significant digits, a real minus, the point in one line down a column."""

from __future__ import annotations

import math
from collections.abc import Iterable

MINUS = "\u2212"
NOTHING = "\u2013"
LEAST = 0.0005
"""What a column still shows, in its own unit."""


def three(value: float) -> str:
    """A number with three significant digits and no exponent.

    >>> three(12.345), three(0.012345), three(1234.5), three(-0.5), three(0.0)
    ('12.3', '0.0123', '1230', '−0.500', '0')
    """
    if math.isnan(value):
        return NOTHING
    if math.isinf(value):
        return "\u221e" if value > 0 else MINUS + "\u221e"
    if value == 0:
        return "0"
    size = abs(value)
    decimals = 2 - math.floor(math.log10(size))
    size = round(size, decimals)
    decimals = 2 - math.floor(math.log10(size))
    text = f"{size:.{max(decimals, 0)}f}"
    return (MINUS if value < 0 else "") + text


def column(values: Iterable[float | None]) -> list[str]:
    """Numbers of one column, padded on the right so that their points stand in one line.

    Less than half a thousandth of the column's unit is nothing that a reader could measure: it stands as 0, so that a
    leak of microamperes does not push the names beside it out of shape.

    >>> column([71.6, -0.0000128, None])
    ['71.6', '0  ', '–  ']
    """
    texts = [NOTHING if v is None else three(0.0 if abs(v) < LEAST else v) for v in values]
    tails = [len(t) - (t.index(".") if "." in t else len(t)) for t in texts]
    widest = max(tails, default=0)
    return [t + " " * (widest - tail) for t, tail in zip(texts, tails, strict=True)]


def seconds(value: float) -> str:
    """A length of time in the unit that suits it.

    >>> seconds(0.0045), seconds(3.0), seconds(1800.0), seconds(9000.0), seconds(float("inf"))
    ('4.50 ms', '3.00 s', '30.0 min', '2.50 h', 'never')
    """
    if math.isinf(value):
        return "never"
    if value < 1.0:
        return f"{three(value * 1000.0)} ms"
    if value < 120.0:
        return f"{three(value)} s"
    if value < 7200.0:
        return f"{three(value / 60.0)} min"
    return f"{three(value / 3600.0)} h"


def band(fastest_s: float, slowest_s: float) -> str:
    """The band of time within which a device opens."""
    if math.isinf(slowest_s):
        return f"{seconds(fastest_s)} to never" if math.isfinite(fastest_s) else "never"
    low, high = seconds(fastest_s), seconds(slowest_s)
    if low == high:
        return low
    unit = high.rpartition(" ")[2]
    number, _, low_unit = low.rpartition(" ")
    return f"{number} to {high}" if low_unit == unit else f"{low} to {high}"
