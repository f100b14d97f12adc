"""Where the operating point is lost, found to the last digit, and how that follows each branch and each draw.

At the end of its branch a case has one point where the slope of its ports, I + Z dI/dV, is singular. With w the vector
that w J = 0, the load factor f of that point follows a lever p by df/dp = - w F_p / w F_f.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.advice.point import Point
from loomwright.power.circuit import Circuit, Drive, Floats, Reduced, reduce
from loomwright.power.headroom import headroom
from loomwright.power.ports import currents, jacobian
from loomwright.power.solver import rows_of

STEPS = 40
HALVINGS = 80
FLAT = 1e-5
"""A slope at the end that is no flatter is a corner of a source's limit: no fold, and no slope is given."""
LEAST_V = 2.0


@dataclass(frozen=True)
class Fold:
    """The end of one case's branch. ``factor`` on every amplifier's programme; the drive there has it in.

    ``left`` (N-1,): the factor gains by this for each ampere less that leaves a node; ``by_ohm`` (B,): by this for each
    ohm more of a branch.
    """

    factor: float
    work: Drive
    node_v: Floats  # (1, N)
    left: Floats
    by_ohm: Floats


def folds(point: Point) -> dict[int, Fold]:
    """The folds of the cases that have one, by number."""
    network, ok = point.network, np.flatnonzero(point.found)
    amplifiers = np.array([p.role == "amplifier" for p in network.loads], dtype=bool)
    if not len(ok) or not amplifiers.any():
        return {}
    circuit = point.state.circuit.rows(ok)
    reduced, work = reduce(circuit), point.work.rows(ok)
    factor, port_v, lost = headroom(circuit, reduced, work, amplifiers, point.state.solution.port_v[ok])
    found = {}
    for k, n in enumerate(ok):
        if not np.isfinite(factor[k]) or lost[k] < 0:
            continue
        one = np.array([k])
        fold = _refined(circuit.rows(one), rows_of(reduced, one), work.rows(one), amplifiers, int(lost[k]),
                        float(factor[k]), port_v[k])  # fmt: skip
        if fold is not None:
            found[int(n)] = fold
    return found


class _Branch:
    """One case's points, each named by the volts of the port that is lost first."""

    def __init__(
        self,
        circuit: Circuit,
        reduced: Reduced,
        work: Drive,
        amplifiers: np.ndarray,
        port: int,
        factor: float,
        v: Floats,
    ) -> None:
        self.circuit, self.work, self.amplifiers, self.port = circuit, work, amplifiers, port
        self.z = np.broadcast_to(reduced.z_ohm, (1, *reduced.z_ohm.shape[-2:]))
        self.open_v = np.asarray((work.emf_v[:, None, :] @ np.broadcast_to(
            reduced.emf_to_port, (1, *reduced.emf_to_port.shape[-2:])))[0, 0])  # fmt: skip
        self.factor, self.v = factor, v.copy()

    def at_factor(self, factor: float) -> Drive:
        return self.work.scaled(np.where(self.amplifiers, factor, 1.0)[None, :])

    def amps(self) -> tuple[Floats, Floats, Floats]:
        """Port amperes, what they gain for one more of the factor, and the slope of the ports."""
        one, two = (currents(self.circuit, self.at_factor(self.factor + d), self.v[None], None) for d in (0.0, 1.0))
        return one[0][0], two[0][0] - one[0][0], jacobian(self.circuit, self.z, one[1], one[2])[0]

    def go(self, volts: float) -> float | None:
        """Move to where the port has these volts; the slope of the factor against them there, or None."""
        self.v[self.port] = volts
        for _ in range(STEPS):
            i, more, j = self.amps()
            bordered = j.copy()
            bordered[:, self.port] = self.z[0] @ more
            step = np.linalg.solve(bordered, self.open_v - self.v - self.z[0] @ i)
            self.factor += float(step[self.port])
            step[self.port] = 0.0
            self.v = self.v + step
            if not np.isfinite(self.factor) or self.factor < 0.0:
                return None
            if np.abs(step).max() < 1e-12 * np.abs(self.v).max():
                break
        _, more, j = self.amps()
        bordered = j.copy()
        bordered[:, self.port] = self.z[0] @ more
        return float(np.linalg.solve(bordered, -j[:, self.port])[self.port])


def _refined(
    circuit: Circuit, reduced: Reduced, work: Drive, amplifiers: np.ndarray, port: int, factor: float, v: Floats
) -> Fold | None:
    branch = _Branch(circuit, reduced, work, amplifiers, port, factor, v)
    high = float(v[port])
    try:
        slope = branch.go(high)
        while slope is not None and slope > 0.0:  # already past it
            high *= 1.02
            slope = branch.go(high)
        low, kept = high, (branch.factor, branch.v.copy())
        while slope is not None and slope <= 0.0:
            high, kept, low = low, (branch.factor, branch.v.copy()), low * 0.97
            if low < LEAST_V:
                return None
            slope = branch.go(low)
        if slope is None:
            return None
        branch.factor, branch.v = kept
        for _ in range(HALVINGS):
            middle = (low + high) / 2.0
            slope = branch.go(middle)
            if slope is None:
                return None
            low, high = (middle, high) if slope > 0.0 else (low, middle)
            if high - low < 1e-13 * high:
                break
    except np.linalg.LinAlgError:
        return None
    if abs(slope) * branch.v[port] > FLAT * branch.factor:
        return None
    return _fold(branch, reduced)


def _fold(branch: _Branch, reduced: Reduced) -> Fold:
    circuit = branch.circuit
    i, more, j = branch.amps()
    work = branch.at_factor(branch.factor)
    to_node = reduced.port_to_node.reshape(len(i), -1)
    node_v = work.emf_v @ reduced.emf_to_node.reshape(work.emf_v.shape[1], -1) - i[None] @ to_node
    weakest = np.linalg.svd(j)[0][:, -1]
    w = -(weakest @ to_node)
    w = w / float((w[circuit.port_a] - w[circuit.port_b]) @ more)
    drop = node_v[0, circuit.branch_a] - node_v[0, circuit.branch_b]
    ohm = circuit.branch_ohm.reshape(-1)
    by_ohm = (w[circuit.branch_a] - w[circuit.branch_b]) * drop / ohm**2
    return Fold(branch.factor, work, node_v, w[1:], by_ohm)
