"""Reads solved cases back into the rig's words."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from loomwright.facts import fuses
from loomwright.facts.ampacity import continuous_margin
from loomwright.facts.amplifiers import programme_fraction
from loomwright.power.amplifier import output_share
from loomwright.power.circuit import Drive, Floats
from loomwright.power.columns import Columns
from loomwright.power.given import battery_given_a
from loomwright.power.heat import WireHeat
from loomwright.power.heated import Heated
from loomwright.power.network import Network
from loomwright.power.results import DeviceState, ItemState, JointState, WireState
from loomwright.power.solver import branch_current
from loomwright.rig.model import AmplifierSpec, DeviceType, FuseSpec, Item, LoadSpec, Programme


class Reading:
    """What the items, wires, joints and devices of a network go through in each of its solved cases."""

    def __init__(self, network: Network, heat: WireHeat, state: Heated, work: Drive) -> None:
        self._network, self._rig = network, network.rig
        self._node_v, self._port_a = state.solution.node_v, state.solution.port_a
        amps = branch_current(state.circuit, state.solution)
        ohm = np.broadcast_to(state.circuit.branch_ohm, amps.shape)
        self._given_a = battery_given_a(network, state.circuit, work, state.solution)
        self._wire_index, self._wires = self._of_wires(heat, state, amps, ohm)
        self._joint_index, self._joints = self._of_joints(amps)
        self._device_index, self._devices = self._of_devices(amps, ohm)

    def wires(self, k: int) -> Columns[WireState]:
        """Every wire that carries direct current in case ``k``."""
        return Columns(WireState, self._wire_index, self._wires[k])

    def joints(self, k: int) -> Columns[JointState]:
        """Every joint in case ``k``."""
        return Columns(JointState, self._joint_index, self._joints[k])

    def devices(self, k: int) -> Columns[DeviceState]:
        """Every fuse and breaker in case ``k``."""
        return Columns(DeviceState, self._device_index, self._devices[k])

    def items(self, k: int, programme: Programme, feeding: Mapping[str, str]) -> dict[str, ItemState]:
        """Every item that draws, gives or stores in case ``k``; ``feeding`` names each load's battery."""
        net, states = self._network, {}
        port_a, outputs = self._port_a[k].tolist(), net.rated_outputs_w
        loads, sources = len(net.loads), len(net.sources)
        node_v, index = self._node_v[k].tolist(), net.index

        def across(plus: str, minus: str) -> float:
            volts: float = node_v[index[plus]] - node_v[index[minus]]
            return volts

        battery_v: dict[str, float] = {}
        for n, name in enumerate(net.batteries):
            amps = -float(self._given_a[k, n])
            volts = across(f"{name}.plus", f"{name}.minus")
            battery_v[name] = volts
            states[name] = ItemState(volts, amps, volts * amps)
        for n, port in enumerate(net.sources):
            if port.role == "charger":
                volts, amps = across(port.a, port.b), port_a[loads + n]
                states[port.item] = ItemState(volts, amps, volts * amps)
        for n, port in enumerate(net.converters):
            volts, amps = across(port.a, port.b), port_a[loads + sources + n]
            states[port.item] = ItemState(volts, amps, volts * amps)
        for n, port in enumerate(net.loads):
            spec = self._rig.items[port.item].part.spec
            volts, amps = across(f"{port.item}.supply+", f"{port.item}.supply-"), port_a[n]
            source_v = battery_v.get(feeding.get(port.item, ""), volts)
            least = spec.min_v if isinstance(spec, AmplifierSpec | LoadSpec) else 0.0
            output = 0.0
            if isinstance(spec, AmplifierSpec):
                output = outputs[port.item] * programme_fraction(programme) * output_share(spec, volts)
            states[port.item] = ItemState(
                volts, amps, volts * amps, output, source_v - volts, below_minimum=volts < least and amps > 0
            )
        return states

    def _of_wires(
        self, heat: WireHeat, state: Heated, amps_a: Floats, branch_ohm: Floats
    ) -> tuple[dict[str, int], Floats]:
        """Rows of :class:`WireState`, (n, wires, fields)."""
        net, rig = self._network, self._rig
        there = [w for w in rig.wires if f"wire:{w.id}" in net.branch_index]
        at = np.array([net.branch_index[f"wire:{w.id}"] for w in there], dtype=np.intp)
        fixed = np.array([net.branches[k].fixed_mohm for k in at]) / 1000.0
        amps, whole = amps_a[:, at], branch_ohm[:, at]
        ohm = np.maximum(whole - fixed, 0.0)
        position = {w: k for k, w in enumerate(heat.ids)}
        heated = np.array([k for k, w in enumerate(there) if w.id in position], dtype=np.intp)
        row = np.array([position[there[k].id] for k in heated], dtype=np.intp)
        here = np.array([rig.wire_temperature_c(w) for w in there])
        thermal = np.empty((*amps.shape, 5))
        thermal[:, :, :3] = here[:, None]
        thermal[:, :, 3] = [float(w.insulation_c) for w in there]
        thermal[:, :, 4] = np.inf
        for field, values in enumerate((state.hot_c, state.balance_c, state.table_c)):
            thermal[:, heated, field] = values[:, row]
        thermal[:, heated, 3], thermal[:, heated, 4] = heat.limit_c[row], heat.ampacity_a[row]
        rows = np.concatenate(
            [np.stack([amps, amps * whole * 1000.0, amps * amps * ohm], axis=-1), thermal, 1000.0 * ohm[..., None]],
            axis=-1,
        )
        return {w.id: k for k, w in enumerate(there)}, rows

    def _of_joints(self, amps_a: Floats) -> tuple[dict[str, int], Floats]:
        """Rows of :class:`JointState`, (n, joints, fields)."""
        found = {name: (k, mohm) for k, b in enumerate(self._network.branches) for name, mohm in b.joints}
        amps = amps_a[:, [k for k, _ in found.values()]]
        mohm = np.array([m for _, m in found.values()])
        rows = np.stack([amps, amps * mohm, amps * amps * mohm / 1000.0, np.broadcast_to(mohm, amps.shape)], axis=-1)
        return {name: k for k, name in enumerate(found)}, rows

    def _of_devices(self, amps_a: Floats, branch_ohm: Floats) -> tuple[dict[str, int], Floats]:
        """Rows of :class:`DeviceState`, (n, devices, fields)."""
        at = [k for k, b in enumerate(self._network.branches) if b.kind == "fuse"]
        index, stands = {}, []
        for n, k in enumerate(at):
            ref = self._network.branches[k].ref
            item = self._rig.items[ref.rpartition(".")[0]]
            rating, kind = device_rating(item, ref)
            factor = fuses.temperature_factor(kind, self._rig.places[item.place].temperature_c)
            index[ref] = n
            stands.append((rating, rating * factor / continuous_margin()))
        amps = amps_a[:, at]
        whole = np.broadcast_to(np.array(stands).reshape(len(at), 2), (*amps.shape, 2))
        drop = amps * branch_ohm[:, at] * 1000.0
        return index, np.concatenate([amps[..., None], whole, drop[..., None]], axis=-1)


def device_rating(item: Item, device: str) -> tuple[float, DeviceType]:
    """Rating and type of a device by its id; an amplifier's own fuses count together."""
    spec = item.part.spec
    if isinstance(spec, AmplifierSpec):
        return sum(spec.own_fuses_a), spec.own_fuse_type
    assert isinstance(spec, FuseSpec)
    way = int(device.rpartition(".")[2])
    rating = item.fuses_a[way - 1] if item.fuses_a else (spec.rating_a or 0.0)
    return float(rating), spec.type
