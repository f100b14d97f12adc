"""Volts, amps and watts that passive parts must stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.sound.frequencies import Floats
from loomwright.sound.results import ChannelLoad, ElementKind

BAND_HZ = (20.0, 20_000.0)


@dataclass(frozen=True, slots=True)
class PartStress:
    """What one part sees with the channel at its volts: r.m.s. of a tone at the worst frequency, 20 Hz to 20 kHz.

    ``programme_w`` is its heat with a programme instead; None where no spectrum was given.
    """

    item: str
    element: ElementKind
    volts_v: float
    volts_at_hz: float
    amps_a: float
    amps_at_hz: float
    tone_w: float
    programme_w: float | None


def stresses(load: ChannelLoad, channel_v: float, spectrum: Floats | None = None) -> tuple[PartStress, ...]:
    """What each passive part of a channel sees.

    Parameters
    ----------
    channel_v : float
        R.m.s. volts of the channel [V].
    spectrum : (F,) array
        Share of the channel's squared volts at each frequency of the load; sums to the programme's share of full power.
    """
    heard = (load.frequency_hz >= BAND_HZ[0]) & (load.frequency_hz <= BAND_HZ[1])
    at_hz = load.frequency_hz[heard]
    found = []
    for part in load.parts.values():
        volts, amps = np.abs(part.volts) * channel_v, np.abs(part.amps) * channel_v
        v, a = int(np.argmax(volts[heard])), int(np.argmax(amps[heard]))
        top_a = float(amps[heard][a])
        programme = None if spectrum is None else float(np.sum(spectrum * amps**2)) * part.ohm
        found.append(
            PartStress(
                part.item, part.element, float(volts[heard][v]), float(at_hz[v]), top_a, float(at_hz[a]),
                top_a**2 * part.ohm, programme,
            )
        )  # fmt: skip
    return tuple(found)
