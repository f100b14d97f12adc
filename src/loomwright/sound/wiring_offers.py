"""What there is to wire: drivers with their real impedance, channels with what they give and stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.errors import InputError, Problem
from loomwright.rig.model import AmplifierSpec, DriverSpec, Rig
from loomwright.sound.drivers import curve
from loomwright.sound.frequencies import Complexes, Floats

BAND_HZ = (20.0, 20_000.0)
POINTS = 61


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A driver to be wired: what it stands, its real impedance over the grid (F,) [ohm]; ``kind`` is its part."""

    driver: str
    kind: str
    nominal_ohm: float
    rated_w: float
    sensitivity_db: float | None
    impedance_ohm: Complexes


@dataclass(frozen=True, slots=True)
class Offer:
    """A channel, or bridged pair, to wire to: its terminals, its least load, its output into 4 and 2 ohm [W]."""

    channel: str
    plus: str
    minus: str
    least_ohm: float
    at4_w: float
    at2_w: float

    @property
    def kind(self) -> tuple[float, float, float]:
        return (self.least_ohm, self.at4_w, self.at2_w)


def band_hz() -> Floats:
    """The grid on which choices are judged, (F,) [Hz]."""
    return np.geomspace(*BAND_HZ, POINTS)


def candidate(rig: Rig, driver: str, frequency_hz: Floats) -> Candidate:
    """A driver of a rig as it is mounted."""
    item = rig.items.get(driver)
    if item is None or not isinstance(item.part.spec, DriverSpec):
        raise InputError([Problem(rig.file, driver, "a driver", "none", "Name a driver of the rig.")])
    spec = item.part.spec
    kind = f"{item.part.id} {item.mounting} {'' if item.impedance is None else driver}"
    z = curve(item, frequency_hz).impedance_ohm
    return Candidate(driver, kind, spec.nominal_ohm, spec.rated_w, spec.sensitivity_db, z)


def offer(rig: Rig, amplifier: str, channel: int) -> Offer:
    """A channel of an amplifier, or the bridged pair that begins with it."""
    item = rig.items.get(amplifier)
    spec = item.part.spec if item is not None else None
    if item is None or not isinstance(spec, AmplifierSpec) or not 1 <= channel <= spec.channels:
        raise InputError([Problem(rig.file, f"{amplifier}.ch{channel}", "a channel", "none", "Name a channel.")])
    pair = dict(item.bridged)
    if channel in pair:
        at4 = spec.bridged_4ohm_w if spec.bridged_4ohm_w is not None else 2 * spec.output_4ohm_w
        least = spec.min_bridged_ohm if spec.min_bridged_ohm is not None else spec.min_load_ohm
        other = pair[channel]
        name = f"{amplifier}.ch{channel}+{other}"
        return Offer(name, f"{amplifier}.ch{channel}+", f"{amplifier}.ch{other}-", least, at4, at4)
    at2 = spec.output_2ohm_w if spec.output_2ohm_w is not None else spec.output_4ohm_w
    name = f"{amplifier}.ch{channel}"
    return Offer(name, f"{name}+", f"{name}-", spec.min_load_ohm, spec.output_4ohm_w, at2)
