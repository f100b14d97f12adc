"""What the drop limit asks of the wires: more copper where it gains most."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from loomwright.facts import conductors
from loomwright.protection.currents import Currents
from loomwright.protection.gauges import Demand
from loomwright.protection.graph import is_bolted, measured
from loomwright.protection.paths import from_battery, way_back
from loomwright.protection.plan import Plan
from loomwright.protection.words import volts
from loomwright.rig.model import Wire

SPARE = 0.995
"""Share of the limit that is used: the rest covers what changes when the rig is solved again."""
NEAR = 1.25
"""A limit missed by less than this factor is come near to."""
MOST = 0.9
GUESS_C = 60.0
GUESS_FIXED = 0.2


@dataclass(frozen=True, slots=True)
class Way:
    """One amplifier's feed and return: open wires on it with their amperes, and the drop that is not theirs."""

    amplifier: str
    amps_a: Mapping[str, float]
    fixed_v: float


class Drops:
    """Raises open wires from their least sizes until every amplifier's drop at `loud` is inside the limit."""

    def __init__(
        self, plan: Plan, currents: Currents, base: Mapping[str, float], held: Mapping[str, float] | None = None
    ) -> None:
        """``base``: least area of each open wire by its other demands [mm2]; ``held``: what it may not go below."""
        self.plan = plan
        self.limit_v = plan.rig.limits.drop_v
        self.open: dict[str, Wire] = {w.id: w for w in plan.open_wires if w.kind in ("power", "ground")}
        self.sizes = {w: plan.candidates(wire) for w, wire in self.open.items()}
        self.base = {w: self._first(w, base[w]) for w in self.open}
        self._returns = self._returns_of()
        self.top = {w: self._top(w) for w in self.open}
        self.start = {w: max(self.base[w], self._first(w, (held or {}).get(w, 0.0))) for w in self.open}
        self.step = dict(self.start)
        self.ways = tuple(ways(plan, currents))
        self._warm = self._warmth(currents)

    def floors(self) -> tuple[dict[str, Demand], dict[str, str]]:
        """What the limit asks of each wire, and for wires of a way that cannot meet it, why not."""
        aims = {w.amplifier: self._aim_v(w) for w in self.ways}
        while late := [w for w in self.ways if self.drop_v(w) > aims[w.amplifier]]:
            if not self._raise_best(late):
                break
        self._trim(aims)
        missed = self._missed()
        demands: dict[str, Demand] = {}
        for wire_id, k in self.step.items():
            using = [w for w in self.ways if wire_id in w.amps_a and aims[w.amplifier] < inf]
            if k > self.base[wire_id] and using:
                worst = max(using, key=lambda w: (self.drop_v(w), w.amplifier))
                text = f"drop of {worst.amplifier} at loud {volts(self.drop_v(worst))} of {volts(self.limit_v)}"
                demands[wire_id] = Demand(text, self.sizes[wire_id][k].area_mm2)
        reasons = {
            wire_id: missed[way.amplifier] for way in self.ways if way.amplifier in missed for wire_id in way.amps_a
        }
        return demands, reasons

    def _first(self, wire_id: str, area_mm2: float) -> int:
        sizes = self.sizes[wire_id]
        return next((k for k, s in enumerate(sizes) if s.area_mm2 >= area_mm2), len(sizes) - 1)

    def drop_v(self, way: Way, step: Mapping[str, int] | None = None) -> float:
        """Drop of one amplifier with the sizes as they stand [V]."""
        at = self.step if step is None else step
        return way.fixed_v + sum(amps * self._ohm(w, at[w]) for w, amps in way.amps_a.items())

    def _ohm(self, wire_id: str, k: int) -> float:
        wire = self.open[wire_id]
        row = self.sizes[wire_id][k]
        cold = conductors.resistance_mohm_per_m(row.area_mm2, wire.metal, 20.0, row.system)
        return cold * wire.length_mm / 1e6 * self._warm.get(wire_id, 1.0)

    def _warmth(self, currents: Currents) -> dict[str, float]:
        """Warm over cold resistance of each open wire, as last solved."""
        warm = dict.fromkeys(self.open, 1.0 + conductors.ALPHA20 * (GUESS_C - 20.0))
        for worst in currents.drops.values():
            for wire_id, wire in self.open.items():
                row = self.plan.sizes.get(wire_id)
                if row is None or wire.length_mm <= 0:
                    continue
                cold = conductors.resistance_mohm_per_m(row.area_mm2, wire.metal, 20.0, row.system)
                warm[wire_id] = worst.ohm[wire_id] / (cold * wire.length_mm / 1e6)
        return warm

    def _returns_of(self) -> dict[str, tuple[str, ...]]:
        """Open feed -> open returns that must be at least as heavy."""
        below = self.plan.guards.below
        sets = {w: below.wire(w) for w in self.open}
        found: dict[str, tuple[str, ...]] = {}
        for feed, wire in self.open.items():
            mine = sets[feed]
            if wire.kind == "power" and mine:
                found[feed] = tuple(
                    r for r, back in self.open.items() if back.kind == "ground" and (s := sets[r]) and mine <= s
                )
        return found

    def _aim_v(self, way: Way) -> float:
        """What one amplifier's drop is brought down to [V].

        The limit where the largest sizes reach it. Where they miss it by little, most of what they gain. Where they
        miss it by far, nothing: then the open wires are not the cause.
        """
        best = self.drop_v(way, self.top)
        if best <= self.limit_v * SPARE:
            return self.limit_v * SPARE
        if best <= self.limit_v * NEAR:
            return best + (1.0 - MOST) * max(self.drop_v(way) - best, 0.0)
        return inf

    def _missed(self) -> dict[str, str]:
        """Amplifiers whose drop stays over the limit, and why."""
        missed: dict[str, str] = {}
        for way in self.ways:
            best = self.drop_v(way, self.top)
            if best > self.limit_v * SPARE:
                missed[way.amplifier] = (
                    f"drop of {way.amplifier} at loud is {volts(self.drop_v(way))} of {volts(self.limit_v)}, with the "
                    f"largest sizes {volts(best)}"
                )
        return missed

    def _raised(self, wire_id: str) -> dict[str, int] | None:
        """Steps after raising one wire, the returns that must follow included; None at the end of the list."""
        k = self.step[wire_id] + 1
        if k > self.top[wire_id]:
            return None
        moved = {wire_id: k}
        need = self._copper(wire_id, k)
        for back in self._returns.get(wire_id, ()):
            k = self.step[back]
            while k + 1 < len(self.sizes[back]) and self._copper(back, k) * conductors.SAME_SIZE < need:
                k += 1
            if k != self.step[back]:
                moved[back] = k
        return moved

    def _top(self, wire_id: str) -> int:
        """The largest step: a feed grows no further than its returns can follow."""
        k = len(self.sizes[wire_id]) - 1
        backs = self._returns.get(wire_id, ())
        most = min((self._copper(back, len(self.sizes[back]) - 1) for back in backs), default=inf)
        while k > self.base[wire_id] and self._copper(wire_id, k) > most * conductors.SAME_SIZE:
            k -= 1
        return k

    def _copper(self, wire_id: str, k: int) -> float:
        return self.sizes[wire_id][k].area_mm2 * min(1.0, conductors.conductivity(self.open[wire_id].metal))

    def _raise_best(self, late: list[Way]) -> bool:
        """Raise the wire that takes most volts off for the copper it costs; False if none can be raised."""
        best: tuple[float, str, dict[str, int]] | None = None
        for wire_id in sorted({w for way in late for w in way.amps_a}):
            moved = self._raised(wire_id)
            if moved is None:
                continue
            gain = sum(
                amps * (self._ohm(w, self.step[w]) - self._ohm(w, moved[w]))
                for way in late
                for w, amps in way.amps_a.items()
                if w in moved
            )
            cost = sum(
                (self.sizes[w][k].area_mm2 - self.sizes[w][self.step[w]].area_mm2) * max(self.open[w].length_mm, 1.0)
                for w, k in moved.items()
            )
            if gain > 0 and (best is None or gain / cost > best[0]):
                best = (gain / cost, wire_id, moved)
        if best is None:
            return False
        self.step.update(best[2])
        return True

    def _trim(self, aims: Mapping[str, float]) -> None:
        """Take back what is not needed: the greedy way up may overshoot."""
        spared = True
        while spared:
            spared = False
            order = sorted(self.step, key=lambda w: (-self._saving(w), w))
            for wire_id in order:
                k = self.step[wire_id] - 1
                if k < self.start[wire_id] or not self._heavy_enough(wire_id, k):
                    continue
                trial = {**self.step, wire_id: k}
                using = [w for w in self.ways if wire_id in w.amps_a]
                if all(self.drop_v(w, trial) <= aims[w.amplifier] for w in using):
                    self.step = trial
                    spared = True

    def _saving(self, wire_id: str) -> float:
        k = self.step[wire_id]
        lower = self.sizes[wire_id][max(k - 1, 0)].area_mm2
        return (self.sizes[wire_id][k].area_mm2 - lower) * self.open[wire_id].length_mm

    def _heavy_enough(self, wire_id: str, k: int) -> bool:
        return all(
            self._copper(wire_id, k) * conductors.SAME_SIZE >= self._copper(feed, self.step[feed])
            for feed, backs in self._returns.items()
            if wire_id in backs
        )


def ways(plan: Plan, currents: Currents) -> list[Way]:
    """Feed and return of each amplifier; solved drops where there are any, else a guess."""
    graph = plan.graph
    open_ids = {w.id for w in plan.open_wires}
    found: list[Way] = []
    for item in plan.rig.family("amplifier"):
        worst = currents.drops.get(item.id)
        battery = worst.battery if worst is not None else _nearest_battery(plan, item.id)
        if battery is None:
            continue
        wires = [
            graph.links[k].ref
            for post, node in (("plus", graph.supply_node(item.id)), ("minus", graph.return_node(item.id)))
            for k in way_back(graph, from_battery(measured(plan.rig), battery, post), node)
            if graph.links[k].kind == "wire"
        ]
        mine = [w for w in wires if w in open_ids]
        if worst is not None:
            amps = {w: worst.amps_a[w] for w in mine}
            fixed = worst.drop_v - sum(a * worst.ohm[w] for w, a in amps.items())
        else:
            amps = {w: currents.wires.get(w, 0.0) for w in mine}
            fixed = GUESS_FIXED * plan.rig.limits.drop_v + sum(
                currents.wires.get(w, 0.0) * _given_ohm(plan.rig.wire(w)) for w in wires if w not in open_ids
            )
        found.append(Way(item.id, amps, fixed))
    return found


def _given_ohm(wire: Wire) -> float:
    if wire.size is None or is_bolted(wire):
        return 0.0
    if wire.measured_mohm is not None:
        return wire.measured_mohm / 1000.0
    cold = conductors.resistance_mohm_per_m(wire.size.area_mm2, wire.metal, GUESS_C, wire.size.system)
    return cold * wire.length_mm / 1e6


def _nearest_battery(plan: Plan, item_id: str) -> str | None:
    """The battery whose post is nearest along the conductor; None where no battery feeds the item."""
    node = plan.graph.supply_node(item_id)
    reached: list[tuple[float, str]] = []
    for battery in plan.rig.family("battery"):
        best = from_battery(measured(plan.rig), battery.id)
        if node in best:
            reached.append((best[node][0], battery.id))
    return min(reached)[1] if reached else None
