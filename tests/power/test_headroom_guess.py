"""Where headroom is looked for first changes nothing about what is found."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loomwright import demo
from loomwright.power.circuit import reduce
from loomwright.power.drive import drive
from loomwright.power.headroom import headroom
from loomwright.power.network import build
from loomwright.rig.file import load
from loomwright.rig.model import ENGINE_STATES
from loomwright.study import Study

RIG = Study(load(demo.path("carnival_trike_planned"))).rig
CASES = tuple((engine, programme) for engine in ENGINE_STATES for programme in ("music", "loud"))


@pytest.mark.parametrize("stretch", [1.0, 4.0, 12.0])
def test_any_guess_finds_the_same(stretch: float) -> None:
    rig = replace(RIG, wires=tuple(replace(w, length_mm=w.length_mm * stretch) for w in RIG.wires))
    network = build(rig)
    circuit = network.circuit_for([engine for engine, _ in CASES])
    work = drive(network, CASES)
    amplifiers = np.array([p.role == "amplifier" for p in network.loads])
    factor, _, port = headroom(circuit, reduce(circuit), work, amplifiers)
    assert np.isfinite(factor).any()
    for guess in (factor, factor * 1.0007, factor * 0.97, factor * 1.6, factor * 0.3, np.full(len(factor), np.inf)):
        again, _, lost = headroom(circuit, reduce(circuit), work, amplifiers, guess=guess)
        assert (again == factor).all()
        assert (lost == port).all()
