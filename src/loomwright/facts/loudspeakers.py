"""Figures about drivers, their leads and passive parts."""

from __future__ import annotations

from functools import cache
from typing import Literal

from loomwright.facts import tables
from loomwright.facts.names import unknown

SeriesName = Literal["E6", "E12", "E24"]


@cache
def lead_uh_per_m() -> float:
    """Inductance of one conductor of a speaker lead, its partner beside it [uH/m]."""
    return _number("lead.conductor", "inductance_uh_per_m")


@cache
def unheard_loss_db() -> float:
    """Loss in a speaker lead that nobody hears [dB]."""
    return _number("lead.loss.unheard", "loss_db")


@cache
def useless_loss_db() -> float:
    """Loss below which more copper is of no use [dB]."""
    return _number("lead.loss.useless", "loss_db")


@cache
def spread_pct(what: str) -> float:
    """How far a value may be off: ``film``, ``other`` parts or ``coil_resistance`` of a driver [%]."""
    return _number(f"spread.{what}", "tolerance_pct")


@cache
def air_density_kg_per_m3() -> float:
    """Density of air."""
    return _number("air.density", "kg_per_m3")


@cache
def sound_speed_m_per_s() -> float:
    """Speed of sound."""
    return _number("air.speed", "m_per_s")


@cache
def box_leak_q() -> float:
    """Q of a vented box through its leaks."""
    return _number("box.leak", "q")


@cache
def least_share() -> float:
    """Least impedance in the rated band over the rated impedance."""
    return _number("rated.least", "share")


@cache
def zobel_ratio() -> float:
    """Resistor of a Zobel network over the voice coil's resistance."""
    return _number("zobel.factor", "ratio")


@cache
def coil_dcr_ohm(inductance_h: float) -> float:
    """Resistance that a coil of this inductance usually has [ohm]."""
    return float(_number("coil.air_core", "dcr_ohm_per_root_mh") * (inductance_h * 1000.0) ** 0.5)


@cache
def series(name: str) -> tuple[float, ...]:
    """Preferred values of one decade, from 10. Raises UnknownName."""
    found = tables.rows("loudspeakers", "series")
    if name not in found:
        raise unknown("series of preferred values", name, found)
    return found[name].numbers("values")


@cache
def crossover(alignment: str, way: Literal["low-pass", "high-pass"]) -> tuple[float, ...]:
    """Coefficients of a crossover from the amplifier on: L = c R / f, C = c / (R f). Raises UnknownName.

    >>> crossover("LR2", "high-pass")
    (0.0796, 0.3183)
    """
    found = tables.rows("loudspeakers", "crossover")
    if alignment not in found:
        raise unknown("crossover alignment", alignment, found)
    return found[alignment].numbers(way.replace("-", "_"))


@cache
def stock(what: str, cell: str) -> tuple[float, ...]:
    """Ratings that a kind of part is sold in, rising: ``stock("film", "volts_v")``."""
    return tables.rows("loudspeakers", "stock")[what].numbers(cell)


@cache
def largest_film_uf() -> float:
    """Largest film capacitor that is sold [uF]."""
    return tables.rows("loudspeakers", "stock")["film"].number("largest_uf")


@cache
def margin(what: Literal["volts", "watts"]) -> float:
    """What a part's rating should be over what it sees."""
    return tables.rows("loudspeakers", "stock")["margin"].number(what)


def _number(row: str, cell: str) -> float:
    return tables.row("loudspeakers", f"loudspeaker.{row}").number(cell)
