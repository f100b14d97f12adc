"""Steady currents to size by: a first estimate by formula, then solved ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf

import numpy as np

from loomwright.power.balance import solved as solved_case
from loomwright.power.bundles import tree_amps_a
from loomwright.power.cases import ALL_CASES, all_cases, feeding_batteries
from loomwright.power.draws import loud_draws_a
from loomwright.power.drive import drive
from loomwright.power.network import Network, build
from loomwright.power.solver import branch_current
from loomwright.protection.graph import Graph
from loomwright.protection.paths import Below
from loomwright.rig.model import ENGINE_STATES, Programme, Rig

STEADY: tuple[Programme, ...] = ("quiet", "music", "loud")
"""Programmes that a rig must stand for ever, in the order they are solved."""


@dataclass(frozen=True)
class Worst:
    """An amplifier's worst drop at `loud` over the engine states."""

    battery: str
    drop_v: float
    amps_a: Mapping[str, float]   # every wire in that case [A]
    ohm: Mapping[str, float]      # the copper of every wire in that case, warm [ohm]


@dataclass(frozen=True)
class Currents:
    """Largest steady currents [A] of wires and devices over every engine state with quiet, music and loud.

    ``solved`` is False for the estimate, and where a case has no operating point; drops are then unknown.
    ``first_a`` holds what flows through devices in the first seconds, before the charge of the batteries settles.
    """

    wires: Mapping[str, float]
    devices: Mapping[str, float]
    drops: Mapping[str, Worst]
    solved: bool
    first_a: Mapping[str, float] = field(default_factory=dict)


def estimated(rig: Rig, graph: Graph, below: Below) -> Currents:
    """Currents by formula: every load at `loud`, every limited source at its limit."""
    draws = loud_draws_a(rig)
    tree = tree_amps_a(rig)
    total_a = sum(draws.values())
    limits = {f.item: f.limit_a for f in graph.feeders if f.limit_a < inf}

    def amps(items: frozenset[str] | None) -> float:
        if items is None:
            return total_a
        drawn = sum(draws[i] for i in items)
        given = sum(limits.get(i, 0.0) for i in items if rig.items[i].part.family == "charger")
        return max(drawn, given)

    wires = {w: tree.get(w, amps(below.wire(w))) for w in graph.wire_nodes}
    devices = {d: amps(below.device(d)) for d in graph.device_nodes}
    return Currents(wires, devices, {}, solved=False)


def solved(rig: Rig) -> Currents:
    """Currents and drops of a rig whose sizes are settled, with its wires at their own temperature."""
    wires: dict[str, float] = {}
    devices: dict[str, float] = {}
    drops: dict[str, Worst] = {}
    first: dict[str, float] = {}
    every = all_cases(rig)
    network, moment = every.network, build(rig, settled=False)
    lasting = np.array([k for k, (_, p) in enumerate(ALL_CASES) if p in STEADY], dtype=np.intp)
    cases = [ALL_CASES[k] for k in lasting]
    circuit, solution = every.state.circuit.rows(lasting), every.state.solution.rows(lasting)
    amps = np.abs(np.nan_to_num(branch_current(circuit, solution)))
    largest = amps.max(axis=0)
    at_wire: dict[str, int] = {}
    for k, branch in enumerate(network.branches):
        if branch.kind == "wire":
            at_wire[branch.ref] = k
            wires[branch.ref] = float(largest[k])
        elif branch.kind == "fuse":
            devices[branch.ref] = float(largest[k])
    if len(network.batteries) > 1:
        _first_seconds(moment, first)
    for n, (engine, programme) in enumerate(cases):
        if programme != STEADY[-1] or not solution.found[n]:
            continue
        volts = dict(zip(network.nodes, solution.node_v[n].tolist(), strict=True))
        loud_a = {w: float(amps[n, k]) for w, k in at_wire.items()}
        copper = {
            w: float(circuit.branch_ohm[n, k]) - network.branches[k].fixed_mohm / 1000.0 for w, k in at_wire.items()
        }
        feeding = feeding_batteries(moment)[engine]
        for port in network.loads:
            battery = feeding.get(port.item)
            if port.role != "amplifier" or battery is None:
                continue
            source_v = volts[f"{battery}.plus"] - volts[f"{battery}.minus"]
            drop = source_v - volts[f"{port.item}.supply+"] + volts[f"{port.item}.supply-"]
            if port.item not in drops or drop > drops[port.item].drop_v:
                drops[port.item] = Worst(battery, drop, loud_a, copper)
    return Currents(wires, devices, drops, bool(solution.found.all()), first)


def _first_seconds(moment: Network, first: dict[str, float]) -> None:
    """Adds the devices' currents with every battery at its resting EMF; unlike batteries then feed each other."""
    circuit = moment.circuit_for(ENGINE_STATES)
    state = solved_case(circuit, drive(moment, tuple((engine, "quiet") for engine in ENGINE_STATES)))
    amps = np.abs(np.nan_to_num(branch_current(circuit, state))).max(axis=0)
    for k, branch in enumerate(moment.branches):
        if branch.kind == "fuse":
            first[branch.ref] = float(amps[k])
