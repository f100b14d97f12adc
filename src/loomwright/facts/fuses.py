"""Fuses and breakers: gates, ratings, resistance, melting I2t, interrupting limits.

Types are the letters of ISO 8820 plus ``post_mount``, ``glass_5x20`` and the three breaker types of SAE J553. A gate is
a band of time at one multiple of the rating, nothing more; reading between gates is the protection study's task.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from loomwright.facts import tables
from loomwright.facts.lines import between, between_log
from loomwright.facts.names import unknown
from loomwright.facts.tables import Mark, Row

ABOVE_STATED = 1.1                     # supply over stated volts that still counts as the stated ones (14.4 on 14 V)


@dataclass(frozen=True, slots=True)
class Gate:
    """Opening time at one multiple of the rating. ``min_s`` 0: no minimum stated. ``max_s`` inf: may hold for ever."""

    multiple: float
    min_s: float
    max_s: float
    mark: Mark


def types() -> tuple[str, ...]:
    """All device types."""
    return tuple(tables.rows("fuses", "fuse.type"))


def title(type: str) -> str:
    """The type in words."""
    return _type(type).text("title")


@cache
def gates(type: str) -> tuple[Gate, ...]:
    """The gates of a type by rising multiple. Types without gates of their own borrow a row and are provisional."""
    _type(type)
    same_as = tables.row("fuses", f"fuse.gate.{type}").cells.get("same_as")
    rows = tables.rows("fuses", f"fuse.gate.{same_as or type}").values()
    found = [Gate(float(r.name), r.number("min_s"), r.number("max_s"), r.mark) for r in rows if "min_s" in r.cells]
    return tuple(sorted(found, key=lambda g: g.multiple))


def carries_for_ever(type: str) -> float:
    """Highest multiple of its rating that a type is sure to carry for 100 h or more: the published gate, else 1."""
    return max((g.multiple for g in gates(type) if g.min_s >= 360_000.0), default=1.0)


def provisional(type: str) -> bool:
    """Whether the gates of a type rest on memory: bolt-in, post-mounted and breakers."""
    _type(type)
    return tables.row("fuses", f"fuse.gate.{type}").provisional


@cache
def ratings_a(type: str) -> tuple[float, ...]:
    """Ratings a type is made in, rising [A]."""
    _type(type)
    return tables.rows("fuses", "fuse.ratings")[type].numbers()


@cache
def standard_ratings_a() -> tuple[float, ...]:
    """The list of ratings of ABYC E-11, rising [A]."""
    return tables.rows("fuses", "fuse.ratings")["standard"].numbers()


def standard_at_most_a(limit_a: float) -> float | None:
    """Largest standard rating not above a limit; None if there is none."""
    return max((r for r in standard_ratings_a() if r <= limit_a), default=None)


def standard_at_least_a(need_a: float) -> float | None:
    """Smallest standard rating not below a need; None if there is none."""
    return min((r for r in standard_ratings_a() if r >= need_a), default=None)


def cold_resistance_mohm(type: str, rating_a: float) -> float:
    """Cold resistance [mOhm]: from a data sheet where one gives it, else by the fit for that build."""
    build = _type(_positive(type, rating_a)).text("build")
    seen = _sheet("fuse.cold", type).get(rating_a)
    return seen if seen is not None else _fit(tables.rows("fuses", "fuse.cold_fit")[build], rating_a)


def hot_factor(type: str) -> float:
    """Resistance at rated current over cold resistance."""
    _type(type)
    return tables.rows("fuses", "fuse.hot_ratio")[type].number()


def melting_i2t_a2s(type: str, rating_a: float) -> tuple[float, bool]:
    """Typical melting I2t [A2s], and whether it is provisional.

    A data sheet where one gives it; else the fit through blade fuses; else, for bolt-in types and breakers, the middle
    (geometric mean) of the last gate. Clearing takes up to about twice the melting value.
    """
    _positive(type, rating_a)
    seen = _sheet("fuse.melting", type).get(rating_a)
    if seen is not None:
        return seen, False
    fit = tables.rows("fuses", "fuse.melting_fit").get(type)
    if fit is not None:
        return _fit(fit, rating_a), not fit.number("from_a") <= rating_a <= fit.number("to_a")
    last = gates(type)[-1]
    return math.sqrt(last.min_s * last.max_s) * (last.multiple * rating_a) ** 2, True


def interrupting_a(type: str, supply_v: float) -> tuple[float, bool]:
    """Largest current the device can break at that supply [A], and whether it is provisional.

    Below the stated volts the stated amperes are kept; above them they fall as those of one published 100 A fuse.
    """
    _type(type)
    stated = sorted((float(v), row) for v, row in tables.rows("fuses", f"fuse.interrupting.{type}").items())
    for k, (volts, row) in enumerate(stated):
        if supply_v <= volts * ABOVE_STATED:
            if k == 0:
                return row.number("limit_a"), row.provisional
            below_v, below = stated[k - 1]
            amps = between_log(min(supply_v, volts), below_v, volts, below.number("limit_a"), row.number("limit_a"))
            return amps, row.provisional or below.provisional
    volts, row = stated[-1]
    return row.number("limit_a") * _pattern_a(supply_v) / _pattern_a(volts), True


def interrupting_stated_v(type: str) -> float:
    """Largest supply for which an interrupting limit is stated [V]."""
    _type(type)
    return max(float(v) for v in tables.rows("fuses", f"fuse.interrupting.{type}"))


def temperature_factor(type: str, temperature_c: float) -> float:
    """What it carries for ever at a temperature, over what it carries at 20 C."""
    curve = tables.rows("fuses", "fuse.temperature")[_type(type).text("heat")]
    return max(between(temperature_c, curve.numbers("at_c"), curve.numbers("factor"), above=True), 0.0)


def breaker_capacity_a(total_cca_a: float, main: bool) -> float | None:
    """Interrupting capacity a breaker needs on 12 or 24 V, by the batteries' total CCA (ABYC E-11) [A].

    None above 2200 A: the battery maker's short-circuit current counts there.
    """
    column = "main_a" if main else "branch_a"
    for row in sorted(tables.rows("fuses", "fuse.breaker_capacity").values(), key=lambda r: float(r.name)):
        if total_cca_a <= float(row.name):
            return row.number(column)
    return None


@cache
def selective_ratio() -> float:
    """Melting I2t upstream over downstream that counts as selective at high current (common practice)."""
    return tables.row("fuses", "fuse.clearing.margin").number("ratio")


def _type(type: str) -> Row:
    found = tables.rows("fuses", "fuse.type")
    if type not in found:
        raise unknown("device type", type, found)
    return found[type]


def _positive(type: str, rating_a: float) -> str:
    _type(type)
    if not rating_a > 0:
        raise ValueError(f"a rating must be above 0 A, got {rating_a}")
    return type


@cache
def _sheet(path: str, type: str) -> dict[float, float]:
    if type not in tables.rows("fuses", path):
        return {}
    return {float(r.name): r.number() for r in tables.rows("fuses", f"{path}.{type}").values()}


def _fit(row: Row, rating_a: float) -> float:
    return row.number() * float((rating_a / row.number("at_a")) ** row.number("exponent"))


def _pattern_a(supply_v: float) -> float:
    pattern = tables.rows("fuses", "fuse.interrupting_pattern")
    points = sorted((float(v), row.number("limit_a")) for v, row in pattern.items())
    if supply_v <= points[0][0]:
        return points[0][1]
    for (v0, a0), (v1, a1) in pairwise(points):
        if supply_v <= v1 or v1 == points[-1][0]:
            return between_log(supply_v, v0, v1, a0, a1)
    raise AssertionError("the last pair answers for all higher volts")
