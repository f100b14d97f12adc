"""Returns: as thick as their feeds, on clean metal, and at one place where signals share them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from math import isinf

from loomwright.facts import conductors
from loomwright.findings.model import Finding, Severity
from loomwright.findings.registry import Say, check
from loomwright.findings.steady import loudest, steady, worst_joint
from loomwright.findings.trees import feed_way, landing, return_way
from loomwright.findings.ways import GROUND, LINE, METAL, Ways, amplifiers, supply_minus, ways_of
from loomwright.findings.words import amount, count, listing
from loomwright.power.network import wire_branch
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import AmplifierSpec, Item, LoadSpec, Rig, Wire
from loomwright.study import Study

THINNER = 0.75
"""Copper of a return over that of its feed, below which it is a size too small: even AWG sizes step by 0.63."""
SAME = 0.97
"""Copper of a return over that of its feed, above which both are the same size."""

HEARD_MV = 20.0
"""Volts between two grounds from which on they are heard: -40 dB against 2 V of signal."""


def copper_mm2(wire: Wire) -> float:
    """Area that conducts like so much copper [mm2]; infinite for a bolted joint."""
    if wire.size is None or is_bolted(wire):
        return float("inf")
    return wire.size.area_mm2 * min(1.0, conductors.conductivity(wire.metal))


@check(
    "E401",
    "Undersized return",
    "Fix",
    why="The return carries the same current as the feed, and no fuse of its own guards it. A thin one drops volts, "
    "warms, and lifts the amplifier's ground.",
    remedy="Run the return in the same size as the feed.",
    source="IEC 60364-4-43 433.1 for the return; same size as the feed is common practice",
    mark="common practice",
    unless="Know where it still carries what its device lets through",
)
def undersized_return(study: Study, say: Say) -> Iterator[Finding]:
    """Returns with clearly less copper than their feed; Know where they still carry what its device lets through."""
    rig = study.rig
    ways = ways_of(rig)
    feeds, backs = _uses(ways)
    found: dict[tuple[str, str, tuple[str, ...]], list[Wire]] = defaultdict(list)
    for wire_id, loads in sorted(backs.items()):
        back, guard = ways.wire[wire_id], study.protection.guards.get(wire_id)
        feed = feeds.get(loads)
        if feed is None or guard is None or back.size is None or feed.size is None or isinf(copper_mm2(feed)):
            continue
        share = back_mm2(ways, back) / copper_mm2(feed)
        weak = not isinf(guard.rating_a) and guard.ampacity_a < guard.rating_a
        if share < THINNER or (share < SAME and weak):
            found[back.size.label, feed.id, loads].append(back)
    for (size, feed_id, loads), wires in found.items():
        feed = rig.wire(feed_id)
        guard = study.protection.guards[wires[0].id]
        through = (
            f"; {listing(guard.devices)} lets {amount(guard.rating_a, 'A')} through, it carries "
            f"{amount(guard.ampacity_a, 'A')}"
            if guard.devices
            else ""
        )
        full = feed.size.label if feed.size else "the size of the feed"
        ids = listing(w.id for w in wires)
        yield say(
            (*(w.id for w in wires), feed_id, *loads),
            f"The return {ids} of {listing(loads)} is {size} ({amount(copper_mm2(wires[0]), 'mm2')} as copper), its "
            f"feed {feed_id} is {full} ({amount(copper_mm2(feed), 'mm2')}){through}.",
            f"Run {ids} in {full}.",
            severity="Know" if guard.ampacity_a >= guard.rating_a else None,
        )


def back_mm2(ways: Ways, wire: Wire) -> float:
    """Copper of a return with those that lie in parallel to it from terminal to terminal [mm2]."""
    ends = {wire.start, wire.end}
    return sum(copper_mm2(w) for w in ways.wires_at(wire.start) if {w.start, w.end} == ends)


def _uses(ways: Ways) -> tuple[Mapping[tuple[str, ...], Wire], Mapping[str, tuple[str, ...]]]:
    """Loads and chargers that share a feed, with the thinnest wire of it; and those behind each return wire."""
    feeds: dict[str, list[str]] = defaultdict(list)
    backs: dict[str, list[str]] = defaultdict(list)
    for item in ways.rig.items.values():
        for way, uses in ((feed_way(ways, item), feeds), (return_way(ways, item), backs)):
            for wire_id in way.wires if way else ():
                uses[wire_id].append(item.id)
    thinnest: dict[tuple[str, ...], Wire] = {}
    for wire_id in sorted(feeds):
        wire = ways.wire[wire_id]
        key = tuple(feeds[wire_id])
        if key not in thinnest or copper_mm2(wire) < copper_mm2(thinnest[key]):
            thinnest[key] = wire
    return thinnest, {w: tuple(loads) for w, loads in backs.items()}


@check(
    "E402",
    "Return through paint",
    "Fix",
    why="Paint, powder and rust between ring and metal make tens of milliohms: volts lost, heat made, and noise "
    "between items.",
    remedy="Clean the spot to bright metal, bolt with a star washer and seal it; or run a return wire to the ground "
    "bus.",
    source="common practice",
    mark="common practice",
)
def painted_return(study: Study, say: Say) -> Iterator[Finding]:
    """Joints on painted metal."""
    for wire in study.rig.wires:
        for ref, joint in zip((wire.start, wire.end), wire.joints, strict=True):
            if joint != "painted frame" or is_bolted(wire):
                continue
            worst = worst_joint(study, f"{wire.id}@{ref}")
            numbers = (
                f" {amount(worst.resistance_mohm, 'mohm')}, {amount(abs(worst.amps_a), 'A')} and "
                f"{amount(abs(worst.drop_mv), 'mV')} at worst."
                if worst
                else ""
            )
            yield say(
                (wire.id, ref),
                f"{wire.id} lands on {ref} over paint.{numbers}",
                f"Clean {ref} to bright metal, or run {wire.id} to the ground bus.",
            )


@check(
    "E403",
    "Amplifier returns through the frame",
    "Know",
    why="Frame joints, hinges and bearings were not made to carry return current. Their resistance is unknown and "
    "grows with rust. On a boat the hull must not carry it at all.",
    remedy="Run a return wire beside the feed.",
    source="common practice; ABYC E-11 for boats (secondary)",
    mark="common practice",
    unless="Fix on a boat, or where more than 100 mV are lost",
)
def frame_return(study: Study, say: Say) -> Iterator[Finding]:
    """Amplifiers whose way back to the battery crosses the frame."""
    rig = study.rig
    ways = ways_of(rig)
    over: dict[str, list[str]] = defaultdict(list)
    for item, _ in amplifiers(rig):
        way = return_way(ways, item)
        for crossed in way.items if way else ():
            if rig.items[crossed].part.family == "frame" and item.id not in over[crossed]:
                over[crossed].append(item.id)
    volts = loudest(study).node_v
    for frame, names in sorted(over.items()):
        studs = [v for t in rig.items[frame].part.terminals if (v := volts.get(f"{frame}.{t.name}")) is not None]
        drop_mv = 1000.0 * (max(studs) - min(studs)) if studs else 0.0
        severity: Severity = "Fix" if rig.vehicle.kind == "boat" or drop_mv > 100.0 else "Know"
        yield say(
            (frame, *names),
            f"{listing(names)} {'returns' if len(names) == 1 else 'return'} through {frame}; {amount(drop_mv, 'mV')} "
            "between its studs at loud.",
            f"Run a return wire for {listing(names)} to the ground bus, in the size of the feed.",
            severity=severity,
        )


@check(
    "E404",
    "Two returns at different places with a shared signal ground",
    "Fix",
    why="Unbalanced line leads share their screen with the return. Where two items land their returns at different "
    "places, the volts between the places add to the signal, and part of the return current flows in the screen.",
    remedy="Land both returns on the same bus, or use balanced or differential inputs.",
    source="40 A in a shared 5 mΩ is 0.2 V, -20 dB against 2 V (calculated); star return is common practice",
    mark="common practice",
    unless="Know where too few volts lie between the grounds to be heard",
)
def two_grounds(study: Study, say: Say) -> Iterator[Finding]:
    """Unbalanced line leads between items whose returns land on different metal, gathered by the two places.

    What adds to the signal is the volts between the supply returns of the two items.
    """
    rig = study.rig
    ways = ways_of(rig)
    volts = loudest(study).node_v
    found: dict[tuple[str, str], list[tuple[float, str, str, str]]] = defaultdict(list)
    for wire in rig.wires:
        for a, b in _signal_pairs(rig, ways, wire) if wire.kind == "line" else ():
            land_a, land_b = (landing(ways, rig.items[i]) for i in (a, b))
            if land_a is None or land_b is None or _same_metal(ways, land_a, land_b):
                continue
            minus_a, minus_b = (supply_minus(rig.items[i]) for i in (a, b))
            gap_mv = 1000.0 * abs(volts.get(minus_a or "", 0.0) - volts.get(minus_b or "", 0.0))
            if gap_mv >= HEARD_MV / 4:
                (metal_a, a), (metal_b, b) = sorted([(land_a.partition(".")[0], a), (land_b.partition(".")[0], b)])
                found[metal_a, metal_b].append((gap_mv, a, b, wire.id))
    for (metal_a, metal_b), pairs in sorted(found.items()):
        here, there, wires = sorted({p[1] for p in pairs}), sorted({p[2] for p in pairs}), sorted({p[3] for p in pairs})
        worst = max(p[0] for p in pairs)
        yield say(
            (*here, *there, *wires),
            f"{listing(here)} {_returns(here)} at {metal_a}, {listing(there)} at {metal_b}: {amount(worst, 'mV')} "
            f"between their returns at loud, and {listing(wires)} {'is' if len(wires) == 1 else 'are'} unbalanced.",
            f"Land all {count(len({*here, *there}), 'return')} on one ground bus, or fit balanced inputs.",
            severity=None if worst >= HEARD_MV else "Know",
        )


def _returns(names: list[str]) -> str:
    return "returns" if len(names) == 1 else "return"


def _same_metal(ways: Ways, a: str, b: str) -> bool:
    """Whether two landings are one piece of metal, or are bolted together."""
    if a.partition(".")[0] == b.partition(".")[0]:
        return True
    reached = ways.reach(a, METAL, GROUND)
    return b in reached and reached[b].length_mm == 0.0


def _signal_pairs(rig: Rig, ways: Ways, wire: Wire) -> Iterator[tuple[str, str]]:
    """Items that a line lead ties together by its screen, each pair once and in order."""
    ends = []
    for ref in (wire.start, wire.end):
        reached = ways.reach(ref, METAL, LINE) if rig.item_of(ref).part.family == "connector" else {ref: None}
        ends.append([rig.item_of(t) for t in reached if isinstance(rig.item_of(t).part.spec, AmplifierSpec | LoadSpec)])
    for a in ends[0]:
        for b in ends[1]:
            if a.id != b.id and not (_balanced(a, "out") or _balanced(b, "out")):
                yield (a.id, b.id) if a.id < b.id else (b.id, a.id)


def _balanced(item: Item, _side: str) -> bool:
    """Whether an item's line terminals leave no way for direct current from screen to return."""
    spec = item.part.spec
    if isinstance(spec, AmplifierSpec):
        return spec.balanced_input
    return isinstance(spec, LoadSpec) and spec.balanced_output


@check(
    "E405",
    "Signal screens carry return current in ordinary use",
    "Know",
    why="A screen lies in parallel with the returns. Where the returns drop volts, the screen carries its share, as "
    "noise and heat.",
    remedy="Shorten and thicken the returns, land them at one place, or use balanced inputs.",
    source="network solution of this rig",
    mark="calculated",
)
def screen_current(study: Study, say: Say) -> Iterator[Finding]:
    """The line screen with most direct current at `loud`, where that is more than an ampere."""
    found = {w.id: _screen_a(study, w) for w in study.rig.wires if w.kind == "line"}
    busy = sorted(w for w, a in found.items() if a > 1.0)
    if busy:
        worst = max(busy, key=lambda w: (found[w], w))
        yield say(
            busy,
            f"{count(len(busy), 'screen')} of line leads {'carries' if len(busy) == 1 else 'carry'} return current; "
            f"most in {worst}: {amount(found[worst], 'A')}.",
            f"Thicken the returns of the items at both ends of {worst}, or use balanced inputs.",
        )


def _screen_a(study: Study, wire: Wire) -> float:
    """Most steady current in the screen of a line lead, from the volts at its ends [A]."""
    screen = wire_branch(study.rig, wire)
    if screen is None:
        return 0.0
    gaps_v = [abs(v[screen.a] - v[screen.b]) for c in steady(study) if {screen.a, screen.b} <= (v := c.node_v).keys()]
    return 1000.0 * max(gaps_v, default=0.0) / screen.mohm
