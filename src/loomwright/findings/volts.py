"""Volts: at the amplifiers, at everything else, steady and in a bass hit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from math import isinf

from loomwright.facts import workmanship
from loomwright.findings.model import Finding, Severity
from loomwright.findings.registry import Say, check
from loomwright.findings.safety import safety_loads
from loomwright.findings.sizes import starved
from loomwright.findings.steady import steady
from loomwright.findings.trees import feed_way, return_way
from loomwright.findings.ways import amplifiers, ways_of
from loomwright.findings.words import amount, listing, num
from loomwright.power.results import CaseResult
from loomwright.rig.model import AmplifierSpec, LoadSpec
from loomwright.study import Study

NOMINAL_V = 12.0
"""What shares of volts are counted from."""
THIN_HEADROOM = 1.5
"""Factor on the programme below which the operating point is near its end."""


def _case(c: CaseResult) -> str:
    return f"engine {c.engine}, {c.programme}"


@check(
    "E801",
    "Volts below an item's minimum",
    "Fix",
    why="Below its least volts an amplifier shuts down or cycles, and a processor or pump drops out.",
    remedy="Shorten or thicken feed and return, draw less, or fit a stronger battery.",
    source="the part's own least volts, against the solved network",
    mark="calculated",
)
def below_minimum(study: Study, say: Say) -> Iterator[Finding]:
    """Items below their least volts in a case up to `loud`."""
    lows: dict[str, list[tuple[float, CaseResult]]] = defaultdict(list)
    for case in steady(study):
        for item_id, state in case.items.items():
            if state.below_minimum:
                lows[item_id].append((state.volts_v, case))
    left = starved(study)
    for item_id, found in sorted(lows.items()):
        if item_id in left:
            continue
        volts, case = min(found, key=lambda x: (x[0], x[1].engine))
        spec = study.rig.items[item_id].part.spec
        least = spec.min_v if isinstance(spec, AmplifierSpec | LoadSpec) else 0.0
        yield say(
            (item_id,),
            f"{item_id} has {volts:.2f} V ({_case(case)}); it needs {least:.2f} V.",
            f"Win back {amount(least - volts, 'V')} on the way to {item_id}: {_advice(study, item_id)}.",
        )


def _advice(study: Study, item_id: str) -> str:
    """Which wire on an item's feed and return loses most."""
    worst = _lossy(study, item_id)
    return f"{worst[0]} alone loses {amount(worst[1], 'mV')}" if worst else "shorten the way"


def _lossy(study: Study, item_id: str) -> tuple[str, float] | None:
    ways = ways_of(study.rig)
    item = study.rig.items[item_id]
    wires = [w for way in (feed_way(ways, item), return_way(ways, item)) if way for w in way.wires]
    drops: dict[str, float] = {}
    for case in steady(study, "loud"):
        for w in wires:
            if w in case.wires:
                drops[w] = max(drops.get(w, 0.0), abs(case.wires[w].drop_mv))
    if not drops:
        return None
    worst = max(drops, key=lambda w: (drops[w], w))
    return worst, drops[worst]


@check(
    "E802",
    "No operating point",
    "Fix",
    why="An amplifier draws more as its volts fall. Past a point no volts satisfy both it and the wires: it "
    "collapses, restarts and collapses again.",
    remedy="Less resistance on the way, less programme, or a stronger source.",
    source="network solution: largest factor on the programme with a solution",
    mark="calculated",
    unless="Know where it is lost only flat out",
)
def no_operating_point(study: Study, say: Say) -> Iterator[Finding]:
    """Cases without a solution; flat out only is Know."""
    left = starved(study)
    lost = [c for c in study.power.cases.values() if not c.solved and c.lost not in left]
    if not lost:
        return
    steady = [c for c in lost if c.programme != "sine"]
    worst = min(steady or lost, key=lambda c: (c.headroom, c.engine, c.programme))
    severity: Severity = "Fix" if steady else "Know"
    yield say(
        (worst.lost,) if worst.lost else (),
        f"No solution for {listing(_case(c) for c in steady or lost)}; {worst.lost or 'an amplifier'} is lost first, "
        f"at {num(100 * worst.headroom)} % of the programme.",
        f"Thicken feed and return of {worst.lost or 'the amplifiers'}, or set the gain so that the programme stays "
        f"below {num(100 * worst.headroom)} %.",
        severity=severity,
    )


@check(
    "E803",
    "Thin headroom",
    "Know",
    why="Close to the point where no operating point is left, small things decide: a warm wire, an old battery.",
    remedy="Less resistance on the way, or a stronger source.",
    source="network solution: largest factor on the programme with a solution",
    mark="calculated",
)
def thin_headroom(study: Study, say: Say) -> Iterator[Finding]:
    """Cases up to `loud` that have less than half as much again in hand."""
    left = starved(study)
    thin = [c for c in steady(study) if c.headroom < THIN_HEADROOM and c.lost not in left]
    if thin:
        worst = min(thin, key=lambda c: (c.headroom, c.engine, c.programme))
        yield say(
            (worst.lost,) if worst.lost else (),
            f"{_case(worst).capitalize()}: the operating point of {worst.lost or 'an amplifier'} is lost at "
            f"{num(worst.headroom)} times the programme.",
            f"Thicken feed and return of {worst.lost or 'the amplifiers'}.",
        )


@check(
    "E804",
    "Drop over the limit",
    "Fix",
    why="Volts lost on the way are watts lost at the loudspeaker, and heat in the wires.",
    remedy="Shorten or thicken the wire that loses most.",
    source="the limit set for this rig; boat practice is 3 % or 10 % (ABYC E-11, secondary)",
    mark="common practice",
)
def drop_over_limit(study: Study, say: Say) -> Iterator[Finding]:
    """Amplifiers that lose more at `loud`, feed and return together, than the rig's limit, in one finding."""
    limit = study.rig.limits.drop_v
    left = starved(study)
    drops: dict[str, tuple[float, str]] = {}
    for item, _ in amplifiers(study.rig):
        cases = [c for c in steady(study, "loud") if item.id in c.items]
        worst = max(((c.items[item.id].drop_v, c.engine) for c in cases), default=(0.0, "off"))
        if worst[0] > limit * 1.005 and item.id not in left:
            drops[item.id] = worst
    if drops:
        order = sorted(drops, key=lambda i: (-drops[i][0], i))
        most, engine = drops[order[0]]
        wires = sorted({w[0] for i in order if (w := _lossy(study, i)) is not None})
        lost = listing(f"{i} {amount(1000 * drops[i][0], 'mV')}" for i in order)
        yield say(
            (*order, *wires),
            f"Lost on the way at loud: {lost} (engine {engine}); {amount(1000 * limit, 'mV')} is the limit.",
            f"Win back {amount(1000 * (most - limit), 'mV')} for {order[0]}: {_advice(study, order[0])}.",
        )


@check(
    "E805",
    "Bass hit below an amplifier's minimum",
    "Know",
    why="A 50 ms burst at full output pulls the volts down further than music does. Below its least volts an "
    "amplifier mutes or restarts on the beat.",
    remedy="Thicken feed and return, fit a stronger battery, or a stiffening capacitor close by.",
    source="burst of 50 ms on top of music, solved in time",
    mark="calculated",
    unless="Fix where it happens with the engine at cruise",
)
def bass_dip(study: Study, say: Say) -> Iterator[Finding]:
    """Amplifiers that dip below their least volts in a bass hit; Fix where it happens with the engine at cruise."""
    lows: dict[str, list[tuple[float, str]]] = defaultdict(list)
    for hit in study.power.bass:
        for item_id, volts in hit.items.items():
            spec = study.rig.items[item_id].part.spec
            if isinstance(spec, AmplifierSpec) and volts < spec.min_v and not isinf(volts):
                lows[item_id].append((volts, hit.engine))
    left = starved(study)
    for item_id, found in sorted(lows.items()):
        if item_id in left:
            continue
        volts, _ = min(found)
        engines: Sequence[str] = sorted({e for _, e in found})
        spec = study.rig.items[item_id].part.spec
        least = spec.min_v if isinstance(spec, AmplifierSpec) else 0.0
        yield say(
            (item_id,),
            f"{item_id} dips to {volts:.2f} V in a bass hit (engine {listing(engines)}); it needs {least:.2f} V.",
            f"Win back {amount(least - volts, 'V')} for {item_id}: {_advice(study, item_id)}.",
            severity="Fix" if "cruise" in engines else None,
        )


@check(
    "E806",
    "Safety load short of volts",
    "Fix",
    why="Ignition, lights, pump and blower live on what their wires leave them. Short of volts a lamp is dim, a pump "
    "moves less water, and an ignition misfires just when the music is loud.",
    remedy="Thicken or shorten feed and return, or feed the load by a way that no amplifier shares.",
    source="ABYC E-11, voltage-drop articles (secondary): 3 % for lights, blowers and panel feeds, else 10 %, of 12 V",
    mark="published",
    unless="Know on a boat from 3 % up to 10 %",
)
def safety_drop(study: Study, say: Say) -> Iterator[Finding]:
    """Safety loads that lose more than boat practice allows on the way, feed and return together, in a steady case."""
    limits: tuple[tuple[float, Severity | None], ...] = ((workmanship.drop_share() * NOMINAL_V, None),)
    if study.rig.vehicle.kind == "boat":
        limits += ((workmanship.drop_share(sensitive=True) * NOMINAL_V, "Know"),)
    left, lasting = starved(study), steady(study)
    told: set[str] = set()
    for limit_v, severity in limits:
        found: dict[str, tuple[float, CaseResult]] = {}
        for item_id in safety_loads(study.rig):
            cases = [c for c in lasting if item_id in c.items]
            worst = max(cases, key=lambda c, i=item_id: c.items[i].drop_v, default=None)  # type: ignore[misc]
            if worst is not None and worst.items[item_id].drop_v > limit_v * 1.005 and item_id not in told | left:
                found[item_id] = worst.items[item_id].drop_v, worst
        if found:
            told |= set(found)
            order = sorted(found, key=lambda i: (-found[i][0], i))
            most, case = found[order[0]]
            lost = listing(f"{i} {amount(1000 * found[i][0], 'mV')}" for i in order)
            yield say(
                (*order, *sorted({w[0] for i in order if (w := _lossy(study, i)) is not None})),
                f"Lost on the way: {lost} "
                f"({_case(case)}); {amount(1000 * limit_v, 'mV')} is {num(100 * limit_v / NOMINAL_V)} % of 12 V.",
                f"Win back {amount(1000 * (most - limit_v), 'mV')} for {order[0]}: {_advice(study, order[0])}.",
                severity=severity,
            )
