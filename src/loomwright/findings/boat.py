"""Boats: what their law and practice ask for on top."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.facts import ampacity
from loomwright.findings.conductors import awg
from loomwright.findings.feeds import law_binds
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.sizes import CLAD
from loomwright.findings.words import amount, count, listing, num
from loomwright.protection.graph import is_bolted
from loomwright.study import Study

SPARKS = ("relay", "switch", "breaker", "fuse_holder", "fused_block", "isolator")


@check(
    "E951",
    "Copper-clad aluminium on a boat",
    "Fix",
    why="Aluminium under a copper skin corrodes at every crimp where it is damp.",
    remedy="Use tinned copper of the same size.",
    source="33 CFR 183.425 asks for stranded copper (from memory)",
    mark="from memory",
)
def clad_on_boat(study: Study, say: Say) -> Iterator[Finding]:
    """Power and ground wires of copper-clad aluminium on a boat."""
    if study.rig.vehicle.kind != "boat":
        return
    wires = (w for w in study.rig.wires if w.kind in ("power", "ground") and not is_bolted(w))
    found = sorted(w.id for w in wires if w.metal in CLAD)
    if found:
        yield say(
            found,
            f"{count(len(found), 'wire')} of copper-clad aluminium: {listing(found)}.",
            f"Replace {listing(found)} by tinned copper of the same size.",
        )


@check(
    "E952",
    "Device above 150 % of the boat table",
    "Fix",
    why="Below 50 V the law lets a device be 150 % of the table's amperes at most. It is a limit for shorts, no "
    "overload rating.",
    remedy="Fit a smaller device, or a thicker wire.",
    source="33 CFR 183.455 with table 5 of 183.425",
    mark="published",
)
def over_law(study: Study, say: Say) -> Iterator[Finding]:
    """Devices above the legal share of the table on boats that the law binds: table amperes by size, no bundle."""
    if not law_binds(study.rig):
        return
    for guard in study.protection.guards.values():
        wire = study.rig.wire(guard.wire)
        if wire.size is None or is_bolted(wire) or not guard.devices or wire.kind != "power":
            continue
        table_a = ampacity.ampacity_a(wire.size.area_mm2, wire.metal, wire.insulation_c)
        limit_a = ampacity.device_limit_ratio() * table_a
        over = [d for d in guard.devices if study.protection.devices[d].rating_a > limit_a * 1.005]
        if over:
            yield say(
                (wire.id, *over),
                f"{listing(over)} is {amount(guard.rating_a, 'A')}; {wire.id} ({wire.size.label}, "
                f"{awg(wire.size.area_mm2)} for the table) is listed at "
                f"{amount(table_a, 'A')}, so {amount(limit_a, 'A')} at most.",
                f"Fit {num(limit_a)} A or less for {wire.id}.",
            )


@check(
    "E953",
    "Sparks where petrol vapour may lie",
    "Know",
    why="Petrol vapour lies low in an engine space. Parts there that can spark must be made for it: "
    "ignition-protected.",
    remedy="Move them out of the space, or use parts marked as ignition-protected.",
    source="33 CFR 183.410 (from memory)",
    mark="from memory",
)
def sparks(study: Study, say: Say) -> Iterator[Finding]:
    """Relays, switches, breakers and fuses in the engine space of a petrol boat, in one line."""
    rig = study.rig
    if rig.vehicle.kind != "boat" or not rig.vehicle.drive.startswith("petrol"):
        return
    found = sorted(i.id for i in rig.items.values() if i.part.family in SPARKS and rig.places[i.place].engine_space)
    if found:
        yield say(
            found,
            f"{count(len(found), 'part')} that can spark in the engine space: {listing(found)}.",
            f"See that {listing(found)} {'is' if len(found) == 1 else 'are'} marked as ignition-protected, or move "
            "them.",
        )
