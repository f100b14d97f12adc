"""Operating points against ngspice (Debian package, batch mode): 10 uV and 1 mA at every port.

Source: ngspice, an independent circuit simulator. The 200 random circuits have 5 to 120 nodes, meshes, one or two
batteries, chargers at and below their limit, converters, and loads of every law (tests/outside/random_circuits.py).
"""

from __future__ import annotations

import numpy as np
import pytest
from random_circuits import random_circuit
from spice import operating_point

from loomwright.power.balance import solved
from loomwright.power.circuit import load_current

VOLTS = 10e-6
AMPS = 1e-3


@pytest.mark.parametrize("first", range(0, 200, 25))
def test_random_circuits_agree_with_ngspice(first: int) -> None:
    compared = 0
    for seed in range(first, first + 25):
        circuit, drive = random_circuit(seed)
        solution = solved(circuit, drive)
        factor = 1.0
        while not solution.found[0]:  # more than it can stand: ask for less until there is something to compare
            factor *= 0.5
            drive = drive.scaled(np.array([0.5]))
            solution = solved(circuit, drive)
            assert factor > 1e-3
        theirs = operating_point(circuit, drive, near_v=solution.node_v[0])
        if np.abs(theirs - solution.node_v[0]).max() > VOLTS:
            # at the corner of a source's limit two solutions lie within tens of millivolts: start nearer to ours
            theirs = operating_point(circuit, drive, near_v=solution.node_v[0], decimals=3)
        assert np.abs(theirs - solution.node_v[0]).max() <= VOLTS, f"seed {seed}"
        port_v = theirs[circuit.port_a] - theirs[circuit.port_b]
        loads = len(circuit.load_a)
        amps, _ = load_current(drive, port_v[None, :loads])
        given = np.clip(
            circuit.source_siemens * (drive.source_v[0] - port_v[loads : loads + len(circuit.source_a)]),
            0,
            drive.source_limit_a[0],
        )
        ours = solution.port_a[0]
        assert np.abs(amps[0] - ours[:loads]).max(initial=0.0) <= AMPS, f"seed {seed}"
        # a regulator of a few milliohm turns 10 uV into 2 mA: compare amperes at its own slope
        slack = AMPS + VOLTS * circuit.source_siemens
        assert (np.abs(-given - ours[loads : loads + len(circuit.source_a)]) <= slack).all(), f"seed {seed}"
        compared += 1
    assert compared == 25


def test_many_cases_at_once_are_the_same_as_one_by_one() -> None:
    for seed in (7, 19, 64, 103):
        circuit, drive = random_circuit(seed, cases=80)
        together = solved(circuit, drive)
        for k in range(0, 80, 9):
            alone = solved(circuit, drive.rows(slice(k, k + 1)))
            assert alone.found[0] == together.found[k]
            if alone.found[0]:
                assert np.allclose(alone.node_v[0], together.node_v[k], atol=1e-7, rtol=0)
