"""Routes: what can hurt a wire on its way, what covers it, and where it must come apart."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from loomwright.facts import workmanship
from loomwright.findings.covers import between, places_of, run_name, unanswered
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.steady import worst_wire
from loomwright.findings.words import amount, count, listing
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import Rig, Wire
from loomwright.study import Study

COMES_APART = ("sealed contact",)
"""Joints that part without a tool and are meant to."""


@check(
    "E511",
    "No disconnect where something comes off",
    "Fix",
    why="Luggage, a case or a seat that is lifted off takes its wires along. Without a plug they are pulled, or the "
    "owner leaves it on for ever.",
    remedy="Fit a connector at the boundary, in every wire that crosses it.",
    source="common practice",
    mark="common practice",
)
def no_disconnect(study: Study, say: Say) -> Iterator[Finding]:
    """Places and items that come off with wires that cross the boundary without a connector."""
    rig = study.rig
    for place in rig.places.values():
        if place.comes_off:
            crossing = [w.id for w in rig.wires if _crosses_place(rig, w, place.id)]
            if crossing:
                yield say(
                    (place.id, *crossing),
                    f"{place.id} comes off; {count(len(crossing), 'wire')} leave it without a connector: "
                    f"{listing(crossing)}."
                    if len(crossing) > 1
                    else f"{place.id} comes off; 1 wire leaves it without a connector: {crossing[0]}.",
                    _plugs(study, crossing, place.id),
                )
    for item in rig.items.values():
        if item.comes_off and item.part.family != "connector":
            fixed = [w.id for w in rig.wires if _fixed_to(rig, w, item.id)]
            if fixed:
                yield say(
                    (item.id, *fixed),
                    f"{item.id} comes off; {count(len(fixed), 'wire')} without a connector: {listing(fixed)}.",
                    _plugs(study, fixed, item.id),
                )


def _plugs(study: Study, wires: Sequence[str], at: str) -> str:
    """Which connectors a boundary asks for: feeds and returns apart, with their amperes, from what carries signals."""
    heavy = [w for w in wires if study.rig.wire(w).kind in ("power", "ground")]
    rest = len(wires) - len(heavy)
    if not heavy:
        return f"Fit a connector of {count(rest, 'contact')} at {at}."
    most_a = max((abs(s.amps_a) for w in heavy if (s := worst_wire(study, w)) is not None), default=0.0)
    other = f", and one of {count(rest, 'contact')} for the rest," if rest else ""
    return f"Fit a connector of {count(len(heavy), 'contact')} that carry {amount(most_a, 'A')}{other} at {at}."


def _parts(rig: Rig, wire: Wire, ref: str, joint: str) -> bool:
    """Whether a wire's end comes apart by itself: at a connector or on plugged contacts; line leads plug in."""
    return rig.item_of(ref).part.family == "connector" or joint in COMES_APART or wire.kind == "line"


def _crosses_place(rig: Rig, wire: Wire, place: str) -> bool:
    inside = [rig.item_of(ref).place == place for ref in (wire.start, wire.end)]
    if inside[0] == inside[1]:
        return False
    return not any(_parts(rig, wire, ref, j) for ref, j in zip((wire.start, wire.end), wire.joints, strict=True))


def _fixed_to(rig: Rig, wire: Wire, item_id: str) -> bool:
    ends = [rig.item_of(ref).id for ref in (wire.start, wire.end)]
    if item_id not in ends or ends[0] == ends[1]:
        return False
    return not any(_parts(rig, wire, ref, j) for ref, j in zip((wire.start, wire.end), wire.joints, strict=True))


@check(
    "E512",
    "Hazard on a run without cover",
    "Fix",
    why="A wire that moves, lies on an edge, near heat or in water needs a cover that answers just that, or it wears "
    "through.",
    remedy="Fit the cover that answers the hazard.",
    source="33 CFR 183.445; harness trade",
    mark="published",
)
def bare_hazard(study: Study, say: Say) -> Iterator[Finding]:
    """Runs with a hazard that some wire in them has no cover against."""
    rig = study.rig
    for k, run in enumerate(rig.runs):
        bare: dict[str, list[str]] = defaultdict(list)
        for wire in rig.wires:
            if k in wire.route and not is_bolted(wire):
                for hazard in unanswered(rig, wire, run):
                    bare[hazard].append(wire.id)
        if not bare:
            continue
        lacking = [h for h in run.hazards if h in bare]
        wires = sorted({w for h in lacking for w in bare[h]})
        cures = [f"{' or '.join(workmanship.covers(h)[:2])} against {h}" for h in lacking]
        have = f"has {listing(run.cover)}" if run.cover else "has no cover"
        yield say(
            (run_name(rig, k), *wires),
            f"{run_name(rig, k)}, {between(run)}, {have}; not answered: {listing(lacking)}, for {listing(wires)}.",
            f"Fit {listing(cures)} on {run_name(rig, k)}, {run.length_mm:.0f} mm.",
        )


@check(
    "E513",
    "Speaker wires covered, the feed beside them bare",
    "Fix",
    why="A rubbed-through speaker wire silences a channel; a rubbed-through feed starts a fire. The feed gets the "
    "cover first.",
    remedy="Cover the feed at least as well as the speaker wires beside it.",
    source="common practice",
    mark="common practice",
)
def cover_wrong_way_round(study: Study, say: Say) -> Iterator[Finding]:
    """Runs in which speaker wires have a cover of their own and a feed has none, nor the run."""
    rig = study.rig
    for k, run in enumerate(rig.runs):
        if run.cover:
            continue
        here = [w for w in rig.wires if k in w.route and not is_bolted(w)]
        covered = sorted(w.id for w in here if w.kind == "speaker" and w.cover)
        bare = sorted(w.id for w in here if w.kind == "power" and not w.cover)
        if covered and bare:
            have = listing(sorted({c for w in here if w.id in covered for c in w.cover}))
            yield say(
                (run_name(rig, k), *bare, *covered),
                f"On {run_name(rig, k)}, {between(run)}, {listing(covered)} {'lies' if len(covered) == 1 else 'lie'} "
                f"in {have} and {listing(bare)} {'lies' if len(bare) == 1 else 'lie'} bare.",
                f"Cover {listing(bare)} over {run.length_mm:.0f} mm.",
            )


@check(
    "E514",
    "Bare copper where it is wet",
    "Know",
    why="Water creeps between the strands and turns bare copper black; tinned strands last.",
    remedy="Use tinned copper on boats and in wet places.",
    source="ABYC E-11 advises tinned wire (from memory)",
    mark="from memory",
)
def untinned(study: Study, say: Say) -> Iterator[Finding]:
    """Power and ground wires of bare copper on a boat or in a wet place, in one line."""
    rig = study.rig
    found = []
    for wire in rig.wires:
        if wire.kind not in ("power", "ground") or wire.metal != "copper" or is_bolted(wire):
            continue
        splashed = any("water" in rig.runs[k].hazards for k in wire.route)
        if splashed or any(rig.places[p].wet for p in places_of(rig, wire)) or rig.vehicle.kind == "boat":
            found.append(wire.id)
    if found:
        found.sort()
        yield say(
            found,
            f"{count(len(found), 'wire')} of bare copper in the wet: {listing(found)}.",
            f"Use tinned copper for {listing(found)} when next replaced.",
        )
