"""Conductor sizes, metals and resistance.

Three systems, never mixed: ``AWG`` (ASTM B258), ``SAE`` (J1127/J1128, 3 to 11 % less metal than AWG of the same
number) and ``mm2`` (by name). Areas are metal areas.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal, cast, overload

from loomwright.facts import tables
from loomwright.facts.names import unknown

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

System = Literal["AWG", "SAE", "mm2", "bolted"]
SYSTEMS: tuple[System, ...] = ("AWG", "SAE", "mm2")
INSULATION_C: tuple[int, ...] = (60, 75, 80, 90, 105, 125, 200)
#: Temperature coefficient of resistance of copper at 20 C [1/K]. IACS; used for all metals here.
ALPHA20: float = 0.00393
SAME_SIZE = 1.002                      # areas closer than this are one size: tables print them rounded
_ROWS = {"AWG": "conductor.awg", "SAE": "conductor.sae", "mm2": "conductor.mm2"}
_AUGHT = {"0": "1/0", "00": "2/0", "000": "3/0", "0000": "4/0"}


@dataclass(frozen=True, slots=True)
class SizeRow:
    """A conductor size as sold. ``area_mm2`` is metal; ``diameter_mm`` is the bare stranded conductor."""

    label: str
    system: System
    area_mm2: float
    diameter_mm: float
    provisional: bool = False


BOLTED = SizeRow("bolted", "bolted", 0.0, 0.0)


@cache
def sizes(system: str) -> tuple[SizeRow, ...]:
    """All sizes of one system, by rising area. Raises UnknownName for another system."""
    if system not in _ROWS:
        raise unknown("size system", system, SYSTEMS)
    found = [
        SizeRow(
            label=f"{row.name} {system}",
            system=cast(System, system),
            area_mm2=row.number("area_mm2"),
            diameter_mm=stranded_diameter_mm(row.number("area_mm2")),
            provisional=row.provisional,
        )
        for row in tables.rows("conductors", _ROWS[system]).values()
    ]
    return tuple(sorted(found, key=lambda s: s.area_mm2))


def parse_size(text: str) -> SizeRow:
    """A size as written: ``8 AWG``, ``1/0 AWG``, ``8 SAE``, ``8 mm2`` or ``bolted`` (terminals bolted together).

    ``bolted`` has no area. Raises UnknownName that names valid sizes; a bare number is refused, since AWG, SAE and
    mm2 of one number are three different conductors.
    """
    written = " ".join(text.split())
    if written.lower() == "bolted":
        return BOLTED
    match = re.fullmatch(r"([0-9./]+)\s*(awg|sae|mm2|mm²)", written.lower())
    if match:
        name, system = match[1], {"awg": "AWG", "sae": "SAE"}.get(match[2], "mm2")
        if system != "mm2":
            name = _AUGHT.get(name, name)
        elif re.fullmatch(r"[0-9]+(\.[0-9]+)?", name):
            name = f"{float(name):g}"
        found = _by_label().get(f"{name} {system}")
        if found:
            return found
        raise unknown(f"{system} size", text, [s.label for s in sizes(system)])
    bare = re.fullmatch(r"[0-9./]+", written)
    labels = [s.label for system in SYSTEMS for s in sizes(system)]
    if bare:
        name = _AUGHT.get(written, written)
        labels = [f"{name} {system}" for system in SYSTEMS if f"{name} {system}" in _by_label()] or labels
    raise unknown("conductor size", text, labels, most=100)


def resistivity_ohm_mm2_per_m(metal: str) -> float:
    """Resistivity at 20 C [ohm mm2/m]: that of annealed copper (IACS) over the metal's conductivity."""
    return _copper_resistivity() / conductivity(metal)


@cache
def conductivity(metal: str) -> float:
    """Conductivity as a fraction of annealed copper (IACS). Raises UnknownName for a metal without a row."""
    found = tables.rows("conductors", "conductor.metal")
    if metal not in found:
        raise unknown("metal", metal, found)
    return found[metal].number("iacs")


@overload
def resistance_mohm_per_m(area_mm2: float, metal: str, temperature_c: float = 20.0, system: str = "AWG") -> float: ...
@overload
def resistance_mohm_per_m(area_mm2: float, metal: str, temperature_c: Array, system: str = "AWG") -> Array: ...
def resistance_mohm_per_m(
    area_mm2: float, metal: str, temperature_c: float | Array = 20.0, system: str = "AWG"
) -> float | Array:
    """Typical resistance of a stranded conductor [mOhm/m].

    Parameters
    ----------
    area_mm2 : float
        Metal area, above zero.
    metal : str
        ``copper``, ``tinned copper``, ``cca10``, ``cca15``.
    temperature_c : float or array
        Conductor temperature [C].
    system : str
        Where the size comes from; picks the stranding factor (2 % for AWG and SAE). ``bolted`` has none: 0.

    Notes
    -----
    IEC 60228 and ISO 6722 print the largest resistance allowed, 5 to 16 % above this; see :func:`largest_mohm_per_m`.
    """
    if system == "bolted":
        return 0.0 * temperature_c
    if not area_mm2 > 0:
        raise ValueError(f"area must be above 0 mm2, got {area_mm2}")
    cold = 1000.0 * resistivity_ohm_mm2_per_m(metal) / area_mm2 * lay_factor(system)
    return cold * (1.0 + ALPHA20 * (temperature_c - 20.0))


@cache
def lay_factor(system: str) -> float:
    """Resistance of a stranded conductor over a solid one of the named area."""
    if system not in _ROWS:
        raise unknown("size system", system, SYSTEMS)
    return tables.rows("conductors", "conductor.lay_factor")[system].number()


def largest_mohm_per_m(label: str) -> float:
    """Largest resistance at 20 C that IEC 60228 class 5 allows for a mm2 size [mOhm/m], such as ``6 mm2``."""
    name = parse_size(label).label.partition(" ")[0]
    return tables.rows("conductors", "conductor.mm2")[name].number("class_5_mohm_per_m")


def awg_equivalent(area_mm2: float) -> str:
    """The largest AWG size whose area is not above this, without the word: ``"8"``, ``"1/0"``. For table look-ups.

    Raises ValueError below the smallest size in the list.
    """
    for size in reversed(sizes("AWG")):
        if size.area_mm2 <= area_mm2 * SAME_SIZE:
            return size.label.partition(" ")[0]
    raise ValueError(f"{area_mm2} mm2 is below the smallest AWG size, {sizes('AWG')[0].label}")


@cache
def mm2_per_cmil() -> float:
    """Square millimetres in one circular mil."""
    return tables.row("conductors", "conductor.mm2_per_cmil").number()


@cache
def cmil_sizes(system: str) -> tuple[tuple[str, float], ...]:
    """(label, circular mils) as printed in the boat and cable tables, rising. ``AWG`` or ``SAE``."""
    found = [(f"{r.name} {system}", r.number("cmil")) for r in tables.rows("conductors", _ROWS[system]).values()
             if "cmil" in r.cells]
    return tuple(sorted(found, key=lambda s: s[1]))


def stranded_diameter_mm(area_mm2: float) -> float:
    """Diameter of a bare stranded conductor [mm]: 1.13 x the solid one of equal metal area (handbook rule)."""
    return _stranding() * math.sqrt(4.0 * area_mm2 / math.pi)


@cache
def _stranding() -> float:
    return tables.row("conductors", "conductor.stranded_diameter_factor").number()


@cache
def _copper_resistivity() -> float:
    return tables.row("conductors", "conductor.resistivity").number()


@cache
def _by_label() -> dict[str, SizeRow]:
    return {s.label: s for system in SYSTEMS for s in sizes(system)}
