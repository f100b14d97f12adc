"""The current of a bolted fault, as each device would have to interrupt it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from loomwright.power.circuit import conductance
from loomwright.power.drive import drive
from loomwright.power.network import build
from loomwright.rig.model import ENGINE_STATES, Rig


def prospective_a(rig: Rig) -> Mapping[str, float]:
    """Current through each device with a bolted fault right behind it, worst engine state [A].

    Every battery that is tied in counts, first seconds, and a running charger adds its limit. The fault is tried at
    both sides of the device and to the minus post of each battery; copper and fuses cold (20 C). Source of the
    method: Thevenin's theorem at the place of the fault.
    """
    worst: dict[str, float] = {}
    network = build(rig, settled=False)
    for engine in ENGINE_STATES:
        c = network.circuit_for((engine,))
        full = np.zeros((len(c.nodes), len(c.nodes)))
        full[1:, 1:] = np.linalg.inv(conductance(c))
        work = drive(network, ((engine, "quiet"),))
        inject = np.zeros(len(c.nodes))
        amps = work.emf_v[0] / c.emf_ohm
        np.add.at(inject, c.emf_a, amps)
        np.add.at(inject, c.emf_b, -amps)
        volts = full @ inject
        chargers = sum(
            float(work.source_limit_a[0, k]) for k, p in enumerate(network.sources) if p.role in ("charger", "dcdc")
        )
        for k, branch in enumerate(network.branches):
            if branch.kind != "fuse":
                continue
            a, b = int(c.branch_a[k]), int(c.branch_b[k])
            for fault in (a, b):
                for minus in c.emf_b:
                    ohm = full[fault, fault] + full[minus, minus] - 2 * full[fault, minus]
                    if ohm <= 0:
                        continue
                    total = (volts[fault] - volts[minus]) / ohm
                    after = volts - total * (full[:, fault] - full[:, minus])
                    through = abs(float(after[a] - after[b])) / float(c.branch_ohm[k]) + chargers
                    worst[branch.ref] = max(worst.get(branch.ref, 0.0), through)
    return dict(sorted(worst.items()))
