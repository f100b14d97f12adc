"""Cases solved with their wires, and the elements of their fuses, as warm as their own currents make them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.power.balance import solved
from loomwright.power.circuit import Circuit, Drive, Floats
from loomwright.power.heat import WireHeat, cautious_c
from loomwright.power.network import Network
from loomwright.power.solver import Solution, branch_current
from loomwright.power.warm import HOTTEST_SOLVED_C, Warm
from loomwright.rig.model import EngineState

THERMAL_ROUNDS = 8
THERMAL_C = 0.05


@dataclass(frozen=True)
class Heated:
    """Cases solved with their wires warm: circuit.branch_ohm (n, B); hot_c, balance_c and table_c (n, W) [C]."""

    circuit: Circuit
    solution: Solution
    hot_c: Floats
    balance_c: Floats
    table_c: Floats


def heated(
    network: Network,
    heat: WireHeat,
    work: Drive,
    engines: Sequence[EngineState],
    *,
    within_c: float = THERMAL_C,
    rounds: int = THERMAL_ROUNDS,
) -> Heated:
    """Solve with each case's wires, and its fuses' elements, as warm as its own currents make them.

    Parameters
    ----------
    within_c : float
        Wires that change by no more than this from one round to the next are warm enough [C].
    rounds : int
        At most so many rounds.
    """
    n = work.count
    warm = Warm(network, heat, engines)
    share = np.zeros((n, len(warm.fuse)))
    temperature = np.broadcast_to(heat.ambient_c, (n, len(heat.ids))).copy()
    by_balance = by_table = temperature
    circuit, solution = network.circuit, None
    start: Floats | None = None
    for _ in range(rounds):
        circuit = replace(network.circuit, branch_ohm=warm.ohm(temperature, share))
        solution = solved(circuit, work, start_v=start)
        start = solution.port_v if solution.found.all() else None
        amps = np.nan_to_num(branch_current(circuit, solution))
        share = warm.share(amps)
        new, by_balance, by_table = cautious_c(heat, amps[:, warm.where])
        capped = np.minimum(temperature, HOTTEST_SOLVED_C)
        change = np.abs(np.minimum(new, HOTTEST_SOLVED_C) - capped)[solution.found]
        temperature = np.where(solution.found[:, None], new, temperature)
        if not change.size or change.max(initial=0.0) < within_c:
            break
    assert solution is not None
    return Heated(circuit, solution, temperature, by_balance, by_table)
