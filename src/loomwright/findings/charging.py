"""Batteries and charging: does the engine keep up, will it crank, does each battery get what it needs?"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import isinf

from loomwright.findings.model import Finding, Severity
from loomwright.findings.registry import Say, check
from loomwright.findings.ways import LIVE, POWER, Through, Ways
from loomwright.findings.words import amount, count, listing, num
from loomwright.power.results import Session
from loomwright.rig.model import BatterySpec, ChargerSpec, DcdcSpec, IsolatorSpec, Item, Rig
from loomwright.study import Study

TIED: frozenset[Through] = frozenset({"metal", "contact", "device"})
"""What ties two batteries for good: wires, bars, plugs and fuses. Switches, relays and isolators part them."""
CHARGED_BY: frozenset[Through] = LIVE | {"device"}
SOON_FULL_V = 0.15
"""Volts by which a charger may miss the battery's window before it matters."""


def _wanted(study: Study) -> Session | None:
    """The owner's own session."""
    limits = study.rig.limits
    for session in study.power.sessions:
        if (session.engine, session.programme) == (limits.session_engine, limits.session_programme):
            return session
    return None


def _batteries(rig: Rig) -> Iterator[tuple[Item, BatterySpec]]:
    for item in rig.family("battery"):
        if isinstance(item.part.spec, BatterySpec):
            yield item, item.part.spec


@check(
    "E701",
    "Charge deficit",
    "Fix",
    why="What the charger cannot give comes out of the battery. At cruise it must be more than what is drawn, or the "
    "battery never fills again.",
    remedy="Draw less, or fit a charger that gives more at that speed.",
    source="charger's own curve against the solved draw; music at 1/8 power (FTC 16 CFR 432.3)",
    mark="calculated",
)
def charge_deficit(study: Study, say: Say) -> Iterator[Finding]:
    """Deficit at cruise with music, or in the owner's session; Know where only the session is short and ends well."""
    limits = study.rig.limits
    session = _wanted(study)
    stranded = session is not None and session.hours_to_no_crank_h < limits.session_h
    short = [
        b
        for b in study.power.balance
        if b.surplus_a < -0.05
        and (b.engine, b.programme) in {("cruise", "music"), (limits.session_engine, limits.session_programme)}
    ]
    if not short:
        return
    worst = min(short, key=lambda b: (b.surplus_a, b.engine))
    mild = not stranded and all(b.engine != "cruise" for b in short)
    told = "; ".join(
        f"engine {b.engine}, {b.programme}: {amount(b.drawn_a, 'A')} drawn, {amount(b.available_a, 'A')} available"
        for b in short
    )
    end = f" The engine still cranks after {amount(limits.session_h, 'h')}." if mild else ""
    yield say(
        tuple(i.id for i in study.rig.family("charger")),
        f"{told[:1].upper()}{told[1:]}; {amount(-worst.surplus_a, 'A')} short.{end}",
        f"Save {amount(-worst.surplus_a, 'A')} at {worst.engine}, or fit a charger that gives "
        f"{amount(worst.drawn_a, 'A')} there.",
        severity="Know" if mild else None,
    )


@check(
    "E702",
    "No crank reserve",
    "Fix",
    why="Music must not strand the owner: after the session the engine has to start.",
    remedy="Add capacity, play less long, or give the engine a battery of its own.",
    source="session of this rig: Peukert's rule, resting volts and resistance by charge",
    mark="calculated",
)
def no_crank(study: Study, say: Say) -> Iterator[Finding]:
    """Sessions after which the starting battery cannot crank."""
    rig = study.rig
    session = _wanted(study)
    if session is None or session.hours_to_no_crank_h >= rig.limits.session_h:
        return
    start = rig.vehicle.start_battery or next((b.id for b, _ in _batteries(rig)), "battery")
    hours = session.hours_to_no_crank_h
    last = max((k for k, t in enumerate(session.time_h) if t <= rig.limits.session_h), default=0)
    then = session.crank_v[last]
    end = f"would pull {start} to {amount(then, 'V')}" if then > 0 else f"are more than {start} can then give"
    yield say(
        (start,),
        f"Engine {session.engine}, {session.programme}: cranks no more after {amount(hours, 'h')} of "
        f"{amount(rig.limits.session_h, 'h')} wanted; {amount(rig.vehicle.crank_a, 'A')} {end} "
        f"(least {amount(rig.vehicle.crank_min_v, 'V')}).",
        f"Keep sessions under {amount(hours, 'h')}, or give the amplifiers a battery apart from {start}."
        if hours > 0
        else f"Charge {start}, or fit one that gives {amount(rig.vehicle.crank_a, 'A')}: it will not crank even now.",
    )


def _tied(rig: Rig) -> Iterator[tuple[Item, BatterySpec, Item, BatterySpec]]:
    """Pairs of batteries with their plus posts tied for good."""
    ways = Ways(rig)
    for (a, sa), (b, sb) in combinations(list(_batteries(rig)), 2):
        if f"{b.id}.plus" in ways.reach(f"{a.id}.plus", TIED, POWER):
            yield a, sa, b, sb


@check(
    "E703",
    "Unlike batteries tied together",
    "Fix",
    why="Batteries of unlike chemistry, size or age share neither charge nor load fairly: one is overcharged, the "
    "other never full. Each must be parted from the other and charged by itself.",
    remedy="Fit an isolator, a switch or a DC-DC charger between them.",
    source="makers' charging instructions (from memory); common practice",
    mark="common practice",
)
def unlike_batteries(study: Study, say: Say) -> Iterator[Finding]:
    """Batteries of unlike kind in parallel with no isolator, switch, relay or DC-DC charger between."""
    for a, sa, b, sb in _tied(study.rig):
        differ = []
        if sa.chemistry != sb.chemistry:
            differ.append(f"{sa.chemistry} and {sb.chemistry}")
        if max(sa.capacity_ah, sb.capacity_ah) > 1.1 * min(sa.capacity_ah, sb.capacity_ah):
            differ.append(f"{amount(sa.capacity_ah, 'Ah')} and {amount(sb.capacity_ah, 'Ah')}")
        if max(a.resistance_factor, b.resistance_factor) > 1.5 * min(a.resistance_factor, b.resistance_factor):
            differ.append(f"at {num(a.resistance_factor)} and {num(b.resistance_factor)} times their first resistance")
        if differ:
            yield say(
                (a.id, b.id),
                f"{a.id} and {b.id} are tied: {'; '.join(differ)}. Nothing parts them.",
                f"Fit an isolator or a DC-DC charger between {a.id} and {b.id}, and a switch so that each can be "
                "charged by itself.",
            )


def _chargers(rig: Rig) -> Iterator[tuple[Item, float, Item, BatterySpec, tuple[str, ...]]]:
    """Charging source, its volts at the battery, the battery, and the items between."""
    ways = Ways(rig)
    for source in rig.family("charger", "dcdc"):
        spec = source.part.spec
        if isinstance(spec, ChargerSpec):
            volts = spec.regulator_v
        elif isinstance(spec, DcdcSpec):
            volts = spec.output_v
        else:
            continue
        reached = ways.reach(f"{source.id}.out", CHARGED_BY, POWER)
        for battery, b in _batteries(rig):
            way = reached.get(f"{battery.id}.plus")
            if way is not None:
                specs = [rig.items[i].part.spec for i in way.items]
                drop = sum(s.drop_v for s in specs if isinstance(s, IsolatorSpec) and s.kind == "diode")
                yield source, volts - drop, battery, b, way.items


@check(
    "E704",
    "Charging volts do not suit the battery",
    "Fix",
    why="Too many volts boil a lead battery and open the protection of a lithium one; too few leave it half full for "
    "ever.",
    remedy="Set the regulator, or charge through a DC-DC charger made for that chemistry.",
    source="makers' charging instructions at 25 C (from memory)",
    mark="from memory",
)
def charger_volts(study: Study, say: Say) -> Iterator[Finding]:
    """Regulated volts outside the window of a battery; a little low is Know."""
    for source, volts, battery, spec, _ in _chargers(study.rig):
        high, low = volts - spec.charge_max_v, spec.charge_min_v - volts
        if high <= SOON_FULL_V and low <= SOON_FULL_V:
            continue
        severity: Severity = "Know" if high <= SOON_FULL_V and low < 0.6 else "Fix"
        yield say(
            (source.id, battery.id),
            f"{source.id} charges {battery.id} ({spec.chemistry}) at {volts:.2f} V; it wants {spec.charge_min_v:.2f} "
            f"to {spec.charge_max_v:.2f} V at 25 C.",
            f"Set {source.id} to {min(max(volts, spec.charge_min_v), spec.charge_max_v):.1f} V, or charge "
            f"{battery.id} through a DC-DC charger for {spec.chemistry}.",
            severity=severity,
        )


@check(
    "E705",
    "Lithium battery on a bare alternator or stator",
    "Fix",
    why="A lithium battery takes all that a source can give. An alternator then overheats at idle; when the "
    "battery's protection opens, the volts jump.",
    remedy="Charge it through a DC-DC charger with a current limit.",
    source="makers' charging instructions (from memory)",
    mark="from memory",
)
def bare_lithium(study: Study, say: Say) -> Iterator[Finding]:
    """LFP batteries that an alternator, or a stator stronger than they may take, reaches without a current limit."""
    for source, _, battery, spec, _ in _chargers(study.rig):
        charger = source.part.spec
        if spec.chemistry != "lfp" or not isinstance(charger, ChargerSpec):
            continue
        most_a = max(charger.current_a, default=0.0)
        if charger.kind == "alternator" or most_a > spec.max_charge_a:
            yield say(
                (source.id, battery.id),
                f"{source.id} ({charger.kind}, {amount(most_a, 'A')}) reaches {battery.id} with no current limit "
                f"between; it may take {amount(spec.max_charge_a, 'A')}.",
                f"Fit a DC-DC charger of {amount(min(spec.max_charge_a, most_a / 2), 'A')} or less between "
                f"{source.id} and {battery.id}.",
            )


@check(
    "E706",
    "Battery charged faster than it allows",
    "Fix",
    why="Above its largest charging current a battery gasses, warms or opens its protection.",
    remedy="Limit the current, or fit a larger battery.",
    source="the part's own limit",
    mark="published",
)
def charged_too_fast(study: Study, say: Say) -> Iterator[Finding]:
    """Batteries that take more than their limit in a settled case with the engine running."""
    for battery, spec in _batteries(study.rig):
        found = [
            (c.items[battery.id].amps_a, k)
            for k, c in study.power.cases.items()
            if k[0] != "off" and battery.id in c.items
        ]
        amps, key = max(found, default=(0.0, ("idle", "quiet")))
        if amps > spec.max_charge_a * 1.1:
            yield say(
                (battery.id,),
                f"{battery.id} takes {amount(amps, 'A')} (engine {key[0]}, {key[1]}); "
                f"{amount(spec.max_charge_a, 'A')} is its limit.",
                f"Limit the charging current of {battery.id} to {amount(spec.max_charge_a, 'A')}.",
            )


@check(
    "E707",
    "Current between batteries in the first minute",
    "Know",
    why="Two batteries at unlike rest volts, tied together, push current from one to the other until they are level.",
    remedy="Charge both full before tying them, and tie them through a fuse.",
    source="network solution with both at rest",
    mark="calculated",
)
def circulating(study: Study, say: Say) -> Iterator[Finding]:
    """Batteries that take current from another right after they are tied, engine off."""
    if len(study.rig.family("battery")) < 2:
        return
    case = study.power.case("off", "quiet")
    taken = {b: a for b, a in case.first_minute_amps_a.items() if a > 1.0}
    if taken:
        most = max(taken, key=lambda b: (taken[b], b))
        givers = sorted(b for b, a in case.first_minute_amps_a.items() if a < 0)
        yield say(
            (most, *givers),
            f"Engine off: {amount(taken[most], 'A')} flow from {listing(givers)} into {most} in the first minute, "
            "then less.",
            f"Charge {listing(sorted({most, *givers}))} full before they are tied.",
        )


@check(
    "E708",
    "Draw above what the battery's protection allows",
    "Fix",
    why="The protection inside a lithium battery opens above its limit, and everything goes dark at once.",
    remedy="Fit a battery with a higher limit, or draw less.",
    source="the part's own limit",
    mark="published",
)
def protection_opens(study: Study, say: Say) -> Iterator[Finding]:
    """Batteries that give more than their protection's limit; flat out only is Know."""
    for battery, spec in _batteries(study.rig):
        limit = spec.bms_limit_a
        if limit is None or isinf(limit):
            continue
        given = {k: -c.items[battery.id].amps_a for k, c in study.power.cases.items() if battery.id in c.items}
        steady = max((a for k, a in given.items() if k[1] != "sine"), default=0.0)
        most = max(given.values(), default=0.0)
        if most > limit:
            yield say(
                (battery.id,),
                f"{battery.id} gives {amount(steady, 'A')} at loud and {amount(most, 'A')} flat out; its protection "
                f"opens above {amount(limit, 'A')}.",
                f"Fit a battery that gives {amount(most, 'A')}, or {count(2, 'battery', 'batteries')} of this kind.",
                severity=None if steady > limit else "Know",
            )
