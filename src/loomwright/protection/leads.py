"""Sizes of the leads that carry no supply: loudspeaker and line."""

from __future__ import annotations

from collections import defaultdict
from math import inf, log10

from loomwright.facts import conductors, loudspeakers
from loomwright.facts.conductors import SizeRow
from loomwright.power.channels import channel_loads
from loomwright.protection.gauges import Gauge
from loomwright.protection.words import figure
from loomwright.rig.model import DriverSpec, Rig, Wire

SPEAKER_LEAST_MM2 = 1.3
LINE_LEAST_MM2 = 0.3


def choose(rig: Rig, system: str) -> dict[str, Gauge]:
    """Sizes of the open loudspeaker and line leads."""
    chosen: dict[str, Gauge] = {}
    if not any(w.size is None and w.kind in ("line", "speaker") for w in rig.wires):
        return chosen
    circuits = _circuits(rig)
    for wire in rig.wires:
        if wire.size is not None or wire.kind not in ("line", "speaker"):
            continue
        if wire.kind == "line":
            rows = _fitting(rig, wire, system, LINE_LEAST_MM2)
            chosen[wire.id] = Gauge(rows[0], "a line lead carries no power: the smallest that its plugs take", True)
        else:
            chosen[wire.id] = _speaker(rig, wire, system, *circuits[wire.id])
    return chosen


def loss_db(ohm: float, load_ohm: float) -> float:
    """Level lost in a lead of ``ohm`` in series with a load, both ways counted [dB]."""
    return 20.0 * log10(1.0 + ohm / load_ohm)


def _speaker(rig: Rig, wire: Wire, system: str, length_mm: float, load_ohm: float) -> Gauge:
    rows = _fitting(rig, wire, system, SPEAKER_LEAST_MM2)
    for row in rows:
        loss = loss_db(_ohm(row, wire, length_mm), load_ohm)
        if loss < loudspeakers.unheard_loss_db():
            return Gauge(row, _lost(row, loss, length_mm, load_ohm), True)
    loss = loss_db(_ohm(rows[-1], wire, length_mm), load_ohm)
    return Gauge(rows[-1], _lost(rows[-1], loss, length_mm, load_ohm) + ": the terminals take no more", False)


def _ohm(row: SizeRow, wire: Wire, length_mm: float) -> float:
    return conductors.resistance_mohm_per_m(row.area_mm2, wire.metal, 20.0, row.system) * length_mm / 1e6


def _lost(row: SizeRow, loss: float, length_mm: float, load_ohm: float) -> str:
    unheard = figure(loudspeakers.unheard_loss_db())
    return (
        f"{row.label} loses {figure(loss)} dB of {unheard} dB over {figure(length_mm / 1000.0)} m out and back "
        f"at {figure(load_ohm)} ohm"
    )


def _fitting(rig: Rig, wire: Wire, system: str, least_mm2: float) -> tuple[SizeRow, ...]:
    most = min(rig.terminal(ref).max_mm2 for ref in (wire.start, wire.end))
    every = [s for s in conductors.sizes(system) if s.area_mm2 >= least_mm2]
    return tuple(s for s in every if s.area_mm2 <= most) or (every[0],)


def _circuits(rig: Rig) -> dict[str, tuple[float, float]]:
    """Loudspeaker wire -> conductor length of its whole circuit [mm] and the load at its amplifier [ohm]."""
    parent: dict[str, str] = {}

    def root(n: str) -> str:
        while parent.setdefault(n, n) != n:
            parent[n] = parent[parent[n]]
            n = parent[n]
        return n

    def join(a: str, b: str) -> None:
        ra, rb = root(a), root(b)
        parent[max(ra, rb)] = min(ra, rb)

    wires = [w for w in rig.wires if w.kind == "speaker"]
    for wire in wires:
        join(wire.start, wire.end)
    for item in rig.items.values():
        names = [t.name for t in item.part.terminals]
        if item.part.family in ("driver", "passive", "splice"):
            for name in names[1:]:
                join(f"{item.id}.{names[0]}", f"{item.id}.{name}")
        elif item.part.family == "connector":
            for name in names:
                if name.startswith("a"):
                    join(f"{item.id}.{name}", f"{item.id}.b{name[1:]}")
    length: dict[str, float] = defaultdict(float)
    load: dict[str, float] = defaultdict(lambda: inf)
    for wire in wires:
        length[root(wire.start)] += wire.length_mm
    for amp, loads in channel_loads(rig).items():
        for channel, ohm in enumerate(loads, start=1):
            if ohm:
                at = root(f"{amp}.ch{channel}+")
                load[at] = min(load[at], ohm)
    for item in rig.items.values():
        spec = item.part.spec
        if isinstance(spec, DriverSpec):
            at = root(f"{item.id}.+")
            load[at] = load[at] if load[at] < inf else spec.nominal_ohm
    return {w.id: (length[root(w.start)], load[root(w.start)] if load[root(w.start)] < inf else 4.0) for w in wires}
