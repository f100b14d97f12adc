"""Passive crossovers for a real driver: parts that are sold, chosen for what the driver really does.

The textbook's values suit a resistor. Here each value runs through its series of preferred values, two at a time, until
the level at the driver lies as near to the alignment's as it can; the textbook's own values are kept beside it for
comparison. Order from the amplifier on: high-pass, low-pass, pad, Zobel network, driver.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loomwright.facts.loudspeakers import SeriesName
from loomwright.rig.model import DriverSpec, Item
from loomwright.sound.alignments import Alignment, Element, Way, ladder, pad, target, zobel
from loomwright.sound.crossings import HALF_POWER_DB, Crossing, crossings
from loomwright.sound.drivers import curve
from loomwright.sound.frequencies import Complexes, Floats, db, grid_hz
from loomwright.sound.preferred import nearest_value, values_near
from loomwright.sound.purchases import Buy, purchases
from loomwright.sound.rungs import Piece, Rung, backwards, element_ohm
from loomwright.sound.value_search import FLOOR_DB, Task, search

REACH = 2.6
"""A value is looked for up to this many times above and below the textbook's."""
BAND = 10.0
"""The level is held to its target from this many times below the lowest corner to as many above the highest."""
THINNED = 8
"""The search looks at every so many frequencies."""
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Corner:
    """One side of a crossover."""

    alignment: Alignment
    crossover_hz: float


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked for: a high-pass, a low-pass or both; what a pad takes off; whether a Zobel network is fitted."""

    high_pass: Corner | None = None
    low_pass: Corner | None = None
    attenuation_db: float = 0.0
    zobel: bool = False
    series: SeriesName = "E12"


@dataclass(frozen=True, slots=True, eq=False)
class FilterDesign:
    """A crossover with its parts, and what it does before the real driver. Arrays are (F,)."""

    wish: Wish
    parts: tuple[Buy, ...]
    frequency_hz: Floats
    transfer: Complexes                # driver volts per channel volt
    target: Complexes                  # what the alignments and the pad ask for
    impedance_ohm: Complexes           # what the channel sees
    error_db: float                    # r.m.s. over the band that counts
    textbook_error_db: float           # the same with the textbook's values
    crossings: tuple[Crossing, ...]    # of the passband's level - 3.01 dB
    peak_db: float                     # highest point over the target's passband
    least_ohm: float


def design(
    wish: Wish,
    driver_ohm: Complexes,
    frequency_hz: Floats,
    nominal_ohm: float,
    channel_v: float,
    *,
    re_ohm: float | None = None,
    le_h: float | None = None,
    least_ohm: float = 0.0,
) -> FilterDesign:
    """A crossover for one driver.

    Parameters
    ----------
    driver_ohm : (F,) complex array
        The driver with its lead, at ``frequency_hz``.
    nominal_ohm : float
        What the textbook takes the driver for.
    channel_v : float
        R.m.s. volts of the channel at full output; sets volts, amps and watts of the parts.
    re_ohm, le_h : float
        Voice coil, for a Zobel network.
    least_ohm : float
        Least impedance that the channel stands; choices that fall below are refused where others are left.

    Raises
    ------
    ValueError
        Where nothing is asked for, or a Zobel network for a driver whose voice coil is not known.
    """
    if wish.high_pass is None and wish.low_pass is None:
        raise ValueError("a crossover needs a high-pass, a low-pass or both")
    fixed = _after(wish, nominal_ohm, re_ohm, le_h)
    book = _reactances(wish, nominal_ohm)
    goal = _goal(wish, frequency_hz)
    counts = _counting(wish, frequency_hz)
    start = np.array([e.value for e in book])
    chosen = _search(book, start, fixed, driver_ohm, frequency_hz, goal, counts, wish.series, least_ohm)
    transfer, seen = _evaluate(book, chosen[None, :], fixed, driver_ohm, frequency_hz)
    plain, _ = _evaluate(book, start[None, :], fixed, driver_ohm, frequency_hz)
    rungs = [
        *(Rung(e.across, (Piece(e.kind, float(v), e.value),)) for e, v in zip(book, chosen, strict=True)), *fixed
    ]
    passband_db = -wish.attenuation_db
    level = db(transfer[0])
    heard = (frequency_hz >= 20.0) & (frequency_hz <= 20_000.0)
    return FilterDesign(
        wish=wish,
        parts=purchases(rungs, driver_ohm, frequency_hz, channel_v),
        frequency_hz=frequency_hz,
        transfer=transfer[0],
        target=goal,
        impedance_ohm=seen[0],
        error_db=float(_error_db(transfer, goal, counts)[0]),
        textbook_error_db=float(_error_db(plain, goal, counts)[0]),
        crossings=crossings(frequency_hz, level, passband_db + HALF_POWER_DB),
        peak_db=float(np.max(level[heard])) - passband_db,
        least_ohm=float(np.min(np.abs(seen[0]))),
    )


def design_driver(
    item: Item, wish: Wish, channel_v: float, *, lead_ohm: float = 0.0, least_ohm: float = 0.0
) -> FilterDesign:
    """A crossover for a driver of a rig, with ``lead_ohm`` of wire between the two. Raises as :func:`design`."""
    spec = item.part.spec
    assert isinstance(spec, DriverSpec)
    at_hz = grid_hz()
    known = curve(item, at_hz)
    return design(
        wish, known.impedance_ohm + lead_ohm, at_hz, spec.nominal_ohm, channel_v, re_ohm=spec.re_ohm,
        le_h=None if spec.le_mh is None else spec.le_mh * 1e-3, least_ohm=least_ohm,
    )  # fmt: skip


def _reactances(wish: Wish, nominal_ohm: float) -> tuple[Element, ...]:
    corners: tuple[tuple[Corner | None, Way], ...] = ((wish.high_pass, "high-pass"), (wish.low_pass, "low-pass"))
    return tuple(
        e for corner, way in corners if corner for e in ladder(corner.alignment, way, corner.crossover_hz, nominal_ohm)
    )


def _after(wish: Wish, nominal_ohm: float, re_ohm: float | None, le_h: float | None) -> tuple[Rung, ...]:
    """The pad and the Zobel network, in values that are sold."""

    def piece(element: Literal["capacitor", "resistor"], value: float) -> Piece:
        return Piece(element, nearest_value(value, wish.series), value)

    found: list[Rung] = []
    if wish.attenuation_db > 0.0:
        series, shunt = pad(nominal_ohm, wish.attenuation_db)
        found += [Rung(False, (piece("resistor", series),)), Rung(True, (piece("resistor", shunt),))]
    if wish.zobel:
        if re_ohm is None or not le_h:
            raise ValueError("a Zobel network needs the driver's voice-coil resistance and inductance")
        r, c = zobel(re_ohm, le_h)
        found.append(Rung(True, (piece("resistor", r), piece("capacitor", c))))
    return tuple(found)


def _goal(wish: Wish, frequency_hz: Floats) -> Complexes:
    goal = np.full(len(frequency_hz), 10.0 ** (-wish.attenuation_db / 20.0), dtype=np.complex128)
    if wish.high_pass is not None:
        goal = goal * target(wish.high_pass.alignment, "high-pass", wish.high_pass.crossover_hz, frequency_hz)
    if wish.low_pass is not None:
        goal = goal * target(wish.low_pass.alignment, "low-pass", wish.low_pass.crossover_hz, frequency_hz)
    return goal


def _counting(wish: Wish, frequency_hz: Floats) -> Mask:
    corners = [c.crossover_hz for c in (wish.high_pass, wish.low_pass) if c is not None]
    low, high = max(20.0, min(corners) / BAND), min(20_000.0, max(corners) * BAND)
    return (frequency_hz >= low) & (frequency_hz <= high)


def _search(
    book: Sequence[Element],
    start: Floats,
    fixed: Sequence[Rung],
    driver_ohm: Complexes,
    frequency_hz: Floats,
    goal: Complexes,
    counts: Mask,
    series: str,
    least_ohm: float,
) -> Floats:
    """Values that come nearest to the goal: every pair of elements runs through all its values while that helps."""
    some = np.flatnonzero(counts)[::THINNED]
    task = Task(tuple(book), tuple(fixed), driver_ohm[some], frequency_hz[some], db(goal[some]), least_ohm)
    lists = [values_near(v, series, REACH) for v in start]
    return np.array(search(task, lists, [nearest_value(v, series) for v in start]))


def _evaluate(
    book: Sequence[Element], values: Floats, fixed: Sequence[Rung], driver_ohm: Complexes, frequency_hz: Floats
) -> tuple[Complexes, Complexes]:
    """Driver volts per channel volt and what the channel sees, (N, F), for N sets of values (N, elements)."""
    arms = [(e.across, element_ohm(e.kind, values[:, k : k + 1], frequency_hz)) for k, e in enumerate(book)]
    arms += [(r.across, r.impedance_ohm(frequency_hz)) for r in fixed]
    transfer, seen = backwards(arms, driver_ohm)
    shape = (len(values), len(frequency_hz))
    return np.broadcast_to(transfer, shape), np.broadcast_to(seen, shape)


def _error_db(transfer: Complexes, goal: Complexes, counts: Mask) -> Floats:
    """R.m.s. difference of level, (N,) [dB]; levels far down count as equal."""
    got = np.maximum(db(transfer[:, counts]), FLOOR_DB)
    wanted = np.maximum(db(goal[counts]), FLOOR_DB)
    return np.asarray(np.sqrt(np.mean((got - wanted) ** 2, axis=1)))
