"""What a short, hard current does to a wire: IEC 60364-4-43 and 60949, Onderdonk, Preece.

The adiabatic rule holds up to 5 s; no heat leaves the wire. Onderdonk holds below about 10 s.
"""

from __future__ import annotations

import math
from functools import cache

from loomwright.facts import tables
from loomwright.facts.conductors import mm2_per_cmil, resistivity_ohm_mm2_per_m
from loomwright.facts.names import unknown


def k_factor(metal: str, start_c: float, final_c: float) -> float:
    """The k of I2t = (k A)2 [A sqrt(s)/mm2] for heating between two temperatures; 0 if it starts at the limit."""
    constant, beta = _metal(metal)
    if final_c <= start_c:
        return 0.0
    return constant * math.sqrt(math.log((beta + final_c) / (beta + start_c)))


def i2t_a2s(area_mm2: float, metal: str, start_c: float, final_c: float) -> float:
    """I2t that heats the conductor from ``start_c`` to ``final_c`` [A2s]."""
    return (k_factor(metal, start_c, final_c) * area_mm2) ** 2


def capacity_j_per_cm3_k(metal: str) -> float:
    """Heat that a conductor takes up, consistent with the rule's own constant: constant2 rho20 / (beta + 20)."""
    constant, beta = _metal(metal)
    return constant**2 * resistivity_ohm_mm2_per_m(metal) / (beta + 20.0)


def final_c(area_mm2: float, metal: str, start_c: float, i2t: float) -> float:
    """Temperature [C] that an I2t [A2s] brings the conductor to, without loss of heat. ``inf`` past all sense."""
    constant, beta = _metal(metal)
    exponent = i2t / (constant * area_mm2) ** 2
    return (beta + start_c) * math.exp(exponent) - beta if exponent < 50 else math.inf


def onderdonk_a(area_mm2: float, seconds: float, ambient_c: float = 25.0, metal: str = "copper") -> float:
    """Current that melts a copper wire in that time [A]: A sqrt(log10((Tm - Ta)/(234 + Ta) + 1) / 33t), A in cmil."""
    return math.sqrt(_onderdonk(area_mm2, ambient_c, metal) / seconds)


def onderdonk_s(area_mm2: float, amps_a: float, ambient_c: float = 25.0, metal: str = "copper") -> float:
    """Time in which a current melts a copper wire [s]."""
    return _onderdonk(area_mm2, ambient_c, metal) / amps_a**2


@cache
def copper_melts_c() -> float:
    """Copper melts at this temperature [C]: what a heat balance says beyond it is no temperature any more."""
    return tables.rows("adiabatic", "adiabatic.fusing")["melting"].number("copper_c")


def preece_a(d_mm: float) -> float:
    """Current that melts a copper wire of that diameter in the end [A]: 10244 d^1.5, d in inches."""
    return tables.row("adiabatic", "adiabatic.fusing.preece").number("constant") * float((d_mm / 25.4) ** 1.5)


def limit_c(insulation_c: float, seconds: float) -> float:
    """Hottest the conductor may get [C] if it lasts that long.

    For ever: the rating. Up to 6 h: the rating + 50 (from memory). Up to 5 s: 160 for ratings to 105 C (PVC), else 250.
    """
    short_s, overload_s, overload_c, pvc_to, pvc_c, xlpe_c = _limits()
    if seconds > overload_s:
        return float(insulation_c)
    if seconds > short_s:
        return insulation_c + overload_c
    return pvc_c if insulation_c <= pvc_to else max(xlpe_c, float(insulation_c))


def limit_provisional(seconds: float) -> bool:
    """Whether :func:`limit_c` rests on memory for that length of time."""
    short_s, overload_s = _limits()[:2]
    return short_s < seconds <= overload_s


def conventional_ok(rating_a: float, ampacity_a: float) -> bool:
    """IEC 60364-4-43 433.1: rating <= ampacity, and 1.35 x rating (opens within the hour) <= 1.45 x ampacity."""
    rule = tables.rows("adiabatic", "adiabatic.overload")
    opens = rule["fuse"].number("ratio") * rating_a
    return rating_a <= ampacity_a and opens <= rule["cable"].number("ratio") * ampacity_a


@cache
def _metal(metal: str) -> tuple[float, float]:
    found = tables.rows("adiabatic", "adiabatic.metal")
    if metal not in found:
        raise unknown("metal", metal, found)
    return found[metal].number("constant"), found[metal].number("beta_c")


@cache
def _limits() -> tuple[float, float, float, float, float, float]:
    at = tables.rows("adiabatic", "adiabatic.limit")
    return (
        at["short"].number("time_s"), at["overload"].number("time_s"), at["overload"].number("above_rating_c"),
        at["pvc"].number("up_to_c"), at["pvc"].number("short_c"), at["xlpe"].number("short_c"),
    )


def _onderdonk(area_mm2: float, ambient_c: float, metal: str) -> float:
    """I2t to melting [A2s]."""
    if metal not in ("copper", "tinned copper"):
        raise ValueError(f"Onderdonk's rule is for copper, got {metal}")
    at = tables.rows("adiabatic", "adiabatic.fusing")
    melt_c, beta = copper_melts_c(), at["onderdonk"].number("beta_c")
    cmil = area_mm2 / mm2_per_cmil()
    rise = math.log10((melt_c - ambient_c) / (beta + ambient_c) + 1.0)
    return cmil**2 * rise / at["onderdonk"].number("divisor")
