"""Does a solved case add up? Current at every node and power over the whole, both to 1e-9."""

from __future__ import annotations

import numpy as np

from loomwright.errors import LoomwrightError
from loomwright.power.circuit import Circuit, Drive, Floats
from loomwright.power.solver import Solution, branch_current, emf_current

RELATIVE = 1e-9


class Unbalanced(LoomwrightError, ArithmeticError):
    """A solved case does not add up: a defect of this program, never of the rig."""


def imbalance(circuit: Circuit, drive: Drive, solution: Solution) -> tuple[Floats, Floats]:
    """Relative current and power left over in each found case, two (k,) arrays.

    Current: the largest sum at any node over the most amperes that meet at any node, or 1 A if that is more.
    Power: sources less loads less heat in resistances, over the sources' total or 1 W.
    """
    keep = solution.found
    found = Solution(solution.node_v[keep], solution.port_v[keep], solution.port_a[keep], solution.found[keep])
    part = drive.rows(np.flatnonzero(keep))
    lead = circuit
    if circuit.branch_ohm.ndim == 2 or circuit.emf_ohm.ndim == 2:
        ohm = circuit.branch_ohm[keep] if circuit.branch_ohm.ndim == 2 else circuit.branch_ohm
        emf_ohm = circuit.emf_ohm[keep] if circuit.emf_ohm.ndim == 2 else circuit.emf_ohm
        lead = Circuit(**{**circuit.__dict__, "branch_ohm": ohm, "emf_ohm": emf_ohm})
    through = branch_current(lead, found)
    emf = emf_current(lead, part, found)
    n, nodes = found.node_v.shape
    total, size = np.zeros((nodes, n)), np.zeros((nodes, n))
    for a, b, amps in (
        (circuit.branch_a, circuit.branch_b, through),
        (circuit.port_a, circuit.port_b, found.port_a),
        (circuit.emf_b, circuit.emf_a, emf),
    ):
        for node, sign in ((a, 1.0), (b, -1.0)):
            np.add.at(total, node, sign * amps.T)
            np.add.at(size, node, np.abs(amps.T))
    current = np.abs(total).max(axis=0, initial=0.0) / np.maximum(size.max(axis=0, initial=0.0), 1.0)
    heat = (through**2 * lead.branch_ohm).sum(axis=1) + (emf**2 * lead.emf_ohm).sum(axis=1)
    made = (emf * part.emf_v).sum(axis=1)
    taken = (found.port_v * found.port_a).sum(axis=1)
    given = np.abs(emf * part.emf_v).sum(axis=1) + np.abs(found.port_v * found.port_a).sum(axis=1)
    power = np.abs(made - taken - heat) / np.maximum(given, 1.0)
    return current, power


def check(circuit: Circuit, drive: Drive, solution: Solution) -> None:
    """Raise :class:`Unbalanced` where a found case is off by more than 1e-9."""
    if not solution.found.any():
        return
    current, power = imbalance(circuit, drive, solution)
    if current.max() > RELATIVE or power.max() > RELATIVE:
        raise Unbalanced(
            f"a solved case does not add up: {current.max():.1e} of its current and {power.max():.1e} of its power "
            "are unaccounted for. Please report this with the rig file."
        )
