"""Preferred values: what resistors, capacitors and coils are sold in (IEC 60063)."""

from __future__ import annotations

import math

from loomwright.facts import loudspeakers


def nearest_value(value: float, series: str) -> float:
    """The preferred value nearest to ``value`` by ratio.

    >>> nearest_value(6.63e-6, "E12") * 1e6
    6.8
    """
    return min(values_near(value, series, 1.6), key=lambda v: (abs(math.log(v / value)), v))


def values_near(value: float, series: str, reach: float) -> tuple[float, ...]:
    """Preferred values from ``value / reach`` to ``value * reach``, rising."""
    decade = math.floor(math.log10(value))
    found = []
    for exponent in range(decade - 2, decade + 2):
        for step in loudspeakers.series(series):
            candidate = round(step / 10.0, 2) * 10.0**exponent
            if value / reach <= candidate <= value * reach:
                found.append(float(f"{candidate:.6g}"))
    return tuple(found)
