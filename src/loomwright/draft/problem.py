"""The sizing of one layout as a problem: groups of wires, what hangs below what, the bounds on volts.

A group is what gets one size together: a branch's feed and return with every piece between its plugs. Its option is a
size with a rating for the device at its head and a part for each power plug in it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

from loomwright.draft.options import HIGH_V, LOW_V, Option, front, option, options_for, sizes_for, swap
from loomwright.draft.posts import audio
from loomwright.draft.pulling import POWER
from loomwright.draft.sheet import Sheet
from loomwright.facts import fuses
from loomwright.facts.conductors import SizeRow
from loomwright.power.draws import loud_draws_a
from loomwright.power.sources import battery_line
from loomwright.protection.plan import Plan, wire_size
from loomwright.protection.results import Device
from loomwright.rig.model import (
    AmplifierSpec,
    BatterySpec,
    FuseSpec,
    Item,
    LoadSpec,
    Rig,
    Wire,
)

UPPER = ("main:", "service:")
"""Groups that others hang below."""

FOLLOWS = ("bond", "tie")
"""Groups that carry a fault home: they stand what the largest device on a battery lets through."""

INSULATIONS_C = (105, 125, 200)
"""Insulation that is tried, one after the other, until some size carries what it must."""

HOME_MARGIN = 1.3
"""Room that is left for larger devices before better insulation is taken for what carries faults home."""


@dataclass(frozen=True)
class Group:
    """Wires of one size, the device at their head, their power plugs and what hangs below."""

    name: str
    wires: tuple[Wire, ...]
    devices: tuple[str, ...]
    plugs: tuple[str, ...]
    loads: frozenset[str]
    options: tuple[Option, ...]
    why_none: str = ""


@dataclass(frozen=True)
class Problem:
    """The sizing of one layout: groups in order, mains first; which device lies above which; the bounds on volts."""

    rig: Rig
    groups: tuple[Group, ...]
    follows: tuple[Group, ...]
    above: Mapping[str, tuple[str, ...]]        # group -> groups between it and the battery
    devices: Mapping[str, Device]
    lower: Mapping[str, tuple[str, ...]]
    least_a: Mapping[str, float]                # group -> least current in the case that binds
    limits_v: Mapping[str, float]               # load -> most volts that its way may lose
    least_draws_a: Mapping[str, float]          # load -> least current in that case
    home_by_main: bool                          # no frame: a fault comes home through the mains' returns
    top_v: float                                # highest volts of the audio battery, engine off, loud

    @property
    def every(self) -> tuple[Group, ...]:
        """All groups; an option for each makes a rig."""
        return (*self.groups, *self.follows)

    @property
    def combinations(self) -> int:
        total = 1
        for g in self.groups:
            total *= max(len(g.options), 1)
        return total


def problem(sheet: Sheet, rig: Rig) -> Problem:
    """The sizing problem of a drafted rig whose power wires and fuses are open."""
    plan = Plan(rig)
    wires = groups_of(sheet, rig)
    heads = heads_of(rig, wires)
    least_a = _least_draws_a(rig)
    low_v_a, high_v_a = loud_draws_a(rig, LOW_V), loud_draws_a(rig, HIGH_V)
    high_a = {i: max(a, high_v_a.get(i, 0.0)) for i, a in low_v_a.items()}
    order = sorted(wires, key=lambda g: (not g.startswith(UPPER), list(wires).index(g)))
    groups = [
        _group(sheet, plan, name, wires[name], heads.get(name, ()), least_a, high_a)
        for name in order if name not in FOLLOWS
    ]  # fmt: skip
    groups = [_capped(g, groups, plan, least_a) if g.name.startswith(UPPER) else g for g in groups]
    follows = [_home(sheet, plan, name, wires[name], groups) for name in FOLLOWS if name in wires]
    above = _above(rig, groups, plan)
    current = {g.name: sum(least_a.get(i, 0.0) for i in g.loads) for g in groups}
    top = top_v(sheet, rig, groups, least_a)
    return Problem(
        rig, tuple(groups), tuple(follows), above, plan.devices, plan.lower, current, _limits_v(sheet, rig, top),
        least_a, not rig.family("frame"), top,
    )


def groups_of(sheet: Sheet, rig: Rig) -> dict[str, tuple[Wire, ...]]:
    """Open wires by the group that gets one size together."""
    named = {w.id: w.group for w in sheet.wires if w.group}
    found: dict[str, list[Wire]] = {}
    for wire in rig.wires:
        if wire.size is None and wire.kind in ("power", "ground"):
            found.setdefault(named.get(wire.id, f"wire:{wire.id}"), []).append(wire)
    return {g: tuple(ws) for g, ws in found.items()}


def heads_of(rig: Rig, wires: Mapping[str, Sequence[Wire]]) -> dict[str, tuple[str, ...]]:
    """Open devices by the group of the wire behind them."""
    at = {ref: g for g, ws in wires.items() for w in ws for ref in (w.start, w.end)}
    found: dict[str, list[str]] = {}
    for item in rig.items.values():
        if not isinstance(item.part.spec, FuseSpec):
            continue
        for way, given in enumerate(item.fuses_a, 1):
            out = f"{item.id}.out" if item.part.family == "fuse_holder" else f"{item.id}.out{way}"
            if given == "auto" and out in at:
                found.setdefault(at[out], []).append(f"{item.id}.{way}")
    return {g: tuple(ds) for g, ds in found.items()}


def _least_draws_a(rig: Rig) -> dict[str, float]:
    """The least that each load can draw at `loud` with the engine off, at the highest volts that there can be [A]."""
    top = max(
        battery_line(b.part.spec, b.charge_pct, rig.places[b.place].temperature_c).emf_v
        for b in rig.family("battery") if isinstance(b.part.spec, BatterySpec)
    )  # fmt: skip
    high = loud_draws_a(rig, top)
    low: dict[str, float] = {}
    for name, amps in high.items():
        spec = rig.items[name].part.spec
        if isinstance(spec, AmplifierSpec) and spec.supply == "sagging":
            share = spec.min_v / spec.rated_v
            low[name] = min(amps, (spec.idle_a + (loud_draws_a(rig, spec.rated_v)[name] - spec.idle_a)) * share)
        elif isinstance(spec, LoadSpec) and spec.law == "resistance":
            low[name] = amps * spec.min_v / top
        elif isinstance(spec, LoadSpec) and spec.runs == "engine":
            low[name] = 0.0
        else:
            low[name] = amps
    return low


def _limits_v(sheet: Sheet, rig: Rig, top: float) -> dict[str, float]:
    """The most that may be lost on the way to each amplifier: the rig's drop limit, and what the wish leaves."""
    wishes = sheet.given.wishes
    limits = {i.id: rig.limits.drop_v * 1.005 for i in rig.family("amplifier")}
    if wishes.min_amp_v is not None and wishes.engine == "off" and wishes.programme == "loud":
        limits = {i: min(v, top - wishes.min_amp_v) for i, v in limits.items()}
    return limits


def top_v(sheet: Sheet, rig: Rig, groups: Sequence[Group], least_a: Mapping[str, float]) -> float:
    """The highest volts that the posts of the audio battery can have at `loud` with the engine off [V].

    It loses at least what the least currents of what hangs below its mains drop in it. Where batteries may be tied, it
    is the highest resting volts.
    """
    lines = {
        b.id: battery_line(b.part.spec, b.charge_pct, rig.places[b.place].temperature_c, b.resistance_factor)
        for b in rig.family("battery") if isinstance(b.part.spec, BatterySpec)
    }  # fmt: skip
    apart = len(lines) == 1 or any(g.name == "dcdc in" for g in groups)
    if not apart:
        return max(line.emf_v for line in lines.values())
    line = lines[audio(sheet).id]
    loads = {i for g in groups for i in g.loads if g.name.startswith(("main:", "branch:"))}
    return line.emf_v - line.discharge_ohm * sum(least_a.get(i, 0.0) for i in loads)


def _above(rig: Rig, groups: Sequence[Group], plan: Plan) -> dict[str, tuple[str, ...]]:
    """Groups between each group and the battery: those whose wires lie above, by what hangs below them."""
    found = {}
    for g in groups:
        found[g.name] = tuple(
            o.name for o in groups
            if o.name != g.name and g.loads and g.loads <= o.loads and (len(o.loads) > len(g.loads))
            and o.name.startswith((*UPPER, "sub:"))
        )  # fmt: skip
    return found


def _group(
    sheet: Sheet, plan: Plan, name: str, wires: tuple[Wire, ...], devices: tuple[str, ...],
    least_a: Mapping[str, float], high_a: Mapping[str, float],
) -> Group:  # fmt: skip
    rig = plan.rig
    loads: set[str] = set()
    for w in wires:
        if w.kind == "power":
            loads |= {i for i in (plan.guards.below.wire(w.id) or ()) if _draws(rig.items[i])}
    converters = {i for i in loads if rig.items[i].part.family == "dcdc"}
    if name == "dcdc out":
        loads = set()  # its charger limits what flows
    elif converters and name == "dcdc in":
        loads = converters
    plugs = tuple(dict.fromkeys(
        i.id for w in wires for ref in (w.start, w.end)
        if (i := rig.item_of(ref)).part.family == "connector" and i.id in sheet.items and i.part.id in POWER
    ))  # fmt: skip
    made: list[Option] = []
    missed: list[str] = []
    insulated = wires
    margins = range(sheet.given.wishes.wrong_fuse_sizes, -1, -1)
    for own, sizes_up, least_c in product((True, False), margins, INSULATIONS_C):
        warm = tuple(replace(w, insulation_c=max(w.insulation_c, least_c)) if w.size is None else w for w in wires)
        if made or (least_c > INSULATIONS_C[0] and warm == insulated):
            continue
        insulated = warm
        for part in POWER if plugs else ("",):
            made += options_for(sheet, plan, warm, devices, plugs, part, frozenset(loads), least_a, high_a, own,
                             name.startswith(UPPER), sizes_up, missed if not sizes_up else [])  # fmt: skip
    why = "; ".join(dict.fromkeys(missed[:1])) if not made else ""
    mine = insulated if made else wires
    return Group(name, mine, devices, plugs, frozenset(loads), tuple(front(made)), why)


def _home(sheet: Sheet, plan: Plan, name: str, wires: tuple[Wire, ...], groups: Sequence[Group]) -> Group:
    """What carries a fault home, in insulation that lets some size stand what the devices let through at least."""
    need = max((min(o.lets_a for o in g.options) for g in groups if g.options and sends(name, g)), default=0.0)
    every: tuple[Option, ...] = ()
    for least_c in INSULATIONS_C:
        warm = tuple(replace(w, insulation_c=max(w.insulation_c, least_c)) for w in wires)
        every = tuple(
            option(sheet, plan, plan.rig, warm, s, (), (), min(plan.ampacity_a(w, s.area_mm2) for w in warm))
            for s in sizes_for(sheet, plan, plan.rig, warm)
        )
        if any(o.carries_a >= HOME_MARGIN * need for o in every):
            return Group(name, warm, (), (), frozenset(), every)
    why = f"{need:g} A may come home through it; no size that fits stands that" if every else "no size in stock fits"
    fit = tuple(o for o in every if o.carries_a >= need)
    return Group(name, warm, (), (), frozenset(), fit, "" if fit else why)


def sends(home: str, group: Group) -> bool:
    """Whether a fault behind a group's device may come home by this way: the tie serves the second battery only."""
    return home != "tie" or group.name.startswith(("main:", "dcdc out", "branch:"))


def _capped(main: Group, groups: Sequence[Group], plan: Plan, least_a: Mapping[str, float]) -> Group:
    """A main without ratings larger than the smallest that stands above everything below it: they are of no use."""
    if not main.devices or not main.options:
        return main
    lower = set(plan.lower.get(main.devices[0], ()))
    most, largest = [0.0], 0.0
    for g in groups:
        if lower & set(g.devices) and g.options:
            device = plan.devices[g.devices[0]]
            largest = max([largest, *(o.rating_a(device.id) for o in g.options)])
            most.append(max(fuses.melting_i2t_a2s(device.type, o.rating_a(device.id))[0] for o in g.options))
    energy = fuses.selective_ratio() * max(most)
    kind = plan.devices[main.devices[0]].type
    rated = sorted({o.rating_a(main.devices[0]) for o in main.options})
    device = plan.devices[main.devices[0]]
    warm = fuses.temperature_factor(device.type, device.temperature_c)
    all_a = (largest + sum(least_a.get(i, 0.0) for i in main.loads)) / warm
    enough = [r for r in rated if fuses.melting_i2t_a2s(kind, r)[0] >= energy and r >= all_a]
    cap = enough[1] if len(enough) > 1 else rated[-1]
    return replace(main, options=tuple(o for o in main.options if o.rating_a(main.devices[0]) <= cap))


def _draws(item: Item) -> bool:
    return item.part.family in ("amplifier", "source", "processor", "accessory", "dcdc")


def made(problem: Problem, chosen: Sequence[Option], sheet: Sheet) -> Rig:
    """The rig with one option for every group."""
    rig = problem.rig
    sizes: dict[str, SizeRow] = {}
    insulation = {w.id: w.insulation_c for g in problem.every for w in g.wires}
    ratings: dict[str, float] = {}
    for group, taken in zip(problem.every, chosen, strict=True):
        for w in group.wires:
            sizes[w.id] = taken.size
        ratings.update(taken.ratings)
        for item, part in taken.parts:
            if rig.items[item].part.id != part:
                rig = swap(rig, item, sheet.part(part))
    wires = tuple(
        replace(w, size=wire_size(sizes[w.id]), insulation_c=insulation[w.id]) if w.id in sizes else w
        for w in rig.wires
    )
    items = {
        i: replace(
            item,
            fuses_a=tuple(
                ratings.get(f"{i}.{n}", 0.0) if given == "auto" else given for n, given in enumerate(item.fuses_a, 1)
            ),
        ) if "auto" in item.fuses_a else item
        for i, item in rig.items.items()
    }  # fmt: skip
    return replace(rig, wires=wires, items=items)
