"""Programme in the drivers: a spectrum, filtered by the crossovers, decides the watts that each driver gets."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from loomwright.facts import signal
from loomwright.facts.spectra import SPECTRA, Spectrum, crest_db, shares
from loomwright.rig.model import DriverSpec, Rig
from loomwright.sound.frequencies import Floats
from loomwright.sound.levels import ChannelLevels
from loomwright.sound.output import ChannelOutput
from loomwright.sound.results import ChannelLoad
from loomwright.sound.signal_path import Chain


@dataclass(frozen=True, slots=True, eq=False)
class DriverProgramme:
    """What one driver gets of each programme.

    As the gain is set, peaks of the programme run up to ``overlap_db`` beyond full output and clip; below 0 they stay
    under it. ``watts_w`` is what turns to heat and sound in it, averaged over seconds; ``drive_w`` is the square of the
    volts at its tags over its nominal ohms, which its sensitivity counts from, by frequency (F,).
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
    rig: Rig, load: ChannelLoad, chain: Chain, output: ChannelOutput, full_scale_v: float
) -> tuple[DriverProgramme, ...]:
    """Watts in every driver of a channel. ``full_scale_v``: r.m.s. of a full-scale tone, were it not to clip."""
    filtered = chain.response(load.frequency_hz) ** 2
    limit = chain.limit_w
    found = []
    volts2: dict[Spectrum, Floats] = {}
    for spectrum in SPECTRA:
        volts2[spectrum] = channel_volts2(spectrum, load.frequency_hz, filtered, output.clip_v, full_scale_v)
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
                overlap_db=20.0 * math.log10(full_scale_v / output.clip_v),
                limited=any(h < 1.0 for h in held.values()),
                watts_w={s: held[s] * float(np.sum(volts2[s] * transfer2 * siemens)) for s in SPECTRA},
                drive_w={s: held[s] * volts2[s] * transfer2 / spec.nominal_ohm for s in SPECTRA},
            )
        )
    return tuple(found)


def programme_share(
    load: ChannelLoad, chain: Chain, output: ChannelOutput, full_scale_v: float, spectrum: Spectrum = "dense"
) -> Floats:
    """Share of the channel's full output, by frequency, that a programme puts into it, (F,)."""
    filtered = chain.response(load.frequency_hz) ** 2
    return channel_volts2(spectrum, load.frequency_hz, filtered, output.clip_v, full_scale_v) / output.clip_v**2


def full_scale_v(levels: ChannelLevels | None, chain: Chain, output: ChannelOutput) -> float:
    """R.m.s. volts that a full-scale tone would give at a channel's terminals, were it never to clip [V].

    As the gain stands: set in the rig, else by the card; where no signal reaches it, by the tone of its band.
    """
    if levels is not None:
        return levels.full_scale_v
    tone = signal.tone_for(chain.high_pass_hz, chain.low_pass_hz)
    return float(output.clip_v * 10.0 ** (-tone.tone_dbfs / 20.0))


def channel_volts2(
    spectrum: Spectrum, frequency_hz: Floats, filtered: Floats, clip_v: float, full_scale_v: float
) -> Floats:
    """Mean square volts of a channel by frequency, (F,) [V^2].

    The peaks of the whole programme reach those of a full-scale tone; its mean square lies its crest below that.
    The filters, as squares (F,), take out what is not the channel's. What is left never exceeds a full sine: the
    amplifier clips there.
    """
    mean2 = 2.0 * full_scale_v**2 / 10.0 ** (crest_db(spectrum) / 10.0)
    values = mean2 * shares(spectrum, frequency_hz) * filtered
    total = float(np.sum(values))
    return np.asarray(values if total <= clip_v**2 else values * clip_v**2 / total)
