"""The path behind each channel: from source through processor to amplifier, with the filters on the way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.rig.model import AmplifierSpec, Band, Item, Rig
from loomwright.sound.frequencies import Floats
from loomwright.sound.results import ChannelLoad, LoadStudy
from loomwright.sound.ways import Hop, hops


@dataclass(frozen=True, slots=True)
class Filter:
    """A band of filters as an item has it set."""

    item: str
    band: Band


@dataclass(frozen=True, slots=True)
class Chain:
    """What lies between the source and one channel.

    ``hops`` run from the source to the amplifier's input and are empty where nothing reaches it. ``input`` is the
    amplifier's input of this channel; where that has no lead, the one it shares.
    """

    channel: str                   # name of its load: "amp.ch1"
    amplifier: str
    number: int                    # of the channel; of a bridged pair the first
    input: str
    hops: tuple[Hop, ...]
    filters: tuple[Filter, ...]

    @property
    def high_pass_hz(self) -> float | None:
        return max((f.band.high_pass_hz for f in self.filters if f.band.high_pass_hz), default=None)

    @property
    def low_pass_hz(self) -> float | None:
        return min((f.band.low_pass_hz for f in self.filters if f.band.low_pass_hz), default=None)

    @property
    def limit_w(self) -> float | None:
        return min((f.band.limit_w for f in self.filters if f.band.limit_w), default=None)

    def response(self, frequency_hz: Floats) -> Floats:
        """What its filters leave of the volts at each frequency, (F,)."""
        left = np.ones(len(frequency_hz))
        for f in self.filters:
            left = left * band_response(f.band, frequency_hz)
        return left


def band_response(band: Band, frequency_hz: Floats) -> Floats:
    """Magnitude of a band's filters, (F,): Butterworth of order n is 1 / sqrt(1 + x^2n); Linkwitz-Riley its square at
    half the order.
    """
    left = np.ones(len(frequency_hz))
    order = band.slope_db // 6
    doubled = band.alignment == "LR" and order % 2 == 0
    power = order if doubled else 2 * order
    for corner, sign in ((band.high_pass_hz, -1.0), (band.low_pass_hz, 1.0)):
        if corner is not None:
            ratio = (frequency_hz / corner) ** sign
            one = 1.0 / np.sqrt(1.0 + ratio**power)
            left = left * (one**2 if doubled else one)
    return np.asarray(left)


def chains(rig: Rig, loads: LoadStudy) -> tuple[Chain, ...]:
    """The chain of every amplifier channel that has a loudspeaker, in the order of the loads."""
    found = hops(rig)
    return tuple(
        _chain(rig.items[c.item], c, found, rig)
        for c in loads.channels
        if isinstance(rig.items[c.item].part.spec, AmplifierSpec) and c.drivers
    )


def _chain(item: Item, load: ChannelLoad, found: tuple[Hop, ...], rig: Rig) -> Chain:
    inputs = [t.name for t in item.part.terminals if t.name.startswith("in")]
    number = load.channels[0]
    own = [inputs[(n - 1) % len(inputs)] for n in load.channels] + [f"hi{n}+" for n in load.channels]
    way: tuple[Hop, ...] = ()
    partner = number + 1 if number % 2 else number - 1
    shared = [n for n in (f"in{partner}", *inputs) if n not in own]   # inputs switched to feed more channels
    for name in (*own, *shared):
        last = next((h for h in found if h.input == f"{item.id}.{name}"), None)
        if last is not None:
            way = (*_before(last, found, (last.taker,)), last)
            break
    filters = []
    for hop in way:
        giver = rig.items[hop.giver]
        if giver.part.family == "processor":
            output = int(hop.output.rpartition("out")[2])
            filters += [Filter(giver.id, b) for b in giver.bands if output in b.channels]
    filters += [Filter(item.id, b) for b in item.bands if number in b.channels]
    return Chain(load.name, item.id, number, way[-1].input if way else f"{item.id}.{own[0]}", way, tuple(filters))


def _before(hop: Hop, found: tuple[Hop, ...], seen: tuple[str, ...]) -> tuple[Hop, ...]:
    """What leads up to a hop: a processor may send any of its inputs to any output, so its first stands for all."""
    if hop.giver in seen:
        return ()
    for other in found:
        if other.taker == hop.giver and other.giver not in seen:
            return (*_before(other, found, (*seen, hop.giver)), other)
    return ()
