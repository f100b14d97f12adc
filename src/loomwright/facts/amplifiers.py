"""Amplifiers by class, and what a programme asks of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loomwright.facts import tables
from loomwright.facts.names import unknown


@dataclass(frozen=True, slots=True)
class Efficiency:
    """Output over supply power at full and at one eighth of full output, where a part states none."""

    full: float
    eighth: float
    provisional: bool


def classes() -> tuple[str, ...]:
    """Amplifier classes with a row."""
    return tuple(tables.rows("amplifiers", "amplifier.efficiency"))


def efficiency(amplifier_class: str) -> Efficiency:
    """Customary efficiency of a class. Raises UnknownName."""
    found = tables.rows("amplifiers", "amplifier.efficiency")
    if amplifier_class not in found:
        raise unknown("amplifier class", amplifier_class, found)
    row = found[amplifier_class]
    return Efficiency(row.number("full"), row.number("eighth"), row.provisional)


def ideal_class_b(fraction: float) -> float:
    """Efficiency of an ideal class B stage at a share of its full sine output: pi/4 sqrt(P / Pmax)."""
    return tables.row("amplifiers", "amplifier.ideal_b.full").number("efficiency") * math.sqrt(fraction)


def programmes() -> tuple[str, ...]:
    """Programme names, quietest first."""
    return tuple(sorted(tables.rows("amplifiers", "programme"), key=programme_fraction))


def programme_fraction(programme: str) -> float:
    """Share of full output power that a programme asks for, averaged over seconds. Raises UnknownName."""
    found = tables.rows("amplifiers", "programme")
    if programme not in found:
        raise unknown("programme", programme, found)
    return found[programme].number("fraction")


def programme_source(programme: str) -> str:
    """Where the share comes from."""
    programme_fraction(programme)
    return tables.rows("amplifiers", "programme")[programme].source


def crest_db(signal: str) -> float:
    """Crest factor of a signal [dB]. Raises UnknownName."""
    found = tables.rows("amplifiers", "crest")
    if signal not in found:
        raise unknown("signal", signal, found)
    return found[signal].number()


def rating_v() -> float:
    """Supply volts at which amplifiers are rated, CTA-2006 [V]."""
    return tables.row("amplifiers", "amplifier.rating.test").number("volts_v")


def sine_into_w(supply_v: float, load_ohm: float, *, bridged: bool) -> float:
    """Most sine power that fits between the rails of a supply without a converter [W].

    Bridged the peak is the whole supply, else half of it: V^2 / 2 / R.

    >>> round(sine_into_w(14.4, 4.0, bridged=True), 1)
    25.9
    """
    peak = supply_v if bridged else supply_v / 2.0
    return peak**2 / 2.0 / load_ohm
