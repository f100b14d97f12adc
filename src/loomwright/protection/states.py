"""Many faulty states of one network, solved together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.power.balance import solved
from loomwright.power.circuit import Circuit, Drive, Floats, Ints, Reduced, Ties
from loomwright.power.converters import converter_outputs, stop_volts
from loomwright.power.nearby import reduce_nearby
from loomwright.power.network import OPEN_OHM, Network
from loomwright.power.solver import Solution, rows_of
from loomwright.protection.faults import Fault

ABSENT_OHM = 1e15
BATCH_ENTRIES = 4_000_000
"""Matrix entries of the states that are solved together: about 100 MB at work."""


@dataclass(frozen=True)
class States:
    """S faulty states of one network.

    A tap splits a wire in two; its star of three resistances is turned into a triangle (A. E. Kennelly, 1899), so
    that no state needs a node of its own. ``tap_branch`` is -1 where a state has no tap.

    Shapes: ohm (S, B); tap_branch, tap_node (S,); tap_ohm (S, 3): start to touch, touch to end, touch to node;
    shunt_a, shunt_b (S,) node indexes, shunt_ohm (S,).
    """

    network: Network
    drive: Drive
    ohm: Floats
    tap_branch: Ints
    tap_node: Ints
    tap_ohm: Floats
    shunt_a: Ints
    shunt_b: Ints
    shunt_ohm: Floats

    def rows(self, index: Ints) -> States:
        """Some of the states."""
        return States(
            self.network,
            self.drive.rows(index),
            self.ohm[index],
            self.tap_branch[index],
            self.tap_node[index],
            self.tap_ohm[index],
            self.shunt_a[index],
            self.shunt_b[index],
            self.shunt_ohm[index],
        )


@dataclass(frozen=True)
class Currents:
    """Amperes in every state. branch_a (S, B): for a tapped wire the larger of its two halves; fault_a (S,)."""

    solution: Solution
    branch_a: Floats
    fault_a: Floats


def prepare(network: Network, one: Drive, faults: Sequence[Fault]) -> States:
    """Lay out the faults as arrays. ``one`` is the drive of a single case, copied to each state."""
    count = len(faults)
    base = network.circuit.branch_ohm
    ohm = np.broadcast_to(base, (count, len(base))).copy()
    many = one.rows(np.zeros(count, dtype=np.intp))
    tap_branch = np.full(count, -1)
    tap_node = np.zeros(count, dtype=np.intp)
    tap_ohm = np.full((count, 3), ABSENT_OHM)
    shunt_a, shunt_b = np.zeros(count, dtype=np.intp), np.zeros(count, dtype=np.intp)
    shunt_ohm = np.full(count, ABSENT_OHM)
    slot = {p.item: k for k, p in enumerate(network.loads)}
    for s, fault in enumerate(faults):
        if fault.tap is not None:
            branch = network.branches[fault.tap.branch]
            copper, ends = branch.copper_mohm / 1000.0, branch.fixed_mohm / 2000.0
            tap_branch[s], tap_node[s] = fault.tap.branch, network.index[fault.tap.node]
            x = fault.tap.fraction
            tap_ohm[s] = (ends + x * copper, ends + (1 - x) * copper, fault.tap.ohm)
        if fault.shunt is not None:
            shunt_a[s], shunt_b[s] = network.index[fault.shunt[0]], network.index[fault.shunt[1]]
            shunt_ohm[s] = fault.shunt[2]
        if fault.cut is not None:
            ohm[s, fault.cut] = OPEN_OHM
        for at, gained in fault.raised:
            ohm[s, at] += gained
        if fault.failed is not None and fault.failed in slot:
            many.load_a[s, slot[fault.failed]] = 0.0
            many.load_w[s, slot[fault.failed]] = 0.0
            many.load_siemens[s, slot[fault.failed]] = 0.0
    return States(network, many, ohm, tap_branch, tap_node, tap_ohm, shunt_a, shunt_b, shunt_ohm)


def solve_states(states: States) -> Currents:
    """Solve every state, in batches that fit the memory of an old laptop.

    A starved DC-DC charger stops; a state that still has no operating point is solved with its loads off.
    """
    nodes = len(states.network.circuit.nodes)
    size = max(4, BATCH_ENTRIES // nodes**2)
    parts = [
        _solve_batch(states.rows(np.arange(k, min(k + size, len(states.ohm)))))
        for k in range(0, len(states.ohm), size)
    ]
    if len(parts) == 1:
        return parts[0]
    solution = Solution(
        node_v=np.concatenate([p.solution.node_v for p in parts]),
        port_v=np.concatenate([p.solution.port_v for p in parts]),
        port_a=np.concatenate([p.solution.port_a for p in parts]),
        found=np.concatenate([p.solution.found for p in parts]),
    )
    return Currents(solution, np.concatenate([p.branch_a for p in parts]), np.concatenate([p.fault_a for p in parts]))


def _solve_batch(states: States) -> Currents:
    c = states.network.circuit
    ohm, ties = _with_ties(states)
    circuit = replace(c, branch_ohm=ohm)
    reduced = reduce_nearby(c, ohm, ties)
    drive = states.drive
    solution = solved(circuit, drive, reduced, ties=ties)
    starved = _starved(states.network, solution)
    if starved.any():
        limit = np.where(starved & converter_outputs(states.network), 0.0, drive.source_limit_a)
        drive, solution = _again(circuit, replace(drive, source_limit_a=limit), reduced, ties, solution, starved[:, 0])
    if not solution.found.all():
        off = ~solution.found[:, None]
        quiet = replace(drive, load_w=np.where(off, 0.0, drive.load_w), load_a=np.where(off, 0.0, drive.load_a))
        drive, solution = _again(circuit, quiet, reduced, ties, solution, ~solution.found)
    return _currents(states, circuit, ohm, solution)


def _with_ties(states: States) -> tuple[Floats, Ties]:
    """Resistance of every branch, (S, B), and what is tied to it: the shunt and two sides of the tap's triangle."""
    c = states.network.circuit
    ohm = states.ohm.copy()
    none = np.zeros(len(ohm), dtype=np.intp)
    a = np.stack([states.shunt_a, none, none], axis=1)
    b = np.stack([states.shunt_b, none, none], axis=1)
    siemens = np.zeros((len(ohm), 3))
    siemens[:, 0] = 1.0 / states.shunt_ohm
    tapped = np.flatnonzero(states.tap_branch >= 0)
    if len(tapped):
        at = states.tap_branch[tapped]
        r1, r2, r3 = states.tap_ohm[tapped].T
        product = r1 * r2 + r2 * r3 + r3 * r1
        ohm[tapped, at] = np.where(ohm[tapped, at] >= OPEN_OHM, OPEN_OHM, product / r3)
        a[tapped, 1], a[tapped, 2] = c.branch_a[at], c.branch_b[at]
        b[tapped, 1], b[tapped, 2] = states.tap_node[tapped], states.tap_node[tapped]
        siemens[tapped, 1], siemens[tapped, 2] = r2 / product, r1 / product
    return ohm, Ties(a, b, siemens)


def _starved(network: Network, solution: Solution) -> np.ndarray:
    """States in which a converter has too little at its input to run, or that found no operating point, (S, 1) bool."""
    if not network.converters:
        return np.zeros((len(solution.found), 1), dtype=bool)
    inputs = solution.port_v[:, -len(network.converters) :]
    low = (np.nan_to_num(inputs) < stop_volts(network)).any(axis=1)
    return np.asarray((~solution.found | low)[:, None])


def _again(
    circuit: Circuit, drive: Drive, reduced: Reduced, ties: Ties, solution: Solution, which: np.ndarray
) -> tuple[Drive, Solution]:
    """Solve some states again with another drive, the others kept."""
    some = np.flatnonzero(which)
    part = rows_of(reduced, some)
    new = solved(circuit.rows(some), drive.rows(some), part, ties=ties.rows(some))
    node_v, port_v, port_a = solution.node_v.copy(), solution.port_v.copy(), solution.port_a.copy()
    found = solution.found.copy()
    node_v[some], port_v[some], port_a[some], found[some] = new.node_v, new.port_v, new.port_a, new.found
    return drive, Solution(node_v, port_v, port_a, found)


def _currents(states: States, circuit: Circuit, ohm: Floats, solution: Solution) -> Currents:
    v = np.nan_to_num(solution.node_v)
    amps = (v[:, circuit.branch_a] - v[:, circuit.branch_b]) / ohm
    fault = (v[np.arange(len(v)), states.shunt_a] - v[np.arange(len(v)), states.shunt_b]) / states.shunt_ohm
    tapped = np.flatnonzero(states.tap_branch >= 0)
    if len(tapped):
        at = states.tap_branch[tapped]
        r1, r2, r3 = states.tap_ohm[tapped].T
        va, vb = v[tapped, circuit.branch_a[at]], v[tapped, circuit.branch_b[at]]
        vf = v[tapped, states.tap_node[tapped]]
        touch = (va / r1 + vb / r2 + vf / r3) / (1 / r1 + 1 / r2 + 1 / r3)
        first, second = (va - touch) / r1, (touch - vb) / r2
        opened = states.ohm[tapped, at] >= OPEN_OHM
        amps[tapped, at] = np.where(opened, 0.0, np.where(np.abs(first) >= np.abs(second), first, second))
        fault[tapped] = (touch - vf) / r3
    return Currents(solution, amps, fault)
