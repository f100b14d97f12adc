"""Speaker wire: what it takes from each driver, what damping it leaves, and which size would do.

Loss and damping are those of the metal between a channel and a driver: wires, joints, contacts, splices, out and back,
shared pieces by what flows in them. Reckoned at the driver's nominal impedance, in the middle of its passband.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.facts import conductors, loudspeakers
from loomwright.protection.leads import SPEAKER_LEAST_MM2, loss_db
from loomwright.rig.model import Rig, Wire
from loomwright.sound import netlist
from loomwright.sound.circuit import LEAST_OHM, Branch, solve
from loomwright.sound.frequencies import Floats
from loomwright.sound.loads import branches
from loomwright.sound.netlist import Limb, Wiring
from loomwright.sound.results import ChannelLoad, DriverLoad, LoadStudy

MUCH = 2.0
"""Copper is more than useful from this many times the area that would do."""


@dataclass(frozen=True, slots=True)
class DriverLead:
    """The metal between a channel and one driver."""

    driver: str
    channel: str                   # "amp.ch1"
    wires: tuple[str, ...]         # those that carry its current, in the order of the file
    length_mm: float               # of conductor, out and back
    loop_ohm: float                # wires, joints and contacts, as the driver feels them
    nominal_ohm: float
    loss_db: float                 # above 0
    damping: float                 # nominal impedance over loop_ohm: the most that the wire allows
    enough: str | None             # smallest size of its wires that keeps the loss unheard; None: none does
    thicker_than_useful: bool


def damping_factor(loop_ohm: float, load_ohm: float) -> float:
    """Load over what lies in series with it: the most damping that a lead allows."""
    return load_ohm / loop_ohm if loop_ohm > 0.0 else float("inf")


def speaker_leads(rig: Rig, loads: LoadStudy) -> tuple[DriverLead, ...]:
    """The lead of every driver that a channel reaches, channel by channel."""
    wirings = {w.outlet.plus: w for w in netlist.wirings(rig)}
    return tuple(
        lead
        for load in loads.channels
        for driver in load.drivers.values()
        if (lead := _lead(rig, wirings[load.plus], load, driver)) is not None
    )


def _lead(rig: Rig, wiring: Wiring, load: ChannelLoad, driver: DriverLoad) -> DriverLead | None:
    at = int(np.argmax(np.abs(driver.textbook)))
    at_hz = load.frequency_hz[at : at + 1]
    ideal = _share(wiring, wiring.limbs, driver.item, at_hz, metal=False)
    real = _share(wiring, wiring.limbs, driver.item, at_hz)
    if ideal < 1e-6 or real < 1e-6:
        return None
    wires = [w for w in rig.wires if w.id in load.wires and _carries(load, w.id, driver, at)]
    loop_ohm = driver.nominal_ohm * max(0.0, ideal / real - 1.0)
    bare = _share(wiring, _wires_at(wiring.limbs, {}), driver.item, at_hz)
    fixed_ohm = driver.nominal_ohm * max(0.0, ideal / bare - 1.0)
    one = {w.id: _one_mm2_ohm(rig, w) for w in wires}
    thin = _share(wiring, _wires_at(wiring.limbs, one), driver.item, at_hz)
    mm2_ohm = driver.nominal_ohm * (ideal / thin - 1.0) - fixed_ohm
    size = _enough(wires, fixed_ohm, mm2_ohm, driver.nominal_ohm)
    loss = loss_db(loop_ohm, driver.nominal_ohm)
    least = max(SPEAKER_LEAST_MM2, 0.0 if size is None else size.area_mm2)
    areas = [w.size.area_mm2 for w in wires if w.size is not None and w.size.system != "bolted"]
    return DriverLead(
        driver=driver.item,
        channel=load.name,
        wires=tuple(w.id for w in wires),
        length_mm=sum(w.length_mm for w in wires),
        loop_ohm=loop_ohm,
        nominal_ohm=driver.nominal_ohm,
        loss_db=loss,
        damping=damping_factor(loop_ohm, driver.nominal_ohm),
        enough=None if size is None else size.label,
        thicker_than_useful=bool(areas) and loss < loudspeakers.useless_loss_db() and min(areas) > MUCH * least,
    )


def _share(wiring: Wiring, limbs: Sequence[Limb], driver: str, at_hz: Floats, *, metal: bool = True) -> float:
    """Share of the channel's volts at a driver, every driver at its nominal impedance, with or without the metal."""
    ohm = {x.id: max(x.ohm, LEAST_OHM) for x in limbs if x.joins and metal}
    found = [
        Branch(b.id, b.a, b.b, np.full(1, 1.0 / ohm[b.id], dtype=np.complex128)) if b.id in ohm else b
        for b in branches(limbs, at_hz, None)
    ]
    limb = next(x for x in limbs if x.kind == "driver" and x.ref == driver)
    volts = solve(found, wiring.outlet.plus, wiring.outlet.minus, (limb.a, limb.b)).across(limb.a, limb.b)
    return 0.0 if volts is None else float(np.abs(volts[0]))


def _wires_at(limbs: Sequence[Limb], ohm: Mapping[str, float]) -> tuple[Limb, ...]:
    """The limbs with these wires at these resistances, and every other wire at none."""
    return tuple(replace(x, ohm=ohm.get(x.ref, 0.0)) if x.kind == "wire" else x for x in limbs)


def _carries(load: ChannelLoad, wire: str, driver: DriverLoad, at: int) -> bool:
    """Whether the driver's current flows in a wire: where at least as much flows in it as in the driver."""
    own = abs(driver.transfer[at] / driver.impedance_ohm[at])
    return bool(abs(load.wires[wire].amps[at]) > 0.5 * own)


def _one_mm2_ohm(rig: Rig, wire: Wire) -> float:
    per_m = conductors.resistance_mohm_per_m(1.0, wire.metal, rig.wire_temperature_c(wire))
    return per_m * wire.length_mm / 1e6


def _enough(
    wires: Sequence[Wire], fixed_ohm: float, mm2_ohm: float, load_ohm: float
) -> conductors.SizeRow | None:
    """The smallest size, in the system that the wires have, that keeps the loss under what is heard."""
    systems = {w.size.system for w in wires if w.size is not None} - {"bolted"}
    system = "AWG" if "AWG" in systems or not systems else sorted(systems)[0]
    for row in conductors.sizes(system):
        fits = row.area_mm2 >= SPEAKER_LEAST_MM2
        if fits and loss_db(fixed_ohm + mm2_ohm / row.area_mm2, load_ohm) < loudspeakers.unheard_loss_db():
            return row
    return None
