"""A ladder of parts in series and across, before a driver: solved for one set of values or for thousands at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from loomwright.facts import loudspeakers
from loomwright.sound.frequencies import Complexes, Floats


@dataclass(frozen=True, slots=True)
class Piece:
    """One part: farads, henries or ohms, and what the textbook would take."""

    element: Literal["capacitor", "coil", "resistor"]
    value: float
    textbook: float

    def impedance_ohm(self, frequency_hz: Floats) -> Complexes:
        """(F,); a coil has the resistance that coils of its inductance usually have."""
        return element_ohm(self.element, np.array([self.value]), frequency_hz)


@dataclass(frozen=True, slots=True)
class Rung:
    """Parts in series with each other: one, or the two of a Zobel network. ``across``: from conductor to conductor."""

    across: bool
    pieces: tuple[Piece, ...]

    def impedance_ohm(self, frequency_hz: Floats) -> Complexes:
        """(F,) [ohm]."""
        return np.asarray(np.sum([p.impedance_ohm(frequency_hz) for p in self.pieces], axis=0))


def element_ohm(element: str, value: Floats, frequency_hz: Floats) -> Complexes:
    """Impedance of a part of each value: (F,) for one value, (N, F) for (N, 1) values [ohm]."""
    jw = 2j * np.pi * frequency_hz
    if element == "capacitor":
        z = 1.0 / (jw * value)
    elif element == "coil":
        z = loudspeakers.coil_dcr_ohm(1e-3) * np.sqrt(value * 1e3) + jw * value
    else:
        z = value + 0.0 * jw
    return np.asarray(z, dtype=np.complex128)


def backwards(
    arms: Sequence[tuple[bool, Complexes]], driver_ohm: Complexes
) -> tuple[Complexes, Complexes]:
    """Driver volts per channel volt, and what the channel sees, of arms (across, impedance) from the amplifier on."""
    volts: Complexes = np.ones_like(driver_ohm)
    amps = volts / driver_ohm
    for across, z in reversed(arms):
        if across:
            amps = amps + volts / z
        else:
            volts = volts + amps * z
    return 1.0 / volts, volts / amps


def chain_of(rungs: Sequence[Rung], driver_ohm: Complexes, frequency_hz: Floats) -> tuple[Complexes, ...]:
    """Amps through each rung for each volt of the channel, (F,) each [A/V]."""
    arms = [(r.across, r.impedance_ohm(frequency_hz)) for r in rungs]
    _, seen = backwards(arms, driver_ohm)
    volts: Complexes = np.ones_like(driver_ohm)
    amps = volts / seen
    found = []
    for across, z in arms:
        through = volts / z if across else amps
        found.append(through)
        if across:
            amps = amps - through
        else:
            volts = volts - through * z
    return tuple(found)
