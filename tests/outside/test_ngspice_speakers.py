"""The AC solution of speaker circuits against ngspice ``.ac``: 100 random networks."""

from __future__ import annotations

import numpy as np
from random_speakers import Element, network, spice_lines
from spice import OPTIONS, run

from loomwright.facts import loudspeakers
from loomwright.sound import boxes
from loomwright.sound.circuit import Branch, solve
from loomwright.sound.frequencies import Complexes, Floats

NETWORKS = 100
POINTS_PER_DECADE = 20
WITHIN_DB = 0.01
WITHIN_DEGREES = 0.1
LEAST_SHARE = 1e-4
"""Volts under this share of the channel's are not compared: nothing is heard of them (-80 dB)."""


def ngspice(elements: list[Element]) -> tuple[Floats, dict[str, Complexes], Complexes]:
    """Frequencies, volts at every node, and what the source sees."""
    nodes = sorted({n for e in elements for n in (e.a, e.b)} - {"0", "plus"})
    deck = "\n".join(
        [
            "* speakers", OPTIONS, "V1 plus 0 dc 0 ac 1", *spice_lines(elements, loudspeakers.box_leak_q()),
            ".control", "set wr_singlescale", f"ac dec {POINTS_PER_DECADE} 10 40k",
            "wrdata out0.txt " + " ".join([*(f"v({n})" for n in nodes), "i(v1)"]), ".endc", ".end",
        ]
    )  # fmt: skip
    table = run(deck)[0]
    columns = table[:, 1::2] + 1j * table[:, 2::2]
    volts = {n: columns[:, k] for k, n in enumerate(nodes)}
    return table[:, 0], volts, -1.0 / columns[:, -1]


def ours(elements: list[Element], frequency_hz: Floats) -> tuple[dict[str, Complexes], Complexes]:
    jw = 2j * np.pi * frequency_hz
    branches = []
    for k, e in enumerate(elements):
        if e.kind == "D":
            assert e.driver is not None
            z = boxes.impedance_ohm(e.driver, e.mounting, frequency_hz)
        else:
            z = {"R": e.value + 0 * jw, "L": jw * e.value, "C": 1 / (jw * e.value)}[e.kind]
        branches.append(Branch(str(k), e.a, e.b, 1 / z))
    solution = solve(branches, "plus", "0")
    assert solution.impedance_ohm is not None
    return dict(solution.volts), solution.impedance_ohm


def test_a_hundred_random_networks_agree() -> None:
    rng = np.random.default_rng(20)
    worst_db = worst_degrees = 0.0
    for _ in range(NETWORKS):
        elements = network(rng)
        frequency_hz, theirs, seen = ngspice(elements)
        mine, impedance = ours(elements, frequency_hz)
        pairs = [(impedance, seen), *((mine[n], v) for n, v in theirs.items())]
        for e in elements:
            if e.kind == "D":
                both = [{**v, "0": 0 * seen, "plus": 0 * seen + 1} for v in (mine, theirs)]
                pairs.append((both[0][e.a] - both[0][e.b], both[1][e.a] - both[1][e.b]))
        for a, b in pairs:
            loud = np.abs(b) > LEAST_SHARE
            if not loud.any():
                continue
            ratio = np.broadcast_to(a, b.shape)[loud] / b[loud]
            worst_db = max(worst_db, float(np.max(np.abs(20 * np.log10(np.abs(ratio))))))
            worst_degrees = max(worst_degrees, float(np.max(np.abs(np.degrees(np.angle(ratio))))))
    assert worst_db < WITHIN_DB
    assert worst_degrees < WITHIN_DEGREES
