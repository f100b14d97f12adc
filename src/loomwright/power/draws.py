"""Quick draws by formula: what an item takes at `loud`, before anything is solved.

Used to count the wires of a bundle that are worth counting and to start the choice of sizes. The power
study replaces these figures by solved ones.
"""

from __future__ import annotations

from loomwright.rig.model import AmplifierSpec, DcdcSpec, Item, LoadSpec, RelaySpec

LOUD = 1.0 / 3.0          # share of full output at `loud`
RUNNING_V = 13.5          # volts at which a LoadSpec states its watts
OFF_V = 12.0              # engine off: the volts at which an amplifier draws most for the same output


def full_output_w(spec: AmplifierSpec, bridged: int = 0) -> float:
    """Audio watts of all channels at 4 ohm and rated volts [W]; ``bridged`` is the number of bridged pairs."""
    single = spec.output_4ohm_w * max(spec.channels - 2 * bridged, 0)
    pair = spec.bridged_4ohm_w if spec.bridged_4ohm_w is not None else 2.0 * spec.output_4ohm_w
    return single + pair * bridged


def efficiency(spec: AmplifierSpec, share: float) -> float:
    """Efficiency at ``share`` of full output, on a straight line through the points at 1/8 and 1."""
    slope = (spec.efficiency_full - spec.efficiency_eighth) / (1.0 - 0.125)
    return max(0.05, spec.efficiency_full + slope * (min(max(share, 0.0), 1.0) - 1.0))


def loud_draw_a(item: Item, volts_v: float = OFF_V) -> float:
    """Amperes that an item takes from its supply at `loud` [A]; 0 for what draws nothing.

    A DC-DC charger is taken at its limit, seen from its input.
    """
    spec = item.part.spec
    if isinstance(spec, AmplifierSpec):
        watts = LOUD * full_output_w(spec, len(item.bridged))
        return spec.idle_a + watts / (efficiency(spec, LOUD) * volts_v)
    if isinstance(spec, LoadSpec):
        if spec.law == "power":
            return spec.draw_w / volts_v
        if spec.law == "current":
            return spec.draw_w / RUNNING_V
        return spec.draw_w / RUNNING_V**2 * volts_v
    if isinstance(spec, DcdcSpec):
        return spec.limit_a * spec.output_v / (spec.efficiency * volts_v)
    if isinstance(spec, RelaySpec):
        return spec.coil_ma / 1000.0
    return 0.0
