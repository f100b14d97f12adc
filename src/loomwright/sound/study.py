"""The whole sound study of a rig."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

from loomwright.power.results import PowerResult
from loomwright.rig.model import Rig
from loomwright.rig.once import once
from loomwright.rig.shape import signal_part
from loomwright.sound.crossings import Response, responses
from loomwright.sound.gain_steps import Step, orders, steps
from loomwright.sound.levels import ChannelLevels, channel_levels
from loomwright.sound.limits import DriverLimit, driver_limits
from loomwright.sound.loads import study_loads
from loomwright.sound.loudness import Loudness, loudness
from loomwright.sound.output import ChannelOutput, Claim, claims, outputs, supplied
from loomwright.sound.programme import DriverProgramme, driver_programmes, full_scale_v, programme_share
from loomwright.sound.remotes import Budget, budgets
from loomwright.sound.results import LoadStudy
from loomwright.sound.signal_path import Chain, chains
from loomwright.sound.speaker_level import SpeakerInput, speaker_inputs
from loomwright.sound.speaker_wire import DriverLead, speaker_leads
from loomwright.sound.stress import PartStress, stresses
from loomwright.sound.switching import study_switching
from loomwright.sound.switching_results import Switching
from loomwright.sound.wiring_choices import choices as wiring_choices
from loomwright.sound.wiring_results import WiringChoices

FEW_DRIVERS = 4
"""Choices for more drivers on one channel are worked out when someone asks for them."""


@dataclass(frozen=True, slots=True, eq=False)
class RatedSound:
    """Loads, levels, limits, loudness. Channels go by the name of their load: ``amp.ch1``.

    ``stresses`` are those of passive parts, ``choices`` the ways to wire what hangs on a channel without any.
    ``outputs`` are those at rated volts.
    """

    loads: LoadStudy
    chains: Mapping[str, Chain]
    claims: tuple[Claim, ...]
    outputs: Mapping[str, ChannelOutput]
    programmes: tuple[DriverProgramme, ...]
    limits: tuple[DriverLimit, ...]
    levels: Mapping[str, ChannelLevels]
    steps: tuple[Step, ...]
    responses: Mapping[str, tuple[Response, ...]]
    stresses: Mapping[str, tuple[PartStress, ...]]
    leads: tuple[DriverLead, ...]
    choices: Mapping[str, WiringChoices]
    speaker_inputs: tuple[SpeakerInput, ...]
    loudness: tuple[Loudness, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SoundResult(RatedSound):
    """The sound of a rig with its supply: ``outputs`` at the volts that were found, the order of switching."""

    budgets: tuple[Budget, ...]
    switching: Switching


def study_sound(rig: Rig, power: PowerResult) -> SoundResult:
    """Everything about the sound of a rig with its sizes settled; pure."""
    still = _at_rated_volts(signal_part(rig))
    rated = {f.name: getattr(still, f.name) for f in fields(RatedSound)}
    rated["outputs"] = {name: supplied(o, rig.items[o.amplifier], power) for name, o in still.outputs.items()}
    return SoundResult(**rated, budgets=budgets(rig), switching=study_switching(rig))


@once
def _at_rated_volts(rig: Rig) -> RatedSound:
    """The sound of what carries it, whatever feeds it."""
    loads = study_loads(rig)
    ways = {c.channel: c for c in chains(rig, loads)}
    claimed = claims(rig)
    given = {o.channel: o for o in outputs(rig, loads, claimed)}
    order = orders(tuple(ways.values()))
    programmes: list[DriverProgramme] = []
    limits: list[DriverLimit] = []
    levels: dict[str, ChannelLevels] = {}
    parts: dict[str, tuple[PartStress, ...]] = {}
    choices: dict[str, WiringChoices] = {}
    for load in loads.channels:
        if load.name not in given:
            continue
        way, output = ways[load.name], given[load.name]
        found = channel_levels(rig, load, way, output, order[load.name])
        full = full_scale_v(found, way, output)
        programmes += driver_programmes(rig, load, way, output, full)
        limits += driver_limits(rig, load, way, output)
        if found is not None:
            levels[load.name] = found
        if load.parts:
            parts[load.name] = stresses(load, output.clip_v, programme_share(load, way, output, full))
        elif 1 < len(load.drivers) <= FEW_DRIVERS:
            choices[load.name] = wiring_choices(rig, tuple(load.drivers), ((load.item, load.channels[0]),))
    return RatedSound(
        loads=loads,
        chains=ways,
        claims=claimed,
        outputs=given,
        programmes=tuple(programmes),
        limits=tuple(limits),
        levels=levels,
        steps=steps(rig, tuple(levels.values())),
        responses={c.channel: responses(loads.channel(c.amplifier, c.number)) for c in ways.values()},
        stresses=parts,
        leads=speaker_leads(rig, loads),
        choices=choices,
        speaker_inputs=speaker_inputs(rig, loads),
        loudness=loudness(rig, loads.frequency_hz, programmes),
    )
