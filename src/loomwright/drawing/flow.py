"""Which way a wire is drawn: from the sources on the left to the loads on the right.

A wire has no drawing direction of its own. One is found by letting a thought potential fall from the sources to the
loads over a network of equal resistances: the higher end goes left. Feeds and returns are treated alike, so a
return is drawn from the source's minus to the load's minus. This is a means of drawing; it is not a current.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loomwright.rig.model import Item, Rig, Wire

_CHARGER, _START_BATTERY, _BATTERY, _LOAD = 1.02, 1.01, 1.0, 0.0
_LEAK = 1e-6  # ties every island to the load level
_STEP = 1e-5  # from one item of a kind to the next
_LOADS = ("amplifier", "processor", "source", "accessory")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A wire as it is drawn: ``left`` and ``right`` are terminals; ``turned`` if that is against the rig's order."""

    wire: Wire
    left: str
    right: str
    turned: bool


def power_wires(rig: Rig) -> tuple[Wire, ...]:
    """The wires on a power diagram: feeds and returns."""
    return tuple(w for w in rig.wires if w.kind in ("power", "ground"))


def drawn_wires(rig: Rig) -> tuple[tuple[Drawn, ...], dict[str, float]]:
    """Each power wire with its left and right end, and the height of every item (1 source, 0 load)."""
    out, level = drawn_levels(rig)
    heights: dict[str, float] = {}
    for ref, value in level.items():
        item_id = ref.partition(".")[0]
        heights[item_id] = max(heights.get(item_id, 0.0), value)
    return out, heights


def drawn_levels(rig: Rig) -> tuple[tuple[Drawn, ...], dict[str, float]]:
    """Each power wire with its left and right end, and the height of every terminal (1 source, 0 load)."""
    wires = power_wires(rig)
    level = _levels(rig, wires)
    order = {item_id: k for k, item_id in enumerate(rig.items)}
    out = []
    for wire in wires:
        a, b = wire.start, wire.end
        key_a = (-round(level[a], 9), order[a.partition(".")[0]], a)
        key_b = (-round(level[b], 9), order[b.partition(".")[0]], b)
        turned = key_b < key_a
        out.append(Drawn(wire, b if turned else a, a if turned else b, turned))
    return tuple(out), level


SIGNAL_HEIGHTS = {"source": 1.0, "processor": 0.7, "amplifier": 0.4, "driver": 0.0}


def drawn_signals(rig: Rig) -> tuple[tuple[Drawn, ...], dict[str, float]]:
    """Each remote, line and speaker wire with its left and right end, and the height of every item on them.

    Sources stand left, then processors, amplifiers and loudspeakers; what joins them lies between what it joins.
    """
    wires = tuple(w for w in rig.wires if w.kind not in ("power", "ground"))
    links = [(w.start.partition(".")[0], w.end.partition(".")[0]) for w in wires]
    order = {item_id: k for k, item_id in enumerate(rig.items)}
    nodes = sorted({i for pair in links for i in pair}, key=order.__getitem__)
    families = {i: rig.items[i].part.family for i in nodes}
    fixed = {i: SIGNAL_HEIGHTS[f] for i, f in families.items() if f in SIGNAL_HEIGHTS}
    heights = _solve(nodes, links, fixed) if nodes else {}
    out = []
    for wire, (a, b) in zip(wires, links, strict=True):
        turned = (-round(heights[b], 9), order[b]) < (-round(heights[a], 9), order[a])
        out.append(Drawn(wire, wire.end if turned else wire.start, wire.start if turned else wire.end, turned))
    return tuple(out), heights


def drawn_contacts(rig: Rig) -> tuple[tuple[Drawn, ...], dict[str, float]]:
    """As :func:`drawn_signals`, but each contact of a connector has a height of its own: gives it for each terminal."""
    wires = tuple(w for w in rig.wires if w.kind not in ("power", "ground"))
    order = {item_id: k for k, item_id in enumerate(rig.items)}

    def node(ref: str) -> str:
        item = rig.item_of(ref)
        return f"{item.id}.{ref.partition('.')[2][1:]}" if item.part.family == "connector" else item.id

    links = [(node(w.start), node(w.end)) for w in wires]
    nodes = sorted({n for pair in links for n in pair})
    owner = {node(ref): rig.item_of(ref) for w in wires for ref in (w.start, w.end)}
    fixed = {
        n: SIGNAL_HEIGHTS[i.part.family] - _STEP * order[i.id]
        for n, i in owner.items() if i.part.family in SIGNAL_HEIGHTS
    }  # fmt: skip
    heights = _solve(nodes, links, fixed) if nodes else {}
    out = []
    for wire, (a, b) in zip(wires, links, strict=True):
        turned = (-round(heights[b], 9), order[owner[b].id]) < (-round(heights[a], 9), order[owner[a].id])
        out.append(Drawn(wire, wire.end if turned else wire.start, wire.start if turned else wire.end, turned))
    return tuple(out), {ref: heights[node(ref)] for w in wires for ref in (w.start, w.end)}


def _levels(rig: Rig, wires: tuple[Wire, ...]) -> dict[str, float]:
    refs = sorted({ref for w in wires for ref in (w.start, w.end)})
    used = {ref.partition(".")[0] for ref in refs}
    fixed: dict[str, float] = {}
    links: list[tuple[str, str]] = [(w.start, w.end) for w in wires]
    for item_id in sorted(used):
        item = rig.items[item_id]
        for terminal, value in _held(rig, item):
            fixed[f"{item_id}.{terminal}"] = value
        links += [(f"{item_id}.{a}", f"{item_id}.{b}") for a, b in _inner(item)]
    nodes = sorted({ref for pair in links for ref in pair} | set(refs))
    return _solve(nodes, links, fixed)


def _held(rig: Rig, item: Item) -> Iterator[tuple[str, float]]:
    """Terminals whose level is given."""
    family = item.part.family
    for t in item.part.terminals:
        if family == "battery":
            yield t.name, _START_BATTERY if item.id == rig.vehicle.start_battery else _BATTERY
        elif family == "charger":
            yield t.name, _CHARGER
        elif family in _LOADS and t.name in ("supply+", "supply-"):
            yield t.name, _LOAD
        elif family == "dcdc":
            yield t.name, _CHARGER if t.name == "out" else _LOAD
        elif family == "relay" and t.name in ("85", "86"):
            yield t.name, _LOAD


def _inner(item: Item) -> Iterator[tuple[str, str]]:
    """Pairs of terminals that an item joins."""
    names = [t.name for t in item.part.terminals]
    match item.part.family:
        case "fuse_holder" | "breaker" | "switch":
            yield "in", "out"
        case "fused_block" | "plain_block":
            yield from (("in", n) for n in names if n != "in")
        case "isolator":
            yield "main", "aux"
        case "relay":
            yield "30", "87"
        case "connector":
            yield from ((n, "b" + n[1:]) for n in names if n.startswith("a"))
        case "bus" | "frame" | "splice":
            yield from ((names[0], n) for n in names[1:])


def _solve(nodes: list[str], links: list[tuple[str, str]], fixed: dict[str, float]) -> dict[str, float]:
    import numpy as np  # only drawings need it here

    index = {n: k for k, n in enumerate(nodes)}
    matrix = np.zeros((len(nodes), len(nodes)))
    right = np.zeros(len(nodes))
    for a, b in links:
        i, j = index[a], index[b]
        if i != j:
            matrix[i, i] += 1.0
            matrix[j, j] += 1.0
            matrix[i, j] -= 1.0
            matrix[j, i] -= 1.0
    for k, node in enumerate(nodes):
        matrix[k, k] += _LEAK
        if node in fixed:
            matrix[k, :] = 0.0
            matrix[k, k] = 1.0
            right[k] = fixed[node]
    solved = np.linalg.solve(matrix, right)
    return {n: float(solved[k]) for n, k in index.items()}
