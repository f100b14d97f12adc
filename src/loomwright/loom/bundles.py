"""Bundles: what lies in each run, how thick it is packed, and what it goes through."""

from __future__ import annotations

import math

from loomwright.facts import ampacity, harness, workmanship
from loomwright.loom.ends import bend_mm
from loomwright.loom.lengths import diameter_mm, mass_g_per_m
from loomwright.loom.packing import PARTS_PER_MM, pack
from loomwright.loom.results import Bundle, Placed
from loomwright.power.bundles import heavy_wires
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import ConnectorSpec, Item, Rig, Wire
from loomwright.rig.once import once

TUBES = ("convoluted tube", "conduit")
THROUGH_HOLE = ("grommet", "gland")
CLEARANCE = 1.1
"""Hole without a grommet, over the covered bundle."""


def bundles(rig: Rig) -> tuple[Bundle, ...]:
    """Every run that holds a wire, in the order of the file."""
    return tuple(bundle(rig, k) for k in range(len(rig.runs)) if wires_in(rig, k))


def wires_in(rig: Rig, k: int) -> tuple[Wire, ...]:
    """The wires in a run, by its index, in the order of the rig."""
    return _by_run(rig)[k]


@once
def _by_run(rig: Rig) -> tuple[tuple[Wire, ...], ...]:
    return tuple(
        tuple(w for w in rig.wires if k in w.route and w.size is not None and not is_bolted(w))
        for k in range(len(rig.runs))
    )


def bundle(rig: Rig, k: int) -> Bundle:
    """The bundle in one run, by the run's index."""
    run, wires = rig.runs[k], wires_in(rig, k)
    across = [diameter_mm(w) for w in wires]
    packed = pack(across)
    covered, covers = _covered(packed.diameter_mm, run.cover)
    grommet = None
    if any(c in THROUGH_HOLE for c in run.cover) or ("edge" in run.hazards and not any(c in TUBES for c in run.cover)):
        grommet = harness.grommet_for(covered)
    loaded = sum(w in wires for w in heavy_wires(rig))
    body, body_mm = largest_connector(rig, k)
    return Bundle(
        run=k + 1,
        between=run.between,
        length_mm=run.length_mm,
        wires=tuple(w.id for w in wires),
        section=tuple(
            Placed(w.id, x, y, d) for w, d, (x, y) in zip(wires, across, packed.centres_mm, strict=True)
        ),
        diameter_mm=packed.diameter_mm,
        covered_mm=covered,
        covers=covers,
        grommet_mm=grommet.bore_mm if grommet else None,
        hole_mm=grommet.hole_mm if grommet else CLEARANCE * covered,
        hole_there_mm=run.hole_mm,
        connector=body,
        connector_mm=body_mm,
        loaded=loaded,
        derating=ampacity.bundle_factor(max(loaded, 1), rig.bundle_basis),
        mass_g=sum(map(mass_g_per_m, wires)) * run.length_mm / 1000.0,
        bend_mm=least_bend_mm(rig, k),
        support_mm=support_mm(rig, k),
        ties=math.ceil(run.length_mm / workmanship.tie_mm()) + 1,
    )


def diameter_between_mm(rig: Rig, k: int) -> tuple[float, float]:
    """Bounds of a bundle's diameter [mm], without packing it: it fills its circle at most wholly.

    Circles of half the area of a circle always fit into it: S. P. Fekete, P. Keldenich, C. Scheffer, "Packing disks
    into disks with optimal worst-case density", Symposium on Computational Geometry 2019 (cited from memory).
    """
    across = [diameter_mm(w) for w in wires_in(rig, k)]
    least = max(max(across, default=0.0), math.sqrt(sum(d * d for d in across)))
    return least, math.sqrt(2.0 * sum((d + 1.0 / PARTS_PER_MM) ** 2 for d in across))  # packed as rounded up


def not_made(diameter: float, cover: tuple[str, ...]) -> list[str]:
    """Those of a run's covers that are not made for a bundle of so many mm."""
    covered, names = _covered(diameter, cover)
    missing = [c for c in cover if c in names and c in ("braided sleeve", *TUBES)]
    if any(c in THROUGH_HOLE for c in cover) and harness.grommet_for(covered) is None:
        missing.append("grommet")
    return missing


def _covered(diameter: float, cover: tuple[str, ...]) -> tuple[float, tuple[str, ...]]:
    """Diameter over all covers [mm], from the inside out, and each cover with its size."""
    across, names = diameter, []
    for name in sorted(cover, key=lambda c: (c in TUBES, c)):
        if name == "braided sleeve":
            braid = harness.braid_for(across)
            names.append(f"{name} {braid}" if braid else name)
            across += 2.0 * harness.wall_mm("braid")
        elif name == "heat sleeve":
            names.append(f"{name}, {across:.0f} mm inside or more")
            across += 2.0 * harness.wall_mm("heat")
        elif name in TUBES:
            tube = harness.tube_for(across)
            names.append(f"{name} {tube.name}" if tube else name)
            across = tube.outside_mm if tube else across * CLEARANCE
        else:
            names.append(name)
    return across, tuple(names)


def largest_connector(rig: Rig, k: int) -> tuple[str | None, float | None]:
    """The connector at an end of a run's wires whose body needs the largest round hole, and that hole [mm].

    A body passes end on: the hole is the diagonal of its two smaller measures.
    """
    found: dict[str, float] = {}
    for wire in wires_in(rig, k):
        for ref in (wire.start, wire.end):
            item = rig.item_of(ref)
            through = _body_mm(item)
            if through is not None:
                found[item.id] = through
    if not found:
        return None, None
    name = min(found, key=lambda i: (-found[i], i))
    return name, found[name]


def _body_mm(item: Item) -> float | None:
    if not isinstance(item.part.spec, ConnectorSpec) or item.part.size_mm is None:
        return None
    a, b, _ = sorted(item.part.size_mm)
    return math.hypot(a, b)


def least_bend_mm(rig: Rig, k: int) -> float:
    """Least radius that a run's bundle may be bent to [mm]: that of its wire which needs the largest."""
    moves = "moving" in rig.runs[k].hazards
    return max((bend_mm(w, moves=moves) for w in wires_in(rig, k)), default=0.0)


def support_mm(rig: Rig, k: int) -> float:
    """Widest distance between supports in a run [mm]: 300 for battery cables, else 450 (ISO 10133)."""
    battery = any(
        rig.item_of(ref).part.family == "battery" for w in wires_in(rig, k) for ref in (w.start, w.end)
    )
    return workmanship.support_mm("battery_cable" if battery else "run")
