"""Batteries: volts at rest, resistance, Peukert, cold-cranking rules, charging volts.

Rest volts mean hours after charging with no load; under charge they say nothing about the state of charge.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from loomwright.facts import tables as _data
from loomwright.facts.lines import between
from loomwright.facts.names import unknown
from loomwright.facts.tables import Row

CHEMISTRIES: tuple[str, ...] = ("agm", "flooded", "gel", "lfp")


@dataclass(frozen=True, slots=True)
class ChargeLimits:
    """Charging volts at 25 C that suit a chemistry."""

    min_v: float
    max_v: float
    provisional: bool


def tables_by_chemistry(chemistry: str) -> tuple[str, ...]:
    """Rest tables that fit a chemistry."""
    _chemistry(chemistry)
    return tuple(t for t in tables() if t.partition("_")[0] == chemistry)


def tables() -> tuple[str, ...]:
    """Names of all rest tables."""
    return tuple(_data.rows("batteries", "battery.rest"))


@cache
def rest_points(table: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """(charge [%], rest [V]) of a table, rising, continued straight to 0 and 100 % where the source stops short."""
    row = _rest(table)
    pct, volts = row.numbers("charge_pct"), row.numbers("rest_v")
    if pct[0] > 0:
        pct, volts = (0.0, *pct), (between(0.0, pct, volts, below=True), *volts)
    if pct[-1] < 100:
        pct, volts = (*pct, 100.0), (*volts, between(100.0, pct, volts, above=True))
    return pct, volts


def rest_v(table: str, charge_pct: float) -> float:
    """Volts at rest by state of charge [%], held at the ends of 0 to 100. Raises UnknownName."""
    return between(charge_pct, *rest_points(table))


def charge_from_rest_v(table: str, rest_v: float) -> float:
    """State of charge [%] by volts at rest, held at 0 and 100."""
    pct, volts = rest_points(table)
    return between(rest_v, volts, pct)


def rest_provisional(table: str) -> bool:
    """Whether a rest table is from memory."""
    return _rest(table).provisional


@cache
def resistance_points(chemistry: str) -> tuple[tuple[float, ...], ...]:
    """What :func:`resistance_factor` reads: charge [%] and factor, temperature [C] and factor, held at their ends."""
    _chemistry(chemistry)
    row = _data.rows("batteries", "battery.resistance")["lfp" if chemistry == "lfp" else "lead"]
    return tuple(row.numbers(c) for c in ("charge_pct", "by_charge", "at_c", "by_temperature"))


def resistance_factor(chemistry: str, charge_pct: float, temperature_c: float) -> float:
    """Internal resistance over that of the full battery at 25 C. Common practice; LFP from memory."""
    pct, by_charge, at_c, by_temperature = resistance_points(chemistry)
    return between(charge_pct, pct, by_charge) * between(temperature_c, at_c, by_temperature)


def default_peukert(chemistry: str) -> float:
    """Peukert exponent where a part states none."""
    _chemistry(chemistry)
    return _data.rows("batteries", "battery.peukert")[chemistry].number("exponent")


def charge_limits(chemistry: str) -> ChargeLimits:
    """Charging volts at 25 C for a chemistry."""
    _chemistry(chemistry)
    row = _data.rows("batteries", "battery.chemistry")[chemistry]
    return ChargeLimits(row.number("charge_min_v"), row.number("charge_max_v"), row.provisional)


def peukert_hours(capacity_ah: float, current_a: float, exponent: float, rate_h: float = 20.0) -> float:
    """Hours until empty at a steady current: H (C / (I H))^k, with C the capacity at the H-hour rate."""
    return rate_h * float((capacity_ah / (current_a * rate_h)) ** exponent)


def peukert_capacity_ah(capacity_ah: float, current_a: float, exponent: float, rate_h: float = 20.0) -> float:
    """Ampere-hours that can be had at a steady current."""
    return current_a * peukert_hours(capacity_ah, current_a, exponent, rate_h)


def peukert_hours_1a(peukert_ah: float, current_a: float, exponent: float) -> float:
    """Hours by t = C / I^k, which needs the capacity at 1 A, not the rated one."""
    return peukert_ah / float(current_a**exponent)


def marine_cranking_a(cca_a: float) -> float:
    """Marine cranking amperes (0 C) from cold-cranking amperes (-18 C): 1.3 x."""
    return cca_a * _data.row("batteries", "battery.cranking.marine").number("ratio")


def cold_resistance_bound_mohm(cca_a: float) -> float:
    """Resistance at -18 C is at most (12.6 - 7.2) / CCA [mOhm]: SAE J537."""
    row = _data.row("batteries", "battery.cranking.cold_bound")
    return 1000.0 * (row.number("from_v") - row.number("to_v")) / cca_a


def warm_resistance_mohm(cca_a: float) -> float:
    """Resistance of a warm, full battery: about 3000 / CCA [mOhm] (common practice)."""
    return _data.row("batteries", "battery.cranking.warm").number("mohm_x_cca") / cca_a


def _rest(table: str) -> Row:
    found = _data.rows("batteries", "battery.rest")
    if table not in found:
        raise unknown("battery rest table", table, found)
    return found[table]


def _chemistry(chemistry: str) -> None:
    if chemistry not in CHEMISTRIES:
        raise unknown("battery chemistry", chemistry, CHEMISTRIES)
