"""Which size a wire gets: the smallest that its device, its current and its fellow wires allow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from loomwright.facts import ampacity, conductors
from loomwright.facts.conductors import SizeRow
from loomwright.protection.currents import Currents
from loomwright.protection.graph import is_bolted
from loomwright.protection.plan import Plan
from loomwright.protection.results import Choice
from loomwright.protection.words import amps, area, figure
from loomwright.rig.model import Wire


@dataclass(frozen=True, slots=True)
class Demand:
    """The least area that one demand asks of a wire, in words; infinite where no size on the list meets it."""

    text: str
    area_mm2: float


@dataclass(frozen=True, slots=True)
class Gauge:
    """A chosen size with its reason; ``met`` is False where a demand stays open."""

    size: SizeRow
    reason: str
    met: bool


def choose(plan: Plan, currents: Currents, floors: Mapping[str, Demand], missed: Mapping[str, str]) -> dict[str, Gauge]:
    """Sizes of every open wire, written into ``plan.sizes`` on the way: feeds first, then returns.

    Parameters
    ----------
    floors : wire -> Demand
        What the drop limit asks of a wire.
    missed : wire -> str
        Why the drop limit cannot be met on the way that a wire belongs to.
    """
    chosen: dict[str, Gauge] = {}
    for wire in plan.open_wires:
        demands = [*own_demands(plan, wire, currents.wires.get(wire.id, 0.0)), *_as_heavy(plan, wire)]
        if wire.id in floors:
            demands.append(floors[wire.id])
        gauge = _choose(plan, wire, demands)
        if wire.id in missed:
            gauge = Gauge(gauge.size, f"{gauge.reason}; {missed[wire.id]}", False)
        chosen[wire.id] = gauge
        plan.sizes[wire.id] = gauge.size
    return chosen


def own_demands(plan: Plan, wire: Wire, continuous_a: float) -> list[Demand]:
    """What a wire's device and its current ask of it."""
    sizes = plan.candidates(wire)
    guards = plan.guards_of(wire)
    demands = [Demand(f"{sizes[0].label} is the least for a {wire.kind} wire", sizes[0].area_mm2)]
    if guards:
        top = max(guards, key=lambda d: (plan.rating_a(d), d))
        rating = plan.rating_a(top)
        demands.append(Demand(f"guarded by {top}, {amps(rating)}", least_area_mm2(plan, wire, rating)))
        need, text = continuous_a, f"carries {amps(continuous_a)} steady"
    else:
        margin = ampacity.continuous_margin()
        need, text = margin * continuous_a, f"no device; carries {amps(continuous_a)} steady x {figure(margin)}"
    limit = plan.source_limit_a(wire)
    if limit > need and wire.kind != "remote":
        need, text = limit, f"its source gives up to {amps(limit)}"
    demands.append(Demand(text, least_area_mm2(plan, wire, need)))
    return demands


def least_area_mm2(plan: Plan, wire: Wire, need_a: float) -> float:
    """Area of the smallest size whose derated ampacity is at least ``need_a``; infinite if none."""
    for size in plan.candidates(wire):
        if plan.ampacity_a(wire, size.area_mm2) >= need_a * (1 - 1e-9):
            return size.area_mm2
    return inf


def _as_heavy(plan: Plan, wire: Wire) -> list[Demand]:
    """A return is at least as heavy as every feed of the items whose current it brings back."""
    if wire.kind != "ground":
        return []
    below = plan.guards.below
    mine = below.wire(wire.id)
    if not mine:
        return []
    feeds: list[tuple[float, str]] = []
    for feed in plan.rig.wires:
        if feed.kind != "power" or is_bolted(feed):
            continue
        metal = plan.area_mm2(feed)
        theirs = below.wire(feed.id)
        if metal is not None and theirs and theirs <= mine:
            alike = min(1.0, conductors.conductivity(feed.metal)) / min(1.0, conductors.conductivity(wire.metal))
            feeds.append((metal * alike, feed.id))
    if not feeds:
        return []
    most, which = max(feeds)
    fit = next((s.area_mm2 for s in plan.candidates(wire) if s.area_mm2 * conductors.SAME_SIZE >= most), inf)
    return [Demand(f"as heavy as feed {which}, {area(most)}", fit)]


def _choose(plan: Plan, wire: Wire, demands: list[Demand]) -> Gauge:
    sizes = plan.candidates(wire)
    top = max(demands, key=lambda d: d.area_mm2)
    met = top.area_mm2 < inf
    size = next(s for s in sizes if s.area_mm2 >= top.area_mm2) if met else sizes[-1]
    where = f"{figure(plan.rig.wire_temperature_c(wire))} °C, {_bundle(plan.bundles[wire.id])}"
    stands = f"{size.label} stands {amps(plan.ampacity_a(wire, size.area_mm2))} at {where}"
    if not met:
        return Gauge(size, f"{top.text}: more than any size that its terminals take; {stands}", False)
    return Gauge(size, f"{top.text}; {stands}", True)


def _bundle(count: int) -> str:
    return "alone" if count == 1 else f"{count} in the bundle"


def choices(chosen: Mapping[str, Gauge]) -> tuple[Choice, ...]:
    """The sizes as the study reports them."""
    return tuple(Choice(f"wire {w}", g.size.label, g.reason, g.met) for w, g in sorted(chosen.items()))
