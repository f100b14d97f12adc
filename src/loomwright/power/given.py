"""What each battery of a solved network gives: its linear part and its source port together."""

from __future__ import annotations

from loomwright.power.circuit import Circuit, Drive, Floats
from loomwright.power.network import Network
from loomwright.power.solver import Solution, emf_current


def battery_given_a(network: Network, circuit: Circuit, work: Drive, solution: Solution) -> Floats:
    """Amperes that each battery gives, negative when it takes, (n, batteries)."""
    given = emf_current(circuit, work, solution)
    for k, port in enumerate(network.sources):
        if port.role == "battery":
            given[:, network.batteries.index(port.item)] -= solution.port_a[:, len(network.loads) + k]
    return given
