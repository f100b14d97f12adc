"""Axes of charts: where a value lies on the paper, and which values are written beside the axis."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loomwright.drawing.figures import MINUS


@dataclass(frozen=True, slots=True)
class Scale:
    """Values ``low`` to ``high`` over the paper from ``start_mm`` to ``end_mm``."""

    low: float
    high: float
    start_mm: float
    end_mm: float
    logarithmic: bool = False

    def at(self, value: float) -> float:
        """Place of a value [mm]; values beyond the axis lie beyond the paper, endless ones a little so."""
        if self.logarithmic:
            value = min(max(value, self.low * 1e-6), self.high * 1e6)
            share = math.log(value / self.low) / math.log(self.high / self.low)
        else:
            share = (value - self.low) / (self.high - self.low)
        return self.start_mm + min(max(share, -10.0), 10.0) * (self.end_mm - self.start_mm)


def log_scale(low: float, high: float, start_mm: float, end_mm: float) -> Scale:
    """A logarithmic axis that holds low and high, from a 1, 2 or 5 to a 1, 2 or 5."""
    return Scale(_down_125(low), _up_125(high), start_mm, end_mm, logarithmic=True)


def linear_scale(low: float, high: float, start_mm: float, end_mm: float, steps: int = 6) -> Scale:
    """A linear axis that holds low and high, from a round value to a round value."""
    step = _step(high - low, steps)
    return Scale(math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step, start_mm, end_mm)


def ticks(scale: Scale, steps: int = 6) -> tuple[tuple[float, str], ...]:
    """Values to write beside the axis, with their words."""
    if scale.logarithmic:
        values = []
        power = math.floor(math.log10(scale.low))
        while 10.0**power <= scale.high * (1 + 1e-9):
            values += [m * 10.0**power for m in (1, 2, 5)]
            power += 1
        decades = math.log10(scale.high / scale.low)
        wanted = [v for v in values if scale.low * (1 - 1e-9) <= v <= scale.high * (1 + 1e-9)]
        if decades > 3.5:
            wanted = [v for v in wanted if abs(math.log10(v) - round(math.log10(v))) < 1e-9]
        return tuple((v, plain(v)) for v in wanted)
    step = _step(scale.high - scale.low, steps)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    first = math.ceil(scale.low / step - 1e-9)
    last = math.floor(scale.high / step + 1e-9)
    found = []
    for k in range(first, last + 1):
        value = k * step
        text = f"{value:.{decimals}f}"
        found.append((value, MINUS + text[1:] if text.startswith("-") and float(text) else text.lstrip("-")))
    return tuple(found)


def minor(scale: Scale) -> tuple[float, ...]:
    """The 2 to 9 of each decade of a logarithmic axis."""
    if not scale.logarithmic:
        return ()
    out = []
    power = math.floor(math.log10(scale.low))
    while 10.0**power <= scale.high:
        out += [m * 10.0**power for m in range(2, 10)]
        power += 1
    return tuple(v for v in out if scale.low <= v <= scale.high)


def plain(value: float) -> str:
    """A round value without exponent.

    >>> plain(0.001), plain(200.0), plain(0.5)
    ('0.001', '200', '0.5')
    """
    return f"{value:.10f}".rstrip("0").rstrip(".")


def _step(span: float, steps: int) -> float:
    raw = max(span, 1e-9) / steps
    power = 10.0 ** math.floor(math.log10(raw))
    return float(next(m for m in (1, 2, 5, 10) if m * power >= raw * (1 - 1e-9)) * power)


def _down_125(value: float) -> float:
    power = 10.0 ** math.floor(math.log10(value) + 1e-12)
    return float(max(m for m in (1, 2, 5) if m * power <= value * (1 + 1e-9)) * power)


def _up_125(value: float) -> float:
    power = 10.0 ** math.floor(math.log10(value) + 1e-12)
    return float(min(m for m in (1, 2, 5, 10) if m * power >= value * (1 - 1e-9)) * power)
