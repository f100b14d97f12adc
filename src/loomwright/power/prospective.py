"""The current of a bolted fault, as each device would have to interrupt it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from loomwright.power.circuit import Circuit, Drive, Floats
from loomwright.power.drive import drive
from loomwright.power.network import Network, build
from loomwright.rig.model import ENGINE_STATES, Rig


def prospective_a(rig: Rig) -> Mapping[str, float]:
    """Current through each device with a bolted fault right behind it, worst engine state [A].

    Every battery that is tied in counts, first seconds, and a running charger adds its limit. The fault is tried at
    both sides of the device and to the minus post of each battery; copper and fuses cold (20 C). Source of the
    method: Thevenin's theorem at the place of the fault.
    """
    worst: dict[str, float] = {}
    network = build(rig, settled=False)
    fuses = {b.ref: k for k, b in enumerate(network.branches) if b.kind == "fuse"}
    work = drive(network, tuple((engine, "quiet") for engine in ENGINE_STATES))
    for engines, c in network.circuits():
        found = _by_fault(c, work.rows(slice(0, 1)), np.array(list(fuses.values()), dtype=np.intp))
        for engine in engines:
            chargers = _chargers_a(network, work, ENGINE_STATES.index(engine))
            for ref, currents in zip(fuses, found, strict=True):
                for through in currents[~np.isnan(currents)].tolist():
                    worst[ref] = max(worst.get(ref, 0.0), through + chargers)
    return dict(sorted(worst.items()))


def _by_fault(c: Circuit, work: Drive, fuses: np.ndarray) -> Floats:
    """What the batteries alone push through each fuse with a fault at either side of it to each minus post [A].

    (fuses, 2 x batteries); NaN where both lie at one place.
    """
    full, inject = c.inverse_ohm, np.zeros(len(c.nodes))
    amps = work.emf_v[0] / c.emf_ohm
    np.add.at(inject, c.emf_a, amps)
    np.add.at(inject, c.emf_b, -amps)
    volts = full @ inject
    a, b = c.branch_a[fuses], c.branch_b[fuses]
    fault, minus = np.stack([a, b], axis=1)[:, :, None], c.emf_b[None, None, :]
    a, b = a[:, None, None], b[:, None, None]
    ohm = full[fault, fault] + full[minus, minus] - 2 * full[fault, minus]
    with np.errstate(divide="ignore", invalid="ignore"):
        total = np.where(ohm > 0.0, (volts[fault] - volts[minus]) / ohm, np.nan)
    after_a = volts[a] - total * (full[a, fault] - full[a, minus])
    after_b = volts[b] - total * (full[b, fault] - full[b, minus])
    through = np.abs(after_a - after_b) / c.branch_ohm[fuses][:, None, None]
    return np.asarray(through.reshape(len(fuses), 2 * len(c.emf_b)))


def _chargers_a(network: Network, work: Drive, case: int) -> float:
    """What the chargers add at their limits in one case [A]."""
    return sum(
        float(work.source_limit_a[case, k]) for k, p in enumerate(network.sources) if p.role in ("charger", "dcdc")
    )
