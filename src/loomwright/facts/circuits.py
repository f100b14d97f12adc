"""Hand formulas of the handbooks. The network solver does not use them; tests and explanations do.

Lengths here are the whole conductor, out and back.
"""

from __future__ import annotations

import math

from loomwright.facts import tables
from loomwright.facts.conductors import cmil_sizes

HOT_RUN_C = 254.5                      # FAA AC 43.13-1B: 234.5 + 20
FEET_PER_M = 1.0 / 0.3048


def cmil_needed(current_a: float, length_ft: float, drop_v: float) -> float:
    """Circular mils by ABYC E-11: CM = 10.75 I L / E, L in feet out and back."""
    return tables.row("workmanship", "workmanship.drop.cm_constant").number() * current_a * length_ft / drop_v


def size_for_cmil(cmil: float, system: str = "AWG") -> str:
    """Smallest size with at least that many circular mils; ValueError past the largest."""
    for label, area in cmil_sizes(system):
        if area >= cmil:
            return label
    raise ValueError(f"no {system} size has {cmil:.0f} cmil")


def drop_e11_v(current_a: float, length_m: float, cmil: float) -> float:
    """Drop by the same rule [V]. Its constant is copper at 24 C: hot wire drops 20 % more."""
    constant = tables.row("workmanship", "workmanship.drop.cm_constant").number()
    return constant * current_a * length_m * FEET_PER_M / cmil


def drop_iso_v(current_a: float, length_m: float, area_mm2: float) -> float:
    """Drop by the ISO 10133 annex [V]: 0.0164 I L / S. From memory; copper at 8 C."""
    return tables.row("workmanship", "workmanship.drop.iso_constant").number() * current_a * length_m / area_mm2


def drop_v(ohm_per_length: float, length: float, current_a: float) -> float:
    """Drop from a table's ohms per unit of length, with the length in that unit [V] (FAA AC 43.13-1B)."""
    return ohm_per_length * length * current_a


def hot_run(length: float, temperature_c: float) -> float:
    """Longest run with a hot conductor, from the run tabled at 20 C: L 254.5 / (234.5 + T) (FAA AC 43.13-1B)."""
    return length * HOT_RUN_C / (HOT_RUN_C - 20.0 + temperature_c)


def constant_power_v(emf_v: float, resistance_mohm: float, power_w: float) -> float:
    """Upper volts at a load that draws constant power; ValueError above the most that the source can give."""
    inside = emf_v**2 - 4.0 * power_w * resistance_mohm / 1000.0
    if inside < 0:
        most = constant_power_limit_w(emf_v, resistance_mohm)
        raise ValueError(f"no solution: {power_w:g} W is above the {most:.1f} W that the source can give")
    return (emf_v + math.sqrt(inside)) / 2.0


def constant_power_limit_w(emf_v: float, resistance_mohm: float) -> float:
    """Most power a source can give: E2 / 4R [W]."""
    return emf_v**2 / (4.0 * resistance_mohm / 1000.0)


def fault_a(emf_v: float, *resistances_mohm: float) -> float:
    """Current of a bolted fault through resistances in series [A]."""
    return 1000.0 * emf_v / sum(resistances_mohm)


def parallel_batteries(
    emfs_v: tuple[float, ...], resistances_mohm: tuple[float, ...], load_a: float
) -> tuple[float, tuple[float, ...]]:
    """Batteries tied together with a constant-current load: (volts, amperes from each; negative is charging)."""
    conductances = [1000.0 / r for r in resistances_mohm]
    volts = (sum(e * g for e, g in zip(emfs_v, conductances, strict=True)) - load_a) / sum(conductances)
    return volts, tuple((e - volts) * g for e, g in zip(emfs_v, conductances, strict=True))
