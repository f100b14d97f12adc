"""A passive crossover tried out before one driver of a rig: what it does there, and what to buy for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from loomwright.errors import InputError, Problem
from loomwright.facts.loudspeakers import SeriesName, least_share
from loomwright.rig.model import AmplifierSpec, DriverSpec, Rig
from loomwright.rig.words import nearest
from loomwright.sound.alignments import Alignment
from loomwright.sound.crossings import Crossing
from loomwright.sound.frequencies import Floats, db
from loomwright.sound.passive import Corner, Wish, design_driver
from loomwright.sound.placement import Spot, spots
from loomwright.sound.purchases import Buy
from loomwright.sound.study import SoundResult

Kind = Literal["high-pass", "low-pass", "band-pass"]
AlignmentName = Literal["BW1", "BW2", "BW3", "BW4", "LR2", "LR4"]
KINDS: tuple[Kind, ...] = get_args(Kind)
ALIGNMENTS: tuple[AlignmentName, ...] = get_args(AlignmentName)
LOW_HZ, HIGH_HZ = 20.0, 20_000.0
PER_OCTAVE = 12
_USUAL_HZ = (80.0, 3000.0)
_ROOM = 3.0
"""A driver is asked for sound from this many times its resonance up, where nothing else is known."""


@dataclass(frozen=True, slots=True)
class Corners:
    """What is asked for: ``high_pass_hz`` is where the driver begins, ``low_pass_hz`` where it ends."""

    kind: Kind
    alignment: AlignmentName
    high_pass_hz: float
    low_pass_hz: float
    series: SeriesName = "E12"
    pad_db: float = 0.0
    zobel: bool = False


@dataclass(frozen=True, slots=True)
class CrossoverSheet:
    """A crossover before one driver as plain numbers; curves are (F,) over ``frequency_hz``.

    ``channel_v`` is the channel's full output, r.m.s.; volts, amps and watts of the parts are those at it.
    ``turn_round`` says that one driver of the pair is joined the other way round with this alignment.
    """

    channel: str
    driver: str
    basis: str
    asked: Corners
    channel_v: float
    rated_ohm: float | None
    frequency_hz: tuple[float, ...]
    level_db: tuple[float, ...]        # driver volts against the channel's, with the parts to buy
    target_db: tuple[float, ...]       # what was asked for
    impedance_ohm: tuple[float, ...]   # what the channel sees
    least_ohm: float
    parts: tuple[Buy, ...]
    crossings: tuple[Crossing, ...]
    peak_db: float
    error_db: float
    textbook_error_db: float
    turn_round: bool
    spots: tuple[Spot, ...]


def usual(rig: Rig, sound: SoundResult, driver: str) -> Corners:
    """What to begin with: the corners that the rig describes, else what suits the driver."""
    way = next((sound.chains[c.name] for c in sound.loads.of_driver(driver) if c.name in sound.chains), None)
    spec = rig.items[driver].part.spec
    fs = spec.fs_hz if isinstance(spec, DriverSpec) else None
    low = way.high_pass_hz if way is not None else None
    high = way.low_pass_hz if way is not None else None
    starts = low or (_round(_ROOM * fs) if fs else _USUAL_HZ[0])
    ends = high or max(_USUAL_HZ[1], 2.0 * starts)
    if low is None and high is not None:
        return Corners("low-pass", "LR2", min(starts, ends / 2.0), ends)
    return Corners("high-pass" if high is None else "band-pass", "LR2", starts, min(ends, HIGH_HZ))


def crossover(rig: Rig, sound: SoundResult, driver: str, asked: Corners) -> CrossoverSheet:
    """A crossover for a driver of a rig before its real load.

    Raises
    ------
    InputError
        Where a name is no driver, no channel reaches it, or the corners do not suit each other or the driver.
    """
    item = rig.items.get(driver)
    if item is None or not isinstance(item.part.spec, DriverSpec):
        known = [i.id for i in rig.items.values() if isinstance(i.part.spec, DriverSpec)]
        raise _refused(rig, "driver", "a driver of the rig", driver, _hint(driver, known))
    load = next((c for c in sound.loads.of_driver(driver) if c.name in sound.outputs), None)
    if load is None:
        raise _refused(rig, driver, "a channel that drives it", "none", "Wire it to a channel first.")
    amplifier = rig.items[load.item].part.spec
    rated = None
    if isinstance(amplifier, AmplifierSpec):
        rated = (amplifier.min_bridged_ohm if load.bridged else None) or amplifier.min_load_ohm
    lead = next((x.loop_ohm for x in sound.leads if (x.driver, x.channel) == (driver, load.name)), 0.0)
    volts = sound.outputs[load.name].clip_v
    try:
        made = design_driver(
            item, _wish(rig, asked), volts, lead_ohm=lead, least_ohm=least_share() * rated if rated else 0.0
        )
    except ValueError as error:
        if isinstance(error, InputError):
            raise
        raise _refused(rig, driver, "a crossover that can be made", str(error), "Ask for another.") from error
    heard = np.flatnonzero((made.frequency_hz >= LOW_HZ) & (made.frequency_hz <= HIGH_HZ * 1.001))
    step = max(1, round(np.log(2.0) / np.log(made.frequency_hz[1] / made.frequency_hz[0]) / PER_OCTAVE))
    at = heard[::step]
    return CrossoverSheet(
        channel=load.name,
        driver=driver,
        basis=load.drivers[driver].basis,
        asked=asked,
        channel_v=volts,
        rated_ohm=rated,
        frequency_hz=_numbers(made.frequency_hz[at]),
        level_db=_numbers(db(made.transfer[at])),
        target_db=_numbers(db(made.target[at])),
        impedance_ohm=_numbers(np.abs(made.impedance_ohm[at])),
        least_ohm=made.least_ohm,
        parts=made.parts,
        crossings=tuple(c for c in made.crossings if LOW_HZ <= c.frequency_hz <= HIGH_HZ),
        peak_db=made.peak_db,
        error_db=made.error_db,
        textbook_error_db=made.textbook_error_db,
        turn_round=_alignment(asked.alignment).invert,
        spots=spots(rig, driver, across=any(p.across for p in made.parts)),
    )


def _wish(rig: Rig, asked: Corners) -> Wish:
    for name, value in (("high_pass_hz", asked.high_pass_hz), ("low_pass_hz", asked.low_pass_hz)):
        used = asked.kind == "band-pass" or asked.kind.startswith(name.partition("_")[0])
        if used and not LOW_HZ <= value <= HIGH_HZ:
            raise _refused(rig, name, "20 to 20 000 Hz", f"{value:g}", "Choose a frequency that is heard.")
    if asked.kind == "band-pass" and asked.low_pass_hz <= asked.high_pass_hz:
        raise _refused(
            rig, "low_pass_hz", f"more than {asked.high_pass_hz:g} Hz", f"{asked.low_pass_hz:g}",
            "Let the driver end above where it begins.",
        )  # fmt: skip
    if not 0.0 <= asked.pad_db <= 30.0:
        raise _refused(rig, "pad_db", "0 to 30 dB", f"{asked.pad_db:g}", "Turn the gain down for more than that.")
    shape = _alignment(asked.alignment)
    return Wish(
        high_pass=Corner(shape, asked.high_pass_hz) if asked.kind != "low-pass" else None,
        low_pass=Corner(shape, asked.low_pass_hz) if asked.kind != "high-pass" else None,
        attenuation_db=asked.pad_db,
        zobel=asked.zobel,
        series=asked.series,
    )


def _alignment(name: AlignmentName) -> Alignment:
    return Alignment("LR" if name.startswith("LR") else "BW", int(name[2:]))


def _refused(rig: Rig, place: str, expected: str, received: str, remedy: str) -> InputError:
    return InputError([Problem(rig.file, place, expected, received, remedy)])


def _hint(name: str, known: list[str]) -> str:
    near = nearest(name, known)
    return "Name a driver." if near is None else f'The nearest is "{near}".'


def _numbers(values: Floats) -> tuple[float, ...]:
    return tuple(float(v) for v in values)


def _round(value: float) -> float:
    return float(f"{value:.2g}")
