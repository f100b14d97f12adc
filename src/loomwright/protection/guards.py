"""What guards each wire: the nearest device on the way from every source that can feed it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf

from loomwright.facts import workmanship
from loomwright.facts.ampacity import ampacity_a
from loomwright.power.bundles import bundle_counts
from loomwright.power.columns import figures
from loomwright.power.results import PowerResult
from loomwright.protection.devices import devices as all_devices
from loomwright.protection.graph import Feeder, Graph, is_bolted, measured
from loomwright.protection.paths import below, nearest, series
from loomwright.protection.results import Device, Guard
from loomwright.rig.model import Rig, Wire
from loomwright.rig.once import once

OVER = 1.005
"""A rating over an ampacity by less than this is no larger."""


@dataclass(frozen=True, slots=True)
class Reach:
    """What can push current into a zone.

    ``feeders`` reach it with no device between; ``devices`` are the nearest on the ways from all others.
    """

    feeders: tuple[Feeder, ...]
    devices: tuple[str, ...]


class Reaches:
    """The reach of every zone of one graph. Keep one for many questions."""

    def __init__(self, graph: Graph) -> None:
        self._graph = graph
        self._known: dict[str, Reach] = {}

    def __call__(self, zone: str) -> Reach:
        """Sources and nearest devices of a zone."""
        if zone not in self._known:
            self._known[zone] = self._find(zone)
        return self._known[zone]

    def _find(self, zone: str) -> Reach:
        graph = self._graph
        region = {zone}
        waiting = [zone]
        while waiting:
            here = waiting.pop()
            for link, other in graph.gates_at.get(here, ()):
                against = link.kind == "diode" and graph.zone_of[link.b] == here
                if other not in region and (link.kind == "contact" or against):
                    region.add(other)
                    waiting.append(other)
        feeders = tuple(f for f in graph.feeders if graph.zone_of[f.node] in region)
        found: list[str] = []
        for here in sorted(region):
            for link, other in graph.gates_at.get(here, ()):
                if link.kind == "device" and other not in region and self._fed(other, region):
                    found.append(link.ref)
        return Reach(feeders, tuple(dict.fromkeys(found)))

    def _fed(self, zone: str, without: Iterable[str]) -> bool:
        """Whether a source reaches a zone by a way that avoids other zones."""
        graph = self._graph
        seen = {*without, zone}
        waiting = [zone]
        sources = {graph.zone_of[f.node] for f in graph.feeders}
        while waiting:
            here = waiting.pop()
            if here in sources:
                return True
            for link, other in graph.gates_at.get(here, ()):
                forward = link.kind in ("diode", "electronic", "converter") and graph.zone_of[link.a] == here
                if other not in seen and not forward:
                    seen.add(other)
                    waiting.append(other)
        return False


@once
def reaches(graph: Graph) -> Reaches:
    """The reaches of a graph."""
    return Reaches(graph)


class Guards:
    """Who guards what in one rig. Keep one for many questions."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.measured = measured(rig)
        self.graph = self.measured.graph
        self.below, self.reach = below(self.graph), reaches(self.graph)
        self._from_posts: dict[str, tuple[frozenset[str], Mapping[str, tuple[float, int]]]] = {}
        self._at_device = frozenset(n for pair in self.graph.device_nodes.values() for n in pair)
        self._series: dict[str, Mapping[str, tuple[str, ...]]] | None = None

    def of_wire(self, wire: Wire, capacity_a: float = inf) -> tuple[tuple[str, ...], float]:
        """Devices that guard a wire and the largest current [A] of a limited source that needs none.

        ``capacity_a`` is the wire's ampacity: a charger or an output that cannot give more needs no device.
        The second number is infinite where the wire is unguarded.
        """
        if wire.kind == "ground":
            return self._of_return(wire, capacity_a)
        return self._of_zones([self.graph.zone_of[self.graph.node(wire.start)]], capacity_a)

    def stub_mm(self, wire: Wire) -> float:
        """Conductor length from the nearest battery through a wire to the first device beyond it [mm].

        0 for a bolted joint; infinite where no device follows.
        """
        if is_bolted(wire):
            return 0.0
        graph = self.graph
        a, b = graph.wire_nodes[wire.id]
        posts, from_post = self._posts(graph.zone_of[a])
        ends = [(from_post[n][0], far) for n, far in ((a, b), (b, a)) if n in from_post]
        if not ends:
            return inf
        start_mm, far = min(ends)
        if far in posts:
            return inf
        beyond = nearest(self.measured, [far], [self.below.index(wire.id)], posts, wires_only=True)
        to_device = min((mm for n, (mm, _) in beyond.items() if n in self._at_device and n not in posts), default=inf)
        return start_mm + wire.length_mm + to_device

    def _posts(self, zone: str) -> tuple[frozenset[str], Mapping[str, tuple[float, int]]]:
        """Posts of the batteries in a zone (of other sources, if it has no battery), and the ways from them."""
        if zone not in self._from_posts:
            mine = [f for f in self.graph.feeders if self.graph.zone_of[f.node] == zone]
            posts = frozenset(f.node for f in [f for f in mine if f.limit_a == inf] or mine)
            self._from_posts[zone] = posts, nearest(self.measured, posts, wires_only=True)
        return self._from_posts[zone]

    def _of_zones(self, zones: Iterable[str], capacity_a: float) -> tuple[tuple[str, ...], float]:
        found: list[str] = []
        limit_a = 0.0
        for zone in zones:
            reach = self.reach(zone)
            found.extend(reach.devices)
            for feeder in reach.feeders:
                limit_a = max(limit_a, feeder.limit_a)
        if limit_a == inf or limit_a > capacity_a:
            return (), inf
        return tuple(dict.fromkeys(found)), limit_a

    def _of_return(self, wire: Wire, capacity_a: float) -> tuple[tuple[str, ...], float]:
        """A return carries what its items draw or give: the device that sees the whole of it guards it."""
        graph = self.graph
        items = self.below.wire(wire.id)
        loads = [i for i in graph.loads if items is None or i in items]
        found: list[str] = []
        limit_a = 0.0
        for battery, chains in self._chains().items():
            if items is not None and battery in items:
                found.extend(c[0] for i, c in chains.items() if i not in items and c)
                continue
            mine = [tuple(d for d in chains[i] if not d.endswith(".own")) for i in loads if i in chains]
            if not mine:
                continue
            common = _common(mine)
            if common is not None:
                found.append(common)
            elif all(mine):
                found.extend(chain[-1] for chain in mine)
            else:
                limit_a = inf
        for item in self.rig.family("battery", "charger"):
            if items is None or item.id not in items:
                continue
            name = "plus" if item.part.family == "battery" else "out"
            zone = graph.zone_of[graph.node(f"{item.id}.{name}")]
            reach = self.reach(zone)
            others = [f for f in reach.feeders if f.item not in items]
            if any(f.limit_a > capacity_a for f in others):
                limit_a = inf
            found.extend(reach.devices)
            if not reach.devices and not others:
                limit_a = max(limit_a, *(f.limit_a for f in graph.feeders if f.item == item.id))
        if limit_a == inf or limit_a > capacity_a:
            return (), inf
        return tuple(dict.fromkeys(found)), limit_a

    def _chains(self) -> Mapping[str, Mapping[str, tuple[str, ...]]]:
        if self._series is None:
            self._series = {b.id: series(self.measured, b.id) for b in self.rig.family("battery")}
        return self._series


def guards(
    rig: Rig, power: PowerResult, devices: Mapping[str, Device] | None = None
) -> Mapping[str, Guard]:
    """The guard of every power, ground and remote wire, by wire id. Bolted joints are no wires and have none.

    A wire is unguarded where a source reaches it with no device between: ``devices`` is then empty,
    ``rating_a`` infinite and ``stub_mm`` the conductor length from the battery's post to the first device.
    A source that limits itself below the wire's ampacity (charger, remote output) needs no device.
    """
    who = Guards(rig)
    found = devices if devices is not None else all_devices(rig)
    bundles, steady = bundle_counts(rig), continuous_a(power)
    result: dict[str, Guard] = {}
    for wire in rig.wires:
        if wire.kind in ("line", "speaker") or is_bolted(wire) or wire.size is None:
            continue
        capacity_a = wire_ampacity_a(rig, wire, bundles[wire.id])
        names, limit_a = who.of_wire(wire, capacity_a)
        rating_a = max([limit_a, *(found[d].rating_a * found[d].count for d in names)])
        result[wire.id] = Guard(
            wire=wire.id,
            devices=names,
            rating_a=rating_a,
            continuous_a=steady.get(wire.id, 0.0),
            ampacity_a=capacity_a,
            stub_mm=who.stub_mm(wire) if rating_a == inf else 0.0,
            tap_to=_tap_to(rig, wire, names, found, capacity_a) if capacity_a * OVER < rating_a < inf else "",
        )
    return result


def _tap_to(rig: Rig, wire: Wire, names: Iterable[str], found: Mapping[str, Device], capacity_a: float) -> str:
    """The item whose fuses guard a short feed from its far end; empty where none does.

    What holds for the piece between a battery and its first device holds for a thinner wire that leaves a bar or a
    block: 178 mm along the conductor to a device of its own (33 CFR 183.455, which speaks of the source of power of
    each conductor).
    """
    if wire.kind != "power" or wire.length_mm > workmanship.device_distance_mm():
        return ""
    above = {found[d].item for d in names}
    for ref in (wire.start, wire.end):
        item = rig.item_of(ref)
        ways = [d for d in found.values() if d.item == item.id and d.way]
        fed = bool(ways) and item.id not in above and ref == f"{item.id}.in"
        if fed and sum(d.rating_a * d.count for d in ways) <= capacity_a * OVER:
            return item.id
    return ""


def wire_ampacity_a(rig: Rig, wire: Wire, bundle: int) -> float:
    """Derated amperes that a sized wire may carry: hottest place on its way, and its bundle."""
    assert wire.size is not None
    return ampacity_a(
        wire.size.area_mm2, wire.metal, wire.insulation_c, rig.wire_temperature_c(wire), bundle, rig.bundle_basis
    )


def continuous_a(power: PowerResult) -> Mapping[str, float]:
    """Largest steady current of each wire [A] over every engine state with `quiet`, `music` and `loud`."""
    largest: dict[str, float] = {}
    for (_, programme), case in power.cases.items():
        if programme != "sine":
            for wire, amps in figures(case.wires, "amps_a").items():
                largest[wire] = max(largest[wire], abs(amps)) if wire in largest else abs(amps)
    return largest


def _common(chains: list[tuple[str, ...]]) -> str | None:
    """Last device that all chains pass, counted from the battery."""
    found = None
    for step in zip(*chains, strict=False):
        if any(d != step[0] for d in step):
            break
        found = step[0]
    return found
