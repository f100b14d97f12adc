"""The parts of a crossover as they are bought: value, kind, volts, watts, amps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from loomwright.facts import amplifiers, loudspeakers
from loomwright.sound.frequencies import Complexes, Floats
from loomwright.sound.rungs import Rung, chain_of

LASTING = "loud"
"""The programme that a resistor must stand for ever."""
LETTERS = {"capacitor": "C", "coil": "L", "resistor": "R"}


@dataclass(frozen=True, slots=True)
class Buy:
    """One part to buy. ``value`` and ``textbook`` are in farads, henries or ohms."""

    name: str                          # C1, L1, R1, in order from the amplifier
    element: Literal["capacitor", "coil", "resistor"]
    across: bool                       # from one conductor to the other; else in series
    value: float
    textbook: float
    capacitor_type: Literal["film", "non-polar"] | None
    rated_v: float | None              # capacitors: the rating to buy; None where none is sold
    rated_w: float | None              # resistors: the same
    dcr_ohm: float                     # coils: what was reckoned with
    volts_v: float                     # across it, a tone at the worst frequency
    amps_a: float                      # through it, the same


def purchases(
    rungs: Sequence[Rung], driver_ohm: Complexes, frequency_hz: Floats, channel_v: float
) -> tuple[Buy, ...]:
    """The parts of a ladder with their ratings, from the amplifier on; volts and amps are those of ``channel_v``."""
    found: list[Buy] = []
    heard = (frequency_hz >= 20.0) & (frequency_hz <= 20_000.0)
    for rung, amps in zip(rungs, chain_of(rungs, driver_ohm, frequency_hz), strict=True):
        top = amps * channel_v
        for piece in rung.pieces:
            count = sum(b.element == piece.element for b in found) + 1
            volts = np.abs(top * piece.impedance_ohm(frequency_hz))[heard]
            found.append(
                _one(piece.element, f"{LETTERS[piece.element]}{count}", rung.across, piece.value, piece.textbook,
                     float(np.max(volts)), float(np.max(np.abs(top)[heard])))
            )  # fmt: skip
    return tuple(found)


def _one(
    element: Literal["capacitor", "coil", "resistor"],
    name: str,
    across: bool,
    value: float,
    textbook: float,
    volts_v: float,
    amps_a: float,
) -> Buy:
    kind: Literal["film", "non-polar"] | None = None
    rated_v = rated_w = None
    if element == "capacitor":
        kind = "film" if value * 1e6 <= loudspeakers.largest_film_uf() else "non-polar"
        rated_v = capacitor_v(volts_v, kind)
    elif element == "resistor":
        rated_w = resistor_w(amps_a**2 * value * amplifiers.programme_fraction(LASTING))
    dcr_ohm = loudspeakers.coil_dcr_ohm(value) if element == "coil" else 0.0
    return Buy(name, element, across, value, textbook, kind, rated_v, rated_w, dcr_ohm, volts_v, amps_a)


def capacitor_v(volts_v: float, kind: Literal["film", "non-polar"]) -> float | None:
    """The rating to buy for a capacitor that sees ``volts_v`` r.m.s.; None where none is sold so high.

    The rating is for direct volts, so the peak counts, with a margin on top.
    """
    needed = volts_v * math.sqrt(2.0) * loudspeakers.margin("volts")
    sold = loudspeakers.stock("film" if kind == "film" else "non_polar", "volts_v")
    return next((v for v in sold if v >= needed), None)


def resistor_w(heat_w: float) -> float | None:
    """The rating to buy for a resistor that turns ``heat_w`` into heat for ever; None where none is sold so large."""
    needed = heat_w * loudspeakers.margin("watts")
    return next((w for w in loudspeakers.stock("resistor", "watts_w") if w >= needed), None)
