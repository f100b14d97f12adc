"""Many circuits that differ from one in a few resistances each, reduced without eliminating every one of them.

A changed resistance is a rank-one change of the node conductance matrix, so its inverse changes by the
Sherman-Morrison-Woodbury formula. Where that would lose digits (a cut that leaves a part of the circuit floating, a tie
to a part that floats already) the case is eliminated by itself.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loomwright.power.circuit import Circuit, Floats, Ints, Reduced, Ties, reduce, reduced_from

FLOATING_OHM = 100.0
"""A change between nodes that lie further apart than this is not made by the formula: digits would be lost."""
LEAST_PIVOT = 1e-4
"""Nor one that leaves less than this share of the conductance between two nodes."""


def reduce_nearby(circuit: Circuit, ohm: Floats, ties: Ties) -> Reduced:
    """Reduce every case of a circuit that differs from it in a few branches and has ties of its own.

    Parameters
    ----------
    circuit : Circuit
        What the cases have in common: branch_ohm (B,), emf_ohm (E,).
    ohm : (n, B) float
        Resistance of every branch in every case [ohm].
    ties : Ties
        Of the n cases.
    """
    whole = circuit.inverse_ohm
    a, b, siemens = _changes(circuit, ohm, ties)
    n, nodes = len(ohm), len(circuit.nodes)
    apart = whole[a] - whole[b]  # (n, M, N): node volts for an ampere through each changed place
    rows, places = np.arange(n)[:, None, None], np.arange(a.shape[1])[None, :, None]
    own = apart[rows, places, a[:, None, :]] - apart[rows, places, b[:, None, :]]  # (n, M, M)
    small = np.eye(a.shape[1]) + siemens[:, :, None] * own
    ports = circuit.places.ports
    emfs = circuit.places.emfs / circuit.emf_ohm
    inject = np.zeros((nodes, ports.shape[1] + emfs.shape[1]))
    inject[1:] = np.concatenate([ports, emfs], axis=1)
    poor = (np.where(siemens != 0.0, np.diagonal(own, axis1=1, axis2=2), 0.0) > FLOATING_OHM).any(axis=1)
    poor |= ~(np.abs(np.linalg.det(small)) > LEAST_PIVOT)
    small[poor] = np.eye(a.shape[1])
    weight = np.linalg.solve(small, siemens[:, :, None] * (apart @ inject))  # (n, M, P + E)
    spread = (whole @ inject).T - np.swapaxes(weight, 1, 2) @ apart
    alone = np.flatnonzero(poor)
    if len(alone):
        exact = reduce(replace(circuit, branch_ohm=ohm[alone]), ties.rows(alone))
        spread[alone] = np.concatenate([exact.port_to_node, exact.emf_to_node], axis=1)
    return reduced_from(circuit, spread)


def _changes(circuit: Circuit, ohm: Floats, ties: Ties) -> tuple[Ints, Ints, Floats]:
    """Ties and changed branches as places (n, M) with the siemens that each adds; 0 where a case has fewer."""
    case, branch = np.nonzero(ohm != circuit.branch_ohm)
    count = np.bincount(case, minlength=len(ohm))
    place = np.arange(len(case)) - np.repeat(np.cumsum(count) - count, count)
    a, b = (np.zeros((len(ohm), int(count.max(initial=0))), dtype=np.intp) for _ in range(2))
    gained = np.zeros(a.shape)
    a[case, place], b[case, place] = circuit.branch_a[branch], circuit.branch_b[branch]
    gained[case, place] = 1.0 / ohm[case, branch] - 1.0 / circuit.branch_ohm[branch]
    return (
        np.concatenate([ties.a, a], axis=1),
        np.concatenate([ties.b, b], axis=1),
        np.concatenate([ties.siemens, gained], axis=1),
    )
