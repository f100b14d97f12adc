"""What is wanted of a rig, as numbers of one case: volts, watts, charge."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from loomwright.facts.amplifiers import programme_fraction
from loomwright.power.circuit import Circuit, Drive, Floats, incidence
from loomwright.power.network import Network
from loomwright.power.ports import currents
from loomwright.rig.model import AmplifierSpec, Programme

GoalKind = Literal["volts", "watts", "battery", "balance", "headroom"]


@dataclass(frozen=True, slots=True)
class Goal:
    """One number of a case that is wanted higher.

    volts: at an amplifier's supply terminals [V]; watts: audio that the programme makes there [W]; battery: amperes
    into all batteries [A]; balance: what the charging source can give less all that is drawn [A]; headroom: the factor
    on the programme at which the operating point is lost.
    """

    kind: GoalKind
    ref: str  # the amplifier; "" for goals of the whole rig
    unit: str


def goals(network: Network) -> tuple[Goal, ...]:
    """Every goal of a network, headroom last."""
    amplifiers = [p.item for p in network.loads if p.role == "amplifier"]
    return (
        *(Goal("volts", a, "V") for a in amplifiers),
        *(Goal("watts", a, "W") for a in amplifiers),
        Goal("battery", "", "A"),
        Goal("balance", "", "A"),
        Goal("headroom", "", "1"),
    )


def charge_a(network: Network, circuit: Circuit, work: Drive, node_v: Floats) -> Floats:
    """Amperes into all batteries, and the balance of charge, at given volts of the nodes, (n, 2) [A]."""
    port_v = node_v[:, circuit.port_a] - node_v[:, circuit.port_b]
    amps, _, _ = currents(circuit, work, port_v, None)
    across = node_v[:, circuit.emf_a] - node_v[:, circuit.emf_b]
    battery = -((work.emf_v - across) / circuit.emf_ohm).sum(axis=1)
    loads = len(network.loads)
    charger, available = np.zeros(len(node_v)), np.zeros(len(node_v))
    for k, port in enumerate(network.sources):
        if port.role == "battery":
            battery = battery + amps[:, loads + k]
        elif port.role == "charger":
            charger = charger - amps[:, loads + k]
            available = available + work.source_limit_a[:, k]
    return np.stack([battery, available - (charger - battery)], axis=1)


def charge_slope(network: Network, circuit: Circuit, work: Drive, port_v: Floats) -> Floats:
    """Slope of :func:`charge_a` against the volts of the nodes, without the reference, (n, 2, N-1) [A/V]."""
    nodes = len(circuit.nodes)
    _, di, _ = currents(circuit, work, port_v, None)
    emfs = incidence(nodes, circuit.emf_a, circuit.emf_b)
    ports = incidence(nodes, circuit.port_a, circuit.port_b)
    battery = np.broadcast_to((emfs / circuit.emf_ohm).sum(axis=1), (len(port_v), nodes - 1)).copy()
    charger = np.zeros_like(battery)
    for k, port in enumerate(network.sources):
        at = len(network.loads) + k
        if port.role == "battery":
            battery += di[:, at, None] * ports[:, at]
        elif port.role == "charger":
            charger -= di[:, at, None] * ports[:, at]
    return np.stack([battery, battery - charger], axis=1)


def watts_slope(network: Network, amplifier: str, programme: Programme, volts_v: float) -> float:
    """More audio watts for one more volt at an amplifier [W/V]: only a sagging supply below its rated volts has it."""
    spec = network.rig.items[amplifier].part.spec
    assert isinstance(spec, AmplifierSpec)
    if spec.supply == "stiff" or volts_v >= spec.rated_v:
        return 0.0
    full = network.rated_outputs_w[amplifier] * programme_fraction(programme)
    return 2.0 * full * max(volts_v, 0.0) / spec.rated_v**2
