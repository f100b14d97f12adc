"""What a driver stands, by frequency: heat in its coil, way of its cone; and the limiter and filter that follow."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loomwright.rig.model import DriverSpec, Rig
from loomwright.sound import boxes
from loomwright.sound.frequencies import Floats
from loomwright.sound.output import ChannelOutput
from loomwright.sound.results import ChannelLoad
from loomwright.sound.signal_path import Chain

LOWEST_HZ = 20.0
"""Nothing is played below this."""


@dataclass(frozen=True, slots=True, eq=False)
class DriverLimit:
    """Limits of one driver on its channel, as r.m.s. volts of a tone at the amplifier's terminals, (F,) [V].

    ``thermal_v`` is what makes its rated watts in its nominal ohms at its tags; ``excursion_v`` what moves it to its
    linear excursion, None where its data do not say. ``excursion_ratio`` is the most that a full-output tone, as the
    chain filters it, moves it beyond that, at ``ratio_at_hz``. ``subsonic_hz`` is the lowest frequency from which
    full output may be played: where to set the high-pass, None where none is needed. ``limiter_v`` and ``limiter_w``
    are what a limiter on the channel must hold, None where the amplifier cannot exceed it.
    """

    driver: str
    channel: str
    frequency_hz: Floats
    thermal_v: Floats
    excursion_v: Floats | None
    clip_v: float
    excursion_ratio: float | None
    ratio_at_hz: float | None
    subsonic_hz: float | None
    limiter_v: float | None
    limiter_w: float | None


def driver_limits(rig: Rig, load: ChannelLoad, chain: Chain, output: ChannelOutput) -> tuple[DriverLimit, ...]:
    """Limits of every driver of a channel."""
    return tuple(_limit(rig, name, load, chain, output) for name in load.drivers)


def _limit(rig: Rig, name: str, load: ChannelLoad, chain: Chain, output: ChannelOutput) -> DriverLimit:
    item, driver = rig.items[name], load.drivers[name]
    spec = item.part.spec
    assert isinstance(spec, DriverSpec)
    f = load.frequency_hz
    transfer = np.maximum(np.abs(driver.transfer), 1e-9)
    tags_v = math.sqrt(spec.rated_w * spec.nominal_ohm)
    thermal = tags_v / transfer
    known = boxes.small_signal(spec)
    at_tags = None
    if known is not None and spec.xmax_mm is not None:
        at_tags = boxes.excursion_limit_v(known, item.mounting, spec.xmax_mm, f)
    excursion = None if at_tags is None else at_tags / transfer
    heard = f >= LOWEST_HZ
    ratio: float | None = None
    at_hz: float | None = None
    subsonic: float | None = None
    if excursion is not None:
        moved = np.where(heard, output.clip_v * chain.response(f) / excursion, 0.0)
        at = int(np.argmax(moved))
        ratio, at_hz = float(moved[at]), float(f[at])
        over = heard & (output.clip_v > excursion)
        if over.any():
            last = int(np.nonzero(over)[0][-1])
            subsonic = float(f[min(last + 1, len(f) - 1)])
    most = tags_v / float(np.max(transfer[heard & (f <= 20_000.0)]))
    needed = output.clip_v > most * 1.001
    return DriverLimit(
        driver=name,
        channel=load.name,
        frequency_hz=f,
        thermal_v=thermal,
        excursion_v=excursion,
        clip_v=output.clip_v,
        excursion_ratio=ratio,
        ratio_at_hz=at_hz,
        subsonic_hz=subsonic,
        limiter_v=most if needed else None,
        limiter_w=most**2 / output.nominal_ohm if needed else None,
    )
