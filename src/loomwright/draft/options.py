"""What each group of wires may become: sizes, ratings, plugs, with cost and least resistance.

A group is what gets one size together: a branch's feed and return with every piece between its plugs. Its option is a
size with a rating for the device at its head and a part for each power plug in it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import inf

from loomwright.draft.pulling import POWER
from loomwright.draft.sheet import Sheet
from loomwright.draft.supply import audio
from loomwright.facts import ampacity, conductors, fuses, joints, tables
from loomwright.facts.conductors import SizeRow
from loomwright.findings.joints import SIZE_SLACK
from loomwright.loom.ends import ends_of
from loomwright.power.draws import loud_draws_a
from loomwright.power.network import device_ohm
from loomwright.power.sources import battery_line
from loomwright.protection.plan import Plan, wire_size
from loomwright.protection.ratings import LEAST_A
from loomwright.protection.results import Device
from loomwright.rig.model import (
    AmplifierSpec,
    BatterySpec,
    ConnectorSpec,
    FuseSpec,
    Item,
    LoadSpec,
    Part,
    Rig,
    Wire,
    WireStockSpec,
)

FOLLOWS = ("bond", "tie")
"""Groups that carry a fault home: they stand what the largest device on a battery lets through."""


INSULATIONS_C = (105, 125, 200)
"""Insulation that is tried, one after the other, until some size carries what it must."""
HOME_MARGIN = 1.3
"""Room that is left for larger devices before better insulation is taken for what carries faults home."""
LOW_V = 10.0
"""Lower than any amplifier stands: what a load draws there, it draws nowhere [V]."""


@dataclass(frozen=True, slots=True)
class Option:
    """One way to make a group."""

    size: SizeRow
    ratings: tuple[tuple[str, float], ...]      # device -> A
    parts: tuple[tuple[str, str], ...]          # plug -> part
    copper_g: float
    mass_g: float                               # copper and plugs
    price: float | None
    mohm: float                                 # least resistance, out and back, wires no warmer than their place
    carries_a: float                            # ampacity of its weakest wire
    why: str

    @property
    def rated_a(self) -> float:
        """The largest of its ratings [A]; 0 where it has none."""
        return max((r for _, r in self.ratings), default=0.0)

    @property
    def cost(self) -> float:
        """What the search brings down: the price where the catalogue has prices, else grams."""
        return self.mass_g if self.price is None else self.price

    def rating_a(self, device: str) -> float:
        return dict(self.ratings).get(device, 0.0)


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


def swap(rig: Rig, item_id: str, part: Part) -> Rig:
    """The rig with another part of the same family in an item's place; kinds of contacts as settled."""
    item = rig.items[item_id]
    kinds = {t.name: t.kind for t in item.part.terminals}
    terminals = tuple(replace(t, kind=kinds.get(t.name, t.kind)) for t in part.terminals)
    return replace(rig, items={**rig.items, item_id: replace(item, part=replace(part, terminals=terminals))})


def problem(sheet: Sheet, rig: Rig) -> Problem:
    """The sizing problem of a drafted rig whose power wires and fuses are open."""
    plan = Plan(rig)
    wires = _groups_of(sheet, rig)
    heads = _heads(rig, wires)
    least_a = _least_draws_a(rig)
    high_a = loud_draws_a(rig, LOW_V)
    order = sorted(wires, key=lambda g: (not g.startswith("main:"), list(wires).index(g)))
    groups = [
        _group(sheet, plan, name, wires[name], heads.get(name, ()), least_a, high_a)
        for name in order if name not in FOLLOWS
    ]  # fmt: skip
    groups = [_capped(g, groups, plan, least_a) if g.name.startswith("main:") else g for g in groups]
    follows = [_home(sheet, plan, name, wires[name], groups) for name in FOLLOWS if name in wires]
    above = _above(rig, groups, plan)
    current = {g.name: sum(least_a.get(i, 0.0) for i in g.loads) for g in groups}
    top = top_v(sheet, rig, groups, least_a)
    return Problem(
        rig, tuple(groups), tuple(follows), above, plan.devices, plan.lower, current, _limits_v(sheet, rig, top),
        least_a, not rig.family("frame"), top,
    )


def _groups_of(sheet: Sheet, rig: Rig) -> dict[str, tuple[Wire, ...]]:
    named = {w.id: w.group for w in sheet.wires if w.group}
    found: dict[str, list[Wire]] = {}
    for wire in rig.wires:
        if wire.size is None and wire.kind in ("power", "ground"):
            found.setdefault(named.get(wire.id, f"wire:{wire.id}"), []).append(wire)
    return {g: tuple(ws) for g, ws in found.items()}


def _heads(rig: Rig, wires: Mapping[str, Sequence[Wire]]) -> dict[str, tuple[str, ...]]:
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
            and o.name.startswith(("main:", "sub:"))
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
    for own, least_c in product((True, False), INSULATIONS_C):
        warm = tuple(replace(w, insulation_c=max(w.insulation_c, least_c)) if w.size is None else w for w in wires)
        if made or (least_c > INSULATIONS_C[0] and warm == insulated):
            continue
        insulated = warm
        for part in POWER if plugs else ("",):
            made += _options(sheet, plan, warm, devices, plugs, part, frozenset(loads), least_a, high_a, own,
                             name.startswith("main:"), missed)  # fmt: skip
    why = "; ".join(dict.fromkeys(missed[:1])) if not made else ""
    mine = insulated if made else wires
    return Group(name, mine, devices, plugs, frozenset(loads), tuple(_front(made)), why)


def _home(sheet: Sheet, plan: Plan, name: str, wires: tuple[Wire, ...], groups: Sequence[Group]) -> Group:
    """What carries a fault home, in insulation that lets some size stand what the devices let through at least."""
    need = max((min(o.rated_a for o in g.options) for g in groups if g.options and sends(name, g)), default=0.0)
    every: tuple[Option, ...] = ()
    for least_c in INSULATIONS_C:
        warm = tuple(replace(w, insulation_c=max(w.insulation_c, least_c)) for w in wires)
        every = tuple(
            _option(sheet, plan.rig, warm, s, (), (), min(plan.ampacity_a(w, s.area_mm2) for w in warm))
            for s in _sizes(sheet, plan, plan.rig, warm)
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


def _options(
    sheet: Sheet, plan: Plan, wires: Sequence[Wire], devices: Sequence[str], plugs: Sequence[str], plug: str,
    loads: frozenset[str], least_a: Mapping[str, float], high_a: Mapping[str, float], own: bool, main: bool,
    missed: list[str],
) -> list[Option]:  # fmt: skip
    """Every size with every rating that it carries, for one kind of plug."""
    rig = plan.rig
    for p in plugs:
        rig = swap(rig, p, sheet.part(plug))
    spec = sheet.part(plug).spec if plug else None
    amps = sum(least_a.get(i, 0.0) for i in loads)
    if isinstance(spec, ConnectorSpec) and amps > spec.contact_a:
        return []
    ratings = _ratings(plan, devices, amps, sum(high_a.get(i, 0.0) for i in loads), loads if own else frozenset(), main)
    if devices and not ratings:
        missed.append(f"{', '.join(devices)} would need more than its holder takes")
        return []
    found = []
    fixed_need = _fixed_need_a(plan, wires, devices)
    bottom = None
    for size in _sizes(sheet, plan, rig, wires):
        carries = min((plan.ampacity_a(w, size.area_mm2) for w in wires), default=inf)
        bottom = (size.label, carries)
        if carries * (1 + 1e-9) < max(amps, fixed_need):
            continue
        for rated in ratings or ((),):
            if rated and carries * (1 + 1e-9) < max(r for _, r in rated):
                continue
            found.append(_option(sheet, rig, wires, size, rated, tuple((p, plug) for p in plugs), carries))
    if not found:
        need = max([fixed_need, amps, *(r for rated in ratings for _, r in rated[:1])][:3] or [0.0])
        need = min((max(r for _, r in rated) for rated in ratings), default=max(fixed_need, amps))
        missed.append(
            f"{need:g} A are needed; the largest size that fits, {bottom[0]}, stands {bottom[1]:.0f} A there" if bottom
            else "no size in stock goes into its terminals"
        )  # fmt: skip
    return found


def _sizes(sheet: Sheet, plan: Plan, rig: Rig, wires: Sequence[Wire]) -> list[SizeRow]:
    """Sizes that go into every terminal of a group and are held by every contact, from the stock."""
    stock = sheet.given.wishes.stock
    if stock:
        rows = [conductors.parse_size(s) for s in stock]
    else:
        rows = list(conductors.sizes(plan.system))
    least = max((plan.candidates(w)[0].area_mm2 for w in wires), default=0.0)
    refs = {ref for w in wires for ref in (w.start, w.end)}
    most = min(rig.terminal(r).max_mm2 for r in refs)
    grip = max((s.min_mm2 for r in refs if isinstance(s := rig.item_of(r).part.spec, ConnectorSpec)), default=0.0)
    fit = [s for s in rows if least <= s.area_mm2 <= most * SIZE_SLACK and s.area_mm2 * SIZE_SLACK >= grip]
    return [s for s in fit if all(_ended(rig, w, s) for w in wires)]


def _ended(rig: Rig, wire: Wire, size: SizeRow) -> bool:
    """Whether an end is made for a size at both terminals of a wire."""
    return all(e.fits for e in ends_of(rig, replace(wire, size=wire_size(size))))


def _fixed_need_a(plan: Plan, wires: Sequence[Wire], devices: Sequence[str]) -> float:
    """What devices that are not open, and limited sources, let into a group [A]."""
    need = 0.0
    for w in wires:
        for d in plan.guards_of(w):
            item = plan.rig.items[plan.devices[d].item]
            fixed = item.fuses_a and plan.devices[d].way and item.fuses_a[plan.devices[d].way - 1] != "auto"
            if fixed and d not in devices:
                need = max(need, plan.rating_a(d))
        need = max(need, plan.source_limit_a(w))
    return need


def _ratings(
    plan: Plan, devices: Sequence[str], amps: float, high_a: float, own: frozenset[str], main: bool
) -> tuple[tuple[tuple[str, float], ...], ...]:
    """Ratings for the devices at a group's head, alike where there are several.

    A circuit gets the smallest that carries it; a main may get any, for it must stand above what follows. ``amps`` is
    the least current there can be, ``high_a`` the most; ``own`` are loads whose own fuses it must not lie below.
    """
    if not devices:
        return ()
    first = plan.devices[devices[0]]
    spec = plan.rig.items[first.item].part.spec
    assert isinstance(spec, FuseSpec)
    factor = fuses.temperature_factor(first.type, first.temperature_c)
    margin = ampacity.continuous_margin() / factor
    lower = plan.lower.get(devices[0], ())
    inside = [plan.rating_a(d) for d in lower if d.endswith(".own") and d.rpartition(".")[0] in own]
    limit = max((plan.source_limit_a(w) for d in devices for w in plan.guarded.get(d, ())), default=0.0)
    firm = max([LEAST_A, margin * limit / 1.01, *inside])
    need = max(firm, margin * amps / 1.01)
    fit = [r for r in fuses.ratings_a(spec.type) if need <= r * (1 + 1e-9) and r <= spec.max_rating_a]
    if not main:  # no larger than it has to be, whatever the volts
        most = max(firm, margin * high_a)
        fit = fit[: 1 + sum(r < most * (1 - 1e-9) for r in fit)]
    return tuple(tuple((d, r) for d in devices) for r in fit)


def _option(
    sheet: Sheet, rig: Rig, wires: Sequence[Wire], size: SizeRow, ratings: tuple[tuple[str, float], ...],
    parts: tuple[tuple[str, str], ...], carries: float,
) -> Option:  # fmt: skip
    mohm = 0.0
    for w in wires:
        if w.kind in ("power", "ground"):
            per_m = conductors.resistance_mohm_per_m(size.area_mm2, w.metal, rig.wire_temperature_c(w), size.system)
            mohm += per_m * w.length_mm / 1000.0 + sum(joints.joint(j).mohm for j in w.joints)
    for d, rating in ratings:
        spec = rig.items[d.rpartition(".")[0]].part.spec
        assert isinstance(spec, FuseSpec)
        mohm += 1000.0 * device_ohm(spec, rating)
    for p, _ in parts:
        spec = rig.items[p].part.spec
        assert isinstance(spec, ConnectorSpec)
        mohm += 2 * spec.contact_mohm
    hottest = max((rig.wire_temperature_c(w) for w in wires), default=0.0)
    why = f"{size.label} stands {carries:.0f} A at {hottest:g} °C"
    if ratings:
        why = f"guarded by {ratings[0][0]}, {ratings[0][1]:g} A; {why}"
    metal_g = copper_g(wires, size)
    plugs_g = sum(sheet.part(p).mass_g or 0.0 for _, p in parts)
    return Option(
        size, ratings, parts, metal_g, metal_g + plugs_g, _price(sheet, wires, size, parts), mohm, carries, why
    )


def copper_g(wires: Sequence[Wire], size: SizeRow) -> float:
    """Metal of wires of a size [g]."""
    return sum(
        size.area_mm2 * w.length_mm / 1000.0 * tables.row("conductors", f"conductor.density.{w.metal}").number()
        for w in wires
    )


def _price(
    sheet: Sheet, wires: Sequence[Wire], size: SizeRow, parts: Sequence[tuple[str, str]]
) -> float | None:
    """What wires and plugs cost, where the catalogue has prices: a spool's price by its length."""
    per_mm = wire_price_per_mm(sheet, size.label)
    if per_mm is None:
        return None
    plugs = [sheet.part(p).price or 0.0 for _, p in parts]
    return sum(w.length_mm for w in wires) * per_mm + sum(plugs)


def wire_price_per_mm(sheet: Sheet, label: str) -> float | None:
    """Price of a millimetre of wire of a size: of the cheapest spool of one core; None where none has a price."""
    if sheet.prices is None:
        sheet.prices = {}
        catalogue = sheet.given.catalogue
        for part_id in catalogue.ids():
            table = catalogue.tables[part_id][0]
            if table.get("family") == "wire_stock" and table.get("price") is not None:
                part = catalogue.part(part_id)
                if isinstance(part.spec, WireStockSpec) and part.spec.cores == 1 and part.price:
                    per_mm = part.price / part.spec.spool_mm
                    sheet.prices[part.spec.size] = min(per_mm, sheet.prices.get(part.spec.size, inf))
    return sheet.prices.get(label)


def _order(o: Option) -> tuple[float, float, float]:
    return (o.cost, max((r for _, r in o.ratings), default=0.0), o.mohm)


def _front(options: Sequence[Option]) -> list[Option]:
    """Options that no other beats in cost, resistance and rating alike, cheapest first."""
    kept: list[Option] = []
    for o in sorted(options, key=_order):
        rating = max((r for _, r in o.ratings), default=0.0)
        if not any(
            k.cost <= o.cost and k.mohm <= o.mohm + 1e-9
            and max((r for _, r in k.ratings), default=0.0) == rating
            for k in kept
        ):  # fmt: skip
            kept.append(o)
    return kept


def made(problem: Problem, chosen: Sequence[Option], sheet: Sheet) -> Rig:
    """The rig with one option for every group."""
    rig = problem.rig
    sizes: dict[str, SizeRow] = {}
    insulation = {w.id: w.insulation_c for g in problem.every for w in g.wires}
    ratings: dict[str, float] = {}
    for group, option in zip(problem.every, chosen, strict=True):
        for w in group.wires:
            sizes[w.id] = option.size
        ratings.update(option.ratings)
        for item, part in option.parts:
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
