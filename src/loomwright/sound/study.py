"""The whole sound study of a rig."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.power.results import PowerResult
from loomwright.rig.model import Rig
from loomwright.sound.gain_steps import Step, orders, steps
from loomwright.sound.levels import ChannelLevels, channel_levels
from loomwright.sound.limits import DriverLimit, driver_limits
from loomwright.sound.loads import study_loads
from loomwright.sound.loudness import Loudness, loudness
from loomwright.sound.output import ChannelOutput, Claim, claims, outputs
from loomwright.sound.programme import DriverProgramme, driver_programmes
from loomwright.sound.remotes import Budget, budgets
from loomwright.sound.results import LoadStudy
from loomwright.sound.signal_path import Chain, chains
from loomwright.sound.speaker_level import SpeakerInput, speaker_inputs
from loomwright.sound.switching import study_switching
from loomwright.sound.switching_results import Switching


@dataclass(frozen=True, slots=True, eq=False)
class SoundResult:
    """Loads, levels, limits, loudness, the order of switching. Channels go by the name of their load: ``amp.ch1``."""

    loads: LoadStudy
    chains: Mapping[str, Chain]
    claims: tuple[Claim, ...]
    outputs: Mapping[str, ChannelOutput]
    programmes: tuple[DriverProgramme, ...]
    limits: tuple[DriverLimit, ...]
    levels: Mapping[str, ChannelLevels]
    steps: tuple[Step, ...]
    speaker_inputs: tuple[SpeakerInput, ...]
    loudness: tuple[Loudness, ...]
    budgets: tuple[Budget, ...]
    switching: Switching


def study_sound(rig: Rig, power: PowerResult) -> SoundResult:
    """Everything about the sound of a rig with its sizes settled; pure."""
    loads = study_loads(rig)
    ways = {c.channel: c for c in chains(rig, loads)}
    claimed = claims(rig)
    given = {o.channel: o for o in outputs(rig, power, loads, claimed)}
    order = orders(tuple(ways.values()))
    programmes: list[DriverProgramme] = []
    limits: list[DriverLimit] = []
    levels: dict[str, ChannelLevels] = {}
    for load in loads.channels:
        if load.name not in given:
            continue
        way, output = ways[load.name], given[load.name]
        programmes += driver_programmes(rig, load, way, output)
        limits += driver_limits(rig, load, way, output)
        found = channel_levels(rig, load, way, output, order[load.name])
        if found is not None:
            levels[load.name] = found
    return SoundResult(
        loads=loads,
        chains=ways,
        claims=claimed,
        outputs=given,
        programmes=tuple(programmes),
        limits=tuple(limits),
        levels=levels,
        steps=steps(rig, tuple(levels.values())),
        speaker_inputs=speaker_inputs(rig, loads),
        loudness=loudness(rig, loads.frequency_hz, programmes),
        budgets=budgets(rig),
        switching=study_switching(rig),
    )
