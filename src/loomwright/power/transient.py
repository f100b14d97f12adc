"""The first tenth of a second: wires with inductance, capacitors, and loads that rise, by the trapezoidal rule."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.errors import LoomwrightError
from loomwright.power.circuit import FLOOR_V, Circuit, Drive, Floats, Ints, conductance
from loomwright.power.circuit import incidence as node_incidence

QUICK_STEPS = 12
DAMPED_STEPS = 200
SETTLED_V = 2e-4
"""A Newton step no longer than this leaves less than a ten-millionth of a volt: what is left goes with its square."""
SETTLED_DAMPED_V = 1e-7
"""Steps that leave slopes out only halve what is left, or so: they must be shorter."""


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
    """Node volts over time, (T, N) [V]. Parameters as in :class:`Course`, which may be followed beside others."""
    return np.asarray(transients((Course(circuit, work, dynamics, watts),), times_s)[0])


@dataclass(frozen=True)
class Course:
    """What is followed over time: one case (n = 1) with load ports only; ``work.emf_v`` are the batteries' EMFs;
    ``watts`` (T, L) is what each load asks for at each time.
    """

    circuit: Circuit
    work: Drive
    dynamics: Dynamics
    watts: Floats


def transients(courses: Sequence[Course], times_s: Floats) -> Floats:
    """Node volts over time of several courses in one network, all in step, (courses, T, N) [V].

    For one step length the linear part is an affine map of what its inductances and capacitors remember; only the
    loads' amperes are found by iteration.

    Parameters
    ----------
    courses : sequence of Course
        With the same nodes, branches and loads; capacitors may differ.
    times_s : (T,) float
        Rising, from 0; the first point is the steady state.
    """
    one = courses[0].circuit
    nodes, ports, count = len(one.nodes), len(one.load_a), len(courses)
    incidence = node_incidence(nodes, one.load_a, one.load_b)
    emfs = node_incidence(nodes, one.emf_a, one.emf_b)
    watts = np.stack([c.watts for c in courses], axis=1)
    loads = _Loads.of([c.work for c in courses])
    push = [emfs @ (c.work.emf_v[0] / c.circuit.emf_ohm) + c.dynamics.inject_a[1:] for c in courses]
    still = [np.linalg.inv(conductance(c.circuit)) for c in courses]
    spread = np.stack([s @ incidence for s in still])
    open_v = np.stack([s @ p for s, p in zip(still, push, strict=True)])
    amps, port_v = _settle(
        loads, open_v @ incidence, incidence.T @ spread, watts[0], np.full((count, ports), 12.0)
    )
    v = open_v - _times(spread, amps)
    places = [_Places.of(c.circuit, c.dynamics) for c in courses]
    kept = [
        _Kept(p.branch.T @ u, p.branch.T @ u / c.circuit.branch_ohm, p.caps.T @ u, None)
        for p, u, c in zip(places, v, courses, strict=True)
    ]
    result = np.zeros((count, len(times_s), nodes))
    result[:, 0, 1:] = v
    steps_s = np.diff(times_s)
    begins = [0, *(np.flatnonzero(np.abs(np.diff(steps_s)) > 1e-12) + 1).tolist(), len(steps_s)]
    older_v = port_v
    for first, last in itertools.pairwise(begins):
        if first == last:
            continue
        each = [
            _Step.of(c.circuit, c.dynamics, p, float(steps_s[first]), incidence, u)
            for c, p, u in zip(courses, places, push, strict=True)
        ]
        # from the state, and after it the loads' amperes, to the next state; and from the state to the ports
        sizes = [len(s.onward) for s in each]
        size = max(sizes)
        onward, onward_v = np.zeros((count, size, size + ports)), np.zeros((count, size))
        to_port, state = np.zeros((count, ports, size)), np.zeros((count, size))
        for n, (step, own) in enumerate(zip(each, sizes, strict=True)):
            onward[n, :own, :own], onward[n, :own, size:], onward_v[n, :own] = step.onward, -step.given, step.onward_v
            to_port[n, :, :own], state[n, :own] = step.to_port, step.remembered(kept[n])
        given_v, z_ohm = np.stack([s.open_v for s in each]), np.stack([s.z_ohm for s in each])
        states = np.empty((last - first, count, size + ports))
        for k in range(first, last):
            guess = 2.0 * port_v - older_v if k > first else port_v
            older_v = port_v
            amps, port_v = _settle(loads, given_v + _times(to_port, state), z_ohm, watts[k + 1], guess)
            row = states[k - first]
            row[:, :size], row[:, size:] = state, amps
            state = onward_v + _times(onward, row)
        for n, (step, own) in enumerate(zip(each, sizes, strict=True)):
            known, drawn = states[:, n, :own], states[:, n, size:]
            result[n, first + 1 : last + 1, 1:] = step.node_v + known @ step.to_node.T - drawn @ step.spread.T
            kept[n] = step.kept(result[n, last, 1:], known[-1])
    return result


def _times(matrices: Floats, vectors: Floats) -> Floats:
    """Each matrix (n, i, j) times its vector (n, j)."""
    return np.asarray((matrices @ vectors[..., None])[..., 0])


@dataclass(frozen=True)
class _Places:
    """Where branches and capacitors lie: (N-1, B) and (N-1, C), and each battery's share of the matrix (N-1, N-1)."""

    branch: Floats
    caps: Floats
    sources: Floats

    @classmethod
    def of(cls, circuit: Circuit, dynamics: Dynamics) -> _Places:
        nodes = len(circuit.nodes)
        emf = node_incidence(nodes, circuit.emf_a, circuit.emf_b)
        return cls(
            node_incidence(nodes, circuit.branch_a, circuit.branch_b),
            node_incidence(nodes, dynamics.capacitor_a, dynamics.capacitor_b),
            (emf / circuit.emf_ohm) @ emf.T,
        )


@dataclass(frozen=True)
class _Kept:
    """What an instant hands to the next: branch volts and amperes (B,), capacitor volts and amperes (C,)."""

    branch_v: Floats
    branch_a: Floats
    cap_v: Floats
    cap_a: Floats | None


@dataclass(frozen=True)
class _Step:
    """The trapezoidal rule for one step length, as an affine map of the state.

    The state is each branch's history amperes (B,), then each capacitor's volts and amperes (2C,). Node volts are
    ``node_v + to_node state - spread amps``; the next state ``onward_v + onward state - given amps``.
    """

    inductive_ohm: Floats
    branch_siemens: Floats
    cap_ohm: Floats
    cap_siemens: Floats
    places: _Places
    circuit: Circuit
    node_v: Floats
    to_node: Floats
    spread: Floats
    open_v: Floats
    to_port: Floats
    z_ohm: Floats
    onward_v: Floats
    onward: Floats
    given: Floats

    @classmethod
    def of(
        cls, circuit: Circuit, dynamics: Dynamics, places: _Places, step_s: float, incidence: Floats, push: Floats
    ) -> _Step:
        inductive = 2.0 * dynamics.branch_henry / step_s
        g = 1.0 / (circuit.branch_ohm + inductive)
        cap_ohm = step_s / (2.0 * dynamics.capacitor_f)
        gc = 1.0 / (dynamics.capacitor_ohm + cap_ohm)
        branch, caps = places.branch, places.caps
        whole = np.linalg.inv((branch * g) @ branch.T + (caps * gc) @ caps.T + places.sources)
        spread, node_v = whole @ incidence, whole @ push
        to_node = np.concatenate([-whole @ branch, whole @ (caps * gc), whole @ (caps * (gc * cap_ohm))], axis=1)
        count, c = len(g), len(gc)
        # history = g (u + (inductive - ohm) (g u + history)) where there is inductance, u = branch.T v
        lag = np.where(inductive > 0, g * (inductive - circuit.branch_ohm), 0.0)
        own = np.where(inductive > 0, g, 0.0) + lag * g
        over_branch = own[:, None] * branch.T
        # capacitor amperes = gc (caps.T v - volts - cap_ohm amperes); volts gain cap_ohm (new + old amperes)
        over_cap = gc[:, None] * caps.T
        over = np.concatenate([over_branch, cap_ohm[:, None] * over_cap, over_cap])
        onward = over @ to_node
        index = np.arange(count)
        onward[index, index] += lag
        v_row, a_row = count + np.arange(c), count + c + np.arange(c)
        onward[a_row, v_row] -= gc
        onward[a_row, a_row] -= gc * cap_ohm
        onward[v_row, v_row] += 1.0 - cap_ohm * gc
        onward[v_row, a_row] += cap_ohm - cap_ohm * gc * cap_ohm
        return cls(
            inductive, g, cap_ohm, gc, places, circuit, node_v, to_node, spread,
            incidence.T @ node_v, incidence.T @ to_node, incidence.T @ spread, over @ node_v, onward, over @ spread,
        )  # fmt: skip

    def remembered(self, kept: _Kept) -> Floats:
        """The state that this step length makes of what is kept."""
        history = self.branch_siemens * (kept.branch_v + (self.inductive_ohm - self.circuit.branch_ohm) * kept.branch_a)
        cap_a = np.zeros(len(self.cap_ohm)) if kept.cap_a is None else kept.cap_a
        return np.concatenate([np.where(self.inductive_ohm > 0, history, 0.0), kept.cap_v, cap_a])

    def kept(self, node_v: Floats, state: Floats) -> _Kept:
        """What is kept after an instant with these node volts that began from ``state``."""
        count, c = len(self.branch_siemens), len(self.cap_ohm)
        history, cap_v, cap_a = state[:count], state[count : count + c], state[count + c :]
        branch_v = self.places.branch.T @ node_v
        new_a = self.cap_siemens * (self.places.caps.T @ node_v - cap_v - self.cap_ohm * cap_a)
        return _Kept(branch_v, self.branch_siemens * branch_v + history, cap_v + self.cap_ohm * (new_a + cap_a), new_a)


@dataclass(frozen=True)
class _Loads:
    """The loads of each course, for the inner loop: see :func:`~loomwright.power.circuit.load_current`. (n, L)."""

    amps_a: Floats
    siemens: Floats
    sag_v: Floats
    sag_a_share: Floats
    sag_w_share: Floats
    plain_v: float  # from here on every load draws its watts
    eye: Floats

    @classmethod
    def of(cls, works: Sequence[Drive]) -> _Loads:
        amps, siemens = (np.concatenate([getattr(w, k) for w in works]) for k in ("load_a", "load_siemens"))
        sag_v = np.stack([w.sag_v for w in works])
        sag = np.where(sag_v > 0, sag_v, 1.0)
        plain_v = max(FLOOR_V, float(sag_v.max(initial=0.0)))
        return cls(amps, siemens, sag_v, amps / sag, 1.0 / sag**2, plain_v, np.eye(sag_v.shape[1]))

    def currents(self, watts: Floats, v: Floats) -> tuple[Floats, Floats]:
        """Amperes and their slope at port volts ``v``."""
        least_v = float(v.min(initial=np.inf))
        inverse = 1.0 / (v if least_v >= FLOOR_V else np.maximum(v, FLOOR_V))
        live = watts * inverse
        slope = -live * inverse
        amps = self.amps_a + live
        if least_v >= self.plain_v:
            return amps + self.siemens * v, slope + self.siemens
        if least_v < FLOOR_V:
            amps += np.where(v < FLOOR_V, slope * (v - FLOOR_V), 0.0)
        sagging = v < self.sag_v
        if sagging.any():
            share = self.sag_a_share + watts * self.sag_w_share
            amps, slope = np.where(sagging, share * v, amps), np.where(sagging, share, slope)
        return amps + self.siemens * v, slope + self.siemens


def _settle(loads: _Loads, open_v: Floats, z_ohm: Floats, watts: Floats, port_v: Floats) -> tuple[Floats, Floats]:
    """Amperes and volts of the ports of each course at one instant, by Newton.

    After some steps negative slopes are left out, which always leads downhill. Raises :class:`Unsettled` if even that
    does not end.
    """
    x = port_v
    for step in range(QUICK_STEPS + DAMPED_STEPS):
        amps, slope = loads.currents(watts, x)
        if step >= QUICK_STEPS:
            slope = np.maximum(slope, 0.0)
        right = open_v - x - _times(z_ohm, amps)
        dx = np.linalg.solve(loads.eye + z_ohm * slope[:, None, :], right[..., None])[..., 0]
        x = x + dx
        if np.abs(dx).max(initial=0.0) < (SETTLED_V if step < QUICK_STEPS else SETTLED_DAMPED_V):
            return amps + slope * dx, x
    raise Unsettled("a bass hit found no steady volts. Please report this with the rig file.")
