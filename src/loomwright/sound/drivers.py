"""What a driver is to an amplifier: its impedance, from the best that is known of it.

Best first: a measured curve, small-signal values, the nominal impedance alone. The last is a guess, and says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from loomwright.rig.model import DriverSpec, Impedance, Item
from loomwright.sound import boxes
from loomwright.sound.frequencies import Complexes, Floats

Basis = Literal["measured", "small-signal", "nominal"]


@dataclass(frozen=True, slots=True, eq=False)
class DriverCurve:
    """A driver's impedance, (F,) [ohm], and what it rests on.

    ``re_ohm`` is the part of it that stands for the voice coil's direct-current resistance; ``notes`` says what is not
    known or was made of a file.
    """

    basis: Basis
    impedance_ohm: Complexes
    re_ohm: float
    notes: tuple[str, ...] = ()

    @property
    def guess(self) -> bool:
        return self.basis == "nominal"


def curve(item: Item, frequency_hz: Floats) -> DriverCurve:
    """The impedance of a driver as it is mounted. Raises TypeError for an item that is no driver."""
    spec = item.part.spec
    if not isinstance(spec, DriverSpec):
        raise TypeError(f"{item.id} is a {item.part.family}, not a driver")
    if item.impedance is not None:
        return _measured(item.impedance, spec, frequency_hz)
    driver = boxes.small_signal(spec)
    if driver is None:
        flat = np.full(len(frequency_hz), spec.nominal_ohm, dtype=np.complex128)
        note = f"its impedance is not known: {spec.nominal_ohm:g} ohm at every frequency is a guess"
        return DriverCurve("nominal", flat, spec.nominal_ohm, (note,))
    notes = () if boxes.box_known(driver, item.mounting) else ("without Vas the box is left out of account",)
    return DriverCurve(
        "small-signal", boxes.impedance_ohm(driver, item.mounting, frequency_hz), driver.re_ohm, notes
    )


def _measured(measured: Impedance, spec: DriverSpec, frequency_hz: Floats) -> DriverCurve:
    """Magnitude (as a ratio) and phase along the logarithm of frequency; the nearest value beyond the ends."""
    at = np.log(measured.frequency_hz)
    wanted = np.log(frequency_hz)
    size = np.exp(np.interp(wanted, at, np.log(measured.ohm)))
    turn = np.radians(np.interp(wanted, at, measured.degrees))
    low, high = measured.frequency_hz[0], measured.frequency_hz[-1]
    notes = list(measured.notes)
    if frequency_hz[0] < low * 0.999 or frequency_hz[-1] > high * 1.001:
        notes.append(f"measured from {low:g} Hz to {high:g} Hz; the nearest value stands beyond")
    impedance = np.asarray(size * np.exp(1j * turn), dtype=np.complex128)
    re_ohm = spec.re_ohm if spec.re_ohm is not None else float(np.min(np.abs(impedance)))
    return DriverCurve("measured", impedance, re_ohm, tuple(notes))
