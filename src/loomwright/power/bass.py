"""The bass hit: how far each amplifier's volts fall in a 50 ms burst at full output on top of `music`."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from loomwright.facts import assumptions
from loomwright.power.balance import solved
from loomwright.power.circuit import Circuit, Drive, Floats
from loomwright.power.converters import running
from loomwright.power.drive import drive
from loomwright.power.given import battery_given_a
from loomwright.power.network import Network, build
from loomwright.power.results import BassHit
from loomwright.power.sources import battery_line
from loomwright.power.transient import Course, Dynamics, step_times, transients, wire_henry
from loomwright.rig.model import BatterySpec, EngineState, PassiveSpec, Rig
from loomwright.rig.once import once

ENGINES: tuple[EngineState, ...] = ("off", "idle")


def bass_hits(rig: Rig) -> tuple[BassHit, ...]:
    """One burst with the engine off and one at idle."""
    if not rig.family("amplifier") or not rig.family("battery"):
        return ()
    network = build(rig)
    bursts = [prepare(network, engine) for engine in ENGINES]
    followed = transients([b.course for b in bursts], bursts[0].times_s)
    return tuple(_hit(network, *each) for each in zip(ENGINES, bursts, followed, strict=True))


@dataclass(frozen=True)
class Burst:
    """A burst ready to be followed: everything :func:`~loomwright.power.transient.transient` wants."""

    circuit: Circuit
    work: Drive
    dynamics: Dynamics
    times_s: Floats
    watts: Floats
    stiffening_f: float
    rise_s: float

    @property
    def course(self) -> Course:
        """What is followed over time."""
        return Course(self.circuit, self.work, self.dynamics, self.watts)


def prepare(network: Network, engine: EngineState, rise_s: float | None = None) -> Burst:
    """Freeze a network at `music` and let its amplifiers rise to `sine`.

    Each battery is its ohmic resistance around where it stands now; chargers are too slow to follow and
    keep the amperes they gave before.
    """
    rig = network.rig
    c = network.circuit_for((engine,))
    both = running(network, c, drive(network, ((engine, "music"), (engine, "sine")), brown_out=True))
    before = both.rows(np.array([0]))
    s = solved(c, before)
    inject = np.zeros(len(c.nodes))
    loads, sources = len(network.loads), len(network.sources)
    given = battery_given_a(network, c, before, s)[0]
    ohm, emf = np.empty(len(network.batteries)), np.empty(len(network.batteries))
    for k, name in enumerate(network.batteries):
        item = rig.items[name]
        spec = item.part.spec
        assert isinstance(spec, BatterySpec)
        line = battery_line(spec, item.charge_pct, rig.places[item.place].temperature_c, item.resistance_factor)
        across = float(s.node_v[0, c.emf_a[k]] - s.node_v[0, c.emf_b[k]])
        ohm[k], emf[k] = line.discharge_ohm, across + float(given[k]) * line.discharge_ohm
    for k, port in enumerate(network.sources):
        if port.role != "battery":
            inject[c.source_a[k]] -= s.port_a[0, loads + k]
            inject[c.source_b[k]] += s.port_a[0, loads + k]
    for k in range(len(network.converters)):
        inject[c.converter_a[k]] -= s.port_a[0, loads + sources + k]
        inject[c.converter_b[k]] += s.port_a[0, loads + sources + k]
    henry = _wires_henry(network)
    rise_s = assumptions.number("burst.rise", "time_ms") / 1000.0 if rise_s is None else rise_s
    times = step_times(assumptions.number("burst.length", "time_ms") / 1000.0, rise_s)
    shape = np.clip(times / rise_s, 0.0, 1.0)[:, None]
    watts = both.load_w[0] + shape * (both.load_w[1] - both.load_w[0])
    own = [k for k in range(loads) if both.load_w[:, k].any()]
    own_f = [_reservoir_f(float(both.load_w[1, k])) for k in own]
    caps = [(i.id, i.part.spec) for i in rig.family("passive") if i.part.terminal("a").kind == "power"]
    kept = [(name, spec) for name, spec in caps if isinstance(spec, PassiveSpec) and spec.element == "capacitor"]
    none = np.zeros(0, dtype=np.intp)
    circuit = replace(
        c,
        emf_ohm=ohm,
        source_a=none,
        source_b=none,
        source_siemens=np.zeros(0),
        converter_a=none,
        converter_b=none,
        converter_output=none,
        converter_efficiency=np.zeros(0),
    )
    dynamics = Dynamics(
        henry,
        np.array([network.index[f"{n}.a"] for n, _ in kept] + [c.load_a[k] for k in own], dtype=np.intp),
        np.array([network.index[f"{n}.b"] for n, _ in kept] + [c.load_b[k] for k in own], dtype=np.intp),
        np.array([spec.value for _, spec in kept] + own_f),
        np.array(
            [max(spec.series_mohm, 0.01) / 1000.0 for _, spec in kept]
            + [assumptions.number("reservoir.series", "resistance_mohm") / 1000.0] * len(own)
        ),
        inject,
    )
    work = Drive(
        emf[None], before.load_a, before.load_w, before.load_siemens, before.sag_v, np.zeros((1, 0)), np.zeros((1, 0))
    )
    return Burst(circuit, work, dynamics, times, watts, sum(spec.value for _, spec in kept), rise_s)


@once
def _wires_henry(network: Network) -> Floats:
    """Inductance of every branch, 0 for what is no wire [H]."""
    henry = np.zeros(len(network.branches))
    for k, branch in enumerate(network.branches):
        if branch.kind == "wire":
            wire = network.rig.wire(branch.ref)
            if wire.size is not None and wire.size.system != "bolted":
                henry[k] = wire_henry(wire.length_mm / 1000.0, wire.size.diameter_mm)
    return henry


def _reservoir_f(watts_w: float) -> float:
    """Capacitor that a load of so many watts has at its own terminals [F].

    Without it a draw of constant watts behind an inductance has no stable answer at all.
    """
    per_watt = assumptions.number("reservoir.per_watt", "capacitance_uf")
    return max(per_watt * watts_w, assumptions.number("reservoir.least", "capacitance_uf")) * 1e-6


def bass_hit(network: Network, engine: EngineState, rise_s: float | None = None) -> BassHit:
    """Follow one burst."""
    burst = prepare(network, engine, rise_s)
    return _hit(network, engine, burst, transients([burst.course], burst.times_s)[0])


def _hit(network: Network, engine: EngineState, burst: Burst, node_v: Floats) -> BassHit:
    """What a burst that was followed says."""
    lowest, dip, traces = {}, {}, {}
    for port in network.loads:
        if port.role != "amplifier":
            continue
        plus, minus = network.index[f"{port.item}.supply+"], network.index[f"{port.item}.supply-"]
        volts = node_v[:, plus] - node_v[:, minus]
        lowest[port.item] = float(volts.min())
        dip[port.item] = float(volts[0] - volts.min())
        traces[port.item] = tuple(volts.tolist())
    return BassHit(
        engine,
        lowest,
        dip,
        burst.stiffening_f,
        float(burst.rise_s) * 1000.0,
        tuple((burst.times_s * 1000.0).tolist()),
        traces,
    )
