"""Feeds: what guards them at the battery, and what they are made of on the way."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import isinf

from loomwright.facts import workmanship
from loomwright.findings.covers import sheathed
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.steady import loudest
from loomwright.findings.trees import feed_way
from loomwright.findings.ways import LIVE, POWER, REMOTE, Way, amplifiers, ways_of
from loomwright.findings.words import amount, count, listing
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import Item, Rig
from loomwright.study import Study

BARE_MM = workmanship.device_distance_mm()
SHEATHED_MM = workmanship.device_distance_mm(sheathed=True)
POST_SHEATHED_MM = workmanship.device_distance_mm(sheathed=True, at_post=True)
LAW = "33 CFR 183.455; ABYC E-11 (secondary)"


ENDS = ("amplifier", "processor", "source", "accessory", "passive", "battery")
"""Families at which an unguarded lead ends: what draws, stores or smooths."""


@dataclass(frozen=True, slots=True)
class Lead:
    """What a battery's plus post reaches without a device: the end of the lead and the way to it."""

    battery: str
    end: str
    way: Way
    limit_mm: float
    sheathed: bool

    @property
    def too_long(self) -> bool:
        """Whether the rule is broken: by the piece up to a device, or by a lead that has no device at all."""
        return self.way.length_mm > self.limit_mm


def leads(rig: Rig) -> tuple[Lead, ...]:
    """Every lead from a battery's plus post to the first device, load, charger or other battery, by length."""
    ways = ways_of(rig)
    found: list[Lead] = []
    for battery in rig.family("battery"):
        reached = ways.reach(f"{battery.id}.plus", LIVE, (*POWER, *REMOTE))
        inner = _inner(rig, reached)
        for end, way in reached.items():
            if way.wires and end not in inner:
                cover = all(sheathed(rig, ways.wire[w]) for w in way.wires)
                limit = _limit_mm(rig, cover) if _is_device(rig.item_of(end)) else BARE_MM
                found.append(Lead(battery.id, end, way, limit, cover))
    return tuple(sorted(found, key=lambda x: (x.way.length_mm, x.battery, x.end)))


def _inner(rig: Rig, reached: Mapping[str, Way]) -> set[str]:
    """Terminals that a way passes through: no ends."""
    inner = set()
    for end in reached:
        family = rig.item_of(end).part.family
        if family in ("bus", "plain_block", "splice", "connector", "switch", "isolator", "relay"):
            inner.add(end)
    return inner


def _limit_mm(rig: Rig, cover: bool) -> float:
    if not cover:
        return BARE_MM
    return SHEATHED_MM if law_binds(rig) else POST_SHEATHED_MM


def law_binds(rig: Rig) -> bool:
    """Whether 33 CFR 183 subpart I is law here: boats with an inboard or sterndrive petrol engine."""
    return rig.vehicle.kind == "boat" and rig.vehicle.drive == "petrol inboard"


def _basis(rig: Rig) -> str:
    return LAW if law_binds(rig) else f"{LAW}; outside its scope here, taken as the cautious basis"


def _is_device(item: Item) -> bool:
    return item.part.family in ("fuse_holder", "breaker", "fused_block")


def _cranks(item: Item) -> bool:
    """Whether an item is a starter motor: its lead may go without a device."""
    return item.part.family == "accessory" and "starter" in f"{item.part.id} {item.part.title}".lower()


@check(
    "E101",
    "No device between battery and load",
    "Stop",
    why="A battery gives hundreds of amperes into a wire that rubs through. With no fuse or breaker in the lead, "
    "nothing stops it before the insulation burns. The cranking lead is exempt.",
    remedy="Fit a fuse or breaker within 178 mm of the battery post, along the conductor.",
    source=LAW,
    mark="published",
)
def unguarded_feed(study: Study, say: Say) -> Iterator[Finding]:
    """Leads from a battery that end at a load or another battery without any device."""
    rig = study.rig
    ends: dict[tuple[str, str], list[Lead]] = defaultdict(list)
    for lead in leads(rig):
        item = rig.item_of(lead.end)
        name = lead.end.partition(".")[2]
        bare = item.part.family in ENDS or (
            item.part.family == "dcdc" and name == "in"
        )
        if bare and lead.too_long and not _cranks(item):
            ends[lead.battery, lead.way.wires[0]].append(lead)
    done: set[frozenset[str]] = set()
    for (battery, first), group in ends.items():
        if all(frozenset((battery, lead.end.partition(".")[0])) in done for lead in group):
            continue
        done.update(
            frozenset((battery, lead.end.partition(".")[0]))
            for lead in group
            if rig.item_of(lead.end).part.family == "battery"
        )
        worst = max(group, key=lambda x: x.way.length_mm)
        names = sorted({lead.end.partition(".")[0] for lead in group})
        wires = sorted({w for lead in group for w in lead.way.wires})
        own = [n for n in names if getattr(rig.items[n].part.spec, "own_fuses_a", ())]
        inside = f" The fuses inside {listing(own)} guard the amplifier, not the lead." if own else ""
        yield say(
            (battery, *wires),
            f"{amount(worst.way.length_mm, 'mm')} of live wire from {battery} by {listing(worst.way.wires)} to "
            f"{listing(names)} with no device in it; {amount(worst.limit_mm, 'mm')} is allowed.{inside}",
            f"Fit a fuse or breaker in {first} within {amount(BARE_MM, 'mm')} of {battery}{_and_at(rig, group)}.",
            source=_basis(rig),
        )


def _and_at(rig: Rig, group: Sequence[Lead]) -> str:
    """The other ends that want a device too: a second battery feeds the fault from its side."""
    others = {
        lead.end.partition(".")[0]: lead.way.wires[-1] for lead in group
        if rig.item_of(lead.end).part.family == "battery"
    }  # fmt: skip
    return "".join(f", and another in {wire} as near to {name}" for name, wire in others.items())


@check(
    "E102",
    "Device too far from the battery",
    "Fix",
    why="The piece of wire between the battery and its first device is guarded by nothing. It may be 178 mm long "
    "along the conductor; longer only in a sheath: 1016 mm by law on boats, 1829 mm straight from the post by boat "
    "practice. A device bolted on the post has no such piece.",
    remedy="Move the device within 178 mm of the battery, or sheathe the lead on its whole length.",
    source=LAW,
    mark="published",
    unless="Stop where the lead is longer than any rule allows",
)
def device_too_far(study: Study, say: Say) -> Iterator[Finding]:
    """Leads from a battery whose first device lies beyond the distance rule."""
    rig = study.rig
    for lead in leads(rig):
        item = rig.item_of(lead.end)
        if not _is_device(item) or not lead.too_long:
            continue
        bare = [w for w in lead.way.wires if not sheathed(rig, rig.wire(w))]
        longest = SHEATHED_MM if law_binds(rig) else POST_SHEATHED_MM
        sheath = (
            f", or sheathe {listing(bare)} on the whole length"
            if bare and lead.way.length_mm <= longest
            else ""
        )
        state = "sheathed" if lead.sheathed else "not sheathed"
        yield say(
            (item.id, *lead.way.wires),
            f"{amount(lead.way.length_mm, 'mm')} of wire from {lead.battery} to {item.id} by "
            f"{listing(lead.way.wires)}, {state}; {amount(lead.limit_mm, 'mm')} is allowed.",
            f"Move {item.id} within {amount(BARE_MM, 'mm')} of {lead.battery} (now "
            f"{amount(lead.way.length_mm, 'mm')}){sheath}.",
            severity="Stop" if lead.way.length_mm > (longest if lead.sheathed else SHEATHED_MM) else None,
            source=_basis(rig),
        )


@check(
    "E103",
    "Charging lead without a device at the battery",
    "Fix",
    why="A charger limits its own current; the battery at the other end of the lead does not. Where the lead rubs "
    "through, the battery feeds the fault.",
    remedy="Fit a fuse or breaker at the battery end of the charging lead, within 178 mm of the post.",
    source=LAW,
    mark="published",
)
def unguarded_charging_lead(study: Study, say: Say) -> Iterator[Finding]:
    """Leads from a battery to an alternator, a regulator or a DC-DC charger's output without a device."""
    rig = study.rig
    for lead in leads(rig):
        item = rig.item_of(lead.end)
        name = lead.end.partition(".")[2]
        if not (item.part.family == "charger" or (item.part.family == "dcdc" and name == "out")):
            continue
        if lead.too_long:
            yield say(
                (item.id, *lead.way.wires),
                f"{amount(lead.way.length_mm, 'mm')} of wire from {lead.battery} to {item.id} by "
                f"{listing(lead.way.wires)} with no device; {amount(lead.limit_mm, 'mm')} is allowed.",
                f"Fit a fuse or breaker in {lead.way.wires[0]} within {amount(BARE_MM, 'mm')} of {lead.battery}.",
                source=_basis(rig),
            )


@check(
    "E105",
    "Short leads that no device guards",
    "Know",
    why="The piece of wire between a battery and its first device may be short and unguarded, because so little can "
    "happen to it; so may the piece of a thinner wire between a bar or a block and its own device. If it is rubbed "
    "through or pinched all the same, nothing opens in time and it burns.",
    remedy="Bolt the device on the battery post; then no such piece is left.",
    source=LAW,
    mark="published",
)
def short_leads(study: Study, say: Say) -> Iterator[Finding]:
    """Leads with no device that lie within the distance rule, with their lengths, in one line."""
    rig = study.rig
    found = [x for x in leads(rig) if x.way.length_mm > 0 and not x.too_long and not _cranks(rig.item_of(x.end))]
    wires = sorted({w for x in found for w in x.way.wires if not is_bolted(rig.wire(w)) and _bare(study, w)})
    if wires:
        lengths = listing(f"{w} ({amount(rig.wire(w).length_mm, 'mm')})" for w in wires)
        ends = sorted({x.end.partition(".")[0] for x in found if set(x.way.wires) & set(wires)})
        yield say(
            wires,
            f"Allowed as they are, and no device guards {lengths}: rubbed through there, nothing opens and "
            "the wire burns.",
            f"Bolt {listing(ends)} on the battery post, or keep the leads covered and tied.",
            source=_basis(rig),
        )
    for guard in study.protection.guards.values():
        if guard.tap_to:
            yield say(
                (guard.wire, guard.tap_to),
                f"{guard.wire} ({amount(rig.wire(guard.wire).length_mm, 'mm')}) carries "
                f"{amount(guard.ampacity_a, 'A')} and leaves a feed behind {amount(guard.rating_a, 'A')} "
                f"({listing(guard.devices)}). {guard.tap_to} guards it from its far end, and may; rubbed through "
                "before that, it burns.",
                f"Keep {guard.wire} covered and tied, or feed {guard.tap_to} from a way of its own.",
                source=_basis(rig),
            )


def _bare(study: Study, wire_id: str) -> bool:
    """Whether the drill shows that nothing saves a wire."""
    guard = study.protection.guards.get(wire_id)
    lost = any(f.kind == "chafe" and f.where == wire_id and f.verdict == "not cleared" for f in study.protection.drill)
    return guard is not None and isinf(guard.rating_a) and lost


@check(
    "E104",
    "Splice in a main feed",
    "Fix",
    why="A splice in a feed is one more joint that carries all the current, out of sight and without support. It "
    "warms, loosens and cannot be taken apart.",
    remedy="Run the feed in one piece from device to device, or land both ends on a bus bar or block.",
    source="common practice",
    mark="common practice",
)
def spliced_feed(study: Study, say: Say) -> Iterator[Finding]:
    """Splices on the way from a battery to an amplifier."""
    rig = study.rig
    ways = ways_of(rig)
    fed: dict[str, list[str]] = defaultdict(list)
    for item, _ in amplifiers(rig):
        way = feed_way(ways, item)
        for crossed in way.items if way else ():
            if rig.items[crossed].part.family == "splice":
                fed[crossed].append(item.id)
    loud = loudest(study)
    for splice, names in sorted(fed.items()):
        wires = sorted(w.id for t in rig.items[splice].part.terminals for w in ways.wires_at(f"{splice}.{t.name}"))
        amps = max((abs(loud.wires[w].amps_a) for w in wires if w in loud.wires), default=0.0)
        yield say(
            (splice, *wires),
            f"{splice} joins {listing(wires)} in the feed of {count(len(names), 'amplifier')} ({listing(names)}) and "
            f"carries {amount(amps, 'A')} at loud.",
            f"Replace {listing(wires)} by one unbroken wire, or land them on a block or bus bar.",
        )
