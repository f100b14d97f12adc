"""From a rig to a circuit: every wire, joint, fuse, contact and metal path as a resistance.

Feed and return are both wires, so no round-trip factor appears. Speaker circuits carry no direct current and are
left out;
a line lead appears as its screen, which ties the signal grounds of the two items together. Node 0 is the minus post of
the reference battery.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from loomwright.facts import assumptions, conductors, fuses, joints
from loomwright.power.channels import channel_loads, rated_output_w
from loomwright.power.circuit import Circuit, Floats
from loomwright.power.sources import BatteryLine, battery_line
from loomwright.rig.model import (
    ENGINE_STATES,
    AmplifierSpec,
    BarSpec,
    BatterySpec,
    ChargerSpec,
    ConnectorSpec,
    DcdcSpec,
    DeviceType,
    EngineState,
    FuseSpec,
    IsolatorSpec,
    Item,
    LoadSpec,
    PassiveSpec,
    RelaySpec,
    Rig,
    Wire,
)
from loomwright.rig.once import once

LEAK_OHM = 1e8
"""Ties a part of the circuit that nothing else ties to the reference; far above anything that matters."""
BLEED_OHM = 1e6
"""Across every charging source, so that one without a battery still has a defined voltage."""
OPEN_OHM = 1e8
"""A contact, device or wire that is open [ohm]."""
LEAST_OHM = 1e-6
"""Resistances under this are taken as this: an ideal join [ohm]."""

BranchKind = Literal["wire", "fuse", "bar", "contact", "screen", "input", "output", "bleed", "leak", "fault"]


@dataclass(frozen=True, slots=True)
class Branch:
    """A resistance between two nodes, in series: fixed part (joints, fuse) and copper at 20 C [mohm]."""

    id: str
    kind: BranchKind
    ref: str
    a: str
    b: str
    fixed_mohm: float
    copper_mohm: float = 0.0
    joints: tuple[tuple[str, float], ...] = ()
    rated_a: float = 0.0  # devices: rated amperes ..
    hot_gain_mohm: float = 0.0  # .. and what their element gains when it carries them

    @property
    def mohm(self) -> float:
        return max(self.fixed_mohm + self.copper_mohm, LEAST_OHM * 1000.0)


@dataclass(frozen=True, slots=True)
class Port:
    """A non-linear device of an item at two nodes."""

    item: str
    role: Literal["amplifier", "load", "charger", "battery", "dcdc", "diode", "dcdc input"]
    a: str
    b: str
    siemens: float = 0.0
    output: int = -1  # converter inputs: index of the output's source port
    efficiency: float = 1.0


@dataclass(frozen=True)
class Network:
    """A rig's circuit. ``circuit`` has its copper at 20 C and its charge relays closed; see :meth:`ohm`.

    ``settled`` says which line the batteries follow when they take current; see :mod:`loomwright.power.sources`.
    """

    rig: Rig
    settled: bool
    nodes: tuple[str, ...]
    branches: tuple[Branch, ...]
    batteries: tuple[str, ...]
    loads: tuple[Port, ...]
    sources: tuple[Port, ...]
    converters: tuple[Port, ...]
    circuit: Circuit

    @cached_property
    def index(self) -> Mapping[str, int]:
        return {name: k for k, name in enumerate(self.nodes)}

    @cached_property
    def charge_relays(self) -> tuple[int, ...]:
        """Branches that are the contacts of charge relays: closed while the engine runs."""
        return tuple(
            k
            for k, b in enumerate(self.branches)
            if b.kind == "contact" and b.ref in self.rig.items and self.rig.items[b.ref].part.family == "isolator"
        )

    def ohm(self, engines: Sequence[EngineState]) -> Floats:
        """Resistance of every branch in each case, (n, B); (B,) where no case differs [ohm]."""
        base = self.circuit.branch_ohm
        stopped = np.array([e == "off" for e in engines], dtype=bool)
        if not self.charge_relays or not stopped.any():
            return base
        ohm = base.copy() if stopped.all() else np.tile(base, (len(engines), 1))
        for relay in self.charge_relays:
            ohm[..., relay] = np.where(stopped, OPEN_OHM, ohm[..., relay]) if ohm.ndim == 2 else OPEN_OHM
        return ohm

    def circuit_for(self, engines: Sequence[EngineState]) -> Circuit:
        """The circuit with its charge relays as the engine sets them."""
        ohm = self.ohm(engines)
        return self.circuit if ohm is self.circuit.branch_ohm else replace(self.circuit, branch_ohm=ohm)

    def circuits(self) -> tuple[tuple[tuple[EngineState, ...], Circuit], ...]:
        """The circuits that differ from engine state to engine state, each with the states that have it."""
        if not self.charge_relays:
            return ((ENGINE_STATES, self.circuit),)
        running = tuple(e for e in ENGINE_STATES if e != "off")
        return ((("off",), self.circuit_for(("off",))), (running, self.circuit_for(running[:1])))

    @cached_property
    def rated_outputs_w(self) -> Mapping[str, float]:
        """Audio watts of each amplifier into what is wired to it, at its rated volts."""
        loads = channel_loads(self.rig)
        return {name: rated_output_w(self.rig.items[name], loads[name]) for name in loads}

    @cached_property
    def branch_index(self) -> Mapping[str, int]:
        return {b.id: k for k, b in enumerate(self.branches)}


def device_id(item: Item, way: int) -> str:
    """``block.2``: the second way of an item; ``amp.own``: what an amplifier brings (way 0)."""
    return f"{item.id}.own" if way == 0 else f"{item.id}.{way}"


def device_ohm(spec: FuseSpec, rating_a: float) -> float:
    """Cold resistance of a device with its holder's contacts [ohm]."""
    return (fuses.cold_resistance_mohm(spec.type, rating_a) + spec.contact_mohm) / 1000.0


def _hot_gain_mohm(device_type: DeviceType, rating_a: float) -> float:
    """What a device's element gains from cold to its rated current [mohm]."""
    return fuses.cold_resistance_mohm(device_type, rating_a) * (fuses.hot_factor(device_type) - 1.0)


def wire_mohm(wire: Wire) -> float:
    """Copper of a wire at 20 C [mohm], end to end without joints; what a technician measured overrides."""
    if wire.size is None:
        raise ValueError(f"wire {wire.id} has no size yet: settle the rig first")
    if wire.size.system == "bolted":
        return 0.0
    if wire.measured_mohm is not None:
        return wire.measured_mohm
    per_m = conductors.resistance_mohm_per_m(wire.size.area_mm2, wire.metal, 20.0, wire.size.system)
    return per_m * wire.length_mm / 1000.0


def signal_node(rig: Rig, ref: str) -> str:
    """Node of a line lead's screen at one end: the item's signal ground, or the contact it passes through."""
    item = rig.item_of(ref)
    if isinstance(item.part.spec, AmplifierSpec | LoadSpec):
        return f"{item.id}.signal ground"
    return ref


def wire_branch(rig: Rig, wire: Wire) -> Branch | None:
    """The branch of a wire, or None for a speaker wire."""
    if wire.kind == "speaker":
        return None
    if wire.kind == "line":
        per_m = assumptions.number("line_lead.screen", "resistance_mohm_per_m")
        mohm = per_m * wire.length_mm / 1000.0 + assumptions.number("line_lead.plugs", "resistance_mohm")
        return Branch(
            f"screen:{wire.id}", "screen", wire.id, signal_node(rig, wire.start), signal_node(rig, wire.end), mohm
        )
    assert wire.size is not None
    if wire.size.system == "bolted":
        parts: tuple[tuple[str, float], ...] = ((f"{wire.id}@{wire.start}", joints.joint("bolted").mohm),)
    else:
        parts = tuple(
            (f"{wire.id}@{ref}", joints.joint(name).mohm)
            for ref, name in zip((wire.start, wire.end), wire.joints, strict=True)
        )
    return Branch(
        f"wire:{wire.id}", "wire", wire.id, wire.start, wire.end, sum(m for _, m in parts), wire_mohm(wire), parts
    )


def _item_branches(item: Item) -> Iterator[Branch]:
    """Resistances inside an item."""
    spec, name = item.part.spec, item.id

    def at(terminal: str) -> str:
        return f"{name}.{terminal}"

    if isinstance(spec, FuseSpec):
        fitted = item.fuses_a if item.fuses_a else ((spec.rating_a or 0.0,) * max(item.part.ways, 1))
        for way, rating in enumerate(fitted, start=1):
            if rating in (0, "auto"):
                continue
            out = "out" if item.part.family in ("fuse_holder", "breaker") else f"out{way}"
            own = device_id(item, way)
            yield Branch(
                f"fuse:{own}",
                "fuse",
                own,
                at("in"),
                at(out),
                device_ohm(spec, float(rating)) * 1000.0,
                joints=((f"fuse:{own}", spec.contact_mohm),),
                rated_a=float(rating),
                hot_gain_mohm=_hot_gain_mohm(spec.type, float(rating)),
            )
    elif isinstance(spec, BarSpec):
        for t in item.part.terminals:
            yield Branch(f"bar:{name}.{t.name}", "bar", name, at(t.name), at("middle"), spec.path_mohm)
    elif isinstance(spec, ConnectorSpec):
        for n in range(1, spec.contacts + 1):
            ref = f"{name}.{n}"
            yield Branch(
                f"contact:{ref}",
                "contact",
                ref,
                at(f"a{n}"),
                at(f"b{n}"),
                spec.contact_mohm,
                0.0,
                ((f"contact:{ref}", spec.contact_mohm),),
            )
    elif isinstance(spec, RelaySpec):
        if item.part.family == "relay":
            coil = 12.0 / spec.coil_ma * 1e6
            yield Branch(f"coil:{name}", "input", name, at("86"), at("85"), coil)
            yield Branch(
                f"contact:{name}",
                "contact",
                name,
                at("30"),
                at("87"),
                spec.contact_mohm,
                0.0,
                ((f"contact:{name}", spec.contact_mohm),),
            )
        else:
            yield Branch(
                f"contact:{name}",
                "contact",
                name,
                at("in"),
                at("out"),
                spec.contact_mohm,
                0.0,
                ((f"contact:{name}", spec.contact_mohm),),
            )
    elif isinstance(spec, IsolatorSpec) and spec.kind == "relay":
        yield Branch(
            f"contact:{name}",
            "contact",
            name,
            at("main"),
            at("aux"),
            spec.contact_mohm,
            0.0,
            ((f"contact:{name}", spec.contact_mohm),),
        )
    elif isinstance(spec, AmplifierSpec):
        if spec.own_fuses_a:
            own = device_id(item, 0)
            each = fuses.cold_resistance_mohm(spec.own_fuse_type, max(spec.own_fuses_a))
            count = len(spec.own_fuses_a)
            yield Branch(
                f"fuse:{own}",
                "fuse",
                own,
                at("supply+"),
                at("rail"),
                each / count,
                rated_a=sum(spec.own_fuses_a),
                hot_gain_mohm=_hot_gain_mohm(spec.own_fuse_type, max(spec.own_fuses_a)) / count,
            )
        if spec.remote_ma > 0:
            yield Branch(f"input:{name}", "input", name, at("remote"), at("supply-"), 12.0 / spec.remote_ma * 1e6)
        yield _signal_ground(name, spec.signal_ground_ohm, balanced=spec.balanced_input)
    elif isinstance(spec, LoadSpec):
        terminals = {t.name for t in item.part.terminals}
        remote_in = next((t for t in ("remote_in", "remote") if t in terminals), None)
        if remote_in and spec.remote_in_ma > 0:
            yield Branch(f"input:{name}", "input", name, at(remote_in), at("supply-"), 12.0 / spec.remote_in_ma * 1e6)
        if "remote_out" in terminals and spec.remote_out_max_ma > 0:
            mohm = assumptions.number("remote.output", "drop_v") / spec.remote_out_max_ma * 1e6
            yield Branch(f"output:{name}", "output", name, at("supply+"), at("remote_out"), mohm)
        if spec.channels:
            yield _signal_ground(name, spec.signal_ground_ohm, balanced=spec.balanced_output)


def _signal_ground(name: str, ohm: float, *, balanced: bool) -> Branch:
    """Between an item's line screens and its supply return; a balanced one has no way for direct current."""
    shown = assumptions.number("line_lead.balanced", "resistance_ohm") if balanced else ohm
    return Branch(f"signal:{name}", "input", name, f"{name}.signal ground", f"{name}.supply-", shown * 1000.0)


def _in_use(item: Item, branch: Branch, wired: set[str]) -> bool:
    """Leaves out the contacts, studs and ways of joining items that no wire of this circuit lands on."""
    if item.part.family == "connector":
        return branch.a in wired or branch.b in wired
    if branch.kind in ("bar", "fuse") and branch.id != f"fuse:{item.id}.own":
        return branch.a in wired and (branch.b in wired or branch.kind == "bar")
    return True


def _ports(item: Item) -> Iterator[Port]:
    spec, name = item.part.spec, item.id
    if isinstance(spec, AmplifierSpec):
        plus = f"{name}.rail" if spec.own_fuses_a else f"{name}.supply+"
        yield Port(name, "amplifier", plus, f"{name}.supply-")
    elif isinstance(spec, LoadSpec):
        yield Port(name, "load", f"{name}.supply+", f"{name}.supply-")
    elif isinstance(spec, ChargerSpec):
        yield Port(name, "charger", f"{name}.out", f"{name}.ground", 1000.0 / spec.regulator_mohm)
    elif isinstance(spec, DcdcSpec):
        yield Port(name, "dcdc", f"{name}.out", f"{name}.ground", 1000.0 / spec.regulator_mohm)
    elif isinstance(spec, IsolatorSpec) and spec.kind == "diode":
        yield Port(name, "diode", f"{name}.aux", f"{name}.main", 1000.0 / spec.contact_mohm)


def reference_battery(rig: Rig) -> str | None:
    """The battery whose minus post is node 0: the one that cranks, else the first."""
    batteries = rig.family("battery")
    if rig.vehicle.start_battery is not None:
        return rig.vehicle.start_battery
    return batteries[0].id if batteries else None


def build(rig: Rig, *, settled: bool = True) -> Network:
    """Assemble the circuit of a rig whose sizes and ratings are settled.

    Parameters
    ----------
    settled : bool
        True: batteries under charge accept what their state lets them. False: first seconds, ohmic both ways.
    """
    return _settled(rig) if settled else _moment(rig)


@once
def _moment(rig: Rig) -> Network:
    network = _settled(rig)
    lines = [_line_of(rig, rig.items[b]) for b in network.batteries]
    ohm = np.array([line.discharge_ohm for line in lines])
    return replace(network, settled=False, circuit=replace(network.circuit, emf_ohm=ohm))


def _line_of(rig: Rig, item: Item) -> BatteryLine:
    """The line of a battery as the rig has it."""
    spec = item.part.spec
    assert isinstance(spec, BatterySpec)
    return battery_line(spec, item.charge_pct, rig.places[item.place].temperature_c, item.resistance_factor)


@once
def _settled(rig: Rig) -> Network:
    branches: list[Branch] = []
    wired: set[str] = set()
    for wire in rig.wires:
        branch = wire_branch(rig, wire)
        if branch is not None and branch.a != branch.b:
            branches.append(branch)
            wired.update((wire.start, wire.end))
    batteries: list[str] = []
    loads: list[Port] = []
    sources: list[Port] = []
    converters: list[Port] = []
    emf_lines = []
    for item in rig.items.values():
        branches.extend(b for b in _item_branches(item) if _in_use(item, b, wired))
        if isinstance(item.part.spec, BatterySpec):
            line = _line_of(rig, item)
            batteries.append(item.id)
            emf_lines.append(line)
            boost = 1.0 / line.discharge_ohm - 1.0 / line.charge_ohm
            sources.append(Port(item.id, "battery", f"{item.id}.plus", f"{item.id}.minus", max(boost, 1e-6)))
        for port in _ports(item):
            (loads if port.role in ("amplifier", "load") else sources).append(port)
            if port.role in ("charger", "dcdc"):
                branches.append(Branch(f"bleed:{item.id}", "bleed", item.id, port.a, port.b, BLEED_OHM * 1000.0))
        if isinstance(item.part.spec, DcdcSpec):
            converters.append(
                Port(
                    item.id,
                    "dcdc input",
                    f"{item.id}.in",
                    f"{item.id}.ground",
                    output=len(sources) - 1,
                    efficiency=item.part.spec.efficiency,
                )
            )
        if isinstance(item.part.spec, PassiveSpec) and item.part.terminal("a").kind == "power":
            branches.append(
                Branch(f"bleed:{item.id}", "bleed", item.id, f"{item.id}.a", f"{item.id}.b", BLEED_OHM * 1000)
            )
    ref = reference_battery(rig)
    if ref is not None:
        first = f"{ref}.minus"
    else:
        chargers = rig.family("charger")
        first = f"{chargers[0].id}.ground" if chargers else f"{next(iter(rig.items))}.supply-"
    nodes = _nodes(first, branches, [*loads, *sources, *converters])
    branches.extend(_leaks(nodes, branches, batteries))
    index = {name: k for k, name in enumerate(nodes)}

    def ints(names: list[str]) -> np.ndarray:
        return np.array([index[n] for n in names], dtype=np.intp)

    charge = [line.charge_ohm for line in emf_lines]
    circuit = Circuit(
        nodes=nodes,
        branch_a=ints([b.a for b in branches]),
        branch_b=ints([b.b for b in branches]),
        branch_ohm=np.array([b.mohm for b in branches]) / 1000.0,
        emf_a=ints([f"{b}.plus" for b in batteries]),
        emf_b=ints([f"{b}.minus" for b in batteries]),
        emf_ohm=np.array(charge),
        load_a=ints([p.a for p in loads]),
        load_b=ints([p.b for p in loads]),
        source_a=ints([p.a for p in sources]),
        source_b=ints([p.b for p in sources]),
        source_siemens=np.array([p.siemens for p in sources]),
        converter_a=ints([p.a for p in converters]),
        converter_b=ints([p.b for p in converters]),
        converter_output=np.array([p.output for p in converters], dtype=np.intp),
        converter_efficiency=np.array([p.efficiency for p in converters]),
    )
    return Network(
        rig,
        True,
        nodes,
        tuple(branches),
        tuple(batteries),
        tuple(loads),
        tuple(sources),
        tuple(converters),
        circuit,
    )


def _nodes(first: str, branches: list[Branch], ports: list[Port]) -> tuple[str, ...]:
    names = {first: None}
    for b in branches:
        names.setdefault(b.a)
        names.setdefault(b.b)
    for p in ports:
        names.setdefault(p.a)
        names.setdefault(p.b)
    return tuple(names)


def _leaks(nodes: tuple[str, ...], branches: list[Branch], batteries: list[str]) -> list[Branch]:
    """One leak for each part of the circuit that no resistance joins to the reference."""
    near: dict[str, list[str]] = {n: [] for n in nodes}
    pairs = [(b.a, b.b) for b in branches] + [(f"{b}.plus", f"{b}.minus") for b in batteries]
    for a, b in pairs:
        near[a].append(b)
        near[b].append(a)
    seen: set[str] = set()
    leaks = []
    for node in nodes:
        if node in seen:
            continue
        if seen:
            leaks.append(Branch(f"leak:{node}", "leak", node, node, nodes[0], LEAK_OHM * 1000.0))
        todo = [node]
        seen.add(node)
        while todo:
            for other in near[todo.pop()]:
                if other not in seen:
                    seen.add(other)
                    todo.append(other)
    return leaks
