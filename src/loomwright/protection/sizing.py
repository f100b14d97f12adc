"""Settle every "auto": the smallest sizes and ratings that meet volts, ampacity, derating and selectivity.

The demands, in words:

- a device is rated at least 1.25 x the steady current, counted at the temperature of its place, at least as high as
  every device that follows it (an amplifier's own fuses together), and no higher than every wire it guards may carry;
- above other devices it is raised until its melting I2t is twice theirs, where the holder and the wires let it;
- a wire may carry, derated for the hottest place on its way and for its bundle, at least the rating of its device and
  its steady current, and is no thinner than 16 AWG (18 AWG for a remote wire);
- a return is at least as heavy as the feeds whose current it brings back;
- from battery to amplifier, both ways, no more than the rig's drop limit is lost at `loud`; copper is added where it
  gains most;
- nothing is larger than its terminals take.
"""

from __future__ import annotations

from dataclasses import replace

from loomwright.protection import drops, gauges, leads, ratings
from loomwright.protection.currents import Currents, estimated, solved
from loomwright.protection.gauges import Demand, Gauge
from loomwright.protection.plan import Plan, wire_size
from loomwright.protection.results import Choice
from loomwright.rig.model import Rig
from loomwright.rig.once import once
from loomwright.rig.shape import supply_part

ROUNDS = 6
FREE_ROUNDS = 3
"""After so many rounds nothing is made smaller any more, so that a choice cannot swing to and fro."""


def settle(rig: Rig) -> tuple[Rig, tuple[Choice, ...]]:
    """The rig with every open size and rating chosen, and each choice with its reason.

    Where nothing on the list meets every demand, the nearest is taken and the choice says so (``met`` is False).
    A rig without "auto" comes back as it is.
    """
    lead_gauges = leads.choose(rig, Plan(rig).system)
    if lead_gauges:
        wires = tuple(
            replace(w, size=wire_size(lead_gauges[w.id].size)) if w.id in lead_gauges else w for w in rig.wires
        )
        rig = replace(rig, wires=wires)
    plan = Plan(rig)
    choices = list(gauges.choices(lead_gauges))
    if plan.open_wires or plan.open_ways:
        chosen, made = _settle_supply(supply_part(rig))
        choices.extend(chosen)
        rig = replace(
            rig,
            wires=tuple(w if w.size is not None else replace(w, size=made.wire(w.id).size) for w in rig.wires),
            items={
                i: replace(item, fuses_a=made.items[i].fuses_a) if "auto" in item.fuses_a else item
                for i, item in rig.items.items()
            },
        )
    return rig, tuple(sorted(choices, key=lambda c: c.where))


@once
def _settle_supply(rig: Rig) -> tuple[tuple[Choice, ...], Rig]:
    """The choices, and the supply with everything chosen written in."""
    plan, made = Plan(rig), None
    currents = estimated(plan.rig, plan.graph, plan.guards.below)
    held: dict[str, float] = {}
    before: tuple[object, ...] = ()
    found: dict[str, Gauge] = {}
    rated: dict[str, ratings.Rating] = {}
    for turn in range(ROUNDS):
        rated = ratings.choose(plan, currents)
        floors, missed = _drop_floors(plan, currents, held)
        found = gauges.choose(plan, currents, floors, missed)
        if turn >= FREE_ROUNDS:
            held = {w: plan.sizes[w].area_mm2 for w in plan.sizes}
        now = (dict(plan.ratings), dict(plan.sizes))
        if now == before and made is not None:
            break  # the rig that was solved last stands, and what was solved stands with it
        before, made = now, plan.made()
        if turn + 1 < ROUNDS:
            currents = _better(solved(made), currents)
    assert made is not None
    return (*ratings.choices(rated), *gauges.choices(found)), made


def _drop_floors(plan: Plan, currents: Currents, held: dict[str, float]) -> tuple[dict[str, Demand], dict[str, str]]:
    """What the drop limit asks, starting from the sizes that the other demands ask for."""
    standing = dict(plan.sizes)
    base = {w: g.size.area_mm2 for w, g in gauges.choose(plan, currents, {}, {}).items()}
    plan.sizes.update(standing)
    return drops.Drops(plan, currents, base, held).floors()


def _better(new: Currents, old: Currents) -> Currents:
    """Solved currents; where a case had no operating point, not less than the estimate says."""
    if new.solved:
        return new
    wires = {w: max(a, old.wires.get(w, 0.0)) for w, a in new.wires.items()}
    devices = {d: max(a, old.devices.get(d, 0.0)) for d, a in new.devices.items()}
    return Currents(wires, devices, {}, solved=False)
