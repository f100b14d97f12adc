"""The harness in the vehicle: lengths, holes, bends, supports and slack."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from loomwright.facts import colours, harness
from loomwright.findings.covers import between, run_name
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, count, listing
from loomwright.loom.bundles import bundle, largest_connector, least_bend_mm, support_mm, wires_in
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import Rig, Wire
from loomwright.study import Study

SHORT = 0.75
"""A measured wire this much shorter than its runs cannot have taken them."""
LONG = 1.5
ROOM_MM = 400.0
"""And this much longer than its runs it takes another way: 1.5 x and 400 mm more."""


def _measured(rig: Rig) -> Iterator[tuple[Wire, float]]:
    """Wires with a length of their own and with runs, and the length of those runs [mm]."""
    for wire in rig.wires:
        if wire.length_given and wire.route and not is_bolted(wire):
            yield wire, sum(rig.runs[k].length_mm for k in wire.route)


@check(
    "E521",
    "Wire without a path along the runs",
    "Know",
    why="A wire between two places that no run joins lies in no bundle: nobody knows what it passes, what warms it and "
    "what it is covered with.",
    remedy="Describe the path as a run, with its hazards and covers.",
    source="common practice",
    mark="common practice",
)
def no_path(study: Study, say: Say) -> Iterator[Finding]:
    """Wires of given length whose ends lie in two places that no runs join, gathered by pair of places."""
    rig = study.rig
    found: dict[tuple[str, str], list[Wire]] = defaultdict(list)
    for wire in rig.wires:
        ends = [rig.item_of(ref) for ref in (wire.start, wire.end)]
        a, b = sorted(i.place for i in ends)
        if wire.route or a == b or is_bolted(wire) or any(i.part.family == "frame" for i in ends):
            continue
        found[a, b].append(wire)
    for (a, b), wires in sorted(found.items()):
        yield say(
            (a, b, *(w.id for w in wires)),
            f"No runs join {a} and {b}; {count(len(wires), 'wire')} between them: {listing(w.id for w in wires)}, "
            f"{amount(wires[0].length_mm, 'mm')} the first.",
            f"Add a run from {a} to {b} with its length, hazards and covers.",
        )


@check(
    "E522",
    "Wire shorter than its way",
    "Fix",
    why="A wire that is shorter than its runs cannot lie in them: it pulls on its ends, or it takes a way that nobody "
    "has looked at.",
    remedy="Measure again along the runs; make the wire longer, or describe the way that it takes.",
    source="geometry",
    mark="calculated",
)
def shorter_than_way(study: Study, say: Say) -> Iterator[Finding]:
    """Wires whose measured length is under three quarters of their runs."""
    for wire, way in _measured(study.rig):
        if wire.length_mm < SHORT * way:
            runs = listing(run_name(study.rig, k) for k in wire.route)
            yield say(
                (wire.id,),
                f"{wire.id} measures {amount(wire.length_mm, 'mm')}; {runs} {'is' if len(wire.route) == 1 else 'are'} "
                f"{amount(way, 'mm')}.",
                f"Measure {wire.id} again, and fit one of {amount(way, 'mm')} if it lies in {runs}.",
            )


@check(
    "E523",
    "Wire far longer than its way",
    "Know",
    why="A length far over that of the runs means a coil somewhere, or another way: drop and heat are those of the "
    "long wire.",
    remedy="Look where the rest of it lies; shorten it, or describe the way that it takes.",
    source="common practice",
    mark="common practice",
)
def longer_than_way(study: Study, say: Say) -> Iterator[Finding]:
    """Wires whose measured length is over one and a half times their runs and 400 mm more."""
    for wire, way in _measured(study.rig):
        if wire.length_mm > LONG * way + ROOM_MM:
            yield say(
                (wire.id,),
                f"{wire.id} measures {amount(wire.length_mm, 'mm')}; its runs are {amount(way, 'mm')}.",
                f"Find the other {amount(wire.length_mm - way, 'mm')} of {wire.id}.",
            )


@check(
    "E524",
    "Hole too small for its bundle",
    "Fix",
    why="A bundle that is forced through a hole loses its cover at the edge; without room for a grommet the edge works "
    "on the insulation.",
    remedy="Drill the hole to the size that grommet and bundle need, or take another way for some of the wires.",
    source="circle packing of the wires; 33 CFR 183.445 asks for protection at every edge",
    mark="calculated",
)
def hole_too_small(study: Study, say: Say) -> Iterator[Finding]:
    """Runs whose hole is smaller than the packed bundle with its covers and grommet needs."""
    rig = study.rig
    for k, run in enumerate(rig.runs):
        if run.hole_mm is None or not wires_in(rig, k):
            continue
        b = bundle(rig, k)
        if run.hole_mm < b.hole_mm - 0.05:
            worse = "the bundle alone does not go through" if run.hole_mm < b.diameter_mm else "no room for its cover"
            yield say(
                (run_name(rig, k),),
                f"{run_name(rig, k)}, {between(run)}: the hole is {amount(run.hole_mm, 'mm')}; "
                f"{count(len(b.wires), 'wire')} pack to {amount(b.diameter_mm, 'mm')}, {amount(b.covered_mm, 'mm')} "
                f"covered, and need {amount(b.hole_mm, 'mm')}: {worse}.",
                f"Drill the hole on {run_name(rig, k)} to {amount(b.hole_mm, 'mm')}, burr it and fit the grommet.",
            )


@check(
    "E525",
    "Connector does not pass the hole",
    "Know",
    why="A harness made on the bench is threaded through its holes. A connector body that is larger than the hole has "
    "to be fitted after that.",
    remedy="Thread the wires first and push the contacts into the body in the vehicle, or make the hole larger.",
    source="geometry: the diagonal of the body's end",
    mark="calculated",
)
def connector_stuck(study: Study, say: Say) -> Iterator[Finding]:
    """Runs with a hole that the largest connector on their wires does not go through, and the bundle does."""
    rig = study.rig
    for k, run in enumerate(rig.runs):
        name, body = largest_connector(rig, k)
        if run.hole_mm is not None and name is not None and body is not None and body > run.hole_mm:
            yield say(
                (run_name(rig, k), name),
                f"{name} needs a hole of {amount(body, 'mm')}; the one on {run_name(rig, k)} is "
                f"{amount(run.hole_mm, 'mm')}.",
                f"Thread the wires of {run_name(rig, k)} before the contacts go into {name}.",
            )


@check(
    "E526",
    "Bend too tight",
    "Fix",
    why="Bent too tightly, strands break and insulation creeps on the outside of the bend; a screen kinks and hums.",
    remedy="Make the bend wider: 3 x the diameter for a wire that lies still, 6 x where it moves; 6 x and 10 x for a "
    "screened lead.",
    source="NASA-STD-8739.4 for cables; single wires common practice",
    mark="published",
)
def bend_too_tight(study: Study, say: Say) -> Iterator[Finding]:
    """Runs whose tightest bend is under what the wire that needs most room may be bent to."""
    rig = study.rig
    for k, run in enumerate(rig.runs):
        least = least_bend_mm(rig, k)
        if run.bend_radius_mm is not None and run.bend_radius_mm < least - 0.05:
            yield say(
                (run_name(rig, k),),
                f"{run_name(rig, k)}, {between(run)}: bent to a radius of {amount(run.bend_radius_mm, 'mm')}; its "
                f"wires ask for {amount(least, 'mm')}.",
                f"Lay {run_name(rig, k)} in a bend of {amount(least, 'mm')} or more.",
            )


@check(
    "E527",
    "Supports too far apart",
    "Fix",
    why="A wire that swings between its supports rubs, and breaks at its ends.",
    remedy="Clip or tie it: at least every 450 mm, a battery cable every 300 mm.",
    source="ISO 10133, clause extract; outside boats a cautious basis",
    mark="published",
)
def supports_far_apart(study: Study, say: Say) -> Iterator[Finding]:
    """Runs whose supports are further apart than the rule for their wires."""
    rig = study.rig
    for k, run in enumerate(rig.runs):
        most = support_mm(rig, k)
        if run.supports_mm is not None and run.supports_mm > most and wires_in(rig, k):
            yield say(
                (run_name(rig, k),),
                f"{run_name(rig, k)}, {between(run)}: supports {amount(run.supports_mm, 'mm')} apart; "
                f"{amount(most, 'mm')} is the most.",
                f"Add clips on {run_name(rig, k)}: one every {amount(most, 'mm')} over {amount(run.length_mm, 'mm')}.",
            )


@check(
    "E528",
    "No slack where something comes off",
    "Fix",
    why="A case is parted with a hand between it and the vehicle. Without slack the connector is pulled by its wires.",
    remedy="Leave a loop at both sides of the connector.",
    source="common practice",
    mark="common practice",
)
def no_slack(study: Study, say: Say) -> Iterator[Finding]:
    """Places that come off, that wires lead into by a run, and whose stated slack is less than a hand needs."""
    rig = study.rig
    least = harness.slack_mm("comes_off") * 0.5
    for place in rig.places.values():
        if not place.comes_off or place.slack_mm is None or place.slack_mm >= least:
            continue
        wires = [
            w.id for w in rig.wires
            if not w.length_given and any(place.id in rig.runs[k].between for k in w.route)
        ]  # fmt: skip
        if wires:
            yield say(
                (place.id, *wires),
                f"{place.id} comes off; the slack there is {amount(place.slack_mm, 'mm')}, for {listing(wires)}; a "
                f"hand needs {amount(least, 'mm')} or more.",
                f"Make {listing(wires)} longer, and set slack_mm of {place.id} to {amount(least * 2.0, 'mm')}.",
            )


@check(
    "E529",
    "Wire too short to be made",
    "Know",
    why="A wire must be held in the tool at both ends. Below that length the second end is crimped badly, or not.",
    remedy="Bolt the two terminals together, or set the items further apart.",
    source="common practice",
    mark="common practice",
)
def too_short(study: Study, say: Say) -> Iterator[Finding]:
    """Wires shorter than can be ended at both sides."""
    least = harness.slack_mm("least")
    short = [w for w in study.rig.wires if not is_bolted(w) and w.length_mm < least]
    for wire in short:
        yield say(
            (wire.id,),
            f"{wire.id} is {amount(wire.length_mm, 'mm')} long; {amount(least, 'mm')} is the least with two ends.",
            f"Bolt {wire.start} and {wire.end} together, or make {wire.id} {amount(least, 'mm')} or longer.",
        )


@check(
    "E530",
    "Colour that says the opposite",
    "Fix",
    why="The next technician goes by the colour. Red on a return or black on a feed ends in a short with the spanner.",
    remedy="Use red for feeds and black or yellow for returns, or mark both ends with sleeves of the right colour.",
    source="ABYC E-11 colours; other vehicles by common practice",
    mark="published",
)
def wrong_colour(study: Study, say: Say) -> Iterator[Finding]:
    """Feeds in the colour of returns, and returns in that of feeds, by the colour that the rig gives them."""
    for wire in study.rig.wires:
        if wire.colour is None or is_bolted(wire):
            continue
        shown = colours.parts(wire.colour)
        if (shown and shown[0] in harness.wrong_colours(wire.kind)) or wire.colour in harness.wrong_colours(wire.kind):
            role = "a feed" if wire.kind == "power" else "a return"
            usual = harness.usual_colour(wire.kind)
            yield say(
                (wire.id,),
                f"{wire.id} is {role}, {wire.size.label if wire.size else ''}, and {colours.words(wire.colour)} "
                f"({wire.colour}).",
                f"Mark both ends of {wire.id} {colours.words(usual)} ({usual}), or run it in that colour.",
            )
