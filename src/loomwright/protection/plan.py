"""The working paper of a choice: what is open, what is chosen so far, and the rig that this makes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf

from loomwright.facts import ampacity, conductors, workmanship
from loomwright.facts.conductors import SizeRow
from loomwright.power.bundles import bundle_counts
from loomwright.protection.devices import devices
from loomwright.protection.graph import Graph, graph_of, is_bolted, measured
from loomwright.protection.guards import Guards
from loomwright.protection.paths import series
from loomwright.protection.results import Device
from loomwright.rig.model import FuseSpec, Item, Rig, Wire, WireSize
from loomwright.rig.shape import shape_of

REMOTE_LEAST_MM2 = 0.8
"""18 AWG, or what the metric list has next: thinner breaks before it burns (common practice)."""


@dataclass(frozen=True, slots=True)
class Way:
    """A fuse place whose rating is to be chosen."""

    device: str
    item: str
    way: int


@dataclass
class Plan:
    """One rig with open sizes and ratings. The netlist does not change while they are chosen."""

    rig: Rig
    ratings: dict[str, float] = field(default_factory=dict)   # device -> A
    sizes: dict[str, SizeRow] = field(default_factory=dict)   # wire -> size

    @cached_property
    def graph(self) -> Graph:
        return graph_of(shape_of(self.rig))

    @cached_property
    def guards(self) -> Guards:
        return Guards(self.rig)

    @cached_property
    def devices(self) -> Mapping[str, Device]:
        return devices(self.rig)

    @cached_property
    def bundles(self) -> Mapping[str, int]:
        return bundle_counts(self.rig)

    @cached_property
    def open_wires(self) -> tuple[Wire, ...]:
        """Power, ground and remote wires whose size is to be chosen: feeds first, then returns."""
        order = ("power", "remote", "ground")
        found = [w for w in self.rig.wires if w.size is None and w.kind in order]
        return tuple(sorted(found, key=lambda w: order.index(w.kind)))

    @cached_property
    def open_ways(self) -> tuple[Way, ...]:
        """Fuse places whose rating is to be chosen, lowest in the chains first."""
        found = [
            Way(f"{item.id}.{way}", item.id, way)
            for item in self.rig.items.values()
            for way, given in enumerate(item.fuses_a, start=1)
            if given == "auto" and isinstance(item.part.spec, FuseSpec)
        ]
        return tuple(sorted(found, key=lambda w: (len(self.lower.get(w.device, ())), w.device)))

    @cached_property
    def lower(self) -> Mapping[str, tuple[str, ...]]:
        """Device -> devices that follow it on the way to any load."""
        found: dict[str, dict[str, None]] = {}
        for battery in self.rig.family("battery"):
            for chain in series(measured(self.rig), battery.id).values():
                for k, device in enumerate(chain):
                    found.setdefault(device, {}).update(dict.fromkeys(chain[k + 1 :]))
        return {d: tuple(below) for d, below in found.items()}

    @cached_property
    def system(self) -> str:
        """``mm2`` where most sizes of the rig are metric, else ``AWG``."""
        given = [w.size.system for w in self.rig.wires if w.size is not None and w.size.system != "bolted"]
        return "mm2" if 2 * given.count("mm2") > len(given) else "AWG"

    @cached_property
    def guarded(self) -> Mapping[str, tuple[Wire, ...]]:
        """Device -> wires that it guards."""
        found: dict[str, list[Wire]] = {}
        for wire in self.rig.wires:
            if wire.kind in ("power", "ground", "remote") and not is_bolted(wire):
                for device in self.guards_of(wire):
                    found.setdefault(device, []).append(wire)
        return {d: tuple(wires) for d, wires in found.items()}

    def guards_of(self, wire: Wire) -> tuple[str, ...]:
        """Devices that guard a wire; for one between source and first device, the devices that it leads to."""
        names = self._guards_of.get(wire.id)
        if names is None:
            names = self._guards_of[wire.id] = self._find_guards(wire)
        return names

    @cached_property
    def _guards_of(self) -> dict[str, tuple[str, ...]]:
        return {}

    def _find_guards(self, wire: Wire) -> tuple[str, ...]:
        names, limit_a = self.guards.of_wire(wire)
        if names or limit_a < inf or wire.kind == "ground":
            return names
        below = self.guards.below
        items = below.wire(wire.id)
        if items is None:
            return ()
        zone = self.graph.zone_of[self.graph.node(wire.start)]
        edge = [link.ref for link, _ in self.graph.gates_at.get(zone, ()) if link.kind == "device"]
        return tuple(d for d in edge if (beyond := below.device(d)) and beyond <= items)

    def source_limit_a(self, wire: Wire) -> float:
        """What a source that limits itself can push through a wire without meeting a device [A]."""
        limit_a = self.guards.of_wire(wire)[1]
        return limit_a if limit_a < inf else 0.0

    def rating_a(self, device_id: str) -> float:
        """Rating chosen so far, parallel fuses together [A]."""
        device = self.devices[device_id]
        return self.ratings.get(device_id, device.rating_a) * device.count

    def candidates(self, wire: Wire) -> tuple[SizeRow, ...]:
        """Sizes that a wire may get by its kind and its terminals, rising; the smallest of all if none fits."""
        least = REMOTE_LEAST_MM2 if wire.kind == "remote" else workmanship.min_conductor_mm2()
        most = min(self.rig.terminal(ref).max_mm2 for ref in (wire.start, wire.end))
        every = [s for s in conductors.sizes(self.system) if s.area_mm2 >= least / conductors.SAME_SIZE]
        return tuple(s for s in every if s.area_mm2 <= most) or (every[0],)

    def ampacity_a(self, wire: Wire, area_mm2: float) -> float:
        """Derated ampacity that a wire has, or would have with an area."""
        rig = self.rig
        return ampacity.ampacity_a(
            area_mm2, wire.metal, wire.insulation_c, rig.wire_temperature_c(wire), self.bundles[wire.id],
            rig.bundle_basis,
        )

    def area_mm2(self, wire: Wire) -> float | None:
        """Area of a wire as given or as chosen so far."""
        if wire.size is not None:
            return None if is_bolted(wire) else wire.size.area_mm2
        return self.sizes[wire.id].area_mm2 if wire.id in self.sizes else None

    def made(self) -> Rig:
        """The rig with everything chosen so far written in."""
        wires = tuple(
            replace(w, size=wire_size(self.sizes[w.id])) if w.size is None and w.id in self.sizes else w
            for w in self.rig.wires
        )
        return replace(self.rig, wires=wires, items={i: self._filled(item) for i, item in self.rig.items.items()})

    def _filled(self, item: Item) -> Item:
        if "auto" not in item.fuses_a:
            return item
        fuses = tuple(
            self.ratings.get(f"{item.id}.{way}", given) if given == "auto" else given
            for way, given in enumerate(item.fuses_a, start=1)
        )
        return replace(item, fuses_a=fuses)


def wire_size(row: SizeRow) -> WireSize:
    """A row of the list of sizes as the rig carries it."""
    return WireSize(row.label, row.system, row.area_mm2, row.diameter_mm)
