"""The fault drill: every fault, tried one by one, followed to the end and judged."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from loomwright.power.cases import study_power
from loomwright.power.drive import drive
from loomwright.power.heat import wire_heat
from loomwright.power.network import Network, build
from loomwright.power.results import PowerResult
from loomwright.protection.devices import chains, devices
from loomwright.protection.faults import NO_FAULT, Whole, every_fault
from loomwright.protection.guards import guards
from loomwright.protection.judge import Judge
from loomwright.protection.mishaps import remote_left_on, wrong_fuses
from loomwright.protection.results import Choice, Device, FaultResult, Guard, ProtectionResult
from loomwright.protection.selectivity import pairs
from loomwright.protection.sequence import follow
from loomwright.protection.states import Currents, prepare, solve_states
from loomwright.rig.model import EngineState, Programme, Rig
from loomwright.rig.once import once
from loomwright.rig.shape import supply_part

DRILL_ENGINE: EngineState = "idle"
DRILL_PROGRAMME: Programme = "music"
"""The drill runs with everything on: every source that can feed a fault is tied in, at an ordinary programme."""


def study_protection(rig: Rig, choices: tuple[Choice, ...]) -> ProtectionResult:
    """Everything the protection room has to say about a rig with settled sizes."""
    return replace(_study(supply_part(rig)), choices=choices)


@once
def _study(rig: Rig) -> ProtectionResult:
    power = study_power(rig)
    found = devices(rig)
    guarded = guards(rig, power, found)
    series = chains(rig)
    return ProtectionResult(
        devices=found,
        chains=series,
        guards=guarded,
        pairs=pairs(rig, power, found, series),
        choices=(),
        drill=run_drill(rig, power, found, guarded),
    )


def run_drill(
    rig: Rig, power: PowerResult, found: Mapping[str, Device], guarded: Mapping[str, Guard]
) -> tuple[FaultResult, ...]:
    """Every fault of the rig, judged, in the order of the rig."""
    network = drill_network(rig)
    wires = wire_heat(rig)
    case = power.case(DRILL_ENGINE, DRILL_PROGRAMME)
    before_c = np.array([case.wires[w].temperature_c for w in wires.ids])
    present = [d for d in found.values() if f"fuse:{d.id}" in network.branch_index]
    one = drive(network, ((DRILL_ENGINE, DRILL_PROGRAMME),), brown_out=True)
    whole = solve_states(prepare(network, one, (NO_FAULT,)))
    faults = every_fault(rig, network, guarded, found, _whole(network, present, whole))
    states = prepare(network, one, faults)
    followed = follow(states, present, wires, before_c)
    judge = Judge(rig, network, found, guarded, whole)
    results = judge.verdicts(faults, followed)
    results.extend(wrong_fuses(wires, found, guarded))
    results.extend(remote_left_on(rig, power))
    return tuple(results)


def _whole(network: Network, present: Sequence[Device], state: Currents) -> Whole:
    amps = {d.id: float(state.branch_a[0, network.branch_index[f"fuse:{d.id}"]]) for d in present}
    return Whole(tuple(float(v) for v in np.nan_to_num(state.solution.node_v[0])), amps)


def drill_network(rig: Rig) -> Network:
    """The circuit as it is in the first seconds of a fault, every source tied in."""
    return build(rig, settled=False)
