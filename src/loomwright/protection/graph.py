"""The power netlist as a graph: what feeds what, and through which device.

Nodes are terminals, with those that metal joins inside an item taken as one. Between them lie wires and the
links inside items. A *zone* is what no device parts: everything in it opens and goes dark together.

Plain Python on small dictionaries: a fault drill asks hundreds of times.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from math import inf
from typing import Literal

from loomwright.rig.model import (
    AmplifierSpec,
    ChargerSpec,
    DcdcSpec,
    FuseSpec,
    IsolatorSpec,
    Item,
    LoadSpec,
    Rig,
    Wire,
)
from loomwright.rig.once import once
from loomwright.rig.shape import Shape, shape_of

LinkKind = Literal[
    "wire",
    "device",      # a fuse or breaker that is fitted
    "contact",     # of a relay, closed while its coil is fed
    "diode",       # from a to b only
    "electronic",  # an output that an item switches on: a to b, while the item is on
    "converter",   # DC-DC: the output lives while the input does
]
LOADS = ("amplifier", "processor", "source", "accessory", "dcdc")


@dataclass(frozen=True, slots=True)
class Link:
    """One way from node ``a`` to node ``b``; ``ref`` is the wire's, the device's or the item's id."""

    kind: LinkKind
    ref: str
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Feeder:
    """What can push current into a zone: ``limit_a`` is infinite for a battery."""

    item: str
    node: str
    limit_a: float


def fitted(item: Item, way: int) -> bool:
    """Whether a fuse or breaker is fitted in ``way`` (from 1)."""
    spec = item.part.spec
    if not isinstance(spec, FuseSpec):
        return False
    if way <= len(item.fuses_a):
        return item.fuses_a[way - 1] == "auto" or float(item.fuses_a[way - 1]) > 0.0
    return spec.rating_a is not None and item.part.family != "fused_block"


class Graph:
    """The power, ground and remote wires of a shape and what joins them inside items.

    Attributes
    ----------
    links : tuple of Link
        Wires and the links that part zones. Joining metal is no link: its terminals are one node.
    feeders : tuple of Feeder
        Batteries, chargers, DC-DC outputs and remote outputs.
    """

    def __init__(self, shape: Shape) -> None:
        self.shape = shape
        self._node: dict[str, str] = {}
        links: list[Link] = []
        feeders: list[Feeder] = []
        for item in shape.items.values():
            self._join_metal(item)
            links.extend(self._inside(item))
            feeders.extend(self._feeds(item))
        self._loose: tuple[str, ...] = ()  # ends of a cut wire: still nodes, so that a lost remote shows
        links += [
            Link("wire", wire.id, self.node(wire.start), self.node(wire.end))
            for wire in shape.wires
            if wire.kind in ("power", "ground", "remote")
        ]
        self.links = tuple(links)
        self.feeders = tuple(feeders)

    def cutting(self, wire_id: str) -> Graph:
        """The same with one wire cut."""
        other = Graph.__new__(Graph)
        other.shape, other._node, other.feeders = self.shape, self._node, self.feeders
        other.links = tuple(k for k in self.links if not (k.kind == "wire" and k.ref == wire_id))
        other._loose = self.wire_nodes.get(wire_id, ())
        return other

    def node(self, terminal: str) -> str:
        """The node that a terminal belongs to."""
        return self._node.get(terminal, terminal)

    def supply_node(self, item_id: str) -> str:
        """Where an item draws its current: behind its own fuses, if its maker fitted any."""
        item = self.shape.items[item_id]
        spec = item.part.spec
        if isinstance(spec, AmplifierSpec) and spec.own_fuses_a:
            return f"{item_id}.rail"
        return self.node(f"{item_id}.{'in' if item.part.family == 'dcdc' else 'supply+'}")

    def return_node(self, item_id: str) -> str:
        """Where an item's current leaves it."""
        family = self.shape.items[item_id].part.family
        name = "minus" if family == "battery" else "ground" if family in ("charger", "dcdc") else "supply-"
        return self.node(f"{item_id}.{name}")

    def remote_node(self, item_id: str) -> str | None:
        """Where an item is switched on; None where it has no such terminal."""
        for t in self.shape.items[item_id].part.terminals:
            if t.name in ("remote", "remote_in"):
                return self.node(f"{item_id}.{t.name}")
        return None

    @cached_property
    def at(self) -> Mapping[str, tuple[int, ...]]:
        """Node -> indexes of the links that end there."""
        found: dict[str, list[int]] = defaultdict(list)
        for k, link in enumerate(self.links):
            found[link.a].append(k)
            if link.b != link.a:
                found[link.b].append(k)
        return {n: tuple(ks) for n, ks in found.items()}

    @cached_property
    def zone_of(self) -> Mapping[str, str]:
        """Node -> name of its zone (the first of its nodes by name)."""
        parent: dict[str, str] = {}

        def root(n: str) -> str:
            while parent.setdefault(n, n) != n:
                parent[n] = parent[parent[n]]
                n = parent[n]
            return n

        for link in self.links:
            a, b = root(link.a), root(link.b)
            if link.kind == "wire" and a != b:
                parent[max(a, b)] = min(a, b)
        for node in self._loose:
            root(node)
        for feeder in self.feeders:
            root(feeder.node)
        for item_id in self.loads:
            root(self.supply_node(item_id))
        return {n: root(n) for n in list(parent)}

    @cached_property
    def gates(self) -> tuple[tuple[Link, str, str], ...]:
        """The links that part zones, each with the zones of its ends."""
        zone = self.zone_of
        return tuple((k, zone[k.a], zone[k.b]) for k in self.links if k.kind != "wire")

    @cached_property
    def gates_at(self) -> Mapping[str, tuple[tuple[Link, str], ...]]:
        """Zone -> links on its edge, each with the zone beyond."""
        found: dict[str, list[tuple[Link, str]]] = defaultdict(list)
        for link, a, b in self.gates:
            found[a].append((link, b))
            found[b].append((link, a))
        return {z: tuple(g) for z, g in found.items()}

    @cached_property
    def loads(self) -> tuple[str, ...]:
        """Items that draw current, in the order of the rig."""
        return tuple(i.id for i in self.shape.items.values() if i.part.family in LOADS)

    @cached_property
    def wire_nodes(self) -> Mapping[str, tuple[str, str]]:
        """Wire id -> nodes of its ends, for every wire of the graph."""
        return {k.ref: (k.a, k.b) for k in self.links if k.kind == "wire"}

    @cached_property
    def device_nodes(self) -> Mapping[str, tuple[str, str]]:
        """Device id -> nodes of its ends."""
        return {k.ref: (k.a, k.b) for k in self.links if k.kind == "device"}

    def live_zones(self, opened: Iterable[str] = ()) -> frozenset[str]:
        """Zones that a battery feeds while the devices ``opened`` are open."""
        shut = frozenset(opened)
        zone = self.zone_of
        live = {zone[f.node] for f in self.feeders if f.limit_a == inf}
        waiting = True
        while waiting:
            waiting = False
            for link, a, b in self.gates:
                if (a in live) == (b in live) or link.ref in shut:
                    continue
                one_way = link.kind in ("diode", "electronic", "converter")
                if (one_way and b in live) or not self._closed(link, live):
                    continue
                live.update((a, b))
                waiting = True
        return frozenset(live)

    def on(self, opened: Iterable[str] = ()) -> frozenset[str]:
        """Loads that have supply, and remote where they are wired for one, while ``opened`` are open."""
        live = self.live_zones(opened)
        zone = self.zone_of
        return frozenset(i for i in self.loads if zone[self.supply_node(i)] in live and self._awake(i, live))

    @cached_property
    def on_when_whole(self) -> frozenset[str]:
        """Loads that are on with every device closed."""
        return self.on()

    def served_by(self, wire_id: str) -> frozenset[str]:
        """Loads that lose supply or remote when one wire is cut: the narrowest view of its branch."""
        if wire_id not in self._served:
            self._served[wire_id] = self.on_when_whole - self.cutting(wire_id).on()
        return self._served[wire_id]

    @cached_property
    def _served(self) -> dict[str, frozenset[str]]:
        return {}

    def dark(self, opened: Iterable[str]) -> frozenset[str]:
        """Loads that go dark when the devices ``opened`` open: supply or remote lost."""
        shut = frozenset(opened)
        if shut not in self._dark:
            self._dark[shut] = self.on_when_whole - self.on(shut)
        return self._dark[shut]

    @cached_property
    def _dark(self) -> dict[frozenset[str], frozenset[str]]:
        return {}

    def _closed(self, link: Link, live: set[str]) -> bool:
        if link.kind == "contact":
            return any(self.zone_of.get(self.node(f"{link.ref}.{t}")) in live for t in ("85", "86"))
        if link.kind == "electronic":
            return self._awake(link.ref, live)
        return True

    def _awake(self, item_id: str, live: Iterable[str]) -> bool:
        """Whether what switches the item on is alive, or it needs nothing to switch it on."""
        node = self.remote_node(item_id)
        zone = None if node is None else self.zone_of.get(node)
        return zone is None or zone in live

    def _join_metal(self, item: Item) -> None:
        names = [t.name for t in item.part.terminals]
        groups: list[list[str]] = []
        match item.part.family:
            case "plain_block" | "bus" | "frame" | "splice" | "switch":
                groups = [names]
            case "isolator":
                spec = item.part.spec
                if not (isinstance(spec, IsolatorSpec) and spec.kind == "diode"):
                    groups = [["main", "aux"]]
            case "connector":
                groups = [[n, "b" + n[1:]] for n in names if n.startswith("a")]
        for group in groups:
            for name in group:
                self._node[f"{item.id}.{name}"] = f"{item.id}.{group[0]}"

    def _inside(self, item: Item) -> Iterable[Link]:
        name, spec = item.id, item.part.spec
        match item.part.family:
            case "fuse_holder" | "breaker":
                if fitted(item, 1):
                    yield Link("device", f"{name}.1", f"{name}.in", f"{name}.out")
            case "fused_block":
                for way in range(1, item.part.ways + 1):
                    if fitted(item, way):
                        yield Link("device", f"{name}.{way}", f"{name}.in", f"{name}.out{way}")
            case "amplifier":
                if isinstance(spec, AmplifierSpec) and spec.own_fuses_a:
                    yield Link("device", f"{name}.own", f"{name}.supply+", f"{name}.rail")
            case "relay":
                yield Link("contact", name, f"{name}.30", f"{name}.87")
            case "isolator":
                if isinstance(spec, IsolatorSpec) and spec.kind == "diode":
                    yield Link("diode", name, f"{name}.main", f"{name}.aux")
            case "dcdc":
                yield Link("converter", name, f"{name}.in", f"{name}.out")
            case "source" | "processor":
                if any(t.name == "remote_out" for t in item.part.terminals):
                    yield Link("electronic", name, f"{name}.supply+", f"{name}.remote_out")

    def _feeds(self, item: Item) -> Iterable[Feeder]:
        name, spec = item.id, item.part.spec
        if item.part.family == "battery":
            yield Feeder(name, f"{name}.plus", inf)
        elif isinstance(spec, ChargerSpec):
            yield Feeder(name, f"{name}.out", max(spec.current_a, default=0.0))
        elif isinstance(spec, DcdcSpec):
            yield Feeder(name, f"{name}.out", spec.limit_a)
        elif isinstance(spec, LoadSpec) and any(t.name == "remote_out" for t in item.part.terminals):
            yield Feeder(name, f"{name}.remote_out", spec.remote_out_max_ma / 1000.0)


@once
def graph_of(shape: Shape) -> Graph:
    """The graph of a shape."""
    return Graph(shape)


class Measured:
    """The graph of a rig with the lengths of its wires: ``length_mm`` of each link, 0 for what is no wire."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.graph = graph_of(shape_of(rig))
        wires = [w for w in rig.wires if w.kind in ("power", "ground", "remote")]
        inside = len(self.graph.links) - len(wires)
        self.length_mm = (*(0.0,) * inside, *(0.0 if is_bolted(w) else w.length_mm for w in wires))


@once
def measured(rig: Rig) -> Measured:
    """The graph of a rig with its lengths."""
    return Measured(rig)


def is_bolted(wire: Wire) -> bool:
    """Whether the two ends are bolted straight together: no conductor, no length."""
    return wire.size is not None and wire.size.system == "bolted"
