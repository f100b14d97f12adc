"""The power study: every engine state with every programme, solved with the wires at their own temperature."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass, replace

import numpy as np

from loomwright.power.balance import solved
from loomwright.power.bass import bass_hits
from loomwright.power.circuit import Drive, Floats
from loomwright.power.converters import running
from loomwright.power.drive import drive
from loomwright.power.headroom import headroom
from loomwright.power.heat import WireHeat, wire_heat
from loomwright.power.heated import Heated, heated
from loomwright.power.network import Network, build
from loomwright.power.prospective import prospective_a
from loomwright.power.reading import Reading
from loomwright.power.results import (
    CaseResult,
    ChargeBalance,
    PowerResult,
)
from loomwright.power.session import sessions
from loomwright.power.solver import emf_current
from loomwright.rig.model import (
    ENGINE_STATES,
    PROGRAMMES,
    EngineState,
    LoadSpec,
    Programme,
    Rig,
)
from loomwright.rig.once import once
from loomwright.rig.shape import supply_part

ALL_CASES: tuple[tuple[EngineState, Programme], ...] = tuple((e, p) for e in ENGINE_STATES for p in PROGRAMMES)
EASING = 0.95
MAX_EASINGS = 40


def study_power(rig: Rig) -> PowerResult:
    """Everything the power room has to say about a rig with settled sizes."""
    return _study_power(supply_part(rig))


@once
def _study_power(rig: Rig) -> PowerResult:
    every = all_cases(rig)
    network, cases = every.network, solve_cases(rig)
    return PowerResult(
        cases=cases,
        balance=tuple(
            charge_balance(network, c, limit_a)
            for c, limit_a in zip(cases.values(), every.work.source_limit_a, strict=True)
            if c.engine != "off"
        ),
        sessions=sessions(rig),
        bass=bass_hits(rig),
        prospective_a=prospective_a(rig),
    )


@dataclass(frozen=True)
class AllCases:
    """:data:`ALL_CASES` of a rig, each with all that is asked of it, solved with its wires warm."""

    network: Network
    work: Drive
    state: Heated


def all_cases(rig: Rig) -> AllCases:
    """Every engine state with every programme, solved together. The rig's sizes are settled."""
    return _all_cases(supply_part(rig))


@once
def _all_cases(rig: Rig) -> AllCases:
    network = build(rig)
    engines = tuple(engine for engine, _ in ALL_CASES)
    work = running(network, network.circuit_for(engines), drive(network, ALL_CASES))
    return AllCases(network, work, heated(network, wire_heat(rig), work, engines))


class _Guesses:
    """Where rigs with the same loads were lost last: where to look first, and nothing that an answer depends on."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._known: OrderedDict[tuple[str, ...], Floats] = OrderedDict()

    def of(self, network: Network) -> Floats | None:
        """A factor for each case; None where no such rig was seen."""
        return self._known.get(_loads_of(network))

    def note(self, network: Network, factor: Floats) -> None:
        """Keep what was found, the oldest dropped."""
        key = _loads_of(network)
        self._known[key] = factor
        self._known.move_to_end(key)
        if len(self._known) > self._most:
            self._known.popitem(last=False)


def _loads_of(network: Network) -> tuple[str, ...]:
    return tuple(p.item for p in network.loads)


_GUESSES = _Guesses(64)


def solve_cases(rig: Rig) -> dict[tuple[EngineState, Programme], CaseResult]:
    """Every engine state with every programme, all solved together."""
    every = all_cases(rig)
    keys, network, heat, full, state = ALL_CASES, every.network, wire_heat(rig), every.work, every.state
    engines = tuple(engine for engine, _ in keys)
    amplifiers = np.array([p.role == "amplifier" for p in network.loads], dtype=bool)
    found = state.solution.found
    factor, _, port = headroom(
        state.circuit, state.circuit.reduced, full, amplifiers, state.solution.port_v, _GUESSES.of(network)
    )
    _GUESSES.note(network, factor)
    factor = np.where(found, np.maximum(factor, 1.0), np.minimum(factor, 1.0))
    load_factor = np.where(found, 1.0, factor * (1 - 1e-3))
    lost = [network.loads[int(k)].item if k >= 0 else None for k in port]
    work = full
    if not found.all():
        for _ in range(MAX_EASINGS):  # warm wires stand less than the search at place temperature found
            work = full.scaled(np.where(amplifiers, load_factor[:, None], 1.0))
            state = heated(network, heat, work, engines)
            failed = ~state.solution.found & (load_factor > 0.0)
            if not failed.any():
                break
            load_factor = np.where(failed, load_factor * EASING, load_factor)
        factor = np.where(found, factor, load_factor)
    gone = np.flatnonzero(~state.solution.found)
    if len(gone):
        state = deepcopy(state)
        state = replace(state, circuit=replace(state.circuit))  # nothing kept of what is about to change
    for n in gone:
        # not even with silent amplifiers: some other load has no operating point; show it letting go
        lost[n] = _show_collapsed(network, heat, state, int(n))
    moment = build(network.rig, settled=False)
    moment_circuit = moment.circuit_for(engines)
    moment_work = running(moment, moment_circuit, drive(moment, keys))
    first_a = emf_current(moment_circuit, moment_work, solved(moment_circuit, moment_work))
    feeding = feeding_batteries(moment)
    read = Reading(network, heat, state, work)
    results = {}
    for k, (engine, programme) in enumerate(keys):
        results[(engine, programme)] = CaseResult(
            engine=engine,
            programme=programme,
            solved=bool(load_factor[k] == 1.0 and found[k]),
            headroom=float(factor[k]),
            lost=lost[k],
            load_factor=float(load_factor[k]),
            items=read.items(k, programme, feeding[engine]),
            wires=read.wires(k),
            joints=read.joints(k),
            devices=read.devices(k),
            node_v=dict(zip(network.nodes, state.solution.node_v[k].tolist(), strict=True)),
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


@once
def feeding_batteries(moment: Network) -> Mapping[EngineState, Mapping[str, str]]:
    """Which battery gives most of an extra ampere drawn by each load, first seconds, in each engine state."""
    if not moment.batteries:
        return {engine: {} for engine in ENGINE_STATES}
    found: dict[EngineState, Mapping[str, str]] = {}
    for engines, c in moment.circuits():
        reduced = c.reduced
        share = (reduced.port_to_node[:, c.emf_a] - reduced.port_to_node[:, c.emf_b]) / c.emf_ohm
        feeding = {p.item: moment.batteries[int(share[k].argmax())] for k, p in enumerate(moment.loads)}
        found.update(dict.fromkeys(engines, feeding))
    return found


def charge_balance(network: Network, case: CaseResult, limit_a: Floats) -> ChargeBalance:
    """What the running charger can give against what is drawn; ``limit_a`` (sources,) is the most that each gives."""
    chargers = [p.item for p in network.sources if p.role == "charger"]
    available = sum(float(limit_a[k]) for k, p in enumerate(network.sources) if p.role == "charger")
    batteries = sum(case.items[b].amps_a for b in network.batteries)
    given = -sum(case.items[c].amps_a for c in chargers)
    drawn = given - batteries
    return ChargeBalance(case.engine, case.programme, available, drawn, batteries, available - drawn)
