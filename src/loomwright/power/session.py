"""State of charge over a timeline of engine and programme, and when the engine will no longer crank."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf

import numpy as np

from loomwright.facts import assumptions
from loomwright.power.balance import solved
from loomwright.power.circuit import Circuit, Drive, Floats, reduce, with_emf_ohm
from loomwright.power.converters import running
from loomwright.power.drive import UNLIMITED_A, drive
from loomwright.power.given import battery_given_a
from loomwright.power.network import Network, build, reference_battery
from loomwright.power.results import Session
from loomwright.power.sources import battery_line
from loomwright.rig.model import BatterySpec, EngineState, Item, Programme, Rig

LONGEST_STEP_H = 0.5
SHORTEST_STEP_H = 1 / 60
STEP_PCT = 5.0
"""A step lasts until some battery has gained or lost this much."""
HORIZON_H = 8.0


LEFT_ON: tuple[EngineState, Programme] = ("off", "quiet")
"""What a remote left on comes to: everything awake, next to nothing playing, engine off."""
Part = tuple[EngineState, Programme, float]


def sessions(rig: Rig) -> tuple[Session, ...]:
    """The owner's own session first, then music with the engine off and at idle, and a system left on in silence."""
    if not rig.family("battery"):
        return ()
    wanted: list[tuple[EngineState, Programme]] = [(rig.limits.session_engine, rig.limits.session_programme)]
    others: tuple[tuple[EngineState, Programme], ...] = (("off", "music"), ("idle", "music"), LEFT_ON)
    wanted += [o for o in others if o not in wanted]
    return timelines(rig, [((engine, programme, HORIZON_H),) for engine, programme in wanted])


def timelines(rig: Rig, lines: Sequence[Sequence[Part]]) -> tuple[Session, ...]:
    """Follow every battery's charge along several timelines of (engine, programme, hours), all in step.

    Steps of one to thirty minutes, none longer than 5 % of a battery's charge; in each the network is solved with the
    EMF and resistance of that moment. Discharge above the 20 h rate counts for more by Peukert's
    exponent; charge is stored at the efficiency of the chemistry. An amplifier below its least volts lets go.
    """
    network = build(rig)
    batteries = [rig.items[b] for b in network.batteries]
    n = len(lines)
    ends = [np.cumsum([hours for _, _, hours in line]) for line in lines]
    total = max(float(e[-1]) for e in ends)
    charge = np.array([[b.charge_pct for b in batteries]] * n)
    now, times, levels = 0.0, [0.0], [charge.copy()]
    volts: list[Floats] = []
    crank = [[_crank_v(rig, network, row) for row in charge]]
    start: Floats | None = None
    before: tuple[tuple[EngineState, Programme], ...] = ()
    while True:
        cases = tuple(_part(line, end, now) for line, end in zip(lines, ends, strict=True))
        if cases != before:
            still = network.circuit_for([engine for engine, _ in cases])
            plain = running(network, still, drive(network, cases, brown_out=True))
            whole = reduce(still)
        circuit, work = _moment(network, still, plain, charge)
        reduced = with_emf_ohm(still, whole, circuit.emf_ohm)
        s = solved(circuit, work, reduced, start if cases == before else None)
        if not s.found.all():
            s = solved(circuit, work, reduced)
        start, before = (s.port_v if s.found.all() else None), cases
        volts.append(s.node_v[:, circuit.emf_a] - s.node_v[:, circuit.emf_b])
        if now >= total - 1e-9:
            break
        given = np.nan_to_num(battery_given_a(network, circuit, work, s))
        rates = np.array([[_pct_per_h(b, g) for b, g in zip(batteries, row, strict=True)] for row in given])
        step = min(max(STEP_PCT / max(float(np.abs(rates).max()), 1e-9), SHORTEST_STEP_H), LONGEST_STEP_H)
        step = min(step, *(float(e) - now for end in ends for e in end if e > now + 1e-9))
        charge = np.clip(charge + rates * step, 0.0, 100.0)
        now += step
        times.append(now)
        levels.append(charge.copy())
        crank.append([_crank_v(rig, network, row) for row in charge])
    return tuple(
        _session(rig, network, line, float(ends[k][-1]), times, k, levels, volts, crank) for k, line in enumerate(lines)
    )


def _session(
    rig: Rig,
    network: Network,
    line: Sequence[Part],
    end_h: float,
    times: list[float],
    k: int,
    levels: list[Floats],
    volts: list[Floats],
    crank: list[list[float]],
) -> Session:
    keep = [i for i, t in enumerate(times) if t <= end_h + 1e-9]
    hours = [times[i] for i in keep]
    cranks = [crank[i][k] for i in keep]
    return Session(
        engine=line[0][0],
        programme=line[0][1],
        time_h=tuple(hours),
        charge_pct={b: tuple(float(levels[i][k, j]) for i in keep) for j, b in enumerate(network.batteries)},
        volts_v={b: tuple(float(volts[i][k, j]) for i in keep) for j, b in enumerate(network.batteries)},
        crank_v=tuple(cranks),
        hours_to_no_crank_h=_first_below(hours, cranks, rig.vehicle.crank_min_v),
        horizon_h=end_h,
    )


def _part(line: Sequence[Part], ends: Floats, now_h: float) -> tuple[EngineState, Programme]:
    at = min(int(np.searchsorted(ends, now_h + 1e-9, side="right")), len(line) - 1)
    return line[at][0], line[at][1]


def _moment(network: Network, still: Circuit, plain: Drive, charge_pct: Floats) -> tuple[Circuit, Drive]:
    """Circuit and drive with the batteries as they are now; charge_pct (n, batteries)."""
    rig = network.rig
    ohm, emf = np.empty(charge_pct.shape), np.empty(charge_pct.shape)
    volts, limit = plain.source_v.copy(), plain.source_limit_a.copy()
    for k, name in enumerate(network.batteries):
        item = rig.items[name]
        spec = item.part.spec
        assert isinstance(spec, BatterySpec)
        place_c = rig.places[item.place].temperature_c
        slot = next(i for i, p in enumerate(network.sources) if p.role == "battery" and p.item == name)
        for n, level in enumerate(charge_pct[:, k]):
            line = battery_line(spec, float(level), place_c, item.resistance_factor)
            ohm[n, k], emf[n, k], volts[n, slot] = line.charge_ohm, line.emf_v, line.emf_v
            limit[n, slot] = UNLIMITED_A if level > 0.0 else 0.0
    return replace(still, emf_ohm=ohm), replace(plain, emf_v=emf, source_v=volts, source_limit_a=limit)


def _pct_per_h(battery: Item, out_a: float) -> float:
    """How fast a battery's charge rises while it gives ``out_a`` (negative: takes) [%/h]."""
    spec = battery.part.spec
    assert isinstance(spec, BatterySpec)
    if out_a > 0:
        rate = spec.capacity_ah / 20.0
        effective = out_a * max(out_a / rate, 1.0) ** (spec.peukert - 1.0)
    else:
        effective = out_a * assumptions.number(f"stored.{spec.chemistry}", "share")
    return float(-100.0 * effective / spec.capacity_ah)


def _crank_v(rig: Rig, network: Network, charge_pct: Floats) -> float:
    """Volts at the starting battery, were the starter pulled now; charge_pct (batteries,)."""
    name = reference_battery(rig)
    if name is None:
        return 0.0
    item = rig.items[name]
    spec = item.part.spec
    assert isinstance(spec, BatterySpec)
    level = float(charge_pct[network.batteries.index(name)])
    if level <= 0.0:
        return 0.0
    line = battery_line(spec, level, rig.places[item.place].temperature_c, item.resistance_factor)
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
