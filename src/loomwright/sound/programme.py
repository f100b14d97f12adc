"""Programme in the drivers: a spectrum, filtered by the crossovers, decides the watts that each driver gets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from loomwright.facts import signal
from loomwright.facts.spectra import SPECTRA, Spectrum, crest_db, shares
from loomwright.rig.model import DriverSpec, Rig
from loomwright.sound.frequencies import Floats
from loomwright.sound.output import ChannelOutput
from loomwright.sound.results import ChannelLoad
from loomwright.sound.signal_path import Chain


@dataclass(frozen=True, slots=True, eq=False)
class DriverProgramme:
    """What one driver gets of each programme.

    The gain is set with the tone of its channel, so peaks of the programme run up to ``overlap_db`` beyond full output
    and clip. ``watts_w`` is what turns to heat and sound in it, averaged over seconds; ``drive_w`` is the volts at its
    tags squared over its nominal ohms, which its sensitivity counts from, by frequency (F,).
    """

    driver: str
    channel: str
    rated_w: float
    overlap_db: float
    limited: bool                            # a limiter in the chain holds it below what it would get
    watts_w: Mapping[Spectrum, float]
    drive_w: Mapping[Spectrum, Floats]

    @property
    def worst(self) -> Spectrum:
        return max(SPECTRA, key=lambda s: self.watts_w[s])


def driver_programmes(
    rig: Rig, load: ChannelLoad, chain: Chain, output: ChannelOutput
) -> tuple[DriverProgramme, ...]:
    """Watts in every driver of a channel that plays each programme just beyond clipping."""
    filtered = chain.response(load.frequency_hz) ** 2
    overlap = overlap_db(chain)
    limit = chain.limit_w
    found = []
    volts2: dict[Spectrum, Floats] = {}
    for spectrum in SPECTRA:
        volts2[spectrum] = channel_volts2(spectrum, load.frequency_hz, filtered, output.clip_v, overlap)
    held: dict[Spectrum, float] = {}
    for spectrum, values in volts2.items():
        watts = float(np.sum(values)) / output.nominal_ohm
        held[spectrum] = 1.0 if limit is None or watts <= limit else limit / watts
    for name, driver in load.drivers.items():
        spec = rig.items[name].part.spec
        assert isinstance(spec, DriverSpec)
        transfer2 = np.abs(driver.transfer) ** 2
        siemens = (1.0 / driver.impedance_ohm).real
        found.append(
            DriverProgramme(
                driver=name,
                channel=load.name,
                rated_w=spec.rated_w,
                overlap_db=overlap,
                limited=any(h < 1.0 for h in held.values()),
                watts_w={s: held[s] * float(np.sum(volts2[s] * transfer2 * siemens)) for s in SPECTRA},
                drive_w={s: held[s] * volts2[s] * transfer2 / spec.nominal_ohm for s in SPECTRA},
            )
        )
    return tuple(found)


def overlap_db(chain: Chain) -> float:
    """How far a full-scale peak runs beyond full output, with the gain set by the channel's tone [dB]."""
    return -signal.tone_for(chain.high_pass_hz, chain.low_pass_hz).tone_dbfs


def channel_volts2(
    spectrum: Spectrum, frequency_hz: Floats, filtered: Floats, clip_v: float, overlap: float
) -> Floats:
    """Mean square volts of a channel by frequency, (F,) [V^2].

    The peaks of the whole programme reach ``overlap`` dB beyond the peak of a full sine; its mean square lies its crest
    below that. The filters, as squares (F,), take out what is not the channel's. What is left never exceeds a full
    sine: the amplifier clips there.
    """
    peak2 = 2.0 * clip_v**2 * 10.0 ** (overlap / 10.0)
    mean2 = peak2 / 10.0 ** (crest_db(spectrum) / 10.0)
    values = mean2 * shares(spectrum, frequency_hz) * filtered
    total = float(np.sum(values))
    return np.asarray(values if total <= clip_v**2 else values * clip_v**2 / total)
