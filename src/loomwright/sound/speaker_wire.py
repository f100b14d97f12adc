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

LEAST_SHARE = 1e-3
"""A driver that gets less of the channel's volts than this has no lead to speak of."""
CARRIES = 0.3
"""A wire belongs to a driver's lead where at least this share of the driver's current runs in it."""
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
    return tuple(lead for load in loads.channels for lead in _leads(rig, wirings[load.plus], load))


def _leads(rig: Rig, wiring: Wiring, load: ChannelLoad) -> list[DriverLead]:
    """Leads on one channel.

    A small resistance in a wire takes from a driver what flows in the wire for each ampere of the driver, times the
    share of the driver's own current that returns by it.
    """
    heard = [d for d in load.drivers.values() if float(np.max(np.abs(d.textbook))) > LEAST_SHARE]
    if not heard or load.short:
        return []
    at_hz = load.frequency_hz[[int(np.argmax(np.abs(d.textbook))) for d in heard]]
    parts = _branches(wiring.limbs, at_hz)
    driven = solve(parts, wiring.outlet.plus, wiring.outlet.minus)
    found = []
    for k, driver in enumerate(heard):
        own = next(x for x in wiring.limbs if x.kind == "driver" and x.ref == driver.item)
        volts = driven.across(own.a, own.b)
        returns = _returns(wiring, own, [replace(p, siemens=p.siemens[k : k + 1]) for p in parts])
        if volts is None or not returns:
            continue
        amps = float(abs(volts[k])) / own.ohm
        weights = {}
        for limb in wiring.limbs:
            across = driven.across(limb.a, limb.b) if limb.id in returns else None
            if across is not None:
                weights[limb.id] = float(abs(across[k])) / max(limb.ohm, LEAST_OHM) / amps * returns[limb.id]
        found.append(_lead(rig, wiring, load, driver, weights, returns))
    return found


def _lead(
    rig: Rig,
    wiring: Wiring,
    load: ChannelLoad,
    driver: DriverLoad,
    weights: Mapping[str, float],
    returns: Mapping[str, float],
) -> DriverLead:
    loop_ohm = sum(x.ohm * weights[x.id] for x in wiring.limbs if x.id in weights)
    wires = [w for w in rig.wires if returns.get(f"wire:{w.id}", 0.0) > CARRIES]
    copper_ohm = sum((netlist.wire_ohm(rig, w) - netlist.joints_ohm(w)) * weights[f"wire:{w.id}"] for w in wires)
    mm2_ohm = sum(_one_mm2_ohm(rig, w) * weights[f"wire:{w.id}"] for w in wires)
    size = _enough(wires, loop_ohm - copper_ohm, mm2_ohm, driver.nominal_ohm)
    loss = loss_db(loop_ohm, driver.nominal_ohm)
    least = max(SPEAKER_LEAST_MM2, 0.0 if size is None else size.area_mm2)
    areas = [w.size.area_mm2 for w in wires if w.size is not None]
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


def _returns(wiring: Wiring, own: Limb, parts: Sequence[Branch]) -> dict[str, float]:
    """Share of a driver's current that comes back by each metal limb, the channel being a closed path to it."""
    closed = Branch("", wiring.outlet.plus, wiring.outlet.minus, np.full(1, 1.0 / LEAST_OHM, dtype=np.complex128))
    solved = solve([*(p for p in parts if p.id != own.id), closed], own.a, own.b)
    if solved.impedance_ohm is None:
        return {}
    total = float(abs(1.0 / solved.impedance_ohm[0]))
    found = {}
    for limb in wiring.limbs:
        volts = solved.across(limb.a, limb.b) if limb.joins else None
        if volts is not None:
            found[limb.id] = float(abs(volts[0])) / max(limb.ohm, LEAST_OHM) / total
    return found


def _branches(limbs: Sequence[Limb], at_hz: Floats) -> list[Branch]:
    """The wiring with nominal drivers and ideal parts, metal a plain resistance, (F,)."""
    metal = {x.id: np.full(len(at_hz), 1.0 / max(x.ohm, LEAST_OHM), dtype=np.complex128) for x in limbs if x.joins}
    rest = branches([x for x in limbs if not x.joins], at_hz, None)
    return [*(Branch(x.id, x.a, x.b, metal[x.id]) for x in limbs if x.joins), *rest]


def _one_mm2_ohm(rig: Rig, wire: Wire) -> float:
    per_m = conductors.resistance_mohm_per_m(1.0, wire.metal, rig.wire_temperature_c(wire))
    return per_m * wire.length_mm / 1e6


def _enough(
    wires: Sequence[Wire], fixed_ohm: float, mm2_ohm: float, load_ohm: float
) -> conductors.SizeRow | None:
    """The smallest size, in the system that the wires have, that keeps the loss under what is heard."""
    systems = {w.size.system for w in wires if w.size is not None}
    system = "AWG" if "AWG" in systems or not systems else sorted(systems)[0]
    for row in conductors.sizes(system):
        fits = row.area_mm2 >= SPEAKER_LEAST_MM2
        if fits and loss_db(fixed_ohm + mm2_ohm / row.area_mm2, load_ohm) < loudspeakers.unheard_loss_db():
            return row
    return None
