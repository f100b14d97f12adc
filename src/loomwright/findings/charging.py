"""Batteries and charging: does the engine keep up, will it crank, does each battery get what it needs?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import nan

from loomwright.findings.batteries import batteries
from loomwright.findings.model import Finding, Severity
from loomwright.findings.registry import Say, check
from loomwright.findings.ways import LIVE, POWER, Through, Ways, ways_of
from loomwright.findings.words import amount, listing, span
from loomwright.power.results import CaseResult, Session
from loomwright.rig.model import BatterySpec, ChargerSpec, DcdcSpec, EngineState, IsolatorSpec, Item, Programme, Rig
from loomwright.study import Study

CHARGED_BY: frozenset[Through] = LIVE | {"device"}
CRUISING: tuple[EngineState, Programme] = ("cruise", "music")
LOSES_A = 0.3
"""Amperes that a battery must lose, settled, before it counts."""
AT_LIMIT = 0.95
"""Share of its limit from which on a DC-DC charger counts as giving all it can."""
SOON_FULL_V = 0.15
"""Volts by which a charger may miss the battery's window before it matters."""


def _wanted(study: Study) -> Session | None:
    """The owner's own session."""
    limits = study.rig.limits
    for session in study.power.sessions:
        if (session.engine, session.programme) == (limits.session_engine, limits.session_programme):
            return session
    return None


@check(
    "E701",
    "Charge deficit",
    "Fix",
    why="What the charger cannot give comes out of the battery. At cruise it must be more than what is drawn, or the "
    "battery never fills again. That holds for each battery: a charger with amperes to spare is no help behind a DC-DC "
    "charger that is too small.",
    remedy="Draw less, or fit a charger that gives more at that speed.",
    source="charger's own curve and each battery's amperes in the solved cases; music at 1/8 power (FTC 16 CFR 432.3)",
    mark="calculated",
    unless="Know where only the owner's session is short, and the engine still cranks after it",
)
def charge_deficit(study: Study, say: Say) -> Iterator[Finding]:
    """Deficit of the whole, then of each battery: at cruise with music, or in the owner's session.

    Know where only the session is short and ends well.
    """
    limits = study.rig.limits
    session = _wanted(study)
    stranded = session is not None and session.hours_to_no_crank_h < limits.session_h
    asked = list(dict.fromkeys([CRUISING, (limits.session_engine, limits.session_programme)]))
    short = [b for b in study.power.balance if b.surplus_a < -0.05 and (b.engine, b.programme) in asked]
    if short:
        worst = min(short, key=lambda b: (b.surplus_a, b.engine))
        mild = not stranded and all((b.engine, b.programme) != CRUISING for b in short)
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
    ways = ways_of(study.rig)
    sources: dict[str, list[Item]] = {b.id: [] for b, _ in batteries(study.rig)}
    for source, _, charged, _, _ in _chargers(study.rig):
        sources[charged.id].append(source)
    overdrawn = {(b.engine, b.programme) for b in short}
    for battery in sorted(sources):
        for key in asked:
            case = study.power.case(*key)
            loses_a = -case.items[battery].amps_a if battery in case.items and key[0] != "off" else 0.0
            limits_it = [_given(study, ways, case, s) for s in sources[battery]]
            if loses_a > LOSES_A and (key not in overdrawn or any(g.at_limit for g in limits_it)):
                yield say(
                    (battery, *(g.source for g in limits_it)),
                    f"{battery} loses {amount(loses_a, 'A')} (engine {key[0]}, {key[1]}): "
                    f"{'; '.join(g.told for g in limits_it) or 'nothing charges it'}.",
                    _more(battery, loses_a, limits_it),
                    severity=None if key == CRUISING else "Know",
                )
                break


@dataclass(frozen=True, slots=True)
class _Given:
    """What one source of charge gives in one case [A], in words, and whether a DC-DC charger's limit holds it there."""

    source: str
    amps_a: float
    told: str
    at_limit: bool


def _given(study: Study, ways: Ways, case: CaseResult, source: Item) -> _Given:
    spec = source.part.spec
    if not isinstance(spec, DcdcSpec):
        amps = -case.items[source.id].amps_a
        return _Given(source.id, amps, f"{source.id} gives {amount(amps, 'A')} and could give more", False)
    amps = sum(abs(case.wires[w.id].amps_a) for w in ways.wires_at(f"{source.id}.out") if w.id in case.wires)
    fed_v = case.items[source.id].volts_v
    if amps < 0.05 * spec.limit_a and fed_v < spec.start_v:
        told = f"{source.id} gives nothing at {amount(fed_v, 'V')}; it starts at {amount(spec.start_v, 'V')}"
        return _Given(source.id, 0.0, told, False)
    if amps >= AT_LIMIT * spec.limit_a:
        return _Given(source.id, amps, f"{source.id} gives all of its {amount(spec.limit_a, 'A')}", True)
    told = f"{source.id} gives {amount(amps, 'A')} of its {amount(spec.limit_a, 'A')}"
    return _Given(source.id, amps, told, False)


def _more(battery: str, loses_a: float, given: list[_Given]) -> str:
    """What would hold the battery."""
    full = [g for g in given if g.at_limit]
    idle = [g.source for g in given if g.amps_a == 0.0]
    if full:
        need_a = full[0].amps_a + loses_a
        return f"Fit one of more than {amount(need_a, 'A')} in place of {full[0].source}, or draw less from {battery}."
    if idle:
        return (
            f"Thicken the way to {listing(idle)} until it starts, or draw {amount(loses_a, 'A')} less from {battery}."
        )
    if given:
        names = listing(g.source for g in given)
        return f"Shorten or thicken the way from {names} to {battery}, or draw {amount(loses_a, 'A')} less from it."
    return f"Charge {battery} from the charger, through an isolator or a DC-DC charger, or draw nothing from it."


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
    start = rig.vehicle.start_battery or next((b.id for b, _ in batteries(rig)), "battery")
    hours = session.hours_to_no_crank_h
    at = next((k for k, t in enumerate(session.time_h) if t >= hours), 0)
    then, charge = session.crank_v[at], session.charge_pct[start][at] if start in session.charge_pct else nan
    crank = amount(rig.vehicle.crank_a, "A")
    if charge <= 0:
        end = f"{start} is {'' if hours <= 0 else 'then '}empty (0 %) and gives nothing of the {crank} that it takes"
    elif then > 0:
        least = amount(rig.vehicle.crank_min_v, "V")
        end = f"{crank} would pull {start} to {then:.2f} V at {charge:.0f} % (least {least})"
    else:
        end = f"{crank} are more than {start} can {'' if hours <= 0 else 'then '}give at {charge:.0f} %"
    if hours > 0:
        begin = f"cranks no more after {span(hours)} of {span(rig.limits.session_h)} wanted"
    else:
        begin = "will not crank even before it begins"
    yield say(
        (start,),
        f"Engine {session.engine}, {session.programme}: {begin}; {end}.",
        f"Keep sessions under {span(hours)}, or give the amplifiers a battery apart from {start}."
        if hours > 0
        else f"Charge {start} before anything else, or fit one that gives {crank}.",
    )


def _chargers(rig: Rig) -> Iterator[tuple[Item, float, Item, BatterySpec, tuple[str, ...]]]:
    """Charging source, its volts at the battery, the battery, and the items between."""
    ways = ways_of(rig)
    for source in rig.family("charger", "dcdc"):
        spec = source.part.spec
        if isinstance(spec, ChargerSpec):
            volts = spec.regulator_v
        elif isinstance(spec, DcdcSpec):
            volts = spec.output_v
        else:
            continue
        reached = ways.reach(f"{source.id}.out", CHARGED_BY, POWER)
        for battery, b in batteries(rig):
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
    source="makers' charging instructions at 25 °C (from memory)",
    mark="from memory",
    unless="Know where the volts are only a little low",
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
            f"to {spec.charge_max_v:.2f} V at 25 °C.",
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
