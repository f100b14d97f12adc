"""Batteries: what is tied to what, and what each of them is asked to take and give."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import isinf

from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.steady import steady
from loomwright.findings.ways import POWER, Through, ways_of
from loomwright.findings.words import amount, count, listing, num
from loomwright.rig.model import BatterySpec, Item, Rig
from loomwright.study import Study

TIED: frozenset[Through] = frozenset({"metal", "contact", "device"})
"""What ties two batteries for good: wires, bars, plugs and fuses. Switches, relays and isolators part them."""


def batteries(rig: Rig) -> Iterator[tuple[Item, BatterySpec]]:
    """Every battery with its figures."""
    for item in rig.family("battery"):
        if isinstance(item.part.spec, BatterySpec):
            yield item, item.part.spec


def _tied(rig: Rig) -> Iterator[tuple[Item, BatterySpec, Item, BatterySpec]]:
    """Pairs of batteries with their plus posts tied for good."""
    ways = ways_of(rig)
    for (a, sa), (b, sb) in combinations(list(batteries(rig)), 2):
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
def unlikebatteries(study: Study, say: Say) -> Iterator[Finding]:
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
    for battery, spec in batteries(study.rig):
        found = [
            (c.items[battery.id].amps_a, (c.engine, c.programme))
            for c in steady(study)
            if c.engine != "off" and battery.id in c.items
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
    unless="Know where only full output without pause goes above the limit",
)
def protection_opens(study: Study, say: Say) -> Iterator[Finding]:
    """Batteries that give more than their protection's limit, to the starter or to the music."""
    vehicle = study.rig.vehicle
    for battery, spec in batteries(study.rig):
        limit = spec.bms_limit_a
        if limit is None or isinf(limit):
            continue
        if battery.id == vehicle.start_battery and vehicle.crank_a > limit:
            yield say(
                (battery.id,),
                f"{amount(vehicle.crank_a, 'A')} crank against {amount(limit, 'A')} protection of {battery.id}: the "
                "starter will not turn.",
                f"Fit a starting battery whose protection allows {amount(vehicle.crank_a, 'A')} or more, or give the "
                "starter a battery of its own.",
            )
        loud, flat_out = (
            max((-c.items[battery.id].amps_a for c in cases if battery.id in c.items), default=0.0)
            for cases in (steady(study), steady(study, "sine"))
        )
        most = max(loud, flat_out)
        if most > limit:
            yield say(
                (battery.id,),
                f"{battery.id} gives {amount(loud, 'A')} at loud and {amount(most, 'A')} flat out; its protection "
                f"opens above {amount(limit, 'A')}.",
                f"Fit a battery that gives {amount(most, 'A')}, or {count(2, 'battery', 'batteries')} of this kind.",
                severity=None if loud > limit else "Know",
            )
