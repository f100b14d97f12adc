"""Ways through a rig: which terminals hang together, through what, and how much conductor lies between them.

Geometry and names only; nothing is solved here.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from loomwright.protection.graph import fitted, is_bolted
from loomwright.rig.model import AmplifierSpec, Item, Kind, Rig, Wire
from loomwright.rig.once import once

Through = Literal["metal", "contact", "switch", "relay", "isolator", "device"]
METAL: frozenset[Through] = frozenset({"metal", "contact"})
LIVE: frozenset[Through] = frozenset({"metal", "contact", "switch", "relay", "isolator"})
EVERY: frozenset[Through] = LIVE | {"device"}
POWER: tuple[Kind, ...] = ("power",)
GROUND: tuple[Kind, ...] = ("ground",)
REMOTE: tuple[Kind, ...] = ("remote",)
LINE: tuple[Kind, ...] = ("line",)


@dataclass(frozen=True, slots=True)
class Way:
    """The shortest way to a terminal: conductor length [mm], wires in order, items crossed in order."""

    length_mm: float
    wires: tuple[str, ...]
    items: tuple[str, ...]


def crossings(item: Item) -> Iterator[tuple[str, str, Through]]:
    """Pairs of terminals that an item joins inside itself, and through what. An empty fuse way joins nothing."""
    names = [t.name for t in item.part.terminals]
    match item.part.family:
        case "fuse_holder" | "breaker":
            if fitted(item, 1):
                yield ("in", "out", "device")
        case "fused_block":
            for name in names:
                if name.startswith("out") and fitted(item, way_of(name)):
                    yield ("in", name, "device")
        case "plain_block" | "bus" | "frame" | "splice":
            for name in names[1:]:
                yield (names[0], name, "metal")
        case "switch":
            yield ("in", "out", "switch")
        case "relay":
            yield ("30", "87", "relay")
        case "isolator":
            yield ("main", "aux", "isolator")
        case "connector":
            for name in names:
                if name.startswith("a") and "b" + name[1:] in names:
                    yield (name, "b" + name[1:], "contact")
        case _:
            return


def way_of(terminal: str) -> int:
    """Number of a block's way from its terminal name: 2 for ``out2``; 1 where there is no number."""
    digits = "".join(c for c in terminal if c.isdigit())
    return int(digits) if digits else 1


class Ways:
    """The wires and crossings of one rig, indexed by terminal."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.wire: Mapping[str, Wire] = {w.id: w for w in rig.wires}
        self._posts: dict[str, tuple[Mapping[str, Way], ...]] = {}
        self._wires: dict[str, list[Wire]] = defaultdict(list)
        for w in rig.wires:
            self._wires[w.start].append(w)
            self._wires[w.end].append(w)
        self._inside: dict[str, list[tuple[str, Through]]] = defaultdict(list)
        for item in rig.items.values():
            for a, b, through in crossings(item):
                self._inside[f"{item.id}.{a}"].append((f"{item.id}.{b}", through))
                self._inside[f"{item.id}.{b}"].append((f"{item.id}.{a}", through))

    def wires_at(self, terminal: str) -> tuple[Wire, ...]:
        """Wires that land on a terminal, in the order of the rig."""
        return tuple(self._wires.get(terminal, ()))

    def has(self, terminal: str) -> bool:
        """Whether the rig knows this terminal."""
        item_id, _, name = terminal.partition(".")
        item = self.rig.items.get(item_id)
        return item is not None and any(t.name == name for t in item.part.terminals)

    def reach(self, start: str, through: Collection[Through], kinds: Collection[Kind]) -> Mapping[str, Way]:
        """Every terminal on the way from ``start``, each by the shortest conductor.

        ``through`` says what may be crossed inside items, ``kinds`` which wires may be followed. A way goes on at a
        terminal where several wires land; another battery ends it.
        """
        best: dict[str, Way] = {}
        queue: list[tuple[float, int, str, tuple[str, ...], tuple[str, ...]]] = [(0.0, 0, start, (), ())]
        order = 0
        while queue:
            length, _, here, wires, items = heapq.heappop(queue)
            if here in best:
                continue
            best[here] = Way(length, wires, items)
            if here != start and self.rig.item_of(here).part.family == "battery":
                continue
            for w in self._wires.get(here, ()):
                if w.kind in kinds:
                    order += 1
                    there = w.end if w.start == here else w.start
                    mm = 0.0 if is_bolted(w) else w.length_mm
                    heapq.heappush(queue, (length + mm, order, there, (*wires, w.id), items))
            inside = here.partition(".")[0]
            crossed = items if items[-1:] == (inside,) else (*items, inside)
            for there, by in self._inside.get(here, ()):
                if by in through:
                    order += 1
                    heapq.heappush(queue, (length, order, there, wires, crossed))
        return best

    def from_battery(self, terminal: str, post: Literal["plus", "minus"]) -> Way | None:
        """The shortest way from any battery's post to a terminal, through whatever lies between."""
        if post not in self._posts:
            kinds = POWER if post == "plus" else GROUND
            batteries = self.rig.family("battery")
            self._posts[post] = tuple(self.reach(f"{b.id}.{post}", EVERY, kinds) for b in batteries)
        found = [reached[terminal] for reached in self._posts[post] if terminal in reached]
        return min(found, key=lambda w: (w.length_mm, w.wires), default=None)


def supply_plus(item: Item) -> str | None:
    """The terminal through which an item draws its supply, or None where it draws none."""
    match item.part.family:
        case "amplifier" | "processor" | "source" | "accessory":
            return f"{item.id}.supply+"
        case "dcdc":
            return f"{item.id}.in"
        case _:
            return None


def supply_minus(item: Item) -> str | None:
    """The terminal through which an item's supply current returns."""
    match item.part.family:
        case "amplifier" | "processor" | "source" | "accessory":
            return f"{item.id}.supply-"
        case "dcdc" | "charger":
            return f"{item.id}.ground"
        case _:
            return None


def amplifiers(rig: Rig) -> tuple[tuple[Item, AmplifierSpec], ...]:
    """Every amplifier with its figures, in the order of the rig."""
    return tuple((i, i.part.spec) for i in rig.items.values() if isinstance(i.part.spec, AmplifierSpec))


@once
def ways_of(rig: Rig) -> Ways:
    """The ways of a rig."""
    return Ways(rig)
