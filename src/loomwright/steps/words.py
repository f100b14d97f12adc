"""What a reading is to be, in words; whoever prints it brings their own way of writing figures."""

from __future__ import annotations

from collections.abc import Callable

from loomwright.steps.results import Measure


def expected(m: Measure, figure: Callable[[float], str], unit: str) -> str:
    """``12.7 V, passes from 12.2 to 13.4 V``; ``unit`` with the space before it.

    >>> from loomwright.steps.results import Measure
    >>> expected(Measure("a", "b", "N", None, 133.0, None, "", ""), "{:g}".format, " N")
    'at least 133 N'
    """
    if m.low is not None and m.high is not None:
        if m.low == -m.high:
            return f"less than {figure(m.high)}{unit} either way"
        band = f"{figure(m.low)} to {figure(m.high)}{unit}"
        return band if m.expected is None else f"{figure(m.expected)}{unit}, passes from {band}"
    if m.low is not None:
        return f"at least {figure(m.low)}{unit}"
    return f"at most {figure(m.high)}{unit}" if m.high is not None else "no prediction"
