"""The levers of a rig: every figure of it that can be a little more or a little less."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from loomwright.power.network import Network
from loomwright.rig.model import (
    BatterySpec,
    ChargerSpec,
    DcdcSpec,
    Item,
    Part,
    Rig,
    Wire,
    WireSize,
)

LeverKind = Literal[
    "length", "size", "joint", "device", "contact", "metal", "age", "charge", "temperature", "speed", "output",
    "set volts", "limit", "programme",
]  # fmt: skip
Turn = Callable[[Rig, float], Rig]


@dataclass(frozen=True, slots=True)
class Lever:
    """One figure of a rig. ``unit`` is what a slope is for: ``V per mm`` for a wire's length, say.

    ``step`` is a usual change of it, in ``unit``: what a technician may do, or what time does.
    """

    id: str  # "length:P2", "joint:P2@block.in", "temperature:battery_box"
    kind: LeverKind
    ref: str
    unit: str
    step: float
    words: str


def levers(network: Network) -> tuple[Lever, ...]:
    """Every lever of a network's rig: wires in the order of the file, then what they join."""
    return (*_of_wires(network), *_of_items(network), *(lever for lever, _ in turns(network.rig)),
            *(Lever(f"programme:{p.item}", "programme", p.item, "1", -0.5, f"programme of {p.item}")
              for p in network.loads if p.role == "amplifier"))  # fmt: skip


def _of_wires(network: Network) -> Iterator[Lever]:
    for branch in network.branches:
        if branch.kind != "wire":
            continue
        wire = network.rig.wire(branch.ref)
        if branch.copper_mohm > 0.0:
            if wire.measured_mohm is None:
                yield Lever(f"length:{wire.id}", "length", wire.id, "mm", -100.0, f"length of {wire.id}")
            area = wire.size.area_mm2 if wire.size else 0.0
            yield Lever(f"size:{wire.id}", "size", wire.id, "mm2", 0.59 * area, f"metal of {wire.id}")
        for name, _ in branch.joints:
            yield Lever(f"joint:{name}", "joint", name, "mOhm", 1.0, f"joint {name.replace('@', ' at ')}")


def _of_items(network: Network) -> Iterator[Lever]:
    seen: set[str] = set()
    for branch in network.branches:
        if branch.kind == "fuse":
            yield Lever(f"device:{branch.ref}", "device", branch.ref, "mOhm", 1.0, f"resistance of {branch.ref}")
        elif branch.kind == "contact":
            yield Lever(f"contact:{branch.ref}", "contact", branch.ref, "mOhm", 1.0, f"contact {branch.ref}")
        elif branch.kind == "bar" and branch.ref not in seen:
            seen.add(branch.ref)
            yield Lever(f"metal:{branch.ref}", "metal", branch.ref, "mOhm", 1.0, f"resistance inside {branch.ref}")


def turns(rig: Rig) -> tuple[tuple[Lever, Turn], ...]:
    """The levers that reach into more than one resistance, each with how to turn it by an amount."""
    return tuple(_turns(rig))


def _turns(rig: Rig) -> Iterator[tuple[Lever, Turn]]:
    for item in rig.items.values():
        name, spec = item.id, item.part.spec
        if isinstance(spec, BatterySpec):
            yield (Lever(f"age:{name}", "age", name, "1", 1.0, f"age of {name}: its resistance"),
                   _item(name, lambda i, d: replace(i, resistance_factor=i.resistance_factor + d)))  # fmt: skip
            yield (Lever(f"charge:{name}", "charge", name, "%", -10.0, f"charge of {name}"),
                   _item(name, lambda i, d: replace(i, charge_pct=i.charge_pct + d)))  # fmt: skip
        elif isinstance(spec, ChargerSpec):
            yield (Lever(f"output:{name}", "output", name, "1", 0.1, f"output of {name}"),
                   _spec(name, lambda s, d: replace(s, current_a=tuple(a + a * d for a in s.current_a))))  # fmt: skip
            yield (Lever(f"set volts:{name}", "set volts", name, "V", 0.1, f"set volts of {name}"),
                   _spec(name, lambda s, d: replace(s, regulator_v=s.regulator_v + d)))  # fmt: skip
        elif isinstance(spec, DcdcSpec):
            yield (Lever(f"limit:{name}", "limit", name, "A", 5.0, f"limit of {name}"),
                   _spec(name, lambda s, d: replace(s, limit_a=s.limit_a + d)))  # fmt: skip
    if rig.family("charger"):
        yield (Lever("speed:idle", "speed", "idle", "rpm", 200.0, "engine speed at idle"),
               lambda r, d: replace(r, vehicle=replace(r.vehicle, idle_rpm=r.vehicle.idle_rpm + d)))  # fmt: skip
        yield (Lever("speed:cruise", "speed", "cruise", "rpm", 200.0, "engine speed at cruise"),
               lambda r, d: replace(r, vehicle=replace(r.vehicle, cruise_rpm=r.vehicle.cruise_rpm + d)))  # fmt: skip
    for place in rig.places:
        yield (
            Lever(f"temperature:{place}", "temperature", place, "K", 10.0, f"temperature of {place}"),
            _warmer(place),
        )


def _warmer(place: str) -> Turn:
    def turn(rig: Rig, by: float) -> Rig:
        there = rig.places[place]
        return replace(rig, places={**rig.places, place: replace(there, temperature_c=there.temperature_c + by)})

    return turn


def _item(name: str, change: Callable[[Item, float], Item]) -> Turn:
    return lambda rig, by: replace(rig, items={**rig.items, name: change(rig.items[name], by)})


def _spec(name: str, change: Callable[[Any, float], Any]) -> Turn:
    def turned(item: Item, by: float) -> Item:
        part: Part = replace(item.part, spec=change(item.part.spec, by))
        return replace(item, part=part)

    return _item(name, turned)


def thicker(rig: Rig, share: float, only: str | None = None) -> Rig:
    """The rig with the metal of every wire that is one, or of one of them, thicker by a share."""

    def made(wire: Wire) -> Wire:
        if wire.size is None or wire.size.system == "bolted" or only not in (None, wire.id):
            return wire
        size: WireSize = replace(
            wire.size,
            area_mm2=wire.size.area_mm2 * (1.0 + share),
            diameter_mm=wire.size.diameter_mm * (1.0 + share) ** 0.5,
        )
        return replace(wire, size=size)

    return replace(rig, wires=tuple(made(w) for w in rig.wires))


def by_id(found: tuple[Lever, ...]) -> Mapping[str, int]:
    """Where each lever stands."""
    return {lever.id: k for k, lever in enumerate(found)}
