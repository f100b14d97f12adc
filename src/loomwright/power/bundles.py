"""Which wires lie together and warm each other: the count that derates an ampacity."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

from loomwright.power.draws import loud_draws_a
from loomwright.rig.model import Item, Rig, Wire
from loomwright.rig.once import once

LIGHT_A = 5.0
"""A wire that never carries more is not counted: about 30 % of the grouped rating of the smallest power wire
(16 AWG), the share below which IEC 60364-5-52 leaves a conductor out of its group (from memory)."""


@once
def bundle_counts(rig: Rig) -> Mapping[str, int]:
    """Number of current-carrying wires in the fullest run that a wire lies in, at least 1, for every wire.

    Counted are power and ground wires that carry more than :data:`LIGHT_A` at `loud`, or whose current no
    simple sum can tell (between sources, around a mesh). Remote, line and speaker wires are not counted.
    A wire that lies in no run lies alone.
    """
    in_run: dict[int, int] = defaultdict(int)
    for wire in heavy_wires(rig):
        for k in set(wire.route):
            in_run[k] += 1
    return {w.id: max((max(in_run[k], 1) for k in w.route), default=1) for w in rig.wires}


def heavy_wires(rig: Rig) -> tuple[Wire, ...]:
    """The power and ground wires that count in a bundle, in the order of the rig."""
    carried = tree_amps_a(rig)
    return tuple(
        w
        for w in rig.wires
        if w.kind in ("power", "ground")
        and not (w.size is not None and w.size.system == "bolted")
        and carried.get(w.id, float("inf")) > LIGHT_A
    )


@once
def tree_amps_a(rig: Rig) -> Mapping[str, float]:
    """Amperes at `loud` in each power and ground wire that hangs below the sources like a branch of a tree [A].

    Works from the leaves inwards and adds up the draws of :mod:`loomwright.power.draws`. Wires between sources and
    wires of a mesh get no entry: only a solution of the network can tell their current.
    """
    draws = loud_draws_a(rig)
    node: dict[str, str] = {}
    draw: dict[str, float] = defaultdict(float)
    fixed: set[str] = set()
    for item in rig.items.values():
        for group in joined(item):
            for name in group:
                node[f"{item.id}.{name}"] = f"{item.id}.{group[0]}"
        for name in _draws_at(item):
            draw[f"{item.id}.{name}"] += draws[item.id]
        fixed.update(f"{item.id}.{name}" for name in _sources_at(item))
    edges: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for w in rig.wires:
        if w.kind in ("power", "ground"):
            a, b = node.get(w.start, w.start), node.get(w.end, w.end)
            if a != b:
                edges[a].append((w.id, b))
                edges[b].append((w.id, a))
    amps_a: dict[str, float] = {}
    degree = {n: len(e) for n, e in edges.items()}
    leaves = sorted(n for n, d in degree.items() if d == 1 and n not in fixed)
    while leaves:
        leaf = leaves.pop()
        if degree[leaf] != 1:
            continue
        wire_id, other = next((w, b) for w, b in edges[leaf] if w not in amps_a)
        amps_a[wire_id] = draw[leaf]
        draw[other] += draw[leaf]
        degree[leaf] -= 1
        degree[other] -= 1
        if degree[other] == 1 and other not in fixed:
            leaves.append(other)
    return amps_a


def joined(item: Item) -> Iterator[tuple[str, ...]]:
    """Groups of an item's terminals that metal, a fuse or a contact joins inside it."""
    names = [t.name for t in item.part.terminals]
    match item.part.family:
        case "fuse_holder" | "breaker" | "switch" | "fused_block" | "plain_block" | "bus" | "frame" | "splice":
            if names:
                yield tuple(names)
        case "isolator":
            yield ("main", "aux")
        case "relay":
            yield ("30", "87")
        case "connector":
            for name in names:
                if name.startswith("a"):
                    yield (name, "b" + name[1:])
        case _:
            return


def _draws_at(item: Item) -> tuple[str, ...]:
    match item.part.family:
        case "amplifier" | "processor" | "source" | "accessory":
            return ("supply+", "supply-")
        case "dcdc":
            return ("in", "ground")
        case "relay":
            return ("85", "86")
        case _:
            return ()


def _sources_at(item: Item) -> tuple[str, ...]:
    match item.part.family:
        case "battery":
            return ("plus", "minus")
        case "charger":
            return ("out", "ground")
        case "dcdc":
            return ("out", "ground")
        case _:
            return ()
