"""Output, honestly: what each channel gives at the volts that were found, and what an amplifier's own fuse allows."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.facts.amplifiers import rating_v, sine_into_w
from loomwright.facts.fuses import carries_for_ever
from loomwright.power.amplifier import output_share
from loomwright.power.channels import at_load_w
from loomwright.power.results import PowerResult
from loomwright.rig.model import ENGINE_STATES, AmplifierSpec, EngineState, Item, LoadSpec, Rig
from loomwright.sound.results import ChannelLoad, LoadStudy

NOMINAL_OHM = 4.0
LEAST_OHM = 0.5
"""No output is reckoned into less than this [ohm]."""


@dataclass(frozen=True, slots=True)
class Claim:
    """A claimed output against what can flow in: ``limit_w`` = ``amps_a`` x ``volts_v`` x ``efficiency``.

    For a source unit without a converter the limit is the sine that fits between the supply's rails, bridged:
    V^2 / 2 / R for each output; ``amps_a`` is then None. ``credible_w`` is the lower of claim and limit, all channels
    together into 4 ohm.
    """

    item: str
    outputs: int
    claimed_w: float
    limit_w: float
    amps_a: float | None
    volts_v: float
    efficiency: float

    @property
    def credible_w(self) -> float:
        return min(self.claimed_w, self.limit_w)

    @property
    def share(self) -> float:
        """Credible over claimed: 1 for an honest figure."""
        return self.credible_w / self.claimed_w


@dataclass(frozen=True, slots=True)
class ChannelOutput:
    """What one channel gives.

    ``claimed_w`` and ``credible_w`` are into the nominal load at rated volts; ``watts_w`` is credible output at the
    supply volts of each engine state with loud programme, ``supply_v``. ``clip_v`` is the most r.m.s. volts at rated
    supply, ``clip_by_engine_v`` at those found. ``real_w`` is what a pink signal of ``clip_v`` puts into the real load.
    """

    channel: str
    amplifier: str
    nominal_ohm: float
    claimed_w: float
    credible_w: float
    clip_v: float
    real_w: float
    supply_v: Mapping[EngineState, float]
    watts_w: Mapping[EngineState, float]
    clip_by_engine_v: Mapping[EngineState, float]


def claims(rig: Rig) -> tuple[Claim, ...]:
    """Every amplifier with fuses of its own, and every source unit that claims watts."""
    found = []
    for item in rig.items.values():
        spec = item.part.spec
        if isinstance(spec, AmplifierSpec) and spec.own_fuses_a:
            found.append(fuse_claim(item.id, spec))
        elif isinstance(spec, LoadSpec) and spec.signal is not None and spec.signal.speaker_output_w is not None:
            count = spec.signal.speaker_outputs
            volts = rating_v()
            each = sine_into_w(volts, NOMINAL_OHM, bridged=True)
            found.append(
                Claim(item.id, count, count * spec.signal.speaker_output_w, count * each, None, volts, 1.0)
            )  # fmt: skip
    return tuple(found)


def fuse_claim(item: str, spec: AmplifierSpec) -> Claim:
    """An amplifier's claim into 4 ohm against its own fuses, its rated volts and its efficiency."""
    amps = carries_for_ever(spec.own_fuse_type) * sum(spec.own_fuses_a)
    limit = amps * spec.rated_v * spec.efficiency_full
    claimed = spec.output_4ohm_w * spec.channels
    return Claim(item, spec.channels, claimed, limit, amps, spec.rated_v, spec.efficiency_full)


def outputs(rig: Rig, loads: LoadStudy, claimed: tuple[Claim, ...]) -> tuple[ChannelOutput, ...]:
    """Output of every amplifier channel that has a load, its supply volts still to be found."""
    share = {c.item: c.share for c in claimed}
    return tuple(
        channel_output(rig.items[load.item], load, share.get(load.item, 1.0))
        for load in loads.channels
        if isinstance(rig.items[load.item].part.spec, AmplifierSpec) and load.drivers and not load.short
    )


def channel_output(item: Item, load: ChannelLoad, credible: float) -> ChannelOutput:
    """Output of one channel at rated volts; ``credible`` is what the amplifier's fuse bears out of its claim."""
    spec = item.part.spec
    assert isinstance(spec, AmplifierSpec)
    ohm = max(round(load.nominal_ohm or NOMINAL_OHM, 4), LEAST_OHM)
    at4 = spec.output_4ohm_w
    at2 = spec.output_2ohm_w if spec.output_2ohm_w is not None else at4
    if load.bridged:
        at4 = at2 = spec.bridged_4ohm_w if spec.bridged_4ohm_w is not None else 2.0 * at4
    claimed = at_load_w(at4, at2, ohm)
    watts = credible * claimed
    clip = math.sqrt(watts * ohm)
    siemens = (1.0 / load.impedance_ohm).real
    band = (load.frequency_hz >= 20.0) & (load.frequency_hz <= 20_000.0)
    return ChannelOutput(
        channel=load.name,
        amplifier=item.id,
        nominal_ohm=ohm,
        claimed_w=claimed,
        credible_w=watts,
        clip_v=clip,
        real_w=clip**2 * float(siemens[band].mean()),
        supply_v={},
        watts_w={},
        clip_by_engine_v={},
    )


def supplied(output: ChannelOutput, item: Item, power: PowerResult) -> ChannelOutput:
    """The output of a channel of an amplifier with what it gives at the supply volts that were found."""
    spec = item.part.spec
    assert isinstance(spec, AmplifierSpec)
    volts: dict[EngineState, float] = {}
    given: dict[EngineState, float] = {}
    for engine in ENGINE_STATES:
        state = power.case(engine, "loud").items.get(item.id)
        if state is not None:
            volts[engine] = state.volts_v
            given[engine] = output.credible_w * output_share(spec, state.volts_v)
    clip = {e: math.sqrt(w * output.nominal_ohm) for e, w in given.items()}
    return replace(output, supply_v=volts, watts_w=given, clip_by_engine_v=clip)
