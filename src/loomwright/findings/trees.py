"""What hangs below what: devices above each load, loads below each device, feed and return of each amplifier."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from loomwright.findings.ways import GROUND, LIVE, METAL, POWER, Way, Ways, supply_minus, supply_plus, ways_of
from loomwright.protection.results import Device
from loomwright.rig.model import Item, Rig
from loomwright.rig.once import once
from loomwright.study import Study

LANDINGS = ("bus", "frame", "battery", "plain_block")
"""Families on which a return lands: what several returns share."""


@dataclass(frozen=True, slots=True)
class Tree:
    """Devices and loads as a tree.

    ``nearest``: load -> the devices that it meets first on its way to a source, its own fuses left out.
    ``above``: load -> every device on its ways to a source. ``below``: device -> every load that it feeds.
    """

    nearest: Mapping[str, tuple[str, ...]]
    above: Mapping[str, tuple[str, ...]]
    below: Mapping[str, tuple[str, ...]]


@once
def tree(study: Study) -> Tree:
    """The tree of one study."""
    ways = ways_of(study.rig)
    devices = {d.downstream: d for d in study.protection.devices.values() if d.way}
    nearest: dict[str, tuple[str, ...]] = {}
    above: dict[str, tuple[str, ...]] = {}
    first: dict[str, tuple[Device, ...]] = {}  # by upstream terminal: the ways of a block share it
    below: dict[str, list[str]] = {d.id: [] for d in devices.values()}
    for item in study.rig.items.values():
        start = supply_plus(item)
        if start is None:
            continue
        here = _first(ways, start, devices)
        nearest[item.id] = tuple(d.id for d in here)
        seen: dict[str, Device] = {}
        waiting = list(here)
        while waiting:
            d = waiting.pop(0)
            if d.id in seen:
                continue
            seen[d.id] = d
            if d.upstream not in first:
                first[d.upstream] = _first(ways, d.upstream, devices)
            waiting.extend(first[d.upstream])
        above[item.id] = tuple(seen)
        for d in seen.values():
            below[d.id].append(item.id)
    return Tree(nearest, above, {k: tuple(v) for k, v in below.items()})


def _first(ways: Ways, start: str, devices: Mapping[str, Device]) -> tuple[Device, ...]:
    found = [devices[t] for t in ways.reach(start, LIVE, POWER) if t in devices and t != start]
    return tuple(sorted(found, key=lambda d: d.id))


def feed_way(ways: Ways, item: Item) -> Way | None:
    """The shortest way from any battery's plus to an item's supply, or to a charger's output."""
    end = f"{item.id}.out" if item.part.family == "charger" else supply_plus(item)
    return ways.from_battery(end, "plus") if end else None


def return_way(ways: Ways, item: Item) -> Way | None:
    """The shortest way between any battery's minus and where an item's current returns."""
    end = supply_minus(item)
    return ways.from_battery(end, "minus") if end else None


def landing(ways: Ways, item: Item) -> str | None:
    """The terminal on which an item's return lands: the nearest stud of a bus, of the frame or of a battery."""
    start = supply_minus(item)
    if start is None:
        return None
    reached = ways.reach(start, METAL, GROUND)
    return next((t for t in reached if ways.rig.item_of(t).part.family in LANDINGS), None)


def amplifiers_below(rig: Rig, loads: Iterable[str]) -> tuple[str, ...]:
    """Those of ``loads`` that are amplifiers."""
    return tuple(i for i in loads if rig.items[i].part.family == "amplifier")
