"""Does a solved case add up? Current at every node and power over the whole, both to 1e-9.

:func:`solved` is how the rest of the program and every test solve: it never hands out a case that does not add up.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loomwright.errors import LoomwrightError
from loomwright.power.circuit import Circuit, Drive, Floats, Ints, Reduced, Ties, conductance, incidence
from loomwright.power.solver import Solution, branch_current, emf_current, solve

RELATIVE = 1e-9


class Unbalanced(LoomwrightError, ArithmeticError):
    """A solved case does not add up: a defect of this program, never of the rig."""


def solved(
    circuit: Circuit,
    drive: Drive,
    reduced: Reduced | None = None,
    start_v: Floats | None = None,
    *,
    ties: Ties | None = None,
) -> Solution:
    """Solve and check. ``ties`` are what ``reduced`` has beyond the circuit, if anything."""
    solution = solve(circuit, drive, reduced, start_v)
    found = np.flatnonzero(solution.found)
    if len(found):
        off = found[np.maximum(*imbalance(circuit, drive, solution, ties)) > RELATIVE]
        if len(off):
            solution = _polished(circuit, drive, solution, ties, off)
            check(circuit, drive, solution, ties)
    return solution


def _polished(circuit: Circuit, drive: Drive, solution: Solution, ties: Ties | None, off: Ints) -> Solution:
    """Node volts of the cases ``off`` improved by iterative refinement.

    They do not add up where a part of the circuit hangs on the rest by a leak of megohms alone and carries amperes
    of its own: its volts are the small difference of large numbers.
    """
    part = circuit.rows(off)
    some = None if ties is None else ties.rows(off)
    matrix = conductance(part, some)
    emfs, ports = circuit.places.emfs, circuit.places.ports
    branches = incidence(len(circuit.nodes), circuit.branch_a, circuit.branch_b)
    node_v = solution.node_v.copy()
    for _ in range(2):
        v = node_v[off, 1:]
        through = (v @ branches) / part.branch_ohm
        given = (drive.emf_v[off] - v @ emfs) / part.emf_ohm
        left = given @ emfs.T - through @ branches.T - solution.port_a[off] @ ports.T
        if some is not None:
            left -= some.leaving_a(node_v[off])[0][:, 1:]
        node_v[off, 1:] += np.linalg.solve(np.broadcast_to(matrix, (len(off), *matrix.shape[-2:])), left[..., None])[
            ..., 0
        ]
    port_v = solution.port_v.copy()
    port_v[off] = node_v[off][:, circuit.port_a] - node_v[off][:, circuit.port_b]
    return replace(solution, node_v=node_v, port_v=port_v)


def imbalance(circuit: Circuit, drive: Drive, solution: Solution, ties: Ties | None = None) -> tuple[Floats, Floats]:
    """Relative current and power left over in each found case, two (k,) arrays.

    Current: the largest sum at any node over the most amperes that meet at any node, or 1 A if that is more.
    Power: sources less loads less heat in resistances, over the sources' total, or what 1 A makes at 12 V if that is
    more.
    """
    found, part, lead = solution, drive, circuit
    if not solution.found.all():
        keep = np.flatnonzero(solution.found)
        found, part, lead = solution.rows(keep), drive.rows(keep), circuit.rows(keep)
        ties = None if ties is None else ties.rows(keep)
    through = branch_current(lead, found)
    emf = emf_current(lead, part, found)
    amps = np.concatenate([through, found.port_a, emf], axis=1)
    total, size = circuit.places.meets @ amps.T, circuit.places.meets_size @ np.abs(amps.T)
    heat = (through**2 * lead.branch_ohm).sum(axis=1) + (emf**2 * lead.emf_ohm).sum(axis=1)
    if ties is not None:
        leaving, watts = ties.leaving_a(found.node_v)
        total += leaving.T
        size += np.abs(leaving.T)
        heat = heat + watts
    current = np.abs(total).max(axis=0, initial=0.0) / np.maximum(size.max(axis=0, initial=0.0), 1.0)
    made = (emf * part.emf_v).sum(axis=1)
    taken = (found.port_v * found.port_a).sum(axis=1)
    given = np.abs(emf * part.emf_v).sum(axis=1) + np.abs(found.port_v * found.port_a).sum(axis=1)
    power = np.abs(made - taken - heat) / np.maximum(given, 12.0)
    return current, power


def check(circuit: Circuit, drive: Drive, solution: Solution, ties: Ties | None = None) -> None:
    """Raise :class:`Unbalanced` where a found case is off by more than 1e-9."""
    if not solution.found.any():
        return
    current, power = imbalance(circuit, drive, solution, ties)
    if current.max() > RELATIVE or power.max() > RELATIVE:
        raise Unbalanced(
            f"a solved case does not add up: {current.max():.1e} of its current and {power.max():.1e} of its power "
            "are unaccounted for. Please report this with the rig file."
        )
