"""State of charge over a timeline of engine and programme, and when the engine will no longer crank."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

import numpy as np

from loomwright.power.circuit import Circuit, Drive, Floats, reduce
from loomwright.power.drive import UNLIMITED_A, drive
from loomwright.power.network import Network, build, reference_battery
from loomwright.power.results import Session
from loomwright.power.solver import Solution, emf_current, solve
from loomwright.power.sources import battery_line
from loomwright.rig.model import BatterySpec, EngineState, Item, Programme, Rig

LONGEST_STEP_H = 0.25
SHORTEST_STEP_H = 1 / 60
STEP_PCT = 3.0
"""A step lasts until some battery has gained or lost this much."""
HORIZON_H = 8.0
CHARGE_EFFICIENCY = {"agm": 0.95, "flooded": 0.85, "gel": 0.95, "lfp": 0.99}
"""Ampere-hours stored per ampere-hour given (from memory)."""


def sessions(rig: Rig) -> tuple[Session, ...]:
    """The owner's own session first, then music with the engine off and at idle where those differ from it."""
    if not rig.family("battery"):
        return ()
    wanted: list[tuple[EngineState, Programme]] = [(rig.limits.session_engine, rig.limits.session_programme)]
    for other in (("off", "music"), ("idle", "music")):
        if other not in wanted:
            wanted.append(other)  # type: ignore[arg-type]
    return tuple(session(rig, engine, programme) for engine, programme in wanted)


def session(rig: Rig, engine: EngineState, programme: Programme, horizon_h: float = HORIZON_H) -> Session:
    """Follow every battery's charge with one engine state and one programme from now to the horizon."""
    return timeline(rig, ((engine, programme, horizon_h),))


def timeline(rig: Rig, parts: Sequence[tuple[EngineState, Programme, float]]) -> Session:
    """Follow every battery's charge through parts of (engine, programme, hours), one after the other.

    Steps of one to fifteen minutes, none longer than 3 % of a battery's charge; in each the network is solved with the EMF and resistance of that moment. Discharge above the
    20 h rate counts for more by Peukert's exponent; charge is stored at the efficiency of the chemistry.
    An amplifier that falls below its least volts lets go (it does not pull the battery flat for ever).
    """
    batteries = [rig.items[b.id] for b in rig.family("battery")]
    charge = {b.id: b.charge_pct for b in batteries}
    times, now = [0.0], 0.0
    levels: dict[str, list[float]] = {b.id: [b.charge_pct] for b in batteries}
    volts: dict[str, list[float]] = {b.id: [] for b in batteries}
    crank = [_crank_v(rig, charge)]
    network: Network | None = None
    for engine, programme, hours in parts:
        if network is None or network.engine != engine:
            network = build(rig, engine)
        start: Floats | None = None
        end = now + hours
        while now < end - 1e-9:
            circuit, work = _moment(network, programme, charge)
            reduced = reduce(circuit)
            s = solve(circuit, work, reduced, start)
            if not s.found.all():
                s = solve(circuit, work, reduced)
            start = s.port_v if s.found.all() else None
            given = _given_a(network, circuit, work, s)
            for b in batteries:
                if len(volts[b.id]) < len(times):
                    plus, minus = network.index[f"{b.id}.plus"], network.index[f"{b.id}.minus"]
                    volts[b.id].append(float(s.node_v[0, plus] - s.node_v[0, minus]))
            rates = {b.id: _pct_per_h(b, given[b.id]) for b in batteries}
            fastest = max(max(abs(r) for r in rates.values()), 1e-9)
            step = min(max(min(STEP_PCT / fastest, LONGEST_STEP_H), SHORTEST_STEP_H), end - now)
            for b in batteries:
                charge[b.id] = min(max(charge[b.id] + rates[b.id] * step, 0.0), 100.0)
            now += step
            times.append(now)
            for b in batteries:
                levels[b.id].append(charge[b.id])
            crank.append(_crank_v(rig, charge))
    for b in batteries:
        volts[b.id].append(volts[b.id][-1])
    return Session(
        engine=parts[0][0],
        programme=parts[0][1],
        time_h=tuple(times),
        charge_pct={k: tuple(v) for k, v in levels.items()},
        volts_v={k: tuple(v) for k, v in volts.items()},
        crank_v=tuple(crank),
        hours_to_no_crank_h=_first_below(times, crank, rig.vehicle.crank_min_v),
        horizon_h=now,
    )


def _moment(network: Network, programme: Programme, charge_pct: dict[str, float]) -> tuple[Circuit, Drive]:
    """Circuit and drive with the batteries as they are now."""
    rig = network.rig
    work = drive(
        network, (programme,), charge_pct={k: np.array([v]) for k, v in charge_pct.items()}, brown_out=True
    )
    ohm = np.empty(len(network.batteries))
    siemens = network.circuit.source_siemens.copy()
    for k, name in enumerate(network.batteries):
        item = rig.items[name]
        spec = item.part.spec
        assert isinstance(spec, BatterySpec)
        line = battery_line(spec, charge_pct[name], rig.places[item.place].temperature_c, item.resistance_factor)
        ohm[k] = line.charge_ohm
        slot = next(i for i, p in enumerate(network.sources) if p.role == "battery" and p.item == name)
        siemens[slot] = max(1.0 / line.discharge_ohm - 1.0 / line.charge_ohm, 1e-6)
        work.source_limit_a[0, slot] = UNLIMITED_A if charge_pct[name] > 0.0 else 0.0
    c = network.circuit
    return (
        Circuit(
            c.nodes, c.branch_a, c.branch_b, c.branch_ohm, c.emf_a, c.emf_b, ohm, c.load_a, c.load_b, c.source_a,
            c.source_b, siemens, c.converter_a, c.converter_b, c.converter_output, c.converter_efficiency,
        ),
        work,
    )


def _given_a(network: Network, circuit: Circuit, work: Drive, solution: Solution) -> dict[str, float]:
    """Amperes that each battery gives, negative when it takes."""
    linear = np.nan_to_num(emf_current(circuit, work, solution)[0])
    ports = np.nan_to_num(solution.port_a[0])
    given = {name: float(linear[k]) for k, name in enumerate(network.batteries)}
    for k, port in enumerate(network.sources):
        if port.role == "battery":
            given[port.item] -= float(ports[len(network.loads) + k])
    return given


def _pct_per_h(battery: Item, out_a: float) -> float:
    """How fast a battery's charge rises while it gives ``out_a`` (negative: takes) [%/h]."""
    spec = battery.part.spec
    assert isinstance(spec, BatterySpec)
    if out_a > 0:
        rate = spec.capacity_ah / 20.0
        effective = out_a * max(out_a / rate, 1.0) ** (spec.peukert - 1.0)
    else:
        effective = out_a * CHARGE_EFFICIENCY[spec.chemistry]
    return -100.0 * effective / spec.capacity_ah


def _crank_v(rig: Rig, charge_pct: dict[str, float]) -> float:
    """Volts at the starting battery, were the starter pulled now."""
    name = reference_battery(rig)
    if name is None:
        return 0.0
    item = rig.items[name]
    spec = item.part.spec
    assert isinstance(spec, BatterySpec)
    if charge_pct[name] <= 0.0:
        return 0.0
    line = battery_line(spec, charge_pct[name], rig.places[item.place].temperature_c, item.resistance_factor)
    return line.emf_v - line.discharge_ohm * rig.vehicle.crank_a


def _first_below(times: list[float], values: list[float], limit: float) -> float:
    """When a falling line first crosses a limit, by straight lines [h]; inf if never."""
    if values[0] < limit:
        return 0.0
    for (t0, v0), (t1, v1) in zip(
        zip(times, values, strict=True), zip(times[1:], values[1:], strict=True), strict=False
    ):
        if v1 < limit:
            return t0 + (t1 - t0) * (v0 - limit) / (v0 - v1)
    return inf
