"""Whether a DC-DC charger runs: it starts only where its input, without its own draw, reaches its starting volts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loomwright.facts import assumptions
from loomwright.power.balance import solved
from loomwright.power.circuit import Circuit, Drive
from loomwright.power.network import Network
from loomwright.rig.model import DcdcSpec


def running(network: Network, circuit: Circuit, work: Drive) -> Drive:
    """The drive with the converters off that cannot start, or cannot keep on, in each case.

    Each is judged by the volts at its input: with all of them off it must reach ``start_v``, and with them on it must
    not fall below that by more than the rows of facts/data/assumptions.toml allow.
    """
    if not network.converters:
        return work
    outputs = np.array([p.role == "dcdc" for p in network.sources], dtype=bool)
    at = np.array([p.output for p in network.converters], dtype=np.intp)
    start_v = np.array([_start_v(network, k) for k in range(len(network.converters))])
    stop_v = start_v - assumptions.number("fault.stops", "below_start_v")
    limit = work.source_limit_a
    for off, least in ((True, start_v), (False, stop_v)):
        tried = replace(work, source_limit_a=np.where(outputs & off, 0.0, limit))
        solution = solved(circuit, tried)
        inputs = solution.port_v[:, -len(network.converters) :]
        fed = np.nan_to_num(inputs, nan=-np.inf) >= least
        starved = np.zeros(limit.shape, dtype=bool)
        starved[:, at] = ~fed & solution.found[:, None]
        limit = np.where(starved, 0.0, limit)
    return replace(work, source_limit_a=limit)


def _start_v(network: Network, k: int) -> float:
    spec = network.rig.items[network.converters[k].item].part.spec
    assert isinstance(spec, DcdcSpec)
    return spec.start_v
