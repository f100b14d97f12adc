"""The sound study as plain numbers: what a page, a paper and a JSON answer show. No arrays, no complex numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from loomwright.facts.spectra import Spectrum
from loomwright.rig.model import AmplifierSpec, EngineState, Rig
from loomwright.sound.crossings import Response
from loomwright.sound.frequencies import db
from loomwright.sound.gain_steps import Step
from loomwright.sound.levels import ChannelLevels
from loomwright.sound.loudness import CAUTIONS, Loudness
from loomwright.sound.output import Claim
from loomwright.sound.remotes import Budget
from loomwright.sound.results import ChannelLoad
from loomwright.sound.speaker_level import SpeakerInput
from loomwright.sound.speaker_wire import DriverLead
from loomwright.sound.stress import PartStress
from loomwright.sound.study import SoundResult
from loomwright.sound.switching_results import Switching
from loomwright.sound.wiring_results import WiringChoices

PER_OCTAVE = 12
LOW_HZ, HIGH_HZ = 20.0, 20_000.0


@dataclass(frozen=True, slots=True)
class DriverSheet:
    """One driver on its channel; curves over the sheet's frequencies."""

    driver: str
    basis: str                       # measured, small-signal, nominal
    reversed: bool
    nominal_ohm: float
    rated_w: float
    watts_w: Mapping[Spectrum, float]  # by programme
    level_db: tuple[float, ...]      # driver volts against the channel's
    thermal_v: tuple[float, ...]
    excursion_v: tuple[float, ...] | None
    excursion_ratio: float | None
    subsonic_hz: float | None
    limiter_v: float | None
    limiter_w: float | None


@dataclass(frozen=True, slots=True)
class ChannelSheet:
    """One channel that drives loudspeakers, or should."""

    channel: str
    plus: str
    minus: str
    nominal_ohm: float | None
    least_ohm: float | None
    least_at_hz: float | None
    rated_ohm: float | None          # least load that the amplifier is rated to drive
    flags: tuple[str, ...]
    claimed_w: float | None
    credible_w: float | None
    real_w: float | None
    clip_v: float | None
    watts_w: Mapping[EngineState, float]
    high_pass_hz: float | None
    low_pass_hz: float | None
    impedance_ohm: tuple[float, ...]
    impedance_deg: tuple[float, ...]
    filter_db: tuple[float, ...]
    drivers: tuple[DriverSheet, ...]
    levels: ChannelLevels | None
    responses: tuple[Response, ...]
    stresses: tuple[PartStress, ...]
    choices: WiringChoices | None


@dataclass(frozen=True, slots=True)
class SoundSheet:
    """Everything about the sound of a rig."""

    frequency_hz: tuple[float, ...]
    channels: tuple[ChannelSheet, ...]
    unfed: tuple[str, ...]
    claims: tuple[Claim, ...]
    steps: tuple[Step, ...]
    leads: tuple[DriverLead, ...]
    speaker_inputs: tuple[SpeakerInput, ...]
    loudness: tuple[Loudness, ...]
    cautions: tuple[str, ...]
    budgets: tuple[Budget, ...]
    switching: Switching


def sheet(sound: SoundResult, rig: Rig) -> SoundSheet:
    """The study as plain numbers, curves at twelve points to the octave; channels with nothing on them left out."""
    grid = sound.loads.frequency_hz
    heard = np.nonzero((grid >= LOW_HZ) & (grid <= HIGH_HZ * 1.001))[0]
    step = max(1, round(np.log(2.0) / np.log(grid[1] / grid[0]) / PER_OCTAVE))
    picked = heard[::step]
    return SoundSheet(
        frequency_hz=_numbers(grid[picked]),
        channels=tuple(_channel(sound, rig, c, picked) for c in sound.loads.channels if c.drivers or _wired(rig, c)),
        unfed=sound.loads.unfed,
        claims=sound.claims,
        steps=sound.steps,
        leads=sound.leads,
        speaker_inputs=sound.speaker_inputs,
        loudness=sound.loudness,
        cautions=CAUTIONS if sound.loudness else (),
        budgets=sound.budgets,
        switching=sound.switching,
    )


def _wired(rig: Rig, load: ChannelLoad) -> bool:
    return any(rig.wires_at(t) for t in (load.plus, load.minus))


def _channel(
    sound: SoundResult, rig: Rig, load: ChannelLoad, picked: np.typing.NDArray[np.intp]
) -> ChannelSheet:
    output, way = sound.outputs.get(load.name), sound.chains.get(load.name)
    z = load.impedance_ohm[picked]
    closed = bool(np.isfinite(load.least_ohm))
    passed = np.zeros(len(picked)) if way is None else db(way.response(load.frequency_hz[picked]))
    return ChannelSheet(
        channel=load.name,
        plus=load.plus,
        minus=load.minus,
        nominal_ohm=load.nominal_ohm,
        least_ohm=load.least_ohm if closed else None,
        least_at_hz=load.least_at_hz if closed else None,
        rated_ohm=_rated_ohm(rig, load),
        flags=tuple(f.text for f in load.flags),
        claimed_w=output.claimed_w if output else None,
        credible_w=output.credible_w if output else None,
        real_w=output.real_w if output else None,
        clip_v=output.clip_v if output else None,
        watts_w=output.watts_w if output else {},
        high_pass_hz=way.high_pass_hz if way else None,
        low_pass_hz=way.low_pass_hz if way else None,
        impedance_ohm=_numbers(np.abs(z)) if closed else (),
        impedance_deg=_numbers(np.degrees(np.angle(z))) if closed else (),
        filter_db=_numbers(passed),
        drivers=tuple(_driver(sound, load, name, picked) for name in load.drivers),
        levels=sound.levels.get(load.name),
        responses=sound.responses.get(load.name, ()),
        stresses=sound.stresses.get(load.name, ()),
        choices=sound.choices.get(load.name),
    )


def _rated_ohm(rig: Rig, load: ChannelLoad) -> float | None:
    """None where that is not known: a source unit's speaker outputs."""
    spec = rig.items[load.item].part.spec
    if not isinstance(spec, AmplifierSpec):
        return None
    return spec.min_bridged_ohm or spec.min_load_ohm if load.bridged else spec.min_load_ohm


def _driver(sound: SoundResult, load: ChannelLoad, name: str, picked: np.typing.NDArray[np.intp]) -> DriverSheet:
    driver = load.drivers[name]
    played = next((p for p in sound.programmes if (p.driver, p.channel) == (name, load.name)), None)
    limit = next((x for x in sound.limits if (x.driver, x.channel) == (name, load.name)), None)
    way = None if limit is None or limit.excursion_v is None else _numbers(limit.excursion_v[picked])
    return DriverSheet(
        driver=name,
        basis=driver.basis,
        reversed=driver.reversed,
        nominal_ohm=driver.nominal_ohm,
        rated_w=played.rated_w if played else 0.0,
        watts_w=dict(played.watts_w) if played else {},
        level_db=_numbers(db(driver.transfer[picked])),
        thermal_v=_numbers(limit.thermal_v[picked]) if limit else (),
        excursion_v=way,
        excursion_ratio=limit.excursion_ratio if limit else None,
        subsonic_hz=limit.subsonic_hz if limit else None,
        limiter_v=limit.limiter_v if limit else None,
        limiter_w=limit.limiter_w if limit else None,
    )


def _numbers(values: np.typing.NDArray[np.float64]) -> tuple[float, ...]:
    return tuple(float(v) for v in values)
