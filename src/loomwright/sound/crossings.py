"""What a driver really gets against what the textbook promises: every -3 dB crossing, the peak, the change of level.

The textbook takes a driver for a resistor of its nominal impedance and parts and wires for ideal. A real driver is not:
its -3 dB point can lie an octave away, can be crossed three times, and its level can rise above the channel's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loomwright.sound.frequencies import Floats, db
from loomwright.sound.results import ChannelLoad, DriverLoad

HALF_POWER_DB = 10.0 * math.log10(0.5)
"""-3.01 dB."""
FLAT_DB = 1.0
"""The passband is where the textbook lies within this of its highest level."""
HEARD_HZ = (20.0, 20_000.0)


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where a response passes a level. ``rising``: it lies above it on the higher side."""

    frequency_hz: float
    rising: bool


@dataclass(frozen=True, slots=True)
class Response:
    """One driver's response in its wiring, against the textbook. Levels are against the channel's own volts."""

    item: str
    reference_db: float                # what the textbook gives in the passband: 0, or what a pad leaves
    crossings: tuple[Crossing, ...]    # of reference - 3.01 dB, from low to high
    textbook: tuple[Crossing, ...]
    passband_hz: tuple[float, float]   # by the textbook
    level_change_db: float             # mean over the passband, against the textbook
    peak_db: float                     # highest point over the reference ..
    peak_at_hz: float                  # .. and where

    @property
    def filtered(self) -> bool:
        """Whether the textbook has it cross at all: whether there is a passive crossover before the driver."""
        return bool(self.textbook)

    @property
    def high_pass_hz(self) -> float | None:
        """Lowest frequency from which it gets its level, None without a high-pass."""
        return next((c.frequency_hz for c in self.crossings if c.rising), None)

    @property
    def textbook_high_pass_hz(self) -> float | None:
        return next((c.frequency_hz for c in self.textbook if c.rising), None)

    @property
    def low_pass_hz(self) -> float | None:
        """Highest frequency up to which it gets its level, None without a low-pass."""
        return next((c.frequency_hz for c in reversed(self.crossings) if not c.rising), None)

    @property
    def textbook_low_pass_hz(self) -> float | None:
        return next((c.frequency_hz for c in reversed(self.textbook) if not c.rising), None)


def responses(load: ChannelLoad) -> tuple[Response, ...]:
    """The response of every driver on a channel."""
    return tuple(response(load, driver) for driver in load.drivers.values())


def response(load: ChannelLoad, driver: DriverLoad) -> Response:
    """The response of one driver in its channel's wiring."""
    at_hz = load.frequency_hz
    real, book = db(driver.transfer), db(driver.textbook)
    heard = (at_hz >= HEARD_HZ[0]) & (at_hz <= HEARD_HZ[1])
    if not heard.any():
        heard = np.ones(len(at_hz), dtype=bool)
    reference = driver.passband_db
    flat = heard & (book >= min(reference, float(np.max(book[heard]))) - FLAT_DB)
    peak = int(np.argmax(np.where(heard, real, -np.inf)))
    return Response(
        item=driver.item,
        reference_db=reference,
        crossings=crossings(at_hz, real, reference + HALF_POWER_DB),
        textbook=crossings(at_hz, book, reference + HALF_POWER_DB),
        passband_hz=(float(at_hz[flat][0]), float(at_hz[flat][-1])),
        level_change_db=float(np.mean(real[flat] - book[flat])),
        peak_db=float(real[peak]) - reference,
        peak_at_hz=float(at_hz[peak]),
    )


def crossings(frequency_hz: Floats, level_db: Floats, threshold_db: float) -> tuple[Crossing, ...]:
    """Every place where a level passes a threshold, from low to high; straight lines over log frequency between."""
    above = level_db >= threshold_db
    found = []
    for k in np.flatnonzero(above[1:] != above[:-1]):
        low, high = level_db[k], level_db[k + 1]
        share = (threshold_db - low) / (high - low)
        at = frequency_hz[k] * (frequency_hz[k + 1] / frequency_hz[k]) ** share
        found.append(Crossing(float(at), bool(high > low)))
    return tuple(found)
