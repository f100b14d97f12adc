"""The power study: every engine state with every programme, solved with the wires at their own temperature."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.facts import fuses
from loomwright.facts.ampacity import continuous_margin
from loomwright.facts.amplifiers import programme_fraction
from loomwright.power.amplifier import output_share
from loomwright.power.balance import solved
from loomwright.power.bass import bass_hits
from loomwright.power.circuit import Circuit, Drive, Floats, reduce
from loomwright.power.converters import running
from loomwright.power.drive import drive
from loomwright.power.given import battery_given_a
from loomwright.power.headroom import headroom
from loomwright.power.heat import WireHeat, cautious_c, wire_heat
from loomwright.power.network import Network, build
from loomwright.power.prospective import prospective_a
from loomwright.power.results import (
    CaseResult,
    ChargeBalance,
    DeviceState,
    ItemState,
    JointState,
    PowerResult,
    WireState,
)
from loomwright.power.session import sessions
from loomwright.power.solver import Solution, branch_current, emf_current
from loomwright.power.warm import HOTTEST_SOLVED_C, Warm
from loomwright.rig.model import (
    ENGINE_STATES,
    PROGRAMMES,
    AmplifierSpec,
    DeviceType,
    EngineState,
    FuseSpec,
    Item,
    LoadSpec,
    Programme,
    Rig,
)

ALL_CASES: tuple[tuple[EngineState, Programme], ...] = tuple((e, p) for e in ENGINE_STATES for p in PROGRAMMES)
THERMAL_ROUNDS = 8
THERMAL_C = 0.05
EASING = 0.95
MAX_EASINGS = 40


def study_power(rig: Rig) -> PowerResult:
    """Everything the power room has to say about a rig with settled sizes."""
    network = build(rig)
    cases = solve_cases(network, wire_heat(rig))
    return PowerResult(
        cases=cases,
        balance=tuple(charge_balance(network, c) for c in cases.values() if c.engine != "off"),
        sessions=sessions(rig),
        bass=bass_hits(rig),
        prospective_a=prospective_a(rig),
    )


@dataclass(frozen=True)
class Heated:
    """Cases solved with their wires warm: circuit.branch_ohm (n, B); hot_c, balance_c and table_c (n, W) [C]."""

    circuit: Circuit
    solution: Solution
    hot_c: Floats
    balance_c: Floats
    table_c: Floats


def heated(
    network: Network,
    heat: WireHeat,
    work: Drive,
    engines: Sequence[EngineState],
    *,
    within_c: float = THERMAL_C,
    rounds: int = THERMAL_ROUNDS,
) -> Heated:
    """Solve with each case's wires, and its fuses' elements, as warm as its own currents make them.

    Parameters
    ----------
    within_c : float
        Wires that change by no more than this from one round to the next are warm enough [C].
    rounds : int
        At most so many rounds.
    """
    n = work.count
    warm = Warm(network, heat, engines)
    share = np.zeros((n, len(warm.fuse)))
    temperature = np.broadcast_to(heat.ambient_c, (n, len(heat.ids))).copy()
    by_balance = by_table = temperature
    circuit, solution = network.circuit, None
    start: Floats | None = None
    for _ in range(rounds):
        circuit = replace(network.circuit, branch_ohm=warm.ohm(temperature, share))
        solution = solved(circuit, work, start_v=start)
        start = solution.port_v if solution.found.all() else None
        amps = np.nan_to_num(branch_current(circuit, solution))
        share = warm.share(amps)
        new, by_balance, by_table = cautious_c(heat, amps[:, warm.where])
        capped = np.minimum(temperature, HOTTEST_SOLVED_C)
        change = np.abs(np.minimum(new, HOTTEST_SOLVED_C) - capped)[solution.found]
        temperature = np.where(solution.found[:, None], new, temperature)
        if not change.size or change.max(initial=0.0) < within_c:
            break
    assert solution is not None
    return Heated(circuit, solution, temperature, by_balance, by_table)


def solve_cases(network: Network, heat: WireHeat) -> dict[tuple[EngineState, Programme], CaseResult]:
    """Every engine state with every programme, all solved together."""
    keys = ALL_CASES
    engines = tuple(engine for engine, _ in keys)
    amplifiers = np.array([p.role == "amplifier" for p in network.loads], dtype=bool)
    full = running(network, network.circuit_for(engines), drive(network, keys))
    state = heated(network, heat, full, engines)
    found = state.solution.found
    factor, _, port = headroom(state.circuit, reduce(state.circuit), full, amplifiers, state.solution.port_v)
    factor = np.where(found, np.maximum(factor, 1.0), np.minimum(factor, 1.0))
    load_factor = np.where(found, 1.0, factor * (1 - 1e-3))
    lost = [network.loads[int(k)].item if k >= 0 else None for k in port]
    work = full
    if not found.all():
        for _ in range(MAX_EASINGS):  # warm wires stand less than the search at place temperature found
            work = full.scaled(np.where(amplifiers, load_factor[:, None], 1.0))
            state = heated(network, heat, work, engines)
            gone = ~state.solution.found & (load_factor > 0.0)
            if not gone.any():
                break
            load_factor = np.where(gone, load_factor * EASING, load_factor)
        factor = np.where(found, factor, load_factor)
    for n in np.flatnonzero(~state.solution.found):
        # not even with silent amplifiers: some other load has no operating point; show it letting go
        lost[n] = _show_collapsed(network, heat, state, int(n))
    moment = build(network.rig, settled=False)
    moment_circuit = moment.circuit_for(engines)
    moment_work = running(moment, moment_circuit, drive(moment, keys))
    first_a = emf_current(moment_circuit, moment_work, solved(moment_circuit, moment_work))
    feeding = {e: feeding_battery(moment, e) for e in ENGINE_STATES}
    results = {}
    for k, (engine, programme) in enumerate(keys):
        case = _Case(network, state.circuit, work, state.solution, k, feeding[engine])
        results[(engine, programme)] = CaseResult(
            engine=engine,
            programme=programme,
            solved=bool(load_factor[k] == 1.0 and found[k]),
            headroom=float(factor[k]),
            lost=lost[k],
            load_factor=float(load_factor[k]),
            items=case.items(programme),
            wires=case.wires(heat, state.hot_c[k], state.balance_c[k], state.table_c[k]),
            joints=case.joints(),
            devices=case.devices(),
            node_v={n: float(v) for n, v in zip(network.nodes, state.solution.node_v[k], strict=True)},
            first_minute_amps_a={b: -float(a) for b, a in zip(moment.batteries, first_a[k], strict=True)},
        )
    return results


def _show_collapsed(network: Network, heat: WireHeat, state: Heated, k: int) -> str | None:
    """Solve case ``k`` with every load letting go below its least volts, write it into its row of ``state``, and name
    the load that is worst off.
    """
    key = ALL_CASES[k]
    silent = drive(network, (key,), brown_out=True)
    silent = silent.scaled(np.where([p.role == "amplifier" for p in network.loads], 0.0, 1.0)[None, :])
    circuit = network.circuit_for((key[0],))
    one = heated(network, heat, running(network, circuit, silent), (key[0],))
    weakest, name = np.inf, None
    for n, port in enumerate(network.loads):
        spec = network.rig.items[port.item].part.spec
        if isinstance(spec, LoadSpec) and spec.min_v > 0 and silent.load_w[0, n] > 0:
            share = float(one.solution.port_v[0, n]) / spec.min_v
            if share < weakest:
                weakest, name = share, port.item
    solution = state.solution
    for target, source in (
        (solution.node_v, one.solution.node_v),
        (solution.port_v, one.solution.port_v),
        (solution.port_a, one.solution.port_a),
        (solution.found, one.solution.found),
        (state.circuit.branch_ohm, one.circuit.branch_ohm),
        (state.hot_c, one.hot_c),
        (state.balance_c, one.balance_c),
        (state.table_c, one.table_c),
    ):
        target[k] = source[0]
    return name


def feeding_battery(moment: Network, engine: EngineState) -> Mapping[str, str]:
    """Which battery gives most of an extra ampere drawn by each load, first seconds."""
    c = moment.circuit_for((engine,))
    reduced = reduce(c)
    if not moment.batteries:
        return {}
    share = (reduced.port_to_node[:, c.emf_a] - reduced.port_to_node[:, c.emf_b]) / c.emf_ohm
    return {p.item: moment.batteries[int(share[k].argmax())] for k, p in enumerate(moment.loads)}


class _Case:
    """Reads one solved case back into the rig's words."""

    def __init__(
        self, network: Network, circuit: Circuit, work: Drive, solution: Solution, k: int, feeding: Mapping[str, str]
    ) -> None:
        self.network, self.k, self.feeding = network, k, feeding
        self.rig = network.rig
        self.volts = solution.node_v[k]
        self.port_a = solution.port_a[k]
        self.branch_a = branch_current(circuit, solution)[k]
        self.branch_ohm = np.broadcast_to(circuit.branch_ohm, (solution.node_v.shape[0], len(network.branches)))[k]
        self.given_a = battery_given_a(network, circuit, work, solution)[k]
        self.outputs = network.rated_outputs_w

    def v(self, plus: str, minus: str) -> float:
        index = self.network.index
        return float(self.volts[index[plus]] - self.volts[index[minus]])

    def items(self, programme: Programme) -> dict[str, ItemState]:
        net, states = self.network, {}
        loads, sources = len(net.loads), len(net.sources)
        battery_v: dict[str, float] = {}
        for k, name in enumerate(net.batteries):
            amps = -float(self.given_a[k])
            volts = self.v(f"{name}.plus", f"{name}.minus")
            battery_v[name] = volts
            states[name] = ItemState(volts, amps, volts * amps)
        for k, port in enumerate(net.sources):
            if port.role == "charger":
                volts, amps = self.v(port.a, port.b), float(self.port_a[loads + k])
                states[port.item] = ItemState(volts, amps, volts * amps)
        for k, port in enumerate(net.converters):
            volts, amps = self.v(port.a, port.b), float(self.port_a[loads + sources + k])
            states[port.item] = ItemState(volts, amps, volts * amps)
        for k, port in enumerate(net.loads):
            spec = self.rig.items[port.item].part.spec
            volts = self.v(f"{port.item}.supply+", f"{port.item}.supply-")
            amps = float(self.port_a[k])
            source_v = battery_v.get(self.feeding.get(port.item, ""), volts)
            least = spec.min_v if isinstance(spec, AmplifierSpec | LoadSpec) else 0.0
            output = 0.0
            if isinstance(spec, AmplifierSpec):
                share = programme_fraction(programme)
                output = self.outputs[port.item] * share * output_share(spec, volts)
            states[port.item] = ItemState(
                volts, amps, volts * amps, output, source_v - volts, below_minimum=bool(volts < least and amps > 0)
            )
        return states

    def wires(self, heat: WireHeat, hot: Floats, by_balance: Floats, by_table: Floats) -> dict[str, WireState]:
        net, states = self.network, {}
        position = {w: k for k, w in enumerate(heat.ids)}
        for wire in self.rig.wires:
            at = net.branch_index.get(f"wire:{wire.id}")
            if at is None:
                continue
            branch = net.branches[at]
            amps = float(self.branch_a[at])
            ohm = max(float(self.branch_ohm[at]) - branch.fixed_mohm / 1000.0, 0.0)
            k = position.get(wire.id)
            if k is None:
                here = self.rig.wire_temperature_c(wire)
                thermal = (here, here, here, float(wire.insulation_c), float("inf"))
            else:
                thermal = (
                    float(hot[k]),
                    float(by_balance[k]),
                    float(by_table[k]),
                    float(heat.limit_c[k]),
                    float(heat.ampacity_a[k]),
                )
            states[wire.id] = WireState(
                amps, amps * float(self.branch_ohm[at]) * 1000.0, amps * amps * ohm, *thermal, ohm * 1000.0
            )
        return states

    def joints(self) -> dict[str, JointState]:
        states = {}
        for k, branch in enumerate(self.network.branches):
            amps = float(self.branch_a[k])
            for name, mohm in branch.joints:
                states[name] = JointState(amps, amps * mohm, amps * amps * mohm / 1000.0, mohm)
        return states

    def devices(self) -> dict[str, DeviceState]:
        states = {}
        for k, branch in enumerate(self.network.branches):
            if branch.kind != "fuse":
                continue
            item = self.rig.items[branch.ref.rpartition(".")[0]]
            rating, kind = device_rating(item, branch.ref)
            factor = fuses.temperature_factor(kind, self.rig.places[item.place].temperature_c)
            amps = float(self.branch_a[k])
            states[branch.ref] = DeviceState(
                amps, rating, rating * factor / continuous_margin(), amps * float(self.branch_ohm[k]) * 1000.0
            )
        return states


def device_rating(item: Item, device: str) -> tuple[float, DeviceType]:
    """Rating and type of a device by its id; an amplifier's own fuses count together."""
    spec = item.part.spec
    if isinstance(spec, AmplifierSpec):
        return sum(spec.own_fuses_a), spec.own_fuse_type
    assert isinstance(spec, FuseSpec)
    way = int(device.rpartition(".")[2])
    rating = item.fuses_a[way - 1] if item.fuses_a else (spec.rating_a or 0.0)
    return float(rating), spec.type


def charge_balance(network: Network, case: CaseResult) -> ChargeBalance:
    """What the running charger can give against what is drawn."""
    chargers = [p.item for p in network.sources if p.role == "charger"]
    work = drive(network, ((case.engine, case.programme),))
    available = sum(float(work.source_limit_a[0, k]) for k, p in enumerate(network.sources) if p.role == "charger")
    batteries = sum(case.items[b].amps_a for b in network.batteries)
    given = -sum(case.items[c].amps_a for c in chargers)
    drawn = given - batteries
    return ChargeBalance(case.engine, case.programme, available, drawn, batteries, available - drawn)
