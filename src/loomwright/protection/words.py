"""Numbers in the reasons of a choice: three significant digits, unit after a space."""

from __future__ import annotations


def figure(value: float) -> str:
    """Three significant digits, without a tail of zeros."""
    return f"{value:.3g}" if abs(value) < 1000 else f"{value:.0f}"


def amps(value: float) -> str:
    """Amperes."""
    return f"{figure(value)} A"


def volts(value: float) -> str:
    """Volts."""
    return f"{figure(value)} V"


def area(value: float) -> str:
    """Square millimetres."""
    return f"{figure(value)} mm2"
