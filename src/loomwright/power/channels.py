"""What hangs on each channel of an amplifier, in nominal ohms: the DC view that the power study needs.

The real load, with its curves, is the sound study's work.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

import numpy as np

from loomwright.rig.model import AmplifierSpec, DriverSpec, Item, PassiveSpec, Rig
from loomwright.rig.once import once
from loomwright.rig.shape import signal_part


def channel_loads(rig: Rig) -> Mapping[str, tuple[float | None, ...]]:
    """Nominal ohms seen by each channel of each amplifier; None where nothing is wired to it.

    A bridged pair gives its load on the first channel and None on the second. Series and parallel mixes are
    worked out from the speaker wiring with each driver at its nominal resistance. Of a two-way pair only the driver
    without a capacitor counts: the two share the spectrum, and the lower one takes nearly all of the watts.
    """
    return _channel_loads(signal_part(rig))


@once
def _channel_loads(rig: Rig) -> Mapping[str, tuple[float | None, ...]]:
    low, every = _loads(rig, ("coil",)), _loads(rig, ("coil", "capacitor"))
    return {
        name: tuple(a if a is not None else b for a, b in zip(low[name], every[name], strict=True)) for name in low
    }


def _loads(rig: Rig, through: tuple[str, ...]) -> dict[str, tuple[float | None, ...]]:
    """Loads of every amplifier where the passive parts named in ``through`` pass the programme and others do not."""
    node = _speaker_nodes(rig, through)
    drivers: dict[tuple[str, str], float] = defaultdict(float)
    for item in rig.items.values():
        spec = item.part.spec
        if isinstance(spec, DriverSpec):
            ends = sorted((node.get(f"{item.id}.+", f"{item.id}.+"), node.get(f"{item.id}.-", f"{item.id}.-")))
            drivers[(ends[0], ends[1])] += 1.0 / spec.nominal_ohm
        elif isinstance(spec, PassiveSpec) and spec.element == "resistor":
            ends = sorted((node.get(f"{item.id}.a", f"{item.id}.a"), node.get(f"{item.id}.b", f"{item.id}.b")))
            drivers[(ends[0], ends[1])] += 1.0 / spec.value
    result: dict[str, tuple[float | None, ...]] = {}
    for item in rig.items.values():
        if not isinstance(item.part.spec, AmplifierSpec):
            continue
        loads: list[float | None] = []
        second = {pair[1] for pair in item.bridged}
        first = {pair[0]: pair[1] for pair in item.bridged}
        for channel in range(1, item.part.spec.channels + 1):
            if channel in second:
                loads.append(None)
                continue
            plus = f"{item.id}.ch{channel}+"
            minus = f"{item.id}.ch{first[channel]}-" if channel in first else f"{item.id}.ch{channel}-"
            loads.append(_ohms(drivers, node.get(plus, plus), node.get(minus, minus)))
        result[item.id] = tuple(loads)
    return result


def _speaker_nodes(rig: Rig, through: tuple[str, ...]) -> dict[str, str]:
    """Terminals joined by speaker wires, connectors, splices and series parts, pads among them, each with one name."""
    parent: dict[str, str] = {}

    def find(x: str) -> str:
        parent.setdefault(x, x)
        while parent[x] != x:
            parent[x] = parent[parent[x]]
            x = parent[x]
        return x

    def join(a: str, b: str) -> None:
        ra, rb = find(a), find(b)
        if ra != rb:
            parent[max(ra, rb)] = min(ra, rb)

    for wire in rig.wires:
        if wire.kind == "speaker":
            join(wire.start, wire.end)
    for item in rig.items.values():
        spec = item.part.spec
        if item.part.family == "connector":
            for t in item.part.terminals:
                if t.name.startswith("a") and f"{item.id}.{t.name}" in parent:
                    join(f"{item.id}.{t.name}", f"{item.id}.b{t.name[1:]}")
        elif item.part.family == "splice":
            legs = [f"{item.id}.{t.name}" for t in item.part.terminals]
            for leg in legs[1:]:
                if legs[0] in parent or leg in parent:
                    join(legs[0], leg)
        elif isinstance(spec, PassiveSpec) and spec.element in (*through, "pad"):
            join(f"{item.id}.a", f"{item.id}.b")
    return {x: find(x) for x in parent}


def _ohms(edges: Mapping[tuple[str, str], float], plus: str, minus: str) -> float | None:
    """Resistance between two nodes of the driver network, None where nothing joins them."""
    if plus == minus:
        return 0.0
    reached, todo = {plus}, [plus]
    while todo:
        x = todo.pop()
        for a, b in edges:
            for p, q in ((a, b), (b, a)):
                if p == x and q not in reached:
                    reached.add(q)
                    todo.append(q)
    if minus not in reached:
        return None
    names = [plus, *sorted(reached - {plus, minus})]
    index = {name: k for k, name in enumerate(names)}
    g = np.zeros((len(names), len(names)))
    for (a, b), siemens in edges.items():
        if a == b or a not in reached:
            continue
        for p, q in ((a, b), (b, a)):
            if p in index:
                g[index[p], index[p]] += siemens
                if q in index:
                    g[index[p], index[q]] -= siemens
    inject = np.zeros(len(names))
    inject[0] = 1.0
    return float(np.linalg.solve(g, inject)[0])


def rated_output_w(item: Item, loads: tuple[float | None, ...]) -> float:
    """Audio watts that an amplifier can make into its loads at rated volts, all channels together [W].

    Above 4 ohm watts fall as 4/R; between 2 and 4 ohm they are interpolated in 1/R; below 2 ohm no more is
    counted. An amplifier with nothing wired to it yet is taken with 4 ohm on every channel.
    """
    spec = item.part.spec
    assert isinstance(spec, AmplifierSpec)
    if all(ohm is None for ohm in loads):
        return spec.output_4ohm_w * spec.channels
    bridged = {pair[0] for pair in item.bridged}
    total = 0.0
    for channel, ohm in enumerate(loads, start=1):
        if ohm is None:
            continue
        at4 = spec.output_4ohm_w
        at2 = spec.output_2ohm_w if spec.output_2ohm_w is not None else at4
        if channel in bridged:
            at4 = spec.bridged_4ohm_w if spec.bridged_4ohm_w is not None else 2 * spec.output_4ohm_w
            at2 = at4
        total += at_load_w(at4, at2, ohm)
    return total


def at_load_w(at4_w: float, at2_w: float, ohm: float) -> float:
    """Audio watts into a load, from those into 4 and 2 ohm: as 4/R above 4 ohm, between the two in 1/R [W]."""
    if ohm >= 4.0:
        return at4_w * 4.0 / ohm
    if ohm <= 2.0:
        return at2_w
    share = (1.0 / ohm - 0.25) / 0.25
    return at4_w + (at2_w - at4_w) * share
