"""Quick draws by formula: what each item takes at `loud`, before anything is solved.

Used to count the wires of a bundle that are worth counting and to start the choice of sizes. The power
study replaces these figures by solved ones.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.facts.amplifiers import programme_fraction
from loomwright.power.amplifier import STATED_AT_V, supply_w
from loomwright.power.channels import channel_loads, rated_output_w
from loomwright.rig.model import AmplifierSpec, DcdcSpec, Item, LoadSpec, RelaySpec, Rig

OFF_V = 12.0
"""Volts with the engine off: an amplifier draws most there for the same output."""


def loud_draws_a(rig: Rig, volts_v: float = OFF_V) -> Mapping[str, float]:
    """Amperes that each item takes from its supply at `loud` [A]; 0 for what draws nothing.

    A DC-DC charger is taken at its limit, seen from its input.
    """
    loads = channel_loads(rig)
    return {i.id: _draw_a(i, loads.get(i.id, ()), volts_v) for i in rig.items.values()}


def _draw_a(item: Item, loads: tuple[float | None, ...], volts_v: float) -> float:
    spec = item.part.spec
    if isinstance(spec, AmplifierSpec):
        return spec.idle_a + supply_w(spec, rated_output_w(item, loads), programme_fraction("loud")) / volts_v
    if isinstance(spec, LoadSpec):
        if spec.law == "power":
            return spec.draw_w / volts_v
        if spec.law == "current":
            return spec.draw_w / STATED_AT_V
        return spec.draw_w / STATED_AT_V**2 * volts_v
    if isinstance(spec, DcdcSpec):
        return spec.limit_a * spec.output_v / (spec.efficiency * volts_v)
    if isinstance(spec, RelaySpec):
        return spec.coil_ma / 1000.0
    return 0.0
