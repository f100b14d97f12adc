"""Ways through the graph: what hangs below a wire, and which devices lie between a load and its battery."""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable, Mapping
from math import inf

from loomwright.protection.graph import Graph, Measured
from loomwright.rig.once import once
from loomwright.rig.shape import Shape


def reference_battery(shape: Shape) -> str | None:
    """The battery that paths are measured from: the one that cranks, else the first of the rig."""
    batteries = [i.id for i in shape.family("battery")]
    return shape.cranks if shape.cranks in batteries else next(iter(batteries), None)


class Below:
    """What hangs below each wire, seen from the reference battery.

    Below a remote wire hang the items that it switches on; below a feed those that draw current, not what they
    switch. Bridges are found in one walk (Tarjan's low points), so that a rig of many thousand wires stays quick.
    """

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        self._items: dict[str, list[str]] = defaultdict(list)
        for item_id in graph.loads:
            self._items[graph.supply_node(item_id)].append(item_id)
            self._items[graph.return_node(item_id)].append(item_id)
            remote = graph.remote_node(item_id)
            if remote is not None:
                self._items[remote].append(item_id)
        for item in graph.shape.family("battery", "charger"):
            out = "plus" if item.part.family == "battery" else "out"
            self._items[graph.node(f"{item.id}.{out}")].append(item.id)
            self._items[graph.return_node(item.id)].append(item.id)
        self._order: list[str] = []
        self._span: dict[int, tuple[int, int]] = {}
        self._found: dict[int, frozenset[str]] = {}
        self._walk()

    def wire(self, wire_id: str) -> frozenset[str] | None:
        """Items on the far side of a wire; None where the wire is one of several ways (no bridge)."""
        return self._link(self._index[wire_id])

    def index(self, wire_id: str) -> int:
        """Index of a wire among the links of the graph."""
        return self._index[wire_id]

    def device(self, device_id: str) -> frozenset[str] | None:
        """Items on the far side of a device; None where there is another way round it."""
        return self._link(self._device_index[device_id])

    def _link(self, k: int) -> frozenset[str] | None:
        if k not in self._span:
            return None
        if k not in self._found:
            first, last = self._span[k]
            self._found[k] = frozenset(i for n in self._order[first:last] for i in self._items.get(n, ()))
        return self._found[k]

    def _roots(self) -> Iterable[str]:
        battery = reference_battery(self.graph.shape)
        if battery is not None:
            yield self.graph.node(f"{battery}.plus")
            yield self.graph.node(f"{battery}.minus")
        for feeder in self.graph.feeders:
            yield feeder.node
        yield from self.graph.at

    def _walk(self) -> None:
        graph = self.graph
        self._index = {k.ref: i for i, k in enumerate(graph.links) if k.kind == "wire"}
        self._device_index = {k.ref: i for i, k in enumerate(graph.links) if k.kind == "device"}
        seen: dict[str, int] = {}
        low: dict[str, int] = {}
        for root in self._roots():
            if root in seen:
                continue
            seen[root] = low[root] = len(self._order)
            self._order.append(root)
            stack = [(root, -1, iter(graph.at.get(root, ())))]
            while stack:
                node, came_by, links = stack[-1]
                for k in links:
                    if k == came_by:
                        continue
                    link = graph.links[k]
                    if link.kind == "electronic":
                        continue
                    other = link.b if link.a == node else link.a
                    if other in seen:
                        low[node] = min(low[node], seen[other])
                        continue
                    seen[other] = low[other] = len(self._order)
                    self._order.append(other)
                    stack.append((other, k, iter(graph.at.get(other, ()))))
                    break
                else:
                    stack.pop()
                    if came_by < 0:
                        continue
                    above = stack[-1][0]
                    low[above] = min(low[above], low[node])
                    if low[node] > seen[above]:
                        self._span[came_by] = (seen[node], len(self._order))


@once
def below(graph: Graph) -> Below:
    """What hangs below each wire of a graph."""
    return Below(graph)


def nearest(
    whole: Measured,
    starts: Iterable[str],
    block: Iterable[int] = (),
    stops: Iterable[str] = (),
    *,
    wires_only: bool = False,
) -> Mapping[str, tuple[float, int]]:
    """Shortest way from ``starts`` to every node by conductor length: node -> (length [mm], last link or -1).

    Diodes, outputs and converters are passed in their own direction only; links in ``block`` not at all; nodes in
    ``stops`` are reached and not passed. With ``wires_only`` no device, contact or other link is crossed.
    """
    graph, length_mm = whole.graph, whole.length_mm
    blocked, last = frozenset(block), frozenset(stops)
    best: dict[str, tuple[float, int]] = {}
    heap: list[tuple[float, int, str, int]] = [(0.0, 0, n, -1) for n in sorted(starts)]
    while heap:
        length, hops, node, came_by = heapq.heappop(heap)
        if node in best:
            continue
        best[node] = (length, came_by)
        if node in last and came_by >= 0:
            continue
        for k in graph.at.get(node, ()):
            link = graph.links[k]
            if k in blocked or (wires_only and link.kind != "wire"):
                continue
            if link.b == node and link.kind in ("diode", "electronic", "converter"):
                continue
            other = link.b if link.a == node else link.a
            if other not in best:
                heapq.heappush(heap, (length + length_mm[k], hops + 1, other, k))
    return best


def way_back(graph: Graph, best: Mapping[str, tuple[float, int]], node: str) -> tuple[int, ...]:
    """Link indexes from a start of :func:`nearest` to ``node``, in that order; () if it was not reached."""
    way: list[int] = []
    while node in best and best[node][1] >= 0:
        k = best[node][1]
        way.append(k)
        link = graph.links[k]
        node = link.b if link.a == node else link.a
    return tuple(reversed(way))


def from_battery(whole: Measured, battery: str, post: str = "plus") -> Mapping[str, tuple[float, int]]:
    """:func:`nearest` from one post of a battery; ways end at the posts of others, which feed what lies beyond."""
    known = _from_posts(whole)
    if (battery, post) not in known:
        graph = whole.graph
        posts = {graph.node(f"{b.id}.{post}") for b in graph.shape.family("battery")}
        known[battery, post] = nearest(whole, [graph.node(f"{battery}.{post}")], stops=posts)
    return known[battery, post]


@once
def _from_posts(_whole: Measured) -> dict[tuple[str, str], Mapping[str, tuple[float, int]]]:
    return {}


def series(whole: Measured, battery: str) -> Mapping[str, tuple[str, ...]]:
    """Devices in series between one battery and each load that it reaches, battery side first."""
    graph, best = whole.graph, from_battery(whole, battery)
    return {i: _devices(graph, best, i) for i in graph.loads if graph.supply_node(i) in best}


def chain_of(whole: Measured) -> Mapping[str, tuple[str, ...]]:
    """Load -> devices in series from the battery that is nearest along the conductor, battery side first."""
    graph = whole.graph
    found: dict[str, tuple[float, tuple[str, ...]]] = {}
    for item in graph.shape.family("battery"):
        best = from_battery(whole, item.id)
        for item_id in graph.loads:
            length = best.get(graph.supply_node(item_id), (inf, -1))[0]
            if length < found.get(item_id, (inf, ()))[0]:
                found[item_id] = (length, _devices(graph, best, item_id))
    return {i: found[i][1] for i in graph.loads if i in found}


def _devices(graph: Graph, best: Mapping[str, tuple[float, int]], item_id: str) -> tuple[str, ...]:
    way = way_back(graph, best, graph.supply_node(item_id))
    return tuple(graph.links[k].ref for k in way if graph.links[k].kind == "device")
