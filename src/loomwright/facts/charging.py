"""Charging sources against speed and temperature, and what the vehicle draws for itself."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from loomwright.facts import tables
from loomwright.facts.lines import between
from loomwright.facts.tables import Mark


@dataclass(frozen=True, slots=True)
class BaseLoad:
    """Range of one of the vehicle's own draws."""

    name: str
    low_w: float
    high_w: float
    mark: Mark


def alternator_fraction(shaft_rpm: float) -> float:
    """Hot output at 13.5 V over rated current, by speed of the alternator's own shaft (engine speed x pulley ratio)."""
    return _fraction("charging.alternator", shaft_rpm)


def stator_fraction(engine_rpm: float) -> float:
    """Output of a permanent-magnet stator over rated current, by engine speed (common practice)."""
    return _fraction("charging.stator", engine_rpm)


@cache
def alternator_points() -> tuple[tuple[float, ...], tuple[float, ...]]:
    """(shaft speed [rpm], share of rated current) of the published alternator."""
    row = tables.row("charging", "charging.alternator")
    return row.numbers("speed_rpm"), row.numbers("fraction")


@cache
def stator_points() -> tuple[tuple[float, ...], tuple[float, ...]]:
    """(engine speed [rpm], share of rated current) of a touring stator."""
    row = tables.row("charging", "charging.stator")
    return row.numbers("speed_rpm"), row.numbers("fraction")


def usual_regulator_v() -> float:
    """Usual regulator setting [V]."""
    return tables.row("charging", "charging.regulator.usual").number("volts_v")


def base_loads() -> tuple[BaseLoad, ...]:
    """What a touring motorcycle or trike draws for itself."""
    return tuple(
        BaseLoad(r.name, r.number("low_w"), r.number("high_w"), r.mark)
        for r in tables.rows("charging", "charging.base_load").values()
    )


def _fraction(key: str, rpm: float) -> float:
    xs, ys = alternator_points() if key == "charging.alternator" else stator_points()
    return max(between(rpm, xs, ys, below=True), 0.0)
