"""The shape of a rig: its items and which wire joins which of their terminals. No length, no size, no rating."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loomwright.rig.alike import alike
from loomwright.rig.model import FuseSpec, Item, Items, Kind, Rig, Vehicle, Wire

SIGNAL: tuple[Kind, ...] = ("line", "speaker")
FEW = 12
"""So many different supplies are remembered: with each go its currents, its heat and its faults."""


@dataclass(frozen=True, slots=True)
class Join:
    """A wire as far as its ends go; ``bolted`` where it is no wire, but two terminals bolted straight together."""

    id: str
    start: str
    end: str
    kind: Kind
    bolted: bool = False


@dataclass(frozen=True)
class Shape(Items):
    """What is joined with what. Fuse places say whether something is fitted, not how much it carries; ``cranks`` is the
    battery that starts the engine, where one is named.
    """

    items: Mapping[str, Item]
    wires: tuple[Join, ...]
    cranks: str | None = None

    def __hash__(self) -> int:
        return hash((*self.items, *self.wires))


@alike()
def shape_of(rig: Rig) -> Shape:
    """The shape of a rig; the same object for every rig of that shape."""
    return Shape(_unrated(rig), tuple(_join(w) for w in rig.wires), rig.vehicle.start_battery)


def places_alone(rig: Rig) -> Rig:
    """The places of a rig and nothing in them: what a part of a rig begins from, so that it holds what it names."""
    return Rig("", rig.file, rig.ambient_c, Vehicle("other"), rig.places, runs=(), items={}, wires=())


@alike()
def signal_part(rig: Rig) -> Rig:
    """The part of a rig that carries sound: its items, with the line and speaker wires as they are and no other."""
    return replace(
        places_alone(rig),
        runs=rig.runs,
        items=_unrated(rig),
        wires=tuple(w for w in rig.wires if w.kind in SIGNAL),
        limits=rig.limits,
    )


@alike(FEW)
def supply_part(rig: Rig) -> Rig:
    """The part of a rig that its supply depends on: everything but how the sound is set, how long its speaker wires are
    and what lies where on a panel.
    """
    return replace(
        places_alone(rig),
        vehicle=rig.vehicle,
        runs=rig.runs,
        items={name: _supplied(item) for name, item in rig.items.items()},
        wires=tuple(replace(w, length_mm=0.0, route=(), via=()) if w.kind == "speaker" else w for w in rig.wires),
        limits=replace(rig.limits, listening_mm=0.0),
        bundle_basis=rig.bundle_basis,
    )


def _supplied(item: Item) -> Item:
    """An item without its filters, gains and delays, its box and its place on a panel."""
    plain = Item(
        item.id, item.part, item.place, item.fuses_a, item.charge_pct, item.resistance_factor, bridged=item.bridged
    )
    return item if item == plain else plain


def _join(wire: Wire) -> Join:
    return Join(wire.id, wire.start, wire.end, wire.kind, wire.size is not None and wire.size.system == "bolted")


def _unrated(rig: Rig) -> dict[str, Item]:
    """The items with a fuse "auto" in every place that has one, whatever its rating."""
    return {
        name: replace(item, fuses_a=tuple("auto" if a == "auto" or a > 0.0 else 0.0 for a in item.fuses_a))
        if isinstance(item.part.spec, FuseSpec)
        else item
        for name, item in rig.items.items()
    }
