"""How many amperes a conductor may carry for ever.

The table of 33 CFR 183.425 binds inboard petrol boats; elsewhere it is a cautious basis for design. Its columns hold
at 30 C: apply an ambient factor or an engine-space factor, never both.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache

from loomwright.facts import tables
from loomwright.facts.conductors import INSULATION_C, SAME_SIZE, conductivity, sizes
from loomwright.facts.lines import between_log
from loomwright.facts.names import unknown

TABLE_AMBIENT_C = 30.0
BASES: tuple[str, ...] = ("from 3", "from 2")


def table_a(awg_label: str, insulation_c: int) -> float:
    """One cell of 33 CFR 183.425 Table 5 [A]. ``awg_label`` is ``8`` or ``8 AWG``. Raises UnknownName."""
    name = awg_label.removesuffix("AWG").strip()
    found = tables.rows("ampacity", "ampacity.boat")
    if name not in found:
        raise unknown("size in the ampacity table", awg_label, found)
    if str(insulation_c) not in found[name].cells:
        raise _no_insulation(insulation_c)
    return found[name].number(str(insulation_c))


def ampacity_a(
    area_mm2: float,
    metal: str,
    insulation_c: int,
    ambient_c: float = TABLE_AMBIENT_C,
    bundle: int = 1,
    basis: str = "from 3",
) -> float:
    """Allowable current of one conductor [A]: the table by area, times the ambient and the bundle factor.

    Parameters
    ----------
    area_mm2 : float
        Metal area, above zero. Between two rows of the table the lower of two lines on log-log paper is taken: the one
        that joins them, and the one that continues from the two rows below. Better insulation never carries less.
    metal : str
        ``copper`` or ``tinned copper`` as tabled; copper-clad aluminium counts as its area x conductivity.
    insulation_c : int
        Temperature rating of the insulation: 60, 75, 80, 90, 105, 125 or 200.
    ambient_c : float
        Hottest place along the wire [C].
    bundle : int
        Current-carrying wires lying together, this one included.
    basis : str
        ``from 3`` (33 CFR) or ``from 2`` (more cautious).
    """
    if insulation_c not in INSULATION_C:
        raise _no_insulation(insulation_c)
    base = _base_a(_table_area(area_mm2, metal), insulation_c)
    return base * ambient_factor(insulation_c, ambient_c) * bundle_factor(bundle, basis)


def ambient_factor(insulation_c: float, ambient_c: float) -> float:
    """sqrt((Tc - Ta) / (Tc - 30)); no credit below 30 C, 0 at and above the insulation's rating.

    The printed engine-space factors of 33 CFR 183.425 at 50 C follow this rule.
    """
    if insulation_c <= TABLE_AMBIENT_C:
        raise ValueError(f"insulation must be rated above {TABLE_AMBIENT_C:g} C, got {insulation_c}")
    left = (insulation_c - ambient_c) / (insulation_c - TABLE_AMBIENT_C)
    return math.sqrt(min(max(left, 0.0), 1.0))


def engine_space_factor(insulation_c: int) -> float:
    """Printed factor for a 50 C engine space. 33 CFR 183.425 Table 5; 60 C wire is forbidden there by ABYC E-11."""
    found = tables.rows("ampacity", "ampacity.engine_space")
    if str(insulation_c) not in found:
        raise _no_insulation(insulation_c)
    return found[str(insulation_c)].number("factor")


def bundle_factor(n: int, basis: str = "from 3") -> float:
    """Factor for ``n`` current-carrying wires in one bundle; the sources differ on where it starts."""
    if n < 1:
        raise ValueError(f"a bundle holds at least 1 wire, got {n}")
    factor = 1.0
    for first, value in _bundle_steps(basis):
        if n >= first:
            factor = value
    return factor


@cache
def device_limit_ratio() -> float:
    """Largest device over table amperes below 50 V (33 CFR 183.455): 1.5. Saves a wire from shorts, not overload."""
    return tables.row("ampacity", "ampacity.device.boat_limit").number("ratio")


@cache
def continuous_margin() -> float:
    """Rating over continuous current that a fuse needs: 1.25 (common practice)."""
    return tables.row("ampacity", "ampacity.device.continuous_margin").number("ratio")


def _table_area(area_mm2: float, metal: str) -> float:
    if not area_mm2 > 0:
        raise ValueError(f"area must be above 0 mm2, got {area_mm2}")
    fraction = conductivity(metal)
    return area_mm2 * fraction if metal.startswith("cca") else area_mm2


@lru_cache(maxsize=4096)
def _base_a(area_mm2: float, insulation_c: int) -> float:
    return max(_in_column(area_mm2, c) for c in INSULATION_C if c <= insulation_c)


def _in_column(area_mm2: float, insulation_c: int) -> float:
    areas, amps = _column(insulation_c)
    for area, amp in zip(areas, amps, strict=True):
        if area / SAME_SIZE <= area_mm2 <= area * SAME_SIZE:
            return amp
    beyond = tables.rows("ampacity", "ampacity.beyond")
    if area_mm2 < areas[0]:
        return amps[0] * float((area_mm2 / areas[0]) ** beyond["smaller"].number("exponent"))
    if area_mm2 > areas[-1]:
        return amps[-1] * float((area_mm2 / areas[-1]) ** beyond["larger"].number("exponent"))
    k = sum(1 for a in areas if a <= area_mm2) - 1
    joined = between_log(area_mm2, areas[k], areas[k + 1], amps[k], amps[k + 1])
    if k == 0:
        return joined
    return min(joined, between_log(area_mm2, areas[k - 1], areas[k], amps[k - 1], amps[k]))


@cache
def _column(insulation_c: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    table = tables.rows("ampacity", "ampacity.boat")
    found = [(s.area_mm2, table[n].number(str(insulation_c))) for s in sizes("AWG")
             if (n := s.label.partition(" ")[0]) in table]
    return tuple(a for a, _ in found), tuple(i for _, i in found)


@cache
def _bundle_steps(basis: str) -> tuple[tuple[int, float], ...]:
    if basis not in BASES:
        raise unknown("bundle basis", basis, BASES)
    found = tables.rows("ampacity", f"ampacity.bundle.{basis}")
    return tuple(sorted((int(r.name), r.number("factor")) for r in found.values()))


def _no_insulation(insulation_c: object) -> Exception:
    return unknown("insulation rating", str(insulation_c), [str(c) for c in INSULATION_C])
