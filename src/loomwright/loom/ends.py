"""Which end goes on a wire at a terminal: lug, ferrule, crimp terminal, splice, contact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from loomwright.facts import ends, workmanship
from loomwright.facts.ends import End
from loomwright.loom.lengths import across_mm, diameter_mm
from loomwright.loom.results import WireEnd
from loomwright.rig.model import ConnectorSpec, Kind, Rig, Wire, WireSize

RINGS = ("ring lug", "bare frame", "painted frame")
USUAL_STUD_MM = 6.0
ENDS_KEPT = 4096
"""Ends that are kept: as many as some twenty rigs have."""


def ends_of(rig: Rig, wire: Wire) -> tuple[WireEnd, WireEnd]:
    """Both ends of a wire, in its order."""
    first, last = (
        end_of(rig, wire, ref, joint) for ref, joint in zip((wire.start, wire.end), wire.joints, strict=True)
    )
    return first, last


def end_of(rig: Rig, wire: Wire, ref: str, joint: str) -> WireEnd:
    """The end of a wire at one terminal.

    Its joint says the kind, its metal area the size. Where nothing takes both, ``fits`` is False and ``would_fit`` says
    what does.
    """
    if wire.size is None or wire.size.system == "bolted":
        return WireEnd(ref, "bolted", 0.0)
    spec = rig.item_of(ref).part.spec
    if isinstance(spec, ConnectorSpec):
        return _made(_Lead(wire.kind, wire.size), ref, joint, spec, None)
    stud = rig.terminal(ref).stud_mm if joint in RINGS and wire.kind != "line" else None
    return _made(_Lead(wire.kind, wire.size), ref, joint, None, stud)


@dataclass(frozen=True, slots=True)
class _Lead:
    """What of a wire its ends depend on."""

    kind: Kind
    size: WireSize


@lru_cache(maxsize=ENDS_KEPT)
def _made(wire: _Lead, ref: str, joint: str, spec: ConnectorSpec | None, stud_mm: float | None) -> WireEnd:
    area = wire.size.area_mm2
    if spec is not None:
        return _contact(wire, ref, spec)
    if wire.kind == "line":
        return _plain(wire, ref, "plug for a screened lead", [ends.other("line")])
    if joint in RINGS:
        return _ring(wire, ref, joint, stud_mm or USUAL_STUD_MM)
    match joint:
        case "screw clamp" | "ferrule":
            return _plain(wire, ref, "ferrule", ends.ferrules(), size=True)
        case "blade":
            return _plain(wire, ref, "blade receptacle", ends.collars())
        case "butt crimp":
            made = _plain(wire, ref, "butt splice", ends.collars())
            return made if made.fits else _plain(wire, ref, "crimp sleeve", ends.sleeves(), size=True, covered=True)
        case "solder splice":
            return _plain(wire, ref, "soldered and sleeved", [ends.other("solder")], covered=True)
        case "sealed contact":
            found = [c for c in ends.contacts() if c.from_mm2 <= area * 1.06 and area <= c.to_mm2 * 1.06]
            if not found:
                return _misfit(ref, "sealed contact", wire, f"contacts take {ends.contacts()[0].from_mm2:g} to "
                               f"{ends.contacts()[-1].to_mm2:g} mm2")  # fmt: skip
            return _crimped(wire, ref, f"contact size {found[0].name}", found[0].strip_mm)
        case _:
            return WireEnd(ref, joint, 0.0)


def _contact(wire: _Lead, ref: str, spec: ConnectorSpec) -> WireEnd:
    """A contact of a connector: the part says what it takes, the rating which contact it is built with."""
    contact = ends.contact_for(spec.contact_a)
    name = f"contact size {contact.name}"
    if not spec.min_mm2 <= wire.size.area_mm2 * 1.06 or not wire.size.area_mm2 <= spec.max_mm2 * 1.06:
        return _misfit(ref, name, wire, f"its contacts take {spec.min_mm2:g} to {spec.max_mm2:g} mm2")
    return _crimped(wire, ref, name, contact.strip_mm)


def _ring(wire: _Lead, ref: str, joint: str, stud: float) -> WireEnd:
    area = wire.size.area_mm2
    barrels = [e for e in ends.rings() if e.takes(area)]
    fits = [e for e in barrels if stud in e.stud_mm]
    washer = ", star washer" if joint != "ring lug" else ""
    if not fits:
        studs = sorted({s for e in barrels for s in e.stud_mm})
        here = [e for e in ends.rings() if stud in e.stud_mm]
        cure = (
            f"a stud of M{studs[0]:g} to M{studs[-1]:g}"
            if studs
            else f"a conductor of {ends.rings()[0].from_mm2:g} to {ends.rings()[-1].to_mm2:g} mm2"
        )
        if here:
            cure += f"; lugs for M{stud:g} take {here[0].from_mm2:g} to {here[-1].to_mm2:g} mm2"
        return _misfit(ref, f"ring lug M{stud:g}", wire, cure)
    lug = fits[0]
    made = _crimped(wire, ref, f"ring lug M{stud:g}, {lug.name} mm2{washer}", lug.strip_mm)
    return _sleeved(made, wire, lug)


def _plain(
    wire: _Lead, ref: str, name: str, range_of: Sequence[End], *, size: bool = False, covered: bool = False
) -> WireEnd:
    found = next((e for e in range_of if e.takes(wire.size.area_mm2)), None)
    if found is None:
        return _misfit(
            ref, name, wire, f"{name}s are made for {range_of[0].from_mm2:g} to {range_of[-1].to_mm2:g} mm2"
        )
    title = f"{name} {found.name} mm2" if size else f"{name}, {found.name}" if found.colour else name
    made = _crimped(wire, ref, title, found.strip_mm, found.colour, crimp=found.name not in ("line", "solder"))
    return _sleeved(made, wire, found) if covered else made


def _crimped(
    wire: _Lead, ref: str, title: str, strip_mm: float, colour: str = "", *, crimp: bool = True
) -> WireEnd:
    pull = ends.pull(wire.size.area_mm2, wire.size.system) if crimp and not title.startswith("ferrule") else None
    return WireEnd(
        ref, title, strip_mm, colour, pull.force_n if pull else None, pull.source if pull else "",
    )  # fmt: skip


def _sleeved(made: WireEnd, wire: _Lead, end: End) -> WireEnd:
    thin = across_mm(wire.kind, wire.size)
    sleeve = ends.shrink_for(thin, max(end.outside_mm, thin))
    if sleeve is None:
        return made
    text = f"{sleeve.ratio}, {sleeve.expanded_mm:g} to {sleeve.recovered_mm:g} mm"
    return replace(made, shrink=text, shrink_mm=float(round(ends.shrink_length_mm(made.strip_mm))))


def wants_sleeve(end: WireEnd) -> bool:
    """Whether an end leaves metal bare that a sleeve is to cover: ring lugs, bare crimp sleeves, soldered joints."""
    return end.end.startswith(("ring lug", "crimp sleeve", "soldered"))


def _misfit(ref: str, name: str, wire: _Lead, cure: str) -> WireEnd:
    return WireEnd(ref, name, 0.0, fits=False, would_fit=cure)


def bend_mm(wire: Wire, *, moves: bool) -> float:
    """Least radius that a wire may be bent to [mm]: 3 x its diameter where it lies still, 6 x where it moves; a line
    lead is a cable: 6 x and 10 x.
    """
    cable = wire.kind == "line"
    rule = ("cable_long_term" if moves else "cable") if cable else ("cable" if moves else "single")
    return workmanship.bend_diameters(rule) * diameter_mm(wire)
