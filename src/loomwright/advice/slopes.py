"""How far every goal follows every lever: exact slopes at a solved point, by the adjoint of its network.

At a solved point the currents that leave each node add up to nothing, F(v, p) = 0. A goal g(v, p) then follows a lever
p by dg/dp = dg/dp|v - y F_p with y J = dg/dv (the implicit function theorem; one solution for each goal, none for the
levers). J is the slope of F with every wire and fuse element at its own temperature: a branch that warms with its
current is, nearby, one of resistance R + I dR/dI, so the heat comes in exactly. F_p is the change of the residual at
the volts and currents of the point; nothing is solved again for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.advice.folds import Fold, folds
from loomwright.advice.goals import Goal, charge_a, charge_slope, goals, watts_slope
from loomwright.advice.levers import Lever, by_id, levers, thicker, turns
from loomwright.advice.point import Case, Point, node_matrix, port_matrix, solve_point
from loomwright.power.circuit import Circuit, Drive, Floats, incidence
from loomwright.power.converters import converter_outputs
from loomwright.power.drive import drive
from loomwright.power.heat import wire_heat
from loomwright.power.network import Network, build
from loomwright.power.ports import currents
from loomwright.power.warm import Warm
from loomwright.rig.model import Rig

TINY = 1e-4
"""Share of a lever by which closed formulas are moved on both sides to see their own slope."""
THICKER = 0.01
"""The same for the metal of a wire: the ampacity table takes sizes within 0.2 % of each other for one."""
USUAL = {
    "age": 1.0,
    "charge": 50.0,
    "temperature": 300.0,
    "speed": 1000.0,
    "output": 1.0,
    "set volts": 14.0,
    "limit": 20.0,
}


@dataclass(frozen=True)
class Slopes:
    """Slopes of every goal by every lever in some cases; NaN where a case or a goal has none.

    ``value`` (cases, goals, levers), in the goal's unit for one unit of the lever. ``now`` (cases, goals).
    """

    cases: tuple[Case, ...]
    goals: tuple[Goal, ...]
    levers: tuple[Lever, ...]
    now: Floats
    value: Floats

    def of(self, case: Case, kind: str, ref: str, lever: str) -> float:
        """One slope. KeyError where there is no such case, goal or lever."""
        goal = {(str(g.kind), g.ref): k for k, g in enumerate(self.goals)}
        at = (self.cases.index(case), goal[kind, ref], by_id(self.levers)[lever])
        return float(self.value[at])


def slopes(rig: Rig, cases: Sequence[Case]) -> Slopes:
    """Every slope of a rig with settled sizes, in some cases."""
    point = solve_point(rig, cases)
    network = point.network
    wanted, pulled = goals(network), levers(network)
    pushes = _Pushes(point, pulled)
    n = len(point.cases)
    now = np.full((n, len(wanted)), np.nan)
    value = np.full((n, len(wanted), len(pulled)), np.nan)
    ok = np.flatnonzero(point.found)
    if len(ok):
        _solved(point, wanted, pushes, ok, now, value)
    return Slopes(point.cases, wanted, pulled, now, value)


class _Pushes:
    """What each lever does to the point with nothing solved again.

    ``ohm`` (n, B, levers): to each branch's resistance at its own current; ``leaving`` (n, N-1, levers): to the
    currents that leave each node by batteries and ports; ``charge`` (n, 2, levers): to the goals of charge.
    """

    def __init__(self, point: Point, pulled: tuple[Lever, ...]) -> None:
        self.point, self.at = point, by_id(pulled)
        n, count = len(point.cases), len(pulled)
        network = point.network
        self.ohm = np.zeros((n, len(network.branches), count))
        self.leaving = np.zeros((n, len(network.nodes) - 1, count))
        self.charge = np.zeros((n, 2, count))
        self._resistances()
        self._sizes()
        self._programme()
        for lever, turn in turns(network.rig):
            by = TINY * USUAL[lever.kind]
            self._turned(self.at[lever.id], turn(network.rig, by), turn(network.rig, -by), 2.0 * by)

    def _resistances(self) -> None:
        point, network = self.point, self.point.network
        warm = Warm(network, point.heat, point.engines)
        copper = np.where(warm.copper > 0.0, point.ohm - warm.base, 0.0)
        for k, branch in enumerate(network.branches):
            if branch.kind == "wire" and (at := self.at.get(f"length:{branch.ref}")) is not None:
                self.ohm[:, k, at] = copper[:, k] / network.rig.wire(branch.ref).length_mm
            if branch.kind == "wire":
                for name, _ in branch.joints:
                    self.ohm[:, k, self.at[f"joint:{name}"]] += 1e-3
            kind = {"fuse": "device", "contact": "contact", "bar": "metal"}.get(branch.kind)
            if kind is not None:
                opened = point.ohm[:, k] > 1e6  # a relay's contact with the engine off
                self.ohm[:, k, self.at[f"{kind}:{branch.ref}"]] = np.where(opened, 0.0, 1e-3)

    def _sizes(self) -> None:
        point, network = self.point, self.point.network
        both = []
        for sign in (1.0, -1.0):
            rig = thicker(network.rig, sign * THICKER)
            both.append(Warm(build(rig), wire_heat(rig), point.engines).at(point.amps_a))
        change = (both[0] - both[1]) / (2.0 * THICKER)
        for k, branch in enumerate(network.branches):
            at = self.at.get(f"size:{branch.ref}") if branch.kind == "wire" else None
            size = network.rig.wire(branch.ref).size if at is not None else None
            if at is not None and size is not None:
                self.ohm[:, k, at] = change[:, k] / size.area_mm2

    def _programme(self) -> None:
        point, network = self.point, self.point.network
        port_v, ports = point.state.solution.port_v, port_matrix(network.circuit)
        for k, port in enumerate(network.loads):
            if port.role != "amplifier":
                continue
            both = [currents(network.circuit, point.work.scaled(self._one(k, s)), port_v, None)[0] for s in (1.0, -1.0)]
            change = (both[0] - both[1]) / (2.0 * TINY)
            self.leaving[:, :, self.at[f"programme:{port.item}"]] = change @ ports.T

    def leaving_at(self, fold: Fold, n: int) -> Floats:
        """The same as ``leaving`` at the fold of case n, (N-1, levers)."""
        point, network = self.point, self.point.network
        circuit = network.circuit
        found = np.zeros((len(network.nodes) - 1, len(self.at)))
        port_v = fold.node_v[:, circuit.port_a] - fold.node_v[:, circuit.port_b]
        for k, port in enumerate(network.loads):
            if port.role == "amplifier":
                factor = np.ones((1, len(network.loads)))
                factor[0, k] = 2.0
                more = currents(circuit, fold.work.scaled(factor), port_v, None)[0]
                change = more - currents(circuit, fold.work, port_v, None)[0]
                found[:, self.at[f"programme:{port.item}"]] = change[0] @ port_matrix(circuit).T
        amplifiers = np.array([p.role == "amplifier" for p in network.loads])
        for lever, turn in turns(network.rig):
            by = TINY * USUAL[lever.kind]
            sides = []
            for rig in (turn(network.rig, by), turn(network.rig, -by)):
                other = build(rig)
                work = _kept(point, drive(other, point.cases)).rows(np.array([n]))
                work = work.scaled(np.where(amplifiers, fold.factor, 1.0)[None, :])
                sides.append(_leaving(other, work, fold.node_v))
            found[:, self.at[lever.id]] = (sides[0] - sides[1])[0] / (2.0 * by)
        return found

    def _one(self, k: int, sign: float) -> Floats:
        factor = np.ones(self.point.work.load_w.shape)
        factor[:, k] += sign * TINY
        return factor

    def _turned(self, at: int, more: Rig, less: Rig, by: float) -> None:
        point = self.point
        sides = [self._side(rig) for rig in (more, less)]
        ohm, leaving, charge = ((a - b) / by for a, b in zip(*sides, strict=True))
        ohm[point.ohm > 1e6] = 0.0
        self.ohm[:, :, at], self.leaving[:, :, at], self.charge[:, :, at] = ohm, leaving, charge

    def _side(self, rig: Rig) -> tuple[Floats, Floats, Floats]:
        point, network = self.point, build(rig)
        circuit, work = network.circuit, _kept(point, drive(network, point.cases))
        node_v = point.state.solution.node_v
        ohm = Warm(network, wire_heat(rig), point.engines).at(point.amps_a)
        return ohm, _leaving(network, work, node_v), charge_a(network, circuit, work, node_v)


def _leaving(network: Network, work: Drive, node_v: Floats) -> Floats:
    """What leaves each node by batteries and ports at given volts, (n, N-1) [A]."""
    circuit = network.circuit
    port_v = node_v[:, circuit.port_a] - node_v[:, circuit.port_b]
    emfs = incidence(len(network.nodes), circuit.emf_a, circuit.emf_b)
    given = (work.emf_v - (node_v[:, circuit.emf_a] - node_v[:, circuit.emf_b])) / circuit.emf_ohm
    return np.asarray(currents(circuit, work, port_v, None)[0] @ port_matrix(circuit).T - given @ emfs.T)


def _kept(point: Point, work: Drive) -> Drive:
    """A drive with the converters that stand still at the point standing still."""
    still = converter_outputs(point.network) & (point.work.source_limit_a == 0.0)
    return replace(work, source_limit_a=np.where(still, 0.0, work.source_limit_a))


def _solved(
    point: Point, wanted: tuple[Goal, ...], pushes: _Pushes, ok: np.ndarray, now: Floats, value: Floats
) -> None:
    """Fill in the cases that have a point."""
    network = point.network
    circuit: Circuit = network.circuit
    solution, work = point.state.solution, point.work.rows(ok)
    node_v, port_v = solution.node_v[ok], solution.port_v[ok]
    matrix = node_matrix(circuit, point.slope_ohm[ok], work, port_v)
    aims = np.zeros((len(ok), len(wanted), len(network.nodes) - 1))
    charge, sloped = charge_a(network, circuit, work, node_v), charge_slope(network, circuit, work, port_v)
    volts = {g.ref: _volts(network, g.ref, node_v) for g in wanted if g.kind == "volts"}
    for k, goal in enumerate(wanted):
        if goal.kind == "volts":
            now[ok, k], aims[:, k] = volts[goal.ref], _between(network, goal.ref)
        elif goal.kind == "watts":
            for row, n in enumerate(ok):
                aims[row, k] = _between(network, goal.ref) * watts_slope(
                    network, goal.ref, point.cases[n][1], float(volts[goal.ref][row])
                )
        elif goal.kind in ("battery", "balance"):
            which = 0 if goal.kind == "battery" else 1
            now[ok, k], aims[:, k] = charge[:, which], sloped[:, which]
    y: Floats = np.asarray(
        np.linalg.solve(np.swapaxes(matrix, 1, 2), np.swapaxes(aims, 1, 2)), dtype=np.float64
    )  # (n, N-1, goals)
    value[ok] = _felt(network, y, point, pushes, ok)
    for k, goal in enumerate(wanted):
        if goal.kind in ("battery", "balance"):
            value[ok, k] += pushes.charge[ok, 0 if goal.kind == "battery" else 1]
        elif goal.kind == "headroom":
            value[ok, k] = np.nan
    for n, fold in folds(point).items():
        row = int(np.flatnonzero(ok == n)[0])
        now[n, -1] = fold.factor
        value[n, -1] = _headroom(point, pushes, fold, matrix[row], n)


def _headroom(point: Point, pushes: _Pushes, fold: Fold, matrix: Floats, n: int) -> Floats:
    """Slopes of the headroom of case n by every lever. Its wires are as warm as they are at the programme as it is, so
    what warms them there counts too.
    """
    network, circuit = point.network, point.network.circuit
    ohm, slope_ohm, amps = point.ohm[n], point.slope_ohm[n], point.amps_a[n]
    warming = fold.by_ohm * np.where(np.abs(amps) > 1e-12, (slope_ohm - ohm) / _apart(amps), 0.0) / slope_ohm
    branches = incidence(len(network.nodes), circuit.branch_a, circuit.branch_b)
    y: Floats = np.asarray(np.linalg.solve(matrix.T, branches @ warming), dtype=np.float64)
    direct = (fold.by_ohm - warming * amps) @ pushes.ohm[n]
    through = _felt(network, np.asarray(y[None, :, None], dtype=np.float64), point, pushes, np.array([n]))[0, 0]
    return np.asarray(direct + through - fold.left @ pushes.leaving_at(fold, n))


def _felt(network: Network, y: Floats, point: Point, pushes: _Pushes, ok: np.ndarray) -> Floats:
    """Slopes (n, goals, levers) of adjoint volts y (n, N-1, goals)."""
    circuit = network.circuit
    branches = incidence(len(network.nodes), circuit.branch_a, circuit.branch_b)
    across = np.swapaxes(branches.T @ y, 1, 2)  # (n, goals, B)
    moved = (point.amps_a / point.slope_ohm)[ok][:, None, :] * across
    return np.asarray(moved @ pushes.ohm[ok] - np.swapaxes(y, 1, 2) @ pushes.leaving[ok])


def _apart(amps_a: Floats) -> Floats:
    """Amperes, never nothing, to divide by."""
    return np.asarray(np.where(np.abs(amps_a) < 1e-12, 1e-12, amps_a))


def _volts(network: Network, item: str, node_v: Floats) -> Floats:
    index = network.index
    return np.asarray(node_v[:, index[f"{item}.supply+"]] - node_v[:, index[f"{item}.supply-"]])


def _between(network: Network, item: str) -> Floats:
    row = np.zeros(len(network.nodes))
    row[network.index[f"{item}.supply+"]] += 1.0
    row[network.index[f"{item}.supply-"]] -= 1.0
    return row[1:]
