"""Distances, smallest conductors, studs, supports, crimps and covers."""

from __future__ import annotations

from loomwright.facts import tables
from loomwright.facts.names import unknown

N_PER_LBF = 4.4482216


def device_distance_mm(*, sheathed: bool = False, at_post: bool = False) -> float:
    """Longest conductor from a source to its first over-current device [mm].

    178 plain and 1016 in a sheath or enclosure (33 CFR 183.455); 1829 if sheathed and straight from a battery post
    (ABYC E-11). Leads that crank an engine are exempt.
    """
    name = "plain" if not sheathed else "post_sheathed" if at_post else "sheathed"
    return tables.row("workmanship", f"workmanship.device_distance.{name}").number("length_mm")


def min_conductor_mm2(*, in_sheath: bool = False) -> float:
    """Smallest power conductor [mm2]: 16 AWG alone, 18 AWG in a sheath (33 CFR 183.425)."""
    name = "in_sheath" if in_sheath else "single"
    return tables.row("workmanship", f"workmanship.conductor.{name}").number("least_mm2")


def rings_per_stud() -> int:
    """Most ring terminals on one stud, largest first (ABYC E-11)."""
    return int(tables.row("workmanship", "workmanship.stud.rings").number("most"))


def support_mm(kind: str = "run") -> float:
    """Longest distance between supports [mm]: ``run`` or ``battery_cable`` (ISO 10133)."""
    found = tables.rows("workmanship", "workmanship.support")
    if kind not in found:
        raise unknown("support rule", kind, found)
    return found[kind].number("length_mm")


def bend_diameters(rule: str) -> float:
    """Least bend radius in outside diameters: ``single``, ``cable``, ``cable_long_term`` (NASA-STD-8739.4)."""
    found = tables.rows("workmanship", "workmanship.bend")
    if rule not in found:
        raise unknown("bend rule", rule, found)
    return found[rule].number("outer_diameters")


def tie_mm() -> float:
    """Widest distance between ties along a bundle [mm] (IPC/WHMA-A-620)."""
    return tables.row("workmanship", "workmanship.support.tie_high").number("length_mm")


def hazards() -> tuple[str, ...]:
    """Hazards that a run may meet."""
    return tuple(tables.rows("workmanship", "workmanship.cover"))


def covers(hazard: str | None = None) -> tuple[str, ...]:
    """Covers any one of which answers a hazard; every cover, by name, if none is given. Raises UnknownName."""
    found = tables.rows("workmanship", "workmanship.cover")
    if hazard is None:
        return tuple(sorted({str(c) for row in found.values() for c in row.cells["value"]}))
    if hazard not in found:
        raise unknown("hazard", hazard, found)
    return tuple(str(c) for c in found[hazard].cells["value"])


def crimp_pull_n(awg: str) -> float:
    """Pull that a commercial crimp must stand [N] (UL 486A values). Raises UnknownName."""
    found = tables.rows("workmanship", "workmanship.crimp_pull")
    if awg not in found:
        raise unknown("size in the crimp table", awg, found)
    return found[awg].number() * N_PER_LBF


def drop_share(*, sensitive: bool = False) -> float:
    """Allowed voltage drop over the supply (ABYC E-11): 3 % for feeds and electronics, 10 % otherwise."""
    name = "sensitive" if sensitive else "other"
    return tables.row("workmanship", f"workmanship.drop.{name}").number("share")
