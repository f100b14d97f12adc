"""From the keys of a part to the part in plan: what it says itself, the family's usual for the rest."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import cast

from loomwright.facts import panel as facts
from loomwright.rig.part_keys import PartKeys
from loomwright.rig.plan import SIDES, Adjuster, Plan, PlanTerminal, Point, SideName
from loomwright.rig.terminals import groups

_NUMBERED = re.compile(r"^([a-z_]+?)\d+[+-]?$|^([a-z_]+)[+-]$")
_ADJUSTER_SHARE = 0.6
_NARROW_MM = 40.0


def group(name: str) -> str:
    """The group that a terminal lies with: ``ch`` for ``ch1+``, ``supply`` for ``supply-``."""
    found = _NUMBERED.match(name)
    return (found[1] or found[2]) if found else name


def group_names(keys: PartKeys) -> tuple[str, ...]:
    """Groups of terminals in plan, in the order of the family."""
    return tuple(dict.fromkeys(group(name) for _, name, _ in groups(keys)))


def plan(keys: PartKeys) -> Plan | None:
    """The part in plan; None where its size is not known."""
    if keys.size_mm is None:
        return None
    family = str(keys.family)  # type: ignore[attr-defined]
    if family == "wire_stock":
        return None
    width, depth, height = keys.size_mm
    usual = facts.family(family)
    own = keys.plan
    has_reach = "reach_mm" in usual.cells
    sides = usual.cells.get("heat", ())
    gap = usual.number("heat_gap_mm") if "heat_gap_mm" in usual.cells else 0.0
    return Plan(
        width_mm=width,
        depth_mm=depth,
        height_mm=height,
        terminals=tuple(_terminals(keys, family, width, depth)),
        holes_mm=_holes(keys, usual.number("inset_mm"), width, depth),
        hole_mm=usual.number("hole_mm") if own.hole_mm is None else own.hole_mm,
        adjusters=_adjusters(keys, usual.cells.get("adjuster"), usual.cells.get("driver_mm", 0.0)),
        reach_mm=own.reach_mm if own.reach_mm is not None else usual.number("reach_mm") if has_reach else 0.0,
        heat_sides=tuple(sides) if own.heat_sides is None else tuple(own.heat_sides),
        heat_gap_mm=gap if own.heat_gap_mm is None else own.heat_gap_mm,
        warm=bool(sides if own.heat_sides is None else own.heat_sides),
    )


def _terminals(keys: PartKeys, family: str, width: float, depth: float) -> Iterator[PlanTerminal]:
    """Terminals, spread evenly along their sides in the order of the groups."""
    usual = facts.sides(family)
    own: dict[str, SideName] = {}
    order: list[str] = []
    for where in SIDES:
        for name in getattr(keys.plan, where):
            own[name] = where
            order.append(name)
    on: dict[SideName, list[str]] = {side: [] for side in SIDES}
    names = [name for _, name, _ in groups(keys)]
    rank = {name: order.index(group(name)) if group(name) in order else len(order) for name in names}
    for name in sorted(names, key=lambda n: rank[n]):
        side: SideName = own.get(group(name)) or cast(SideName, usual.get(group(name), "bottom"))
        on[side].append(name)
    at: dict[str, PlanTerminal] = {}
    for side, there in on.items():
        for k, name in enumerate(there):
            share = (k + 0.5) / len(there)
            along: Point = {
                "left": (0.0, depth * share), "right": (width, depth * share),
                "top": (width * share, 0.0), "bottom": (width * share, depth),
            }[side]  # fmt: skip
            at[name] = PlanTerminal(name, side, along)
    yield from (at[name] for name in names)


def _holes(keys: PartKeys, inset: float, width: float, depth: float) -> tuple[Point, ...]:
    if keys.plan.holes_mm is not None:
        return tuple((h[0], h[1]) for h in keys.plan.holes_mm)
    dx, dy = min(inset, width / 3.0), min(inset, depth / 3.0)
    if depth <= _NARROW_MM:
        return (dx, depth / 2.0), (width - dx, depth / 2.0)
    if width <= _NARROW_MM:
        return (width / 2.0, dy), (width / 2.0, depth - dy)
    return (dx, dy), (width - dx, dy), (dx, depth - dy), (width - dx, depth - dy)


def _adjusters(keys: PartKeys, usual: SideName | None, driver: float) -> tuple[Adjuster, ...]:
    own = keys.plan
    side = usual if own.adjuster_side is None else own.adjuster_side
    if side is None or side == "none" or keys.size_mm is None:
        return ()
    width, depth, height = keys.size_mm
    long = depth if side in ("left", "right") else width
    low = long * (1.0 - _ADJUSTER_SHARE) / 2.0 if own.adjuster_from_mm is None else own.adjuster_from_mm
    high = long * (1.0 + _ADJUSTER_SHARE) / 2.0 if own.adjuster_to_mm is None else own.adjuster_to_mm
    axis = height / 2.0 if own.adjuster_height_mm is None else own.adjuster_height_mm
    return (Adjuster(side, low, high, axis, driver if own.driver_mm is None else own.driver_mm),)
