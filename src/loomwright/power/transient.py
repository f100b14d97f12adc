"""The first tenth of a second: wires with inductance, capacitors, and loads that rise, by the trapezoidal rule."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from loomwright.errors import LoomwrightError
from loomwright.power.circuit import Circuit, Drive, Floats, Ints, conductance, load_current
from loomwright.power.circuit import incidence as node_incidence

QUICK_STEPS = 12
DAMPED_STEPS = 200
SETTLED_V = 1e-7


class Unsettled(LoomwrightError, ArithmeticError):
    """An instant of a transient found no volts: a defect of this program, never of the rig."""


@dataclass(frozen=True)
class Dynamics:
    """What a circuit needs besides its resistances. ``circuit`` holds load ports only: sources are given as amperes.

    Shapes: branch_henry (B,); capacitor_a, capacitor_b, capacitor_f, capacitor_ohm (C,); inject_a (N,) amperes that
    chargers push into each node, held as they were before the burst.
    """

    branch_henry: Floats
    capacitor_a: Ints
    capacitor_b: Ints
    capacitor_f: Floats
    capacitor_ohm: Floats
    inject_a: Floats


def wire_henry(length_m: float, diameter_mm: float) -> float:
    """Self-inductance of a straight round wire, return far away [H].

    L = 2e-7 l (ln(4 l / d) - 0.75): E. B. Rosa, "The self and mutual inductances of linear conductors", Bulletin of the
    Bureau of Standards 4 (1908), eq. 9 with l much longer than d (cited from memory). A return close by lowers it,
    so this is the cautious bound.
    """
    if length_m <= 0:
        return 0.0
    ratio = max(4.0 * length_m / (diameter_mm / 1000.0), 3.0)
    return float(2e-7 * length_m * (np.log(ratio) - 0.75))


def step_times(duration_s: float, rise_s: float) -> Floats:
    """Time points: fine over the rise and the first settling, coarser after, with no step larger than 1 ms [s]."""
    fine, wide = 0.05e-3, 1e-3
    dense = np.arange(0.0, max(rise_s * 2, 4e-3) + fine / 2, fine)
    coarse = np.arange(dense[-1] + wide, duration_s + 1e-9, wide)
    return np.concatenate([dense, coarse])


def transient(circuit: Circuit, work: Drive, dynamics: Dynamics, times_s: Floats, watts: Floats) -> Floats:
    """Node volts over time.

    Parameters
    ----------
    circuit, work : one case (n = 1), load ports only; ``work.emf_v`` are the batteries' EMFs.
    times_s : (T,) float
        Rising, from 0; the first point is the steady state.
    watts : (T, L) float
        What each load asks for at each time.

    Returns
    -------
    (T, N) float [V]
    """
    nodes, ports = len(circuit.nodes), len(circuit.load_a)
    incidence = node_incidence(nodes, circuit.load_a, circuit.load_b)
    emf = node_incidence(nodes, circuit.emf_a, circuit.emf_b) @ (work.emf_v[0] / circuit.emf_ohm)
    push = emf + dynamics.inject_a[1:]
    branch = node_incidence(nodes, circuit.branch_a, circuit.branch_b)
    caps = node_incidence(nodes, dynamics.capacitor_a, dynamics.capacitor_b)
    sources = node_incidence(nodes, circuit.emf_a, circuit.emf_b)
    still = _Linear.of(np.asarray(np.linalg.inv(conductance(circuit)), dtype=np.float64), incidence)
    v, port_v = _settle(still, push, work, watts[0], np.full(ports, 12.0))
    amps = branch.T @ v / circuit.branch_ohm
    cap_v = caps.T @ v
    cap_a = np.zeros(len(dynamics.capacitor_f))
    result = np.zeros((len(times_s), nodes))
    result[0, 1:] = v
    last, linear = 0.0, still
    for k in range(1, len(times_s)):
        h = float(times_s[k] - times_s[k - 1])
        if abs(h - last) > 1e-12:
            inductive = 2.0 * dynamics.branch_henry / h
            g = 1.0 / (circuit.branch_ohm + inductive)
            cap_ohm = h / (2.0 * dynamics.capacitor_f)
            gc = 1.0 / (dynamics.capacitor_ohm + cap_ohm)
            matrix = (branch * g) @ branch.T + (caps * gc) @ caps.T + (sources / circuit.emf_ohm) @ sources.T
            linear = _Linear.of(np.asarray(np.linalg.inv(matrix), dtype=np.float64), incidence)
            last = h
        history = np.where(inductive > 0, g * (branch.T @ v + (inductive - circuit.branch_ohm) * amps), 0.0)
        cap_history = gc * (cap_v + cap_ohm * cap_a)
        v, port_v = _settle(linear, push - branch @ history + caps @ cap_history, work, watts[k], port_v)
        amps = g * (branch.T @ v) + history
        new_cap_a = gc * (caps.T @ v) - cap_history
        cap_v = cap_v + cap_ohm * (new_cap_a + cap_a)
        cap_a = new_cap_a
        result[k, 1:] = v
    return result


@dataclass(frozen=True)
class _Linear:
    """The linear part for one step length: node matrix inverted, and what a port ampere does to nodes and ports."""

    inverse: Floats
    spread: Floats
    z_ohm: Floats

    @classmethod
    def of(cls, inverse: Floats, incidence: Floats) -> _Linear:
        spread = inverse @ incidence
        return cls(inverse, spread, incidence.T @ spread)


def _settle(linear: _Linear, push: Floats, work: Drive, watts: Floats, port_v: Floats) -> tuple[Floats, Floats]:
    """Node and port volts of one instant: the linear part with the loads' amperes, by Newton on the ports.

    After some steps negative slopes are left out, which always leads downhill. Raises :class:`Unsettled` if even that
    does not end.
    """
    open_v = linear.spread.T @ push
    now = replace(work, load_w=watts[None])
    eye = np.eye(len(port_v))
    x = port_v
    for step in range(QUICK_STEPS + DAMPED_STEPS):
        currents, slopes = load_current(now, x[None])
        i, di = currents[0], slopes[0] if step < QUICK_STEPS else np.maximum(slopes[0], 0.0)
        dx = np.linalg.solve(eye + linear.z_ohm * di, open_v - x - linear.z_ohm @ i)
        x = x + dx
        if float(np.abs(dx).max(initial=0.0)) < SETTLED_V:
            return linear.inverse @ push - linear.spread @ (i + di * dx), x
    raise Unsettled("a bass hit found no steady volts. Please report this with the rig file.")
