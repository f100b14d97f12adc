"""Which rating a fuse place gets: the smallest that carries its current and stands above what follows it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from loomwright.facts import ampacity, fuses
from loomwright.protection.currents import Currents
from loomwright.protection.plan import Plan, Way
from loomwright.protection.results import Choice, Device
from loomwright.protection.selectivity import melting_i2t_a2s
from loomwright.protection.words import amps, figure
from loomwright.rig.model import FuseSpec

LEAST_A = 5.0
"""Smallest fuse that is chosen: less opens on the surge when electronics are switched on (common practice)."""


@dataclass(frozen=True, slots=True)
class Rating:
    """A chosen rating [A] with its reason; ``met`` is False where a demand stays open."""

    rating_a: float
    reason: str
    met: bool
    need_a: float = 0.0


def choose(plan: Plan, currents: Currents) -> dict[str, Rating]:
    """Ratings of every open fuse place, written into ``plan.ratings`` on the way, lowest in the chains first."""
    chosen: dict[str, Rating] = {}
    for way in plan.open_ways:
        chosen[way.device] = _choose(plan, way, currents)
        plan.ratings[way.device] = chosen[way.device].rating_a
    return chosen


def offered(plan: Plan, way: Way) -> tuple[float, ...]:
    """Ratings that exist for the type and fit the holder, rising [A]."""
    spec = plan.rig.items[way.item].part.spec
    assert isinstance(spec, FuseSpec)
    made = fuses.ratings_a(spec.type)
    return tuple(r for r in made if r <= spec.max_rating_a) or made[:1]


def needs_a(plan: Plan, way: Way, currents: Currents) -> dict[str, float]:
    """What a rating must not lie below [A], each under the sentence that says so."""
    device = plan.devices[way.device]
    continuous_a = currents.devices.get(way.device, 0.0)
    margin = ampacity.continuous_margin()
    factor = fuses.temperature_factor(device.type, device.temperature_c)
    warm = f" / {figure(factor)} at {figure(device.temperature_c)} °C" if factor < 0.995 else ""
    steady_a = margin * continuous_a / factor
    needs = {
        f"{amps(continuous_a)} steady x {figure(margin)}{warm} is {amps(steady_a)}": steady_a,
        f"{amps(LEAST_A)} is the least that is fitted": LEAST_A,
    }
    if way.device not in plan.lower:
        first_a = currents.first_a.get(way.device, 0.0) / factor
        needs[f"{amps(first_a)} in the first seconds after the batteries are tied"] = first_a
    lower = [d for d in plan.lower.get(way.device, ()) if plan.rating_a(d) > 0]
    if lower:
        top = max(lower, key=lambda d: (plan.rating_a(d), d))
        below = plan.devices[top]
        what = f"{below.count} x {figure(below.rating_a)} A" if below.count > 1 else amps(plan.rating_a(top))
        needs[f"{top} below it is {what}"] = plan.rating_a(top)
    return needs


def room_a(plan: Plan, device: str) -> tuple[float, str]:
    """The largest rating that the wires it guards can stand [A], and the wire that sets it.

    An open wire counts with the largest size its terminals take.
    """
    least, which = inf, ""
    for wire in plan.guarded.get(device, ()):
        area = wire.size.area_mm2 if wire.size is not None else plan.candidates(wire)[-1].area_mm2
        capacity = plan.ampacity_a(wire, area)
        if capacity < least:
            least, which = capacity, wire.id
    return least, which


def _choose(plan: Plan, way: Way, currents: Currents) -> Rating:
    ratings = offered(plan, way)
    needs = needs_a(plan, way, currents)
    room, thinnest = room_a(plan, way.device)
    decided, need = max(needs.items(), key=lambda pair: pair[1])
    fitting = [r for r in ratings if need <= r * (1 + 1e-9) and r <= room]
    if not fitting:
        return _unmet(ratings, need, room, thinnest, decided)
    base = fitting[0]
    if base == ratings[0] and base > need * (1 + 1e-9):
        decided = f"{amps(base)} is the smallest that fits here"
    better = next((r for r in fitting if _stands_above(plan, way, r)), None)
    if better is not None and better > base:
        others = _fuses_below(plan, way)
        top = max(others, key=melting_i2t_a2s)
        times = melting_i2t_a2s(_as(plan, way, better)) / melting_i2t_a2s(top)
        return Rating(better, f"{decided}; melting I2t {figure(times)} times that of {top.id}", True)
    if better is None:
        decided += "; no rating here has twice the melting I2t of what follows it"
    return Rating(base, decided, True)


def _unmet(ratings: tuple[float, ...], need: float, room: float, thinnest: str, why: str) -> Rating:
    """Nothing meets every demand: stay below what the wires stand, as near to the need as can be."""
    below = [r for r in ratings if r <= room]
    if need > ratings[-1]:
        reason = f"{why}; this holder takes {amps(ratings[-1])} at most"
    elif room < need:
        reason = f"{why}; wire {thinnest} stands {amps(room)}"
    else:
        reason = f"{why}; no rating lies between that and the {amps(room)} that wire {thinnest} stands"
    return Rating(below[-1] if below else ratings[0], reason, False, need)


def _fuses_below(plan: Plan, way: Way) -> list[Device]:
    """Devices that follow, an amplifier's own left out: there it does not matter which of the two opens."""
    found = [d for d in plan.lower.get(way.device, ()) if not d.endswith(".own")]
    return [_at(plan, d) for d in found]


def _stands_above(plan: Plan, way: Way, rating_a: float) -> bool:
    mine = melting_i2t_a2s(_as(plan, way, rating_a))
    return all(mine >= fuses.selective_ratio() * melting_i2t_a2s(d) for d in _fuses_below(plan, way))


def _as(plan: Plan, way: Way, rating_a: float) -> Device:
    return _rated(plan.devices[way.device], rating_a)


def _at(plan: Plan, device_id: str) -> Device:
    device = plan.devices[device_id]
    return _rated(device, plan.ratings.get(device_id, device.rating_a))


def _rated(device: Device, rating_a: float) -> Device:
    return Device(
        device.id, device.item, device.way, device.type, rating_a, device.count, device.temperature_c,
        device.interrupting_a, device.upstream, device.downstream, device.provisional,
    )


def choices(chosen: dict[str, Rating]) -> tuple[Choice, ...]:
    """The ratings as the study reports them."""
    return tuple(
        Choice(device, amps(r.rating_a), r.reason, r.met, r.need_a) for device, r in sorted(chosen.items())
    )
