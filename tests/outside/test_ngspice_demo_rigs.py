"""The demo rigs' operating points against ngspice: 10 uV at every node and 1 mA at every load, all twelve cases.

Source: ngspice, batch mode. Both lines of the batteries are compared: settled charge, and the first seconds.
"""

from __future__ import annotations

import numpy as np
import pytest
from spice import operating_point

from loomwright import demo
from loomwright.power.balance import solved
from loomwright.power.cases import ALL_CASES
from loomwright.power.circuit import load_current
from loomwright.power.drive import drive
from loomwright.power.network import build
from loomwright.rig.file import load
from loomwright.study import Study


@pytest.mark.parametrize("name", demo.names())
@pytest.mark.parametrize("settled", [True, False], ids=["settled", "first seconds"])
def test_every_case(name: str, settled: bool) -> None:
    network = build(Study(load(demo.path(name))).rig, settled=settled)
    work = drive(network, ALL_CASES)
    compared = 0
    for k, (engine, _) in enumerate(ALL_CASES):
        circuit = network.circuit_for((engine,))
        one = work.rows(slice(k, k + 1))
        ours = solved(circuit, one)
        if not ours.found[0]:
            continue
        theirs = operating_point(circuit, one, near_v=ours.node_v[0])
        linked = [n for n, node in enumerate(network.nodes) if not _only_leaks(network, node)]
        assert np.abs(theirs - ours.node_v[0])[linked].max() <= 10e-6, (name, ALL_CASES[k])
        loads = len(circuit.load_a)
        port_v = theirs[circuit.load_a] - theirs[circuit.load_b]
        amps, _ = load_current(one, port_v[None])
        assert np.abs(amps[0] - ours.port_a[0, :loads]).max() <= 1e-3
        compared += 1
    assert compared >= 8


def _only_leaks(network, node: str) -> bool:  # type: ignore[no-untyped-def]
    """Nodes tied to the rest by 100 Mohm alone: no volts of theirs mean anything."""
    touching = [b for b in network.branches if node in (b.a, b.b)]
    return all(b.kind == "leak" for b in touching)
