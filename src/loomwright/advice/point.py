"""Operating points to take slopes at: solved with every wire as warm as it gets, and what the network does nearby."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.power.circuit import Circuit, Drive, Floats, incidence
from loomwright.power.converters import running
from loomwright.power.drive import drive
from loomwright.power.heat import WireHeat, wire_heat
from loomwright.power.heated import Heated, heated
from loomwright.power.network import Network, build
from loomwright.power.ports import currents
from loomwright.power.solver import branch_current
from loomwright.power.warm import Warm
from loomwright.rig.model import EngineState, Programme, Rig

Case = tuple[EngineState, Programme]
SETTLED_C = 1e-8
ROUNDS = 60
HAIR = 1e-5
"""Share of a branch's current by which it is moved to see how its resistance follows."""


@dataclass(frozen=True)
class Point:
    """n cases of one rig, solved until no wire warms further. ``slope_ohm`` (n, B): volts for one more ampere."""

    network: Network
    heat: WireHeat
    cases: tuple[Case, ...]
    work: Drive
    state: Heated
    amps_a: Floats  # (n, B)
    ohm: Floats  # (n, B)
    slope_ohm: Floats  # (n, B)

    @property
    def found(self) -> np.ndarray:
        """Which cases have an operating point, (n,) bool."""
        return self.state.solution.found

    @property
    def engines(self) -> tuple[EngineState, ...]:
        return tuple(engine for engine, _ in self.cases)


def solve_point(rig: Rig, cases: Sequence[Case]) -> Point:
    """Solve some cases of a rig with settled sizes, its wires warm to 1e-8 K."""
    network, heat = build(rig), wire_heat(rig)
    return point_of(network, heat, drive(network, cases), cases)


def point_of(network: Network, heat: WireHeat, work: Drive, cases: Sequence[Case]) -> Point:
    """The same of a network and a drive that are there already."""
    engines = tuple(engine for engine, _ in cases)
    work = running(network, network.circuit_for(engines), work)
    state = heated(network, heat, work, engines, within_c=SETTLED_C, rounds=ROUNDS)
    amps = np.nan_to_num(branch_current(state.circuit, state.solution))
    warm = Warm(network, heat, engines)
    up, down = warm.at(amps * (1.0 + HAIR)), warm.at(amps * (1.0 - HAIR))
    ohm = warm.at(amps)
    return Point(network, heat, tuple(cases), work, state, amps, ohm, ohm + (up - down) / (2.0 * HAIR))


def port_matrix(circuit: Circuit) -> Floats:
    """Ports by nodes without the reference, (N-1, P): +1 where a port's amperes leave a node."""
    return incidence(len(circuit.nodes), circuit.port_a, circuit.port_b)


def node_matrix(circuit: Circuit, ohm: Floats, work: Drive, port_v: Floats) -> Floats:
    """Slope of the currents that leave each node against the volts of each, (n, N-1, N-1) [A/V]; ohm (n, B)."""
    nodes = len(circuit.nodes)
    branches = incidence(nodes, circuit.branch_a, circuit.branch_b)
    emfs = incidence(nodes, circuit.emf_a, circuit.emf_b)
    ports = port_matrix(circuit)
    _, di, cross = currents(circuit, work, port_v, None)
    matrix = (branches / ohm[:, None, :]) @ branches.T + (emfs / circuit.emf_ohm) @ emfs.T
    matrix = matrix + (ports * di[:, None, :]) @ ports.T
    loads, sources = len(circuit.load_a), len(circuit.source_a)
    for d, out in enumerate(circuit.converter_output):
        taken, given = ports[:, loads + sources + d], ports[:, loads + out]
        matrix = matrix + cross[:, d, None, None] * np.outer(taken, given)
    return np.asarray(matrix)
