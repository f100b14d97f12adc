"""Levels from source to driver: peak volts at each point, clip margin, noise; and each gain as volts to set."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from loomwright.facts import hearing, signal
from loomwright.facts.spectra import crest_db
from loomwright.rig.model import AmplifierSpec, DriverSpec, LoadSpec, Rig, SignalSpec
from loomwright.sound.alignments import gain_set_v
from loomwright.sound.frequencies import Floats
from loomwright.sound.output import ChannelOutput
from loomwright.sound.results import ChannelLoad
from loomwright.sound.signal_path import Chain

Reach = Literal["in reach", "too weak", "too hot"]
FULL_V = 2.0
"""Volts of the 1 W into 4 ohm that an amplifier's noise is stated against."""


@dataclass(frozen=True, slots=True)
class LevelPoint:
    """One point of a chain, with the source at full scale: peak volts there, where it clips, how noisy it is.

    ``margin_db`` is clip over peak: below 0 it clips. ``noise_v`` is r.m.s., A-weighted, with no signal.
    """

    place: str                     # terminal, or driver
    peak_v: float
    clip_v: float | None           # None: nothing clips there
    margin_db: float | None
    noise_v: float


@dataclass(frozen=True, slots=True)
class Gain:
    """How to set the gain of one channel.

    Play ``tone_hz`` at ``tone_dbfs`` with every loudspeaker off and all filters flat, and turn the gain up until the
    channel gives ``set_v`` r.m.s. (an AC voltmeter at its terminals). The gain then stands at ``input_v`` for full
    output. ``held_by`` says what bounds it: the amplifier, or a driver that takes less; then even dense programme,
    unfiltered, averages no more than its rated watts. ``reach`` says whether the gain's range, ``low_v`` to ``high_v``,
    holds that point. ``as_set_v`` is the gain that the rig describes, ``as_set_db`` how far a full-scale peak then runs
    beyond full output.
    """

    channel: str
    order: int
    tone_hz: float
    tone_dbfs: float
    set_v: float
    full_v: float                  # the amplifier's own full output
    input_v: float
    low_v: float
    high_v: float
    reach: Reach
    held_by: str
    as_set_v: float | None
    as_set_db: float | None

    @property
    def least_set_v(self) -> float:
        """What the channel gives with the same tone and the gain at its least [V]."""
        return self.set_v * self.input_v / self.high_v

    @property
    def most_set_v(self) -> float:
        """What it would give with the gain fully up, were it never to clip [V]."""
        return self.set_v * self.input_v / self.low_v


@dataclass(frozen=True, slots=True)
class ChannelLevels:
    """Level diagram of one channel, from the source's output to the driver, and the hiss that is left at 1 m."""

    channel: str
    points: tuple[LevelPoint, ...]
    gain: Gain
    full_scale_v: float            # r.m.s. of a full-scale tone at the channel's terminals, were it never to clip
    hiss_db: float
    hiss_driver: str


def channel_levels(
    rig: Rig, load: ChannelLoad, chain: Chain, output: ChannelOutput, order: int
) -> ChannelLevels | None:
    """Levels of one channel; None where no signal reaches it."""
    if not chain.hops:
        return None
    points = []
    volts, noise = _source(rig, chain)
    for n, hop in enumerate(chain.hops):
        if n:
            before = chain.hops[n - 1]
            volts, noise, entry = _through(rig, hop.giver, volts, noise, before.level, before.input)
            points.append(entry)
        points.append(_point(hop.output, volts, _ceiling(rig, hop.giver, hop.level), noise))
    spec = rig.items[chain.amplifier].part.spec
    assert isinstance(spec, AmplifierSpec)
    gain = _gain(rig, spec, load, chain, output, volts, order)
    points.append(_point(chain.input, volts, None, noise))
    boost = gain.full_v / (gain.as_set_v or min(max(gain.input_v, gain.low_v), gain.high_v))
    own = FULL_V / 10.0 ** ((spec.snr_db or signal.usual("amplifier_snr_db")) / 20.0)
    out_noise = math.hypot(noise * boost, own)
    points.append(_point(load.plus, volts * boost, gain.full_v, out_noise))
    hiss, driver = _hiss(rig, load, out_noise)
    carried = {k: _passed(load.frequency_hz, np.abs(d.transfer)) for k, d in load.drivers.items()}
    points += [
        LevelPoint(k, min(volts * boost, gain.full_v) * math.sqrt(2.0) * c, None, None, out_noise * c)
        for k, c in carried.items()
    ]
    return ChannelLevels(load.name, tuple(points), gain, volts * boost, hiss, driver)


def signal_of(rig: Rig, item: str) -> SignalSpec:
    """The signal side of a source unit or processor."""
    spec = rig.items[item].part.spec
    return spec.signal if isinstance(spec, LoadSpec) and spec.signal is not None else SignalSpec()


def _ceiling(rig: Rig, item: str, level: str) -> float:
    """Most volts r.m.s. that an output gives."""
    spec = signal_of(rig, item)
    if level == "speaker":
        return math.sqrt((spec.speaker_output_w or 20.0) * 4.0)
    if rig.items[item].part.family == "source":
        return spec.output_max_v or signal.usual("output_max_v")
    return spec.output_max_v or signal.usual("processor_output_max_v")


def _source(rig: Rig, chain: Chain) -> tuple[float, float]:
    """R.m.s. volts at 0 dBFS, and noise, at the first output of a chain."""
    first = chain.hops[0]
    volts = _ceiling(rig, first.giver, first.level)
    family = rig.items[first.giver].part.family
    snr = signal_of(rig, first.giver).snr_db or signal.usual(f"{family}_snr_db")
    return volts, volts / 10.0 ** (snr / 20.0)


def _through(
    rig: Rig, item: str, volts: float, noise: float, level: str, entry: str
) -> tuple[float, float, LevelPoint]:
    """A processor, flat: volts and noise at its output, and the point at its input."""
    spec = signal_of(rig, item)
    if level == "speaker":
        most = spec.speaker_input_max_v or signal.usual("speaker_input_max_v")
    else:
        most = spec.input_max_v or signal.usual("processor_input_max_v")
    top = _ceiling(rig, item, "line")
    through = volts if level == "line" else volts * top / most
    given = min(through, top)
    own = top / 10.0 ** ((spec.snr_db or signal.usual("processor_snr_db")) / 20.0)
    passed = noise * given / volts
    return given, math.hypot(passed, own), _point(entry, volts, most, noise)


def _point(place: str, volts: float, clip: float | None, noise: float) -> LevelPoint:
    margin = None if clip is None else 20.0 * math.log10(clip / volts)
    root = math.sqrt(2.0)
    return LevelPoint(place, volts * root, None if clip is None else clip * root, margin, noise)


def _gain(
    rig: Rig, spec: AmplifierSpec, load: ChannelLoad, chain: Chain, output: ChannelOutput, volts: float, order: int
) -> Gain:
    tone = signal.tone_for(chain.high_pass_hz, chain.low_pass_hz)
    set_v, held = output.clip_v, "the amplifier"
    spared = min(1.0, 10.0 ** ((crest_db("dense") + tone.tone_dbfs) / 20.0) / math.sqrt(2.0))
    for name, driver in load.drivers.items():
        taken = rig.items[name].part.spec
        assert isinstance(taken, DriverSpec)
        share = float(np.max(np.abs(driver.textbook)))
        if share > 0:
            most = gain_set_v(taken.rated_w, taken.nominal_ohm) / share
            if most < output.clip_v * 0.999 and most * spared < set_v:
                set_v, held = most * spared, name
    arriving = volts * 10.0 ** (tone.tone_dbfs / 20.0)
    full_input = arriving * output.clip_v / set_v
    low = spec.gain_low_v or signal.usual("gain_low_v")
    high = spec.gain_high_v or signal.usual("gain_high_v")
    reach: Reach = "too weak" if full_input < low else "too hot" if full_input > high else "in reach"
    as_set = rig.items[chain.amplifier].gains_v[chain.number - 1] if rig.items[chain.amplifier].gains_v else None
    return Gain(
        channel=load.name,
        order=order,
        tone_hz=tone.tone_hz,
        tone_dbfs=tone.tone_dbfs,
        set_v=set_v,
        full_v=output.clip_v,
        input_v=full_input,
        low_v=low,
        high_v=high,
        reach=reach,
        held_by=held,
        as_set_v=as_set,
        as_set_db=None if as_set is None else 20.0 * math.log10(volts / as_set),
    )


def _hiss(rig: Rig, load: ChannelLoad, noise_v: float) -> tuple[float, str]:
    """Level of the hiss of the loudest driver at 1 m [dBA]."""
    levels = []
    for name, driver in load.drivers.items():
        spec = rig.items[name].part.spec
        assert isinstance(spec, DriverSpec)
        share = _passed(load.frequency_hz, np.abs(driver.transfer))
        watts = (noise_v * share) ** 2 / spec.nominal_ohm
        levels.append((sensitivity_db(rig, name)[0] + 10.0 * math.log10(max(watts, 1e-30)), name))
    return max(levels)


def _passed(frequency_hz: Floats, transfer: Floats) -> float:
    """What a driver gets of the channel's volts where the ear is keenest, 500 Hz to 8 kHz."""
    band = (frequency_hz >= 500.0) & (frequency_hz <= 8000.0)
    return float(np.sqrt(np.mean(transfer[band] ** 2)))


def sensitivity_db(rig: Rig, driver: str) -> tuple[float, bool]:
    """Level of a driver at 1 W in its nominal ohms and 1 m [dB], and whether it is a guess."""
    item = rig.items[driver]
    spec = item.part.spec
    assert isinstance(spec, DriverSpec)
    if spec.sensitivity_db is not None:
        return spec.sensitivity_db, False
    title = item.part.title.casefold()
    kind = "horn" if "horn" in title else "tweeter" if "tweeter" in title else "cone"
    return hearing.sensitivity_db(kind), True
