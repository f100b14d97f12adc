"""Moves with parts and settings: battery, charging, engine speed, capacitor, amplifier, programme."""

from __future__ import annotations

import math
from collections.abc import Iterator

from loomwright.advice.moves import Move, Shop, new_id
from loomwright.findings.trees import feed_way, return_way
from loomwright.findings.ways import ways_of
from loomwright.findings.words import num
from loomwright.power.sources import charger_limit_a
from loomwright.rig.changes import Change, ItemKey, NewItem, NewWire, TableKey
from loomwright.rig.model import (
    PROGRAMMES,
    AmplifierSpec,
    BatterySpec,
    ChargerSpec,
    Item,
    PassiveSpec,
)

AGED = 1.15
"""A battery whose resistance is this many times a new one's is worth replacing."""
LINK_MM = 400.0
"""Wire between two batteries side by side [mm]."""
CAPACITOR_MM = 200.0
"""Wire to a capacitor beside what it steadies [mm]."""
SPEED_STEP_RPM = 50.0
FASTEST = 1.5
"""An idle speed is raised to this many times itself at most."""
MARGIN_A = 0.5
"""Charge that should be left over where an engine speed is proposed [A]."""
SAME_WATTS = 0.9


def part_moves(shop: Shop) -> Iterator[Move]:
    """Everything of this module that this rig allows."""
    yield from _battery(shop)
    yield from _second_battery(shop)
    yield from _charger(shop)
    yield from _idle(shop)
    yield from _capacitor(shop)
    yield from _amplifier(shop)
    yield from _programme(shop)


def _battery(shop: Shop) -> Iterator[Move]:
    for item in shop.study.rig.family("battery"):
        spec = item.part.spec
        assert isinstance(spec, BatterySpec)
        if item.resistance_factor >= AGED:
            yield Move(
                f"new {item.id}", "battery",
                f"A new battery as {item.id}: this one has {num(item.resistance_factor)} times the resistance of new",
                (ItemKey(item.id, "resistance_factor", None),), 0.0, item.part.price,
            )  # fmt: skip
        larger = [
            p for p in shop.parts("battery")
            if isinstance(p.spec, BatterySpec) and p.spec.chemistry == spec.chemistry
            and p.spec.capacity_ah > 1.1 * spec.capacity_ah and p.spec.resistance_mohm <= spec.resistance_mohm
            and (spec.cca_a is None or (p.spec.cca_a or 0.0) >= spec.cca_a)
        ]  # fmt: skip
        best = min(larger, key=lambda p: (p.spec.capacity_ah, p.id), default=None)  # type: ignore[union-attr]
        if best is not None and isinstance(best.spec, BatterySpec):
            yield Move(
                f"larger {item.id}", "battery",
                f"{item.id} of {num(best.spec.capacity_ah)} Ah in place of {num(spec.capacity_ah)} Ah",
                (ItemKey(item.id, "part", best.id), *_as_new(item)), 0.0, best.price,
                note=_bulk(item, best.mass_g, "heavier"),
            )  # fmt: skip


def _as_new(item: Item) -> tuple[Change, ...]:
    return (ItemKey(item.id, "resistance_factor", None),) if item.resistance_factor != 1.0 else ()


def _bulk(item: Item, mass_g: float | None, word: str) -> str:
    if mass_g is None or item.part.mass_g is None or mass_g <= item.part.mass_g:
        return ""
    return f"{num((mass_g - item.part.mass_g) / 1000.0)} kg {word}"


def _second_battery(shop: Shop) -> Iterator[Move]:
    rig, batteries = shop.study.rig, shop.study.rig.family("battery")
    if len(batteries) != 1:
        return
    first = batteries[0]
    holder = next((p for p in shop.parts("fuse_holder") if p.id == "holder_post"), None)
    carriers = [w for w in rig.wires if w.kind in ("power", "ground") and w.size and w.size.system == "AWG"]
    thickest = max(carriers, key=lambda w: w.size.area_mm2 if w.size else 0.0, default=None)
    if holder is None or thickest is None or thickest.size is None:
        return
    name = new_id(rig.items, first.id)
    near, far = f"{name}_link", f"{name}_fuse"
    wires = [f"{name}_{k}" for k in range(1, 5)]
    size, charge = thickest.size.label, (("charge_pct", first.charge_pct),)
    metal = (("metal", thickest.metal),) if thickest.metal != "copper" else ()
    length = (("length_mm", LINK_MM), *metal)
    place = first.place
    yield Move(
        "second battery", "battery", f"A second {first.id} like the first, beside it, a fuse on each post",
        (NewItem(name, first.part.id, place, charge),
         NewItem(near, holder.id, place, (("fuses_a", ["auto"]),)),
         NewItem(far, holder.id, place, (("fuses_a", ["auto"]),)),
         NewWire(wires[0], f"{first.id}.plus", f"{near}.in", "bolted"),
         NewWire(wires[1], f"{name}.plus", f"{far}.in", "bolted"),
         NewWire(wires[2], f"{near}.out", f"{far}.out", size, length),
         NewWire(wires[3], f"{name}.minus", f"{first.id}.minus", size, length)),
        2.0 * shop.copper_g(thickest.metal, thickest.size.area_mm2, LINK_MM), None,
        note=f"{num(first.part.mass_g / 1000.0)} kg" if first.part.mass_g else "",
    )  # fmt: skip


def _charger(shop: Shop) -> Iterator[Move]:
    for item in shop.study.rig.family("charger"):
        spec = item.part.spec
        assert isinstance(spec, ChargerSpec)
        rpm = shop.study.rig.vehicle.idle_rpm
        more = [
            p for p in shop.parts("charger")
            if isinstance(p.spec, ChargerSpec) and p.spec.kind == spec.kind
            and charger_limit_a(p.spec, rpm) > 1.05 * charger_limit_a(spec, rpm)
        ]  # fmt: skip
        best = min(more, key=lambda p: (max(p.spec.current_a), p.id), default=None)  # type: ignore[union-attr]
        if best is not None and isinstance(best.spec, ChargerSpec):
            yield Move(
                f"larger {item.id}", "charger",
                f"{item.id} of {num(max(best.spec.current_a))} A in place of {num(max(spec.current_a))} A",
                (ItemKey(item.id, "part", best.id),), 0.0, best.price,
            )  # fmt: skip


def _idle(shop: Shop) -> Iterator[Move]:
    study, vehicle = shop.study, shop.study.rig.vehicle
    programme = study.rig.limits.session_programme
    balance = next((b for b in study.power.balance if (b.engine, b.programme) == ("idle", programme)), None)
    chargers = [i.part.spec for i in study.rig.family("charger") if isinstance(i.part.spec, ChargerSpec)]
    if balance is None or balance.surplus_a >= MARGIN_A or not chargers:
        return
    rpm = math.floor(vehicle.idle_rpm / SPEED_STEP_RPM + 1.0) * SPEED_STEP_RPM
    best, most = None, 0.0
    while rpm <= min(FASTEST * vehicle.idle_rpm, vehicle.cruise_rpm):
        given = sum(charger_limit_a(spec, rpm) for spec in chargers)
        if given > most + 0.05:
            best, most = rpm, given
        if given >= balance.drawn_a + MARGIN_A:
            break
        rpm += SPEED_STEP_RPM
    if best is not None:
        yield Move(
            "idle faster", "engine", f"Idle at {best:.0f} rpm in place of {vehicle.idle_rpm:.0f}",
            (TableKey("vehicle", "idle_rpm", best),), 0.0, 0.0,
            note="while it plays, as far as the engine's maker allows",
        )  # fmt: skip


def _capacitor(shop: Shop) -> Iterator[Move]:
    study, rig = shop.study, shop.study.rig
    hits = [(dip, name) for hit in study.power.bass for name, dip in hit.dip_v.items()]
    parts = [p for p in shop.parts("passive") if isinstance(p.spec, PassiveSpec) and p.terminal("a").kind == "power"]
    part = min(parts, key=lambda p: (p.spec.value, p.id), default=None)  # type: ignore[union-attr]
    if not hits or part is None or not isinstance(part.spec, PassiveSpec):
        return
    item = rig.items[max(hits)[1]]
    ways = ways_of(rig)
    feed, back = feed_way(ways, item), return_way(ways, item)
    if feed is None or back is None:
        return
    on, off = (_room(shop, way.wires, kind) for way, kind in ((feed, "power"), (back, "ground")))
    if on is None or off is None:
        return
    name = new_id(rig.items, "capacitor")
    size = next(
        (w.size.label for w in reversed([rig.wire(i) for i in feed.wires]) if w.size and w.size.system == "AWG"),
        "8 AWG",
    )
    length = (("length_mm", CAPACITOR_MM),)
    yield Move(
        "capacitor", "capacitor", f"A stiffening capacitor of {num(part.spec.value)} F at {on}",
        (NewItem(name, part.id, rig.item_of(on).place),
         NewWire(f"{name}_1", on, f"{name}.a", size, length), NewWire(f"{name}_2", f"{name}.b", off, size, length)),
        0.0, part.price, note="it holds charge: discharge it before work",
    )  # fmt: skip


def _room(shop: Shop, wires: tuple[str, ...], kind: str) -> str | None:
    """The terminal nearest the amplifier on its way that takes another wire; on a bus, any stud that is free."""
    rig = shop.study.rig
    for wire in (rig.wire(i) for i in reversed(wires)):
        for ref in (wire.start, wire.end):
            item = rig.item_of(ref)
            if item.part.family in ("amplifier", "connector", "frame"):
                continue
            if item.part.family == "bus":
                free = [f"{item.id}.{t.name}" for t in item.part.terminals if not rig.wires_at(f"{item.id}.{t.name}")]
                if free:
                    return free[0]
            terminal = rig.terminal(ref)
            if terminal.kind == kind and len(rig.wires_at(ref)) < terminal.max_wires:
                return ref
    return None


def _amplifier(shop: Shop) -> Iterator[Move]:
    for item in shop.study.rig.family("amplifier"):
        spec = item.part.spec
        assert isinstance(spec, AmplifierSpec)
        if spec.amplifier_class == "D":
            continue
        same = [
            p for p in shop.parts("amplifier")
            if isinstance(p.spec, AmplifierSpec) and p.spec.amplifier_class == "D" and p.spec.channels == spec.channels
            and p.spec.output_4ohm_w >= SAME_WATTS * spec.output_4ohm_w and p.spec.min_load_ohm <= spec.min_load_ohm
        ]  # fmt: skip
        best = min(same, key=lambda p: (p.spec.output_4ohm_w, p.id), default=None)  # type: ignore[union-attr]
        if best is not None and isinstance(best.spec, AmplifierSpec):
            each = f"{best.spec.channels} x {num(best.spec.output_4ohm_w)} W"
            yield Move(
                f"{item.id} class D", "amplifier", f"{item.id} of class D, {each}, in place of class AB",
                (ItemKey(item.id, "part", best.id),), 0.0, best.price,
            )  # fmt: skip


def _programme(shop: Shop) -> Iterator[Move]:
    limits = shop.study.rig.limits
    engine, programme = limits.session_engine, limits.session_programme
    balance = next((b for b in shop.study.power.balance if (b.engine, b.programme) == (engine, programme)), None)
    short = (balance is not None and balance.surplus_a < 0.0) or engine == "off"
    lower = PROGRAMMES.index(programme) - 1
    if short and lower >= 0:
        yield Move(
            "quieter", "programme", f"The session at {PROGRAMMES[lower]} in place of {programme}",
            (TableKey("limits", "session_programme", PROGRAMMES[lower]),), 0.0, 0.0,
        )  # fmt: skip
