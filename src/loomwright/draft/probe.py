"""One combination of sizes, solved by the network: does it hold in every steady case?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from loomwright.draft.wishes import Wishes
from loomwright.facts import fuses
from loomwright.facts.ampacity import continuous_margin
from loomwright.power.cases import feeding_batteries
from loomwright.power.converters import running
from loomwright.power.drive import drive
from loomwright.power.heat import wire_heat
from loomwright.power.heated import heated
from loomwright.power.network import build
from loomwright.power.solver import branch_current
from loomwright.protection.devices import devices
from loomwright.rig.model import ENGINE_STATES, AmplifierSpec, EngineState, LoadSpec, Programme, Rig

STEADY: tuple[Programme, ...] = ("quiet", "music", "loud")
CASES: tuple[tuple[EngineState, Programme], ...] = tuple((e, p) for e in ENGINE_STATES for p in STEADY)
DROP_SLACK = 1.005
DEVICE_SLACK = 1.01
"""What the checks of the finished rig allow above a limit, so that both say the same."""


@dataclass(frozen=True, slots=True)
class Probe:
    """What the solution says. ``volts_v`` are those at each amplifier in the case of the wish; ``broken`` names what
    does not hold, empty where all does.
    """

    volts_v: Mapping[str, float]
    drops_v: Mapping[str, float]
    broken: tuple[str, ...]

    @property
    def lowest_v(self) -> float:
        return min(self.volts_v.values(), default=0.0)

    @property
    def drop_v(self) -> float:
        return max(self.drops_v.values(), default=0.0)


def probe(rig: Rig, wishes: Wishes) -> Probe:
    """Solve a rig with settled sizes in every steady case, wires and fuses warm."""
    network = build(rig)
    moment = build(rig, settled=False)
    engines = tuple(e for e, _ in CASES)
    heat = wire_heat(rig)
    state = heated(network, heat, running(network, network.circuit_for(engines), drive(network, CASES)), engines)
    found = state.solution.found
    amps = np.abs(np.nan_to_num(branch_current(state.circuit, state.solution)))
    broken: list[str] = []
    if not found.all():
        broken.append("no operating point")
    broken += _overloaded(rig, network.branch_index, amps.max(axis=0), heat.ids, heat.ampacity_a)
    volts: dict[str, float] = {}
    drops: dict[str, float] = {}
    wished = CASES.index((wishes.engine, wishes.programme))
    for n, (engine, programme) in enumerate(CASES):
        if not found[n]:
            continue
        at = dict(zip(network.nodes, state.solution.node_v[n].tolist(), strict=True))
        feeding = feeding_batteries(moment)[engine] if programme == "loud" else {}
        for port in network.loads:
            spec = rig.items[port.item].part.spec
            here = at[f"{port.item}.supply+"] - at[f"{port.item}.supply-"]
            least = spec.min_v if isinstance(spec, AmplifierSpec | LoadSpec) else 0.0
            if here < least and float(state.solution.port_a[n, network.loads.index(port)]) > 0:
                broken.append(f"volts of {port.item}")
            if port.role != "amplifier":
                continue
            if n == wished:
                volts[port.item] = here
            battery = feeding.get(port.item)
            if battery is not None:
                drop = at[f"{battery}.plus"] - at[f"{battery}.minus"] - here
                drops[port.item] = max(drops.get(port.item, 0.0), drop)
    broken += [f"drop of {i}" for i, v in drops.items() if v > rig.limits.drop_v * DROP_SLACK]
    if wishes.min_amp_v is not None:
        broken += [f"wish of {i}" for i, v in volts.items() if v < wishes.min_amp_v]
    return Probe(volts, drops, tuple(dict.fromkeys(broken)))


def _overloaded(
    rig: Rig, index: Mapping[str, int], most_a: np.ndarray, wires: tuple[str, ...], ampacity_a: np.ndarray
) -> list[str]:
    """Devices beyond continuous use, and wires past their ampacity."""
    broken = []
    for device in devices(rig).values():
        at = index.get(f"fuse:{device.id}")
        if at is not None and device.way > 0:
            factor = fuses.temperature_factor(device.type, device.temperature_c)
            if most_a[at] > device.rating_a * factor / continuous_margin() * DEVICE_SLACK:
                broken.append(f"device {device.id}")
    for wire, limit in zip(wires, ampacity_a, strict=True):
        if most_a[index[f"wire:{wire}"]] > limit * DROP_SLACK:
            broken.append(f"wire {wire}")
    return broken
