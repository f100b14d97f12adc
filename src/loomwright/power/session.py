"""State of charge over a timeline of engine and programme, and when the engine will no longer crank."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf

import numpy as np

from loomwright.facts import assumptions
from loomwright.power.balance import solved
from loomwright.power.circuit import Batteries, Circuit, Drive, Floats
from loomwright.power.converters import running
from loomwright.power.drive import UNLIMITED_A, drive
from loomwright.power.given import battery_given_a
from loomwright.power.network import Network, build, reference_battery
from loomwright.power.results import Session
from loomwright.power.sources import BatteryLine, battery_line
from loomwright.rig.model import BatterySpec, EngineState, Programme, Rig

LONGEST_STEP_H = 1.0
SHORTEST_STEP_H = 1 / 60
STEP_PCT = 10.0
"""A step lasts until some battery has gained or lost this much."""
MOST_ERROR_PCT = 0.25
"""A step whose two orders disagree by more than this much charge is tried again at half its length."""
HALVINGS = 24
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

    Second-order steps (Adams-Bashforth to predict, the trapezoidal rule to correct, the difference of the two as the
    error) of a minute to an hour, none longer than 10 % of a battery's charge; in each the network is solved with the
    EMF and resistance of that moment. Discharge above the 20 h rate counts for more by Peukert's
    exponent; charge is stored at the efficiency of the chemistry. An amplifier below its least volts lets go.
    """
    network = build(rig)
    ends = [np.cumsum([hours for _, _, hours in line]) for line in lines]
    total = max(float(e[-1]) for e in ends)
    course = _Course(network)
    charge = np.array([[rig.items[b].charge_pct for b in network.batteries]] * len(lines))
    now, step, longest = 0.0, 0.0, LONGEST_STEP_H
    cases = _cases(lines, ends, now)
    rates, volts_v = course.rates(cases, charge)
    before: tuple[Floats, float] | None = None  # rates one step ago, and how long that step was
    times, levels, volts = [now], [charge], [volts_v]
    while now < total - 1e-9:
        room = min(float(e) - now for end in ends for e in end if e > now + 1e-9)
        step = min(max(STEP_PCT / max(float(np.abs(rates).max()), 1e-9), SHORTEST_STEP_H), longest, room)
        slope = rates if before is None else rates + (rates - before[0]) * step / (2.0 * before[1])
        falls = slope < -1e-12
        empty_h = np.where(falls & (charge > 0.0), charge / np.maximum(-slope, 1e-12), np.inf).min(initial=np.inf)
        empties = empty_h <= step + 1e-9
        step = max(min(step, float(empty_h)), 1e-9)
        predicted = np.clip(charge + slope * step, 0.0, 100.0)
        if empties:
            predicted = np.where(predicted < 1e-6, 0.0, predicted)
        then = _cases(lines, ends, now + step)
        new, volts_v = course.rates(then, predicted)
        turns = empties or then != cases
        if not turns:
            corrected = np.clip(charge + (rates + new) * step / 2.0, 0.0, 100.0)
            error = float(np.abs(corrected - predicted).max())
            if error > MOST_ERROR_PCT and step > SHORTEST_STEP_H * 1.01:
                longest = max(step / 2.0, SHORTEST_STEP_H)
                continue
            predicted = corrected
        before = None if turns else (rates, step)
        now, charge, rates, cases, longest = now + step, predicted, new, then, LONGEST_STEP_H
        times.append(now)
        levels.append(charge)
        volts.append(volts_v)
    return tuple(_session(network, line, float(ends[k][-1]), times, k, levels, volts) for k, line in enumerate(lines))


def _cases(
    lines: Sequence[Sequence[Part]], ends: Sequence[Floats], now_h: float
) -> tuple[tuple[EngineState, Programme], ...]:
    return tuple(_part(line, end, now_h) for line, end in zip(lines, ends, strict=True))


class _Course:
    """How fast charge changes, and at what volts, in whatever cases and at whatever charge it is asked about.

    It keeps the eliminated circuit of the last cases, and starts from the volts that it found last.
    """

    def __init__(self, network: Network) -> None:
        self.network = network
        self._batteries = [_Battery.of(network, name) for name in network.batteries]
        self._cases: tuple[tuple[EngineState, Programme], ...] = ()
        self._last: tuple[Floats, Drive] | None = None

    def rates(self, cases: tuple[tuple[EngineState, Programme], ...], charge_pct: Floats) -> tuple[Floats, Floats]:
        """Rise of every battery's charge [%/h] and its volts [V], both (n, batteries) like ``charge_pct``."""
        network = self.network
        if cases != self._cases:
            self._still = network.circuit_for([engine for engine, _ in cases])
            self._plain = running(network, self._still, drive(network, cases, brown_out=True))
            self._whole = Batteries(self._still, self._still.reduced)
            self._cases, self._last = cases, None
        circuit, work = self._moment(charge_pct)
        reduced = self._whole.of_ohm(circuit.emf_ohm)
        start = None if self._last is None else _moved(circuit, self._last, work)
        s = solved(circuit, work, reduced, start)
        if not s.found.all() and start is not None:
            s = solved(circuit, work, reduced)
        self._last = (s.port_v, work) if s.found.all() else None
        given = np.nan_to_num(battery_given_a(network, circuit, work, s)).tolist()
        rates = np.array([[b.pct_per_h(g) for b, g in zip(self._batteries, row, strict=True)] for row in given])
        rates = rates.reshape(charge_pct.shape)
        rates = np.where((charge_pct <= 0.0) & (rates < 0.0), 0.0, rates)
        return rates, s.node_v[:, circuit.emf_a] - s.node_v[:, circuit.emf_b]

    def _moment(self, charge_pct: Floats) -> tuple[Circuit, Drive]:
        """Circuit and drive with the batteries as they are now; charge_pct (n, batteries)."""
        plain = self._plain
        ohm, emf = np.empty(charge_pct.shape), np.empty(charge_pct.shape)
        volts, limit = plain.source_v.copy(), plain.source_limit_a.copy()
        for k, battery in enumerate(self._batteries):
            for n, level in enumerate(charge_pct[:, k].tolist()):
                line = battery.line(level)
                ohm[n, k], emf[n, k], volts[n, battery.slot] = line.charge_ohm, line.emf_v, line.emf_v
                limit[n, battery.slot] = UNLIMITED_A if level > 0.0 else 0.0
        return replace(self._still, emf_ohm=ohm), replace(plain, emf_v=emf, source_v=volts, source_limit_a=limit)


def _moved(circuit: Circuit, last: tuple[Floats, Drive], work: Drive) -> Floats:
    """Port volts of the last moment, with each source's as far from its own volts as it was."""
    port_v, sources = last[0].copy(), slice(len(circuit.load_a), len(circuit.load_a) + len(circuit.source_a))
    port_v[:, sources] += work.source_v - last[1].source_v
    return port_v


def _session(
    network: Network,
    line: Sequence[Part],
    end_h: float,
    times: list[float],
    k: int,
    levels: list[Floats],
    volts: list[Floats],
) -> Session:
    starter = _Starter(network)
    keep = [i for i, t in enumerate(times) if t <= end_h + 1e-9]
    hours = [times[i] for i in keep]
    rows = [levels[i][k] for i in keep]
    return Session(
        engine=line[0][0],
        programme=line[0][1],
        time_h=tuple(hours),
        charge_pct={b: tuple(float(row[j]) for row in rows) for j, b in enumerate(network.batteries)},
        volts_v={b: tuple(float(volts[i][k, j]) for i in keep) for j, b in enumerate(network.batteries)},
        crank_v=tuple(starter.volts_v(row) for row in rows),
        hours_to_no_crank_h=starter.fails_after_h(hours, rows),
        horizon_h=end_h,
    )


def _part(line: Sequence[Part], ends: Floats, now_h: float) -> tuple[EngineState, Programme]:
    at = min(int(np.searchsorted(ends, now_h + 1e-9, side="right")), len(line) - 1)
    return line[at][0], line[at][1]


@dataclass(frozen=True, slots=True)
class _Battery:
    """One battery of a network: what it is, how warm it stands, its place among the batteries and the sources."""

    spec: BatterySpec
    place_c: float
    age_factor: float
    number: int
    slot: int

    @classmethod
    def of(cls, network: Network, name: str) -> _Battery:
        item = network.rig.items[name]
        spec = item.part.spec
        assert isinstance(spec, BatterySpec)
        slot = next(i for i, p in enumerate(network.sources) if p.role == "battery" and p.item == name)
        place_c = network.rig.places[item.place].temperature_c
        return cls(spec, place_c, item.resistance_factor, network.batteries.index(name), slot)

    def line(self, charge_pct: float) -> BatteryLine:
        """The battery at a state of charge."""
        return battery_line(self.spec, charge_pct, self.place_c, self.age_factor)

    def pct_per_h(self, out_a: float) -> float:
        """How fast its charge rises while it gives ``out_a`` (negative: takes) [%/h]."""
        spec = self.spec
        if out_a > 0:
            rate = spec.capacity_ah / 20.0
            effective = out_a * max(out_a / rate, 1.0) ** (spec.peukert - 1.0)
        else:
            effective = out_a * assumptions.number(f"stored.{spec.chemistry}", "share")
        return float(-100.0 * effective / spec.capacity_ah)


class _Starter:
    """The battery that starts the engine, were the starter pulled now; None where there is none."""

    def __init__(self, network: Network) -> None:
        name = reference_battery(network.rig)
        self._battery = None if name is None else _Battery.of(network, name)
        self._crank_a, self._least_v = network.rig.vehicle.crank_a, network.rig.vehicle.crank_min_v

    def volts_v(self, charge_pct: Floats) -> float:
        """Its volts under the starter; charge_pct (batteries,)."""
        level = 0.0 if self._battery is None else float(charge_pct[self._battery.number])
        if self._battery is None or level <= 0.0:
            return 0.0
        line = self._battery.line(level)
        return line.emf_v - line.discharge_ohm * self._crank_a

    def fails_after_h(self, hours: list[float], levels: list[Floats]) -> float:
        """When its volts first fall below what it needs [h], charge straight between; inf if never."""
        limit = self._least_v
        if self.volts_v(levels[0]) < limit:
            return 0.0
        for (t0, low), (t1, high) in pairwise(zip(hours, levels, strict=True)):
            if self.volts_v(high) >= limit:
                continue
            good, bad = 0.0, 1.0
            for _ in range(HALVINGS):
                middle = (good + bad) / 2.0
                if self.volts_v(low + (high - low) * middle) < limit:
                    bad = middle
                else:
                    good = middle
            return t0 + (t1 - t0) * bad
        return inf
