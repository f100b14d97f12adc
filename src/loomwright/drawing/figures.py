"""Figures in print: three significant digits, a real minus, a thin space before the unit."""

from __future__ import annotations

import math
import re
from functools import lru_cache

MINUS = "\u2212"
THIN_SPACE = "\u2009"
NOTHING = "\u2013"
_WIDEST = {"V": "00.00", "A": "00.0", "W": "000", "mm": "0000", "m": "0000", "s": "000"}
_FIGURE = re.compile(rf"\d[\d.]*{THIN_SPACE}(V|A|W|mm|m|s)(?![A-Za-z])")
_WAY = re.compile(r"takes|gives|at rest,")


def three(value: float) -> str:
    """A number with three significant digits and no exponent.

    >>> three(12.345), three(1234.5), three(-0.5), three(0.0)
    ('12.3', '1230', '−0.500', '0')
    """
    if math.isnan(value):
        return NOTHING
    if math.isinf(value):
        return "∞" if value > 0 else MINUS + "∞"
    if value == 0:
        return "0"
    size = abs(value)
    for _ in range(2):  # again after rounding: 9.996 has become 10.00
        decimals = 2 - math.floor(math.log10(size))
        size = round(size, decimals)
    text = f"{size:.{max(2 - math.floor(math.log10(size)), 0)}f}"
    return (MINUS if value < 0 else "") + text


def fixed(value: float, decimals: int) -> str:
    """A number with so many decimals, for a column that shares them; a real minus, never minus nought.

    >>> fixed(-0.04, 1), fixed(-1.25, 2)
    ('0.0', '−1.25')
    """
    if not math.isfinite(value):
        return three(value)
    text = f"{value:.{decimals}f}"
    if text.startswith("-"):
        return MINUS + text[1:] if float(text) else text[1:]
    return text


def unit(value: str, name: str) -> str:
    """Figure and unit with a thin space between."""
    return f"{value}{THIN_SPACE}{name}"


def amps(value: float) -> str:
    """Amperes: one decimal under 100 A.

    >>> amps(31.24), amps(0.02), amps(120.4)
    ('31.2\u2009A', '0.0\u2009A', '120\u2009A')
    """
    return unit(fixed(value, 0 if abs(value) >= 99.95 else 1), "A")


def volts(value: float) -> str:
    """Volts with two decimals."""
    return unit(fixed(value, 2), "V")


def seconds(value: float) -> str:
    """A length of time in the unit that suits it.

    >>> seconds(0.0045), seconds(3.0), seconds(1800.0), seconds(math.inf)
    ('4.50\u2009ms', '3.00\u2009s', '30.0\u2009min', 'never')
    """
    if math.isinf(value):
        return "never"
    if value < 0.9995:
        return unit(three(value * 1000.0), "ms")
    if value < 120.0:
        return unit(three(value), "s")
    if value < 7200.0:
        return unit(three(value / 60.0), "min")
    return unit(three(value / 3600.0), "h")


def band_hz(low_hz: float | None, high_hz: float | None) -> str:
    """What filters let through, in hertz.

    >>> band_hz(110.0, 3500.0), band_hz(None, 80.0), band_hz(80.0, None), band_hz(None, None)
    ('110 to 3500', 'to 80.0', 'from 80.0', 'everything')
    """
    if low_hz is None:
        return "everything" if high_hz is None else f"to {three(high_hz)}"
    return f"from {three(low_hz)}" if high_hz is None else f"{three(low_hz)} to {three(high_hz)}"


def rating(amperes: float) -> str:
    """A fuse's rating as printed on it.

    >>> rating(7.5), rating(60.0)
    ('7.5\u2009A', '60\u2009A')
    """
    return unit(f"{amperes:g}", "A")


def length(mm: float) -> str:
    """A length of wire: millimetres, or metres from two metres up.

    >>> length(450.0), length(2500.0)
    ('450\u2009mm', '2.5\u2009m')
    """
    if mm < 2000.0:
        return unit(f"{mm:.0f}", "mm")
    text = f"{mm / 1000.0:.2f}".rstrip("0").rstrip(".")
    return unit(text, "m")


@lru_cache(maxsize=4096)
def roomy(text: str) -> str:
    """The text with the usual widest figure of each unit in it: what to keep room for.

    >>> roomy("9.50\u2009V, takes 0.3\u2009A")
    '00.00\u2009V, at rest, 00.0\u2009A'
    """
    text = _FIGURE.sub(lambda m: f"{_WIDEST[m[1]]}{THIN_SPACE}{'mm' if m[1] == 'm' else m[1]}", text)
    return _WAY.sub("at rest,", text)
