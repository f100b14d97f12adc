"""A drill worked by hand: a 12.8 V, 8 mohm battery, a 100 A main device, 4 AWG feed and return, two branches.

Source: a hand calculation, independent of this program (values as printed there). Copper from ASTM B258 with 2 %
lay; gates of type C from component data sheets citing ISO 8820-3; SF51 from memory.
"""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.facts import adiabatic
from loomwright.power.balance import solved
from loomwright.power.circuit import Circuit, Drive
from loomwright.protection.curves import band

NODES = ("ground post", "block", "ground bus", "A+", "A-", "B+", "B-", "battery")


def circuit(fuse_a_mohm: float, fuse_b_mohm: float) -> Circuit:
    none = np.zeros(0, dtype=np.intp)
    mohm = [0.9 + 2.0788, 2.0055 + fuse_a_mohm, 6.7614 + fuse_b_mohm, 2.0055, 6.7614, 2.0788]
    return Circuit(
        NODES,
        np.array([7, 1, 1, 4, 6, 2]),
        np.array([1, 3, 5, 2, 2, 0]),
        np.array(mohm) / 1000.0,
        np.array([7]),
        np.array([0]),
        np.array([0.008]),
        np.array([3, 5]),
        np.array([4, 6]),
        none,
        none,
        np.zeros(0),
        none,
        none,
        none,
        np.zeros(0),
    )


def state(c: Circuit, watts_b: float, siemens_b: float) -> tuple[float, ...]:
    empty = np.zeros((1, 0))
    work = Drive(
        np.array([[12.8]]),
        np.zeros((1, 2)),
        np.array([[360.0, watts_b]]),
        np.array([[0.0, siemens_b]]),
        np.zeros(2),
        empty,
        empty,
    )
    s = solved(c, work)
    block = s.node_v[0, 1] - s.node_v[0, 2]
    return (block, *s.port_v[0], *s.port_a[0], s.port_a[0].sum())


FUSED, SHARED = circuit(1.44, 4.714), circuit(0.0, 0.0)


@pytest.mark.parametrize(
    ("rig", "watts_b", "ohm_b", "printed"),
    [
        (FUSED, 96.0, None, (12.310, 12.149, 12.166, 29.63, 7.89, 37.52)),
        (SHARED, 96.0, None, (12.312, 12.193, 12.205, 29.52, 7.87, 37.39)),
        (FUSED, 0.0, 0.2667, (11.855, 11.687, 11.096, 30.80, 41.61, 72.41)),
        (SHARED, 0.0, 0.2667, (11.847, 11.724, 11.275, 30.71, 42.28, 72.99)),
        (FUSED, 0.0, 0.020, (9.149, 8.930, 4.786, 40.32, 239.28, 279.59)),
        (SHARED, 0.0, 0.020, (8.821, 8.654, 5.263, 41.60, 263.13, 304.73)),
    ],
)
def test_volts_and_amperes_to_the_printed_digits(
    rig: Circuit, watts_b: float, ohm_b: float | None, printed: tuple[float, ...]
) -> None:
    found = state(rig, watts_b, 0.0 if ohm_b is None else 1.0 / ohm_b)
    for value, want in zip(found[:3], printed[:3], strict=True):
        assert value == pytest.approx(want, abs=0.00075)
    for value, want in zip(found[3:], printed[3:], strict=True):
        assert value == pytest.approx(want, abs=0.0101)


def test_a_soft_fault_is_seen_by_its_own_fuse_alone() -> None:
    """C 15 A at 2.774 x: 0.104 to 1.30 s; the main device at 0.72 x holds."""
    own, main = band("C", 15.0, 41.61 / 15.0), band("SF51", 100.0, 0.7241)
    assert own.fastest_s == pytest.approx(0.104, rel=0.01)
    assert own.slowest_s == pytest.approx(1.30, rel=0.01)
    assert np.isinf(main.fastest_s)


def test_the_wire_hardly_warms_meanwhile() -> None:
    """14 AWG at 41.6 A for 1.30 s from 40 C ends near 43 C (IEC 60364-4-43)."""
    assert adiabatic.final_c(2.081, "copper", 40.0, 41.61**2 * 1.30) == pytest.approx(43.0, abs=0.5)


def test_a_hard_fault_is_beyond_the_gates() -> None:
    """C 15 A at 16 x: melts after about 6 ms (I2t 336 A2s); SF51 100 A at 3.05 x: 0.40 to 6.6 s, and holds for 12 ms
    at 2.8 x."""
    own, main = band("C", 15.0, 239.28 / 15.0), band("SF51", 100.0, 3.0473)
    assert own.beyond_data
    assert own.typical_s == pytest.approx(0.006, abs=0.0008)
    assert main.fastest_s == pytest.approx(0.40, rel=0.03)
    assert main.slowest_s == pytest.approx(6.6, rel=0.03)
    assert main.provisional
    assert band("SF51", 100.0, 2.796).fastest_s > 0.012


def test_a_shared_device_lets_the_thin_wire_burn_at_worst() -> None:
    """263 A in 14 AWG for 0.40 s: 77 C; for 6.6 s: past the melting point of copper."""
    quick = adiabatic.final_c(2.081, "copper", 40.0, 263.13**2 * 0.40)
    slow = adiabatic.final_c(2.081, "copper", 40.0, 263.13**2 * 6.6)
    assert quick == pytest.approx(77.0, abs=1.0)
    assert slow > 1083.0
