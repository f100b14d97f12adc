"""Numbers as a terminal shows them: the point in one line down a column, no space that a terminal cannot show."""

from __future__ import annotations

import math
from collections.abc import Iterable

from loomwright.drawing import figures
from loomwright.drawing.figures import NOTHING, three

LEAST = 0.0005
"""What a column still shows, in its own unit."""


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
    return figures.seconds(value).replace(figures.THIN_SPACE, " ")


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
