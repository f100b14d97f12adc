"""Straight lines between the points of a table."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence


def between(x: float, xs: Sequence[float], ys: Sequence[float], *, below: bool = False, above: bool = False) -> float:
    """Linear interpolation on rising ``xs``. Outside it holds the end value, or goes on straight where asked to."""
    if x <= xs[0] and not below:
        return ys[0]
    if x >= xs[-1] and not above:
        return ys[-1]
    k = min(max(bisect_right(xs, x), 1), len(xs) - 1)
    x0, x1, y0, y1 = xs[k - 1], xs[k], ys[k - 1], ys[k]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


def between_log(x: float, x0: float, x1: float, y0: float, y1: float) -> float:
    """Straight on log-log paper through two points, continued beyond them."""
    return y0 * math.pow(x / x0, math.log(y1 / y0) / math.log(x1 / x0))
