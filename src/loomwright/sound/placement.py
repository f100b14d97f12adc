"""Where along the harness a passive crossover can go: at the amplifier, in the run, or at the driver.

It must lie where the lead carries one driver's current only; parts that lie across need both conductors in one place. A
dry, cool place that stays on the vehicle comes first; among equals, nearer the amplifier, where it can be got at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from loomwright.rig.model import Rig
from loomwright.sound import netlist
from loomwright.sound.netlist import Limb

Where = Literal["at the amplifier", "in the run", "at the driver"]
WARM_C = 60.0
"""Electrolytic capacitors age fast above this (common practice)."""


@dataclass(frozen=True, slots=True)
class Spot:
    """One place for a crossover, best first in a list."""

    where: Where
    item: str                      # whose terminal it goes in front of, on the amplifier's side
    place: str
    wires: tuple[str, ...]         # wires of the plus lead that then lie behind it
    both_leads: bool               # whether the minus lead can be got at here
    against: tuple[str, ...]       # what speaks against it


def spots(rig: Rig, driver: str, *, across: bool = False) -> tuple[Spot, ...]:
    """Places for a crossover before a driver, best first; ``across`` asks for those with both leads.

    Empty where no channel reaches the driver.
    """
    for wiring in netlist.wirings(rig):
        if any(x.kind == "driver" and x.ref == driver for x in wiring.limbs):
            ends = (wiring.outlet.plus, wiring.outlet.minus)
            plus = _walk(wiring.limbs, f"{driver}.+", driver, ends)
            minus = _walk(wiring.limbs, f"{driver}.-", driver, ends)
            beside = {rig.items[i].place for i, _ in minus}
            found = [_spot(rig, wiring.outlet.item, driver, item, wires, beside) for item, wires in plus]
            order = {id(s): k for k, s in enumerate(reversed(found))}
            usable = [s for s in found if s.both_leads or not across]
            return tuple(sorted(usable, key=lambda s: (len(s.against), order[id(s)])))
    return ()


def _walk(
    limbs: Sequence[Limb], start: str, driver: str, ends: tuple[str, str]
) -> list[tuple[str, tuple[str, ...]]]:
    """Items along one lead from the driver back, as far as it carries nothing else; each with the wires behind it."""
    found: list[tuple[str, tuple[str, ...]]] = [(driver, ())]
    node, seen = start, {f"driver:{driver}"}
    wires: tuple[str, ...] = ()
    while node not in ends:
        onward = [x for x in limbs if node in (x.a, x.b) and x.id not in seen]
        if len(onward) != 1 or not onward[0].joins:
            break
        limb = onward[0]
        seen.add(limb.id)
        node = limb.b if limb.a == node else limb.a
        if limb.kind == "wire":
            wires = (*wires, limb.ref)
            found.append((node.partition(".")[0], wires))
    return found


def _spot(
    rig: Rig, amplifier: str, driver: str, item: str, wires: tuple[str, ...], beside: set[str]
) -> Spot:
    place = rig.places[rig.items[item].place]
    against = []
    if place.wet:
        against.append("it gets wet there")
    if place.engine_space:
        against.append("it lies in the engine space")
    if place.comes_off or rig.items[item].comes_off:
        against.append("it comes off the vehicle")
    if place.temperature_c > WARM_C:
        against.append(f"it is {place.temperature_c:g} C there")
    where: Where = "at the driver" if item == driver else "at the amplifier" if item == amplifier else "in the run"
    return Spot(where, item, place.id, wires, place.id in beside, tuple(against))
