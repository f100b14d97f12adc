"""The chance that a rig works as it will be built, aged and met: Monte Carlo over joints, lengths, age, temperature and
engine speed.

The lot of draws is solved at once (:mod:`loomwright.advice.lot`), with the wires as warm as they are at the book
values; a sample of the draws goes through the full solver, and the largest difference is stated with the result. A
cause's share is the first-order index of variance based sensitivity analysis, Var(E[y | cause]) / Var(y), read off the
draws themselves by sorting them into equal classes of the cause (the correlation ratio of K. Pearson, 1905; given-data
estimators of Sobol' indices; both from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass

import numpy as np

from loomwright.advice.draws import LEVELS, Cause, Draws, causes_of, drawn, network_of, rig_of, values
from loomwright.advice.lot import Batteries, Lot, lot_of, matrices, solve_lot
from loomwright.advice.point import Case, Point, point_of, solve_point
from loomwright.facts import assumptions, batteries, conductors
from loomwright.power.circuit import Drive, Floats
from loomwright.power.drive import drive
from loomwright.power.heat import wire_heat
from loomwright.power.network import Network, reference_battery
from loomwright.power.results import Session
from loomwright.power.session import timelines
from loomwright.power.sources import charger_limit_a, engine_rpm
from loomwright.rig.model import AmplifierSpec, BatterySpec, ChargerSpec, EngineState, Programme, Rig

DRAWS = 100_000
SEED = 1
CHECKED = 12
CHECKED_AT = (0.01, 0.05, 0.25, 0.5, 0.75)
"""Sessions are followed whole in the draws that so many of all lie below, by their volts under the starter."""
APART_PCT = 1.0
"""A draw whose charge half-way is off by more than this is solved again [%]."""
CLASSES = 32
MOST_CAUSES = 5
FELT_V = 1e-3
"""Where the volts of all draws lie closer together than this no cause is named [V]."""


@dataclass(frozen=True, slots=True)
class AmplifierChance:
    """One amplifier: the chance that it stays at or above ``least_v``, and where its volts lie.

    ``book_v`` is with every figure as the rig file has it; 5 of 100 draws lie below ``low_v`` and 5 above ``high_v``.
    """

    amplifier: str
    least_v: float
    chance: float
    book_v: float
    low_v: float
    middle_v: float
    high_v: float


@dataclass(frozen=True, slots=True)
class CrankChance:
    """The start battery after the owner's session: the chance that it holds ``least_v`` under the starter."""

    battery: str
    hours_h: float
    least_v: float
    chance: float
    book_v: float
    low_v: float
    middle_v: float
    high_v: float


@dataclass(frozen=True, slots=True)
class CauseShare:
    """What part of the spread of a number one cause makes by itself, 0 to 1."""

    cause: str
    share: float


@dataclass(frozen=True, slots=True)
class Chances:
    """All of it. ``causes`` are those of ``weakest``, the amplifier with least room, and ``crank_causes`` those of the
    volts under the starter. ``error_v`` and ``crank_error_v`` are the largest differences from the full solver over
    ``checked`` and ``checked_sessions`` draws.
    """

    draws: int
    seed: int
    engine: EngineState
    programme: Programme
    session_programme: Programme
    amplifiers: tuple[AmplifierChance, ...]
    weakest: str
    causes: tuple[CauseShare, ...]
    crank: CrankChance | None
    crank_causes: tuple[CauseShare, ...]
    lost: int
    error_v: float
    checked: int
    crank_error_v: float | None
    checked_sessions: int


def chances(rig: Rig, draws: int = DRAWS, seed: int = SEED) -> Chances:
    """Chances of a rig with settled sizes, its amplifiers at `loud` in the owner's session.

    Raises
    ------
    ValueError
        Where the rig has no amplifier, or no operating point as its file has it.
    """
    engine = rig.limits.session_engine if rig.limits.session_engine in rig.engine_states() else "off"
    cases: tuple[Case, ...] = ((engine, "loud"), (engine, rig.limits.session_programme))
    point = solve_point(rig, cases)
    if not rig.family("amplifier") or not point.found.all():
        raise ValueError("no amplifier, or no operating point to draw around")
    lot = lot_of(point.network, point.ohm[0])
    some = drawn(causes_of(point.network, lot.share, running=engine != "off"), draws, seed)
    z = _matrices(point, lot, some)
    loud, played = (_Case(point, lot, z, k) for k in (0, 1))
    volts = loud.solve(some, None)[0]
    names = [i.id for i in rig.family("amplifier")]
    spread = {a: _supply_v(point, loud, a, volts) for a in names}
    rows = tuple(_amplifier(point, a, spread[a]) for a in names)
    weakest = min(rows, key=lambda r: (r.chance, r.low_v - r.least_v, r.amplifier))
    lost = int(np.isnan(volts[0]).sum())
    error = _error_v(rig, point, some, spread)
    crank, crank_error, crank_v = None, None, np.zeros(0)
    if rig.family("battery"):
        (book,) = timelines(rig, [((*cases[1], rig.limits.session_h),)])
        crank_v = _crank_v(rig, book, played, some)
        crank, crank_error = _crank(rig, book, crank_v, some)
    return Chances(
        draws=draws,
        seed=seed,
        engine=engine,
        programme="loud",
        session_programme=rig.limits.session_programme,
        amplifiers=rows,
        weakest=weakest.amplifier,
        causes=_causes(some, spread[weakest.amplifier]),
        crank=crank,
        crank_causes=_causes(some, crank_v) if crank is not None else (),
        lost=lost,
        error_v=error,
        checked=min(CHECKED, draws),
        crank_error_v=crank_error,
        checked_sessions=len(CHECKED_AT) if crank is not None else 0,
    )


class _Case:
    """One case of a point, ready to be solved for a lot of draws. Wires are as warm as at `loud` in all of them."""

    def __init__(self, point: Point, lot: Lot, z_ohm: Floats, k: int) -> None:
        self.network, self.case, self.lot, self.z = point.network, point.cases[k], lot, z_ohm
        self.work = point.work.rows(slice(k, k + 1))
        self.start_v = point.state.solution.port_v[k]
        self.ohm = point.ohm[k]

    def rows(self, some: np.ndarray) -> _Case:
        """The same for some of the draws."""
        part = copy(self)
        part.z = self.z[:, :, some]
        return part

    def solve(self, draws: Draws, charge_pct: Mapping[str, Floats] | None) -> tuple[Floats, Floats]:
        """Port volts and amperes of every draw, (P, n), with the batteries at their charge or at another."""
        warmer = draws.value(draws.of("temperature")[0])
        cells = _batteries(self.network, draws, warmer, charge_pct)
        return solve_lot(self.lot, self.z, self._drive(draws, warmer), cells, self.work, self.start_v)

    def _drive(self, draws: Draws, warmer: Floats) -> Drive:
        """The drive with charging limits by the drawn speed and set volts by the drawn temperature."""
        network, (engine, _) = self.network, self.case
        volts = np.repeat(self.work.source_v, draws.count, axis=0)
        limit = np.repeat(self.work.source_limit_a, draws.count, axis=0)
        speed = draws.of("speed")
        for k, port in enumerate(network.sources):
            spec = network.rig.items[port.item].part.spec
            if isinstance(spec, ChargerSpec):
                volts[:, k] += spec.temperature_mv_per_c / 1000.0 * warmer
                if speed and engine != "off":
                    at = [charger_limit_a(spec, engine_rpm(network.rig.vehicle, engine) * f) for f in values("speed")]
                    limit[:, k] = np.array(at)[draws.level[speed[0]]]
        one = self.work
        n = draws.count
        return Drive(
            np.zeros((n, len(network.batteries))), np.broadcast_to(one.load_a, (n, one.load_a.shape[1])),
            np.broadcast_to(one.load_w, (n, one.load_w.shape[1])),
            np.broadcast_to(one.load_siemens, (n, one.load_siemens.shape[1])), one.sag_v, volts, limit,
        )  # fmt: skip


def _matrices(point: Point, lot: Lot, draws: Draws) -> Floats:
    """Port matrix of every draw, (P, P, n): what joints, lengths and the temperature change of each branch."""
    network, hot_c = point.network, point.state.hot_c[0]
    at = {(c.what, c.ref): k for k, c in enumerate(draws.causes)}
    wires = {w: n for n, w in enumerate(point.heat.ids)}
    warmer = draws.value(draws.of("temperature")[0])
    branches, rows = [], []
    for n, branch in enumerate(network.branches):
        parts = [
            mohm / 1000.0 * (draws.value(at["joint", name]) - 1.0)
            for name, mohm in branch.joints
            if ("joint", name) in at
        ]
        length = at.get(("length", branch.ref)) if branch.kind == "wire" else None
        if branch.kind == "wire" and branch.copper_mohm > 0.0 and (length is not None or parts):
            hot = float(hot_c[wires[branch.ref]]) if branch.ref in wires else 20.0
            alpha = conductors.ALPHA20 if branch.ref in wires else 0.0
            factor = draws.value(length) if length is not None else 1.0
            drawn_factor = factor * (1.0 + alpha * (hot + warmer - 20.0))
            parts.append(branch.copper_mohm / 1000.0 * (drawn_factor - (1.0 + alpha * (hot - 20.0))))
        if parts:
            branches.append(n)
            rows.append(np.sum(parts, axis=0))
    change = np.array(rows).reshape(len(branches), draws.count)
    return matrices(lot, np.array(branches, dtype=np.intp), change)


def _battery_ohm(network: Network, name: str, draws: Draws, warmer: Floats, charge: Floats | float) -> Floats:
    """Resistance of one battery when it gives, in each draw [ohm]."""
    item = network.rig.items[name]
    spec = item.part.spec
    assert isinstance(spec, BatterySpec)
    pct, by_charge, at_c, by_temperature = batteries.resistance_points(spec.chemistry)
    place_c = network.rig.places[item.place].temperature_c
    age = draws.value(draws.causes.index(Cause("age", name)))
    factor = np.interp(charge, pct, by_charge) * np.interp(place_c + warmer, at_c, by_temperature)
    return np.asarray(spec.resistance_mohm / 1000.0 * item.resistance_factor * age * factor)


def _batteries(network: Network, draws: Draws, warmer: Floats, charge_pct: Mapping[str, Floats] | None) -> Batteries:
    """Every battery's line in each draw, as :func:`loomwright.power.sources.battery_line` has it for one."""
    emf, take, boost = (np.empty((draws.count, len(network.batteries))) for _ in range(3))
    for k, name in enumerate(network.batteries):
        item = network.rig.items[name]
        spec = item.part.spec
        assert isinstance(spec, BatterySpec)
        charge = np.full(draws.count, item.charge_pct) if charge_pct is None else charge_pct[name]
        ohm = _battery_ohm(network, name, draws, warmer, charge)
        emf[:, k] = np.interp(charge, *batteries.rest_points(spec.rest_table))
        missing = np.clip((100.0 - charge) / 20.0, 0.02, 3.0)
        accepted = np.minimum(spec.acceptance_c * spec.capacity_ah * missing, spec.max_charge_a)
        take[:, k] = np.maximum(np.maximum(spec.charge_min_v - emf[:, k], 0.2) / accepted, ohm)
        boost[:, k] = np.maximum(1.0 / ohm - 1.0 / take[:, k], 1e-6)
    return Batteries(emf, take, boost)


def _supply_v(point: Point, case: _Case, item: str, volts: Floats) -> Floats:
    """Volts at an amplifier's supply terminals: those of its port, and what its own fuses take."""
    network = point.network
    port = next(k for k, p in enumerate(network.loads) if p.item == item)
    own = network.branch_index.get(f"fuse:{item}.own")
    if own is None:
        return np.asarray(volts[port])
    amps = _amps_of(case.work, port, volts[port])
    return np.asarray(volts[port] + case.ohm[own] * amps)


def _amps_of(work: Drive, port: int, volts: Floats) -> Floats:
    a, w, s, sag = work.load_a[0, port], work.load_w[0, port], work.load_siemens[0, port], work.sag_v[port]
    amps = a + w / volts + s * volts
    if sag > 0:
        amps = np.where(volts < sag, (a / sag + w / sag**2 + s) * volts, amps)
    return np.asarray(amps)


def _amplifier(point: Point, item: str, volts: Floats) -> AmplifierChance:
    spec = point.network.rig.items[item].part.spec
    assert isinstance(spec, AmplifierSpec)
    index, node_v = point.network.index, point.state.solution.node_v[0]
    book = float(node_v[index[f"{item}.supply+"]] - node_v[index[f"{item}.supply-"]])
    with np.errstate(invalid="ignore"):
        chance = float((volts >= spec.min_v).mean())
    return AmplifierChance(item, spec.min_v, chance, book, *_percentiles(volts))


def _percentiles(values: Floats) -> tuple[float, float, float]:
    known = values[np.isfinite(values)]
    if not len(known):
        return (float("nan"),) * 3
    low, middle, high = np.percentile(known, [5.0, 50.0, 95.0])
    return float(low), float(middle), float(high)


def _error_v(rig: Rig, point: Point, draws: Draws, spread: Mapping[str, Floats]) -> float:
    """Largest difference of an amplifier's volts from the full solver over the first draws [V]."""
    worst = 0.0
    for n in range(min(CHECKED, draws.count)):
        own = rig_of(rig, draws, n)
        network = network_of(own, draws, n)
        exact = point_of(network, wire_heat(own), drive(network, point.cases[:1]), point.cases[:1])
        node_v, index = exact.state.solution.node_v[0], network.index
        for name, volts in spread.items():
            off = float(node_v[index[f"{name}.supply+"]] - node_v[index[f"{name}.supply-"]] - volts[n])
            worst = max(worst, abs(off)) if np.isfinite(off) else worst
    return worst


def _crank_v(rig: Rig, book: Session, case: _Case, draws: Draws) -> Floats:
    """Volts under the starter after the session in each draw, (n,); NaN where lost.

    The rate at which the charge changes half-way through counts for the whole session (the rule of the middle). Where
    the charge is half-way is first taken from the session with every figure as the rig file has it; draws that turn out
    to lie elsewhere are solved once more where they lie.
    """
    name = reference_battery(rig)
    assert name is not None
    network, hours = case.network, rig.limits.session_h
    middle = {
        b: np.full(draws.count, np.interp(hours / 2.0, book.time_h, book.charge_pct[b])) for b in network.batteries
    }
    rates = _rates(network, case, draws, middle)
    own = {b: np.clip(rig.items[b].charge_pct + rates[b] * hours / 2.0, 0.0, 100.0) for b in middle}
    apart = np.max([np.abs(own[b] - middle[b]) for b in middle], axis=0) > APART_PCT
    if apart.any():
        again = _rates(network, case.rows(apart), draws.rows(apart), {b: own[b][apart] for b in own})
        for b, rate in again.items():
            rates[b][apart] = rate
    end = np.clip(rig.items[name].charge_pct + rates[name] * hours, 0.0, 100.0)
    spec = rig.items[name].part.spec
    assert isinstance(spec, BatterySpec)
    warmer = draws.value(draws.of("temperature")[0])
    emf = np.interp(end, *batteries.rest_points(spec.rest_table))
    volts = emf - _battery_ohm(network, name, draws, warmer, end) * rig.vehicle.crank_a
    return np.asarray(np.where(end > 0.0, volts, 0.0))


def _rates(network: Network, case: _Case, draws: Draws, charge: Mapping[str, Floats]) -> dict[str, Floats]:
    """Rise of each battery's charge in each draw [%/h]."""
    _, amps = case.solve(draws, charge)
    found = {}
    for k, port in enumerate(network.sources):
        if port.role != "battery":
            continue
        spec = network.rig.items[port.item].part.spec
        assert isinstance(spec, BatterySpec)
        out = -amps[len(network.loads) + k]
        rate = spec.capacity_ah / 20.0
        stored = assumptions.number(f"stored.{spec.chemistry}", "share")
        giving = out * np.maximum(out / rate, 1.0) ** (spec.peukert - 1.0)
        found[port.item] = np.asarray(-100.0 / spec.capacity_ah * np.where(out > 0, giving, out * stored))
    return found


def _crank(rig: Rig, book: Session, volts: Floats, draws: Draws) -> tuple[CrankChance, float]:
    """The chance that the engine cranks, and the largest difference from whole sessions over the first draws [V]."""
    name = reference_battery(rig)
    assert name is not None
    least, hours = rig.vehicle.crank_min_v, rig.limits.session_h
    with np.errstate(invalid="ignore"):
        chance = float((volts >= least).mean())
    worst = 0.0
    order = np.argsort(volts)[: int(np.isfinite(volts).sum())]
    for n in (int(order[int(share * len(order))]) for share in CHECKED_AT if len(order)):
        (exact,) = timelines(rig_of(rig, draws, n), [((book.engine, book.programme, hours),)])
        worst = max(worst, abs(exact.crank_v[-1] - float(volts[n])))
    return CrankChance(name, hours, least, chance, book.crank_v[-1], *_percentiles(volts)), worst


def _causes(draws: Draws, values: Floats) -> tuple[CauseShare, ...]:
    """The causes that make most of the spread of a number, each by itself."""
    known = np.isfinite(values)
    y = np.where(known, values, np.nanmean(values) if known.any() else 0.0)
    total = float(y.var())
    if total < FELT_V**2:
        return ()
    n, mean = len(y), float(y.mean())
    found = []
    for k, cause in enumerate(draws.causes):
        group = draws.level[k] // (LEVELS // CLASSES)
        count = np.bincount(group, minlength=CLASSES)
        sums = np.bincount(group, weights=y, minlength=CLASSES)
        there = count > 0
        between = float((count[there] * (sums[there] / count[there] - mean) ** 2).sum() / n)
        chance = (int(there.sum()) - 1) / n * total  # what classes differ by where the cause does nothing
        found.append(CauseShare(cause.words, min(max((between - chance) / total, 0.0), 1.0)))
    found.sort(key=lambda c: (-c.share, c.cause))
    return tuple(c for c in found[:MOST_CAUSES] if c.share >= 0.005)
