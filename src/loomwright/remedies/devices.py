"""Remedies that give a device another rating, or its wires the size for it."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.facts import ampacity, fuses
from loomwright.findings.devices import rated_a
from loomwright.findings.model import Finding
from loomwright.findings.steady import worst_device
from loomwright.findings.words import amount, listing
from loomwright.protection.devices import SUPPLY_V
from loomwright.protection.results import Device
from loomwright.remedies.model import Remedy, makes
from loomwright.remedies.stock import Stock, fit_carrying
from loomwright.rig.changes import Change, ItemKey
from loomwright.rig.model import FuseSpec, Part


def _rate(stock: Stock, device: Device, rating_a: float | None) -> Iterator[Remedy]:
    changes = stock.rated(device, rating_a) if rating_a is not None else ()
    if changes:
        yield Remedy(f"Fit {amount(rating_a or 0.0, 'A')} in {device.id}", changes)


@makes("E202")
def suits_its_wires(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The largest rating that the thinnest wire stands, if the load stands it; or wires that stand the device."""
    device = stock.study.protection.devices[finding.where[0]]
    guards = stock.study.protection.guards
    wires = stock.named(finding.where[1:])
    limit_a = min(guards[w.id].ampacity_a for w in wires)
    yield from _rate(stock, device, max((r for r in stock.ratings(device) if r <= limit_a), default=None))
    rows = [(w, stock.carrying(w, rated_a(device))) for w in wires]
    changes = [c for w, row in rows if row is not None for c in fit_carrying(w, row)]
    if all(row is not None for _, row in rows):
        sizes = listing(dict.fromkeys(row.label for _, row in rows if row is not None))
        yield Remedy(f"Run {listing(w.id for w in wires)} in {sizes}", tuple(changes))


@makes("E204")
def carries_its_load(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The next rating that carries the load, if the wires behind it stand that."""
    device = stock.study.protection.devices[finding.where[0]]
    state = worst_device(stock.study, device.id)
    if state is None:
        return
    need_a = device.rating_a * abs(state.amps_a) / state.usable_a
    rating_a = next((r for r in stock.ratings(device) if r >= need_a), None)
    if rating_a is not None and rating_a * device.count <= stock.guarded_a(device.id) * 1.005:
        yield from _rate(stock, device, rating_a)


@makes("E209")
def rating_on_the_list(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The nearest rating that is made and that the holder takes, if the wires behind it stand that."""
    device = stock.study.protection.devices[finding.where[0]]
    spec = stock.rig.items[device.item].part.spec
    most_a = spec.max_rating_a if isinstance(spec, FuseSpec) else 0.0
    near = [r for r in stock.ratings(device) if r <= min(most_a, stock.guarded_a(device.id) * 1.005)]
    yield from _rate(stock, device, min(near, key=lambda r: (abs(r - device.rating_a), r), default=None))


@makes("E952")
def within_the_law(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The largest rating that the boat law allows for the wire, if the load stands it."""
    (wire,) = stock.named(finding.where[:1])
    table_a = ampacity.ampacity_a(wire.size.area_mm2, wire.metal, wire.insulation_c) if wire.size else 0.0
    limit_a = ampacity.device_limit_ratio() * table_a
    changes: list[Change] = []
    for device_id in finding.where[1:]:
        device = stock.study.protection.devices[device_id]
        rating_a = max((r for r in stock.ratings(device) if r <= limit_a), default=None)
        made = stock.rated(device, rating_a) if rating_a is not None else ()
        if not made:
            return
        changes += made
    yield Remedy(f"Fit what the law allows in {listing(finding.where[1:])}", tuple(changes))


@makes("E203")
def breaks_enough(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """A holder of a type that breaks the current, for the same ratings."""
    device = stock.study.protection.devices[finding.where[0]]
    fault_a = stock.study.power.prospective_a.get(device.id, float("inf"))
    item = stock.rig.items.get(device.item)
    if item is None or device.way == 0 or item.part.family not in ("fuse_holder", "fused_block"):
        return
    wanted = {float(r) for r in item.fuses_a if r not in ("auto", 0)}

    def will_do(part: Part) -> bool:
        spec = part.spec
        if not isinstance(spec, FuseSpec) or part.ways != item.part.ways:
            return False
        breaks_a = spec.interrupting_a or fuses.interrupting_a(spec.type, SUPPLY_V)[0]
        made = {r for r in fuses.ratings_a(spec.type) if r <= spec.max_rating_a}
        return breaks_a >= fault_a and wanted <= made

    part = stock.stand_in(item, will_do)
    if part is not None:
        yield Remedy(f"Fit another holder as {item.id}: {part.title}", (ItemKey(item.id, "part", part.id),))
