"""Every fuse and breaker of a rig as it stands: rating, place, breaking capacity, and what lies in series."""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.facts import fuses
from loomwright.protection.graph import Measured, fitted, measured
from loomwright.protection.paths import chain_of, nearest
from loomwright.protection.results import Device
from loomwright.rig.model import AmplifierSpec, DeviceType, FuseSpec, Item, Rig

SUPPLY_V = 14.0
"""Volts at which breaking capacity is read: a charged 12 V system."""


def devices(rig: Rig) -> Mapping[str, Device]:
    """All devices that are fitted, by id, in the order of the rig.

    ``item.way`` for holders, blocks and breakers, ``amp.own`` for the fuses an amplifier brings. A rating that
    is still "auto" counts as the largest that the holder takes.
    """
    found: dict[str, Device] = {}
    for item in rig.items.values():
        for device in _of_item(rig, item):
            found[device.id] = device
    backwards = _backwards(measured(rig))
    return {k: _turned(d) if k in backwards else d for k, d in found.items()}


def chains(rig: Rig) -> tuple[tuple[str, ...], ...]:
    """Device ids in series for each load, battery side first; loads without a device are left out.

    Each load is followed to the battery that is nearest along the conductor. Equal chains are given once.
    """
    return tuple(dict.fromkeys(c for c in chain_of(measured(rig)).values() if c))


def rating_a(item: Item, way: int) -> float:
    """Rating of the device in a way [A]; "auto" counts as the largest that fits."""
    spec = item.part.spec
    if not isinstance(spec, FuseSpec):
        raise KeyError(f"{item.id} holds no device")
    given = item.fuses_a[way - 1] if way <= len(item.fuses_a) else spec.rating_a
    return spec.max_rating_a if given is None or given == "auto" else float(given)


def _of_item(rig: Rig, item: Item) -> list[Device]:
    spec = item.part.spec
    if isinstance(spec, AmplifierSpec):
        return [_own(rig, item, spec)] if spec.own_fuses_a else []
    if not isinstance(spec, FuseSpec):
        return []
    block = item.part.family == "fused_block"
    ways = range(1, item.part.ways + 1) if block else range(1, 2)
    temperature_c = rig.places[item.place].temperature_c
    limit_a, guessed = _limit(spec.type, spec.interrupting_a)
    return [
        Device(
            id=f"{item.id}.{way}",
            item=item.id,
            way=way,
            type=spec.type,
            rating_a=rating_a(item, way),
            count=1,
            temperature_c=temperature_c,
            interrupting_a=limit_a,
            upstream=f"{item.id}.in",
            downstream=f"{item.id}.out{way}" if block else f"{item.id}.out",
            provisional=guessed or fuses.provisional(spec.type),
        )
        for way in ways
        if fitted(item, way)
    ]


def _own(rig: Rig, item: Item, spec: AmplifierSpec) -> Device:
    limit_a, guessed = _limit(spec.own_fuse_type, None)
    count = len(spec.own_fuses_a)
    return Device(
        id=f"{item.id}.own",
        item=item.id,
        way=0,
        type=spec.own_fuse_type,
        rating_a=sum(spec.own_fuses_a) / count,
        count=count,
        temperature_c=rig.places[item.place].temperature_c,
        interrupting_a=limit_a,
        upstream=f"{item.id}.supply+",
        downstream=f"{item.id}.rail",
        provisional=guessed or fuses.provisional(spec.own_fuse_type),
    )


def _limit(device_type: DeviceType, stated_a: float | None) -> tuple[float, bool]:
    if stated_a is not None:
        return stated_a, False
    return fuses.interrupting_a(device_type, SUPPLY_V)


def _turned(device: Device) -> Device:
    return Device(
        device.id, device.item, device.way, device.type, device.rating_a, device.count, device.temperature_c,
        device.interrupting_a, device.downstream, device.upstream, device.provisional,
    )


def _backwards(whole: Measured) -> frozenset[str]:
    """Devices whose out side lies nearer to a battery than their in side: they are wired the other way round."""
    graph = whole.graph
    starts = [f.node for f in graph.feeders if f.limit_a == float("inf")]
    best = nearest(whole, starts)
    # A device is crossed from the battery's side: the far end's way back ends with the device itself.
    turned: set[str] = set()
    for k, link in enumerate(graph.links):
        if link.kind == "device" and link.a in best and best[link.a][1] == k:
            turned.add(link.ref)
    return frozenset(turned)
