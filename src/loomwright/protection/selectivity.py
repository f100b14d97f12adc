"""Whether, of two devices in series, only the lower one opens."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations
from math import inf

import numpy as np
from numpy.typing import NDArray

from loomwright.facts import fuses
from loomwright.power.results import PowerResult
from loomwright.protection.curves import CurveSet, curve
from loomwright.protection.graph import measured
from loomwright.protection.paths import series
from loomwright.protection.results import Device, Selectivity
from loomwright.rig.model import Rig

_STEPS = 160


def pairs(
    rig: Rig,
    power: PowerResult,
    devices: Mapping[str, Device],
    chains: Iterable[Sequence[str]] = (),
) -> tuple[Selectivity, ...]:
    """Every pair of devices in series, judged up to the prospective current after the lower one.

    ``chains`` are followed first; ways from further batteries add their own pairs. Each pair appears once,
    battery side first.
    """
    ways: dict[tuple[str, ...], None] = dict.fromkeys(tuple(c) for c in chains)
    for battery in rig.family("battery"):
        ways.update(dict.fromkeys(series(measured(rig), battery.id).values()))
    found: dict[tuple[str, str], Selectivity] = {}
    for way in ways:
        for upper, lower in combinations(way, 2):
            if (upper, lower) not in found:
                amps_a = power.prospective_a.get(lower, inf)
                found[upper, lower] = judge(devices[upper], devices[lower], amps_a)
    return tuple(found.values())


def judge(upper: Device, lower: Device, prospective_a: float) -> Selectivity:
    """One pair at every current up to ``prospective_a`` [A].

    Proved: by gates alone the upper one cannot open before the lower one must, at any current up to the prospective
    one. Past its last gate the lower one counts with that gate's longest time, and nothing is proved where the
    upper one is past its own. Typical: proved, or else the typical lines never cross and the melting I2t of the upper
    one is at least twice that of the lower one.
    """
    ratio = melting_i2t_a2s(upper) / melting_i2t_a2s(lower)
    amps_a = _currents(upper, lower, prospective_a)
    both = CurveSet([upper, lower])(np.stack([amps_a, amps_a], axis=-1))
    last_s = _at_last_gate(lower)
    must_by = np.where(both.beyond_data[:, 1], last_s, both.slowest_s[:, 1])
    not_before = np.where(both.beyond_data[:, 0], 0.0, both.fastest_s[:, 0])
    proved = bool(np.all(_later(not_before, must_by)))
    crossing_free = bool(np.all(_later(both.typical_s[:, 0], both.typical_s[:, 1])))
    return Selectivity(
        upstream=upper.id,
        downstream=lower.id,
        prospective_a=prospective_a,
        ratio_i2t=ratio,
        proved=proved,
        typical=proved or (crossing_free and ratio >= fuses.selective_ratio()),
        provisional=upper.provisional or lower.provisional or melting_is_provisional(upper, lower),
    )


def melting_i2t_a2s(device: Device) -> float:
    """Typical melting I2t of a device with all its parallel fuses [A2s]."""
    return fuses.melting_i2t_a2s(device.type, device.rating_a)[0] * device.count**2


def melting_is_provisional(*devices: Device) -> bool:
    """Whether the melting I2t of any of the devices rests on memory or on a stretched fit."""
    return any(fuses.melting_i2t_a2s(d.type, d.rating_a)[1] for d in devices)


def _later(upper_s: NDArray[np.float64], lower_s: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Upper opens after lower; where neither opens there is nothing to tell."""
    return (upper_s > lower_s) | (np.isinf(upper_s) & np.isinf(lower_s))


def _currents(upper: Device, lower: Device, prospective_a: float) -> NDArray[np.float64]:
    """Currents to look at [A]: the gates of both, just above and below, and a close net between."""
    top = min(prospective_a, 1e5)
    marks = [
        g.multiple * d.rating_a * d.count * s
        for d in (upper, lower)
        for g in fuses.gates(d.type)
        for s in (1 - 1e-6, 1.0, 1 + 1e-6)
    ]
    low = min([lower.rating_a * lower.count, top])
    net = np.geomspace(low, top, _STEPS)
    return np.sort(np.concatenate([net, [m for m in marks if low <= m <= top]]))


def _at_last_gate(device: Device) -> float:
    own = curve(device.type, device.rating_a, device.temperature_c)
    return own.slowest.seconds(own.last_multiple)
