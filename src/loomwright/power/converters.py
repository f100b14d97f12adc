"""Whether a DC-DC charger runs: it starts only where its input, without its own draw, reaches its starting volts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loomwright.facts import assumptions
from loomwright.power.balance import solved
from loomwright.power.circuit import Circuit, Drive, Floats
from loomwright.power.network import Network
from loomwright.rig.model import DcdcSpec


def running(network: Network, circuit: Circuit, work: Drive) -> Drive:
    """The drive with the converters off that cannot start, or cannot keep on, in each case.

    Each is judged by the volts at its input: with all of them off it must reach ``start_v``, and with them on it must
    not fall below that by more than the rows of facts/data/assumptions.toml allow.
    """
    if not network.converters:
        return work
    outputs = converter_outputs(network)
    at = np.array([p.output for p in network.converters], dtype=np.intp)
    limit = work.source_limit_a
    for off, least in ((True, start_volts(network)), (False, stop_volts(network))):
        tried = replace(work, source_limit_a=np.where(outputs & off, 0.0, limit))
        solution = solved(circuit, tried)
        inputs = solution.port_v[:, -len(network.converters) :]
        fed = np.nan_to_num(inputs, nan=-np.inf) >= least
        starved = np.zeros(limit.shape, dtype=bool)
        starved[:, at] = ~fed & solution.found[:, None]
        limit = np.where(starved, 0.0, limit)
    return replace(work, source_limit_a=limit)


def start_volts(network: Network) -> Floats:
    """Input volts at which each converter starts, (D,) [V]."""
    specs = [network.rig.items[p.item].part.spec for p in network.converters]
    return np.array([spec.start_v for spec in specs if isinstance(spec, DcdcSpec)])


def stop_volts(network: Network) -> Floats:
    """Input volts below which each converter that runs stops, (D,) [V]."""
    return np.asarray(start_volts(network) - assumptions.number("fault.stops", "below_start_v"))


def converter_outputs(network: Network) -> np.ndarray:
    """Which source ports are outputs of converters, (S,) bool."""
    return np.array([p.role == "dcdc" for p in network.sources], dtype=bool)
