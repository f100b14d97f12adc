"""What a group of wires may become: sizes, ratings, plugs, with cost and least resistance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

from loomwright.draft.sheet import Sheet
from loomwright.facts import ampacity, conductors, fuses, joints, tables
from loomwright.facts.conductors import SizeRow
from loomwright.findings.joints import SIZE_SLACK
from loomwright.loom.ends import ends_of
from loomwright.power.network import device_ohm
from loomwright.protection.mishaps import larger_a
from loomwright.protection.plan import Plan, wire_size
from loomwright.protection.ratings import LEAST_A
from loomwright.rig.model import (
    ConnectorSpec,
    FuseSpec,
    Part,
    Rig,
    Wire,
    WireStockSpec,
)

LOW_V = 10.0
"""Lower than any amplifier stands: what a load draws there, it draws nowhere [V]."""

HIGH_V = 15.5
"""Higher than any charger gives: lamps and heaters draw more with more volts [V]."""


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
    lets_a: float                               # what its devices let through for good, a fuse put in wrong included
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


def swap(rig: Rig, item_id: str, part: Part) -> Rig:
    """The rig with another part of the same family in an item's place; kinds of contacts as settled."""
    item = rig.items[item_id]
    kinds = {t.name: t.kind for t in item.part.terminals}
    terminals = tuple(replace(t, kind=kinds.get(t.name, t.kind)) for t in part.terminals)
    return replace(rig, items={**rig.items, item_id: replace(item, part=replace(part, terminals=terminals))})


def options_for(
    sheet: Sheet, plan: Plan, wires: Sequence[Wire], devices: Sequence[str], plugs: Sequence[str], plug: str,
    loads: frozenset[str], least_a: Mapping[str, float], high_a: Mapping[str, float], own: bool, main: bool,
    sizes_up: int, missed: list[str],
) -> list[Option]:  # fmt: skip
    """Every size with every rating that it carries, for one kind of plug.

    It also carries what a fuse that is so many sizes too large lets through.
    """
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
    fixed_need = _fixed_need_a(plan, wires, devices, sizes_up)
    bottom = None
    for size in sizes_for(sheet, plan, rig, wires):
        carries = min((plan.ampacity_a(w, size.area_mm2) for w in wires), default=inf)
        bottom = (size.label, carries)
        if carries * (1 + 1e-9) < max(amps, fixed_need):
            continue
        for rated in ratings or ((),):
            if carries * (1 + 1e-9) < _lets_a(plan, rated, sizes_up):
                continue
            parts = tuple((p, plug) for p in plugs)
            found.append(option(sheet, plan, rig, wires, size, rated, parts, carries, sizes_up))
    if not found:
        need = min((_lets_a(plan, rated, sizes_up) for rated in ratings), default=max(fixed_need, amps))
        missed.append(
            f"{need:g} A are needed; the largest size that fits, {bottom[0]}, stands {bottom[1]:.0f} A there" if bottom
            else "no size in stock goes into its terminals"
        )  # fmt: skip
    return found


def sizes_for(sheet: Sheet, plan: Plan, rig: Rig, wires: Sequence[Wire]) -> list[SizeRow]:
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


def _lets_a(plan: Plan, ratings: Sequence[tuple[str, float]], sizes_up: int) -> float:
    """What devices let through for good when a fuse is so many sizes too large [A]."""
    return max((a for d, r in ratings for a in (r, *larger_a(plan.devices[d].type, r, sizes_up))), default=0.0)


def _fixed_need_a(plan: Plan, wires: Sequence[Wire], devices: Sequence[str], sizes_up: int) -> float:
    """What devices that are not open, and limited sources, let into a group [A]."""
    need = 0.0
    for w in wires:
        for d in plan.guards_of(w):
            item = plan.rig.items[plan.devices[d].item]
            fixed = item.fuses_a and plan.devices[d].way and item.fuses_a[plan.devices[d].way - 1] != "auto"
            if fixed and d not in devices:
                need = max(need, _lets_a(plan, ((d, plan.rating_a(d)),), sizes_up))
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


def option(
    sheet: Sheet, plan: Plan, rig: Rig, wires: Sequence[Wire], size: SizeRow, ratings: tuple[tuple[str, float], ...],
    parts: tuple[tuple[str, str], ...], carries: float, sizes_up: int = 0,
) -> Option:  # fmt: skip
    """One size with its ratings and plugs: what it costs, and the least that it resists."""
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
    lets = _lets_a(plan, ratings, sizes_up)
    if ratings:
        why = f"guarded by {ratings[0][0]}, {ratings[0][1]:g} A; {why}"
        if lets > ratings[0][1]:
            why = f"{why}, so it also stands a fuse of {lets:g} A put in by mistake"
    metal_g = copper_g(wires, size)
    plugs_g = sum(sheet.part(p).mass_g or 0.0 for _, p in parts)
    return Option(
        size, ratings, parts, metal_g, metal_g + plugs_g, _price(sheet, wires, size, parts), mohm, carries, lets, why
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


def front(options: Sequence[Option]) -> list[Option]:
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
