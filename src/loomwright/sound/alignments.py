"""Crossover alignments: the polynomial, the ladder of coils and capacitors that makes it, pads and Zobel networks.

A ladder is driven by an amplifier (no source resistance) and ends in a resistor; the first element is in series.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from loomwright.facts import loudspeakers
from loomwright.sound.frequencies import Complexes, Floats
from loomwright.sound.netlist import pad_ohm

Shape = Literal["BW", "LR"]
Way = Literal["low-pass", "high-pass"]


@dataclass(frozen=True, slots=True)
class Alignment:
    """Butterworth (BW) of order 1 to 4, or Linkwitz-Riley (LR) of order 2 or 4."""

    shape: Shape
    order: int

    def __post_init__(self) -> None:
        orders = (1, 2, 3, 4) if self.shape == "BW" else (2, 4)
        if self.order not in orders:
            raise ValueError(f"{self.shape} has orders {', '.join(map(str, orders))}, not {self.order}")

    @property
    def name(self) -> str:
        return f"{self.shape}{self.order}"

    @property
    def level_db(self) -> float:
        """Level at its frequency: -3.01 dB for Butterworth, -6.02 dB for Linkwitz-Riley."""
        return 10.0 * math.log10(0.5 if self.shape == "BW" else 0.25)

    @property
    def invert(self) -> bool:
        """Whether one of the two drivers is turned round so that the ways sum best."""
        return self.order == 2

    def polynomial(self) -> tuple[float, ...]:
        """Denominator of the low-pass at 1 rad/s, highest power first."""
        if self.shape == "LR":
            half = np.array(Alignment("BW", self.order // 2).polynomial())
            return tuple(float(c) for c in np.polymul(half, half))
        poles = [
            np.exp(1j * math.pi * (2 * k + self.order + 1) / (2 * self.order)) for k in range(self.order)
        ]
        return tuple(float(c) for c in np.poly(poles).real)


@dataclass(frozen=True, slots=True)
class Element:
    """One rung or rail of a ladder: a coil [H] or a capacitor [F], in series or across."""

    kind: Literal["coil", "capacitor"]
    across: bool
    value: float


def target(alignment: Alignment, way: Way, crossover_hz: float, frequency_hz: Floats) -> Complexes:
    """What the alignment makes of 1 V, (F,)."""
    s = 1j * frequency_hz / crossover_hz
    if way == "high-pass":
        s = 1.0 / s
    return np.asarray(1.0 / np.polyval(np.array(alignment.polynomial()), s), dtype=np.complex128)


def ladder(alignment: Alignment, way: Way, crossover_hz: float, load_ohm: float) -> tuple[Element, ...]:
    """Coils and capacitors from the amplifier to a resistor of ``load_ohm``, from the table of coefficients.

    >>> [round(e.value * 1e6, 2) for e in ladder(Alignment("BW", 1), "high-pass", 3000.0, 4.0)]
    [13.26]
    """
    found = []
    for k, c in enumerate(loudspeakers.crossover(alignment.name, way)):
        across = k % 2 == 1
        if across == (way == "high-pass"):
            found.append(Element("coil", across, c * load_ohm / crossover_hz))
        else:
            found.append(Element("capacitor", across, c / (load_ohm * crossover_hz)))
    return tuple(found)


def pad(load_ohm: float, attenuation_db: float) -> tuple[float, float]:
    """Series and shunt resistor of a pad before a load [ohm]; it shows the load's own resistance.

    >>> [round(r, 3) for r in pad(8.0, 6.0)]
    [3.991, 8.038]
    """
    return pad_ohm(load_ohm, attenuation_db)


def pad_watts(load_ohm: float, attenuation_db: float, power_w: float) -> tuple[float, float]:
    """Heat in the two resistors of a pad with ``power_w`` put into it [W]."""
    series, shunt = pad_ohm(load_ohm, attenuation_db)
    amps2 = power_w / load_ohm
    return amps2 * series, amps2 * (load_ohm - series) ** 2 / shunt


def zobel(re_ohm: float, le_h: float) -> tuple[float, float]:
    """Resistor [ohm] and capacitor [F] across a driver that hide its inductance: R = 1.25 Re, C = Le / R^2."""
    r = loudspeakers.zobel_ratio() * re_ohm
    return r, le_h / r**2


def gain_set_v(power_w: float, load_ohm: float) -> float:
    """R.m.s. volts that make a power in a resistor: root of P R.

    >>> round(gain_set_v(75.0, 4.0), 2)
    17.32
    """
    return math.sqrt(power_w * load_ohm)
