"""Crossovers, pads, Zobel networks and speaker wire against printed figures.

The crossover table is the common one (coefficients c: L = c R / f, C = c / (R f)); LR2, BW3 and LR4 also stand on a
crossover equation page that cites a loudspeaker design handbook. Pads agree with the pad pages, but for one misprint;
see test_published_errors.py. The Zobel rule is common practice.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from test_worked_examples import as_printed

from loomwright.facts import conductors
from loomwright.protection.leads import loss_db
from loomwright.sound.alignments import Alignment, Shape, Way, gain_set_v, ladder, pad, pad_watts, target, zobel
from loomwright.sound.circuit import Branch, solve
from loomwright.sound.rungs import backwards
from loomwright.sound.speaker_wire import damping_factor

TABLE: tuple[tuple[Shape, int, tuple[float, ...], tuple[float, ...], float], ...] = (
    ("BW", 1, (0.1592,), (0.1592,), -3.01),
    ("BW", 2, (0.2251, 0.1125), (0.1125, 0.2251), -3.01),
    ("LR", 2, (0.3183, 0.0796), (0.0796, 0.3183), -6.02),
    ("BW", 3, (0.2387, 0.2122, 0.0796), (0.1061, 0.1194, 0.3183), -3.01),
    ("BW", 4, (0.2437, 0.2509, 0.1723, 0.0609), (0.1040, 0.1009, 0.1470, 0.4159), -3.01),
    ("LR", 4, (0.3000, 0.2533, 0.1500, 0.0563), (0.0844, 0.1000, 0.1688, 0.4501), -6.02),
)


def coefficients(shape: Shape, order: int, way: Way) -> list[float]:
    return [e.value for e in ladder(Alignment(shape, order), way, 1.0, 1.0)]


def exact_ladder(alignment: Alignment) -> list[float]:
    """The low-pass ladder at 1 rad/s into 1 ohm, from the amplifier on, by theory.

    What the load sees looking back is the polynomial's even part over its odd part; the continued fraction of that is
    the ladder.
    """
    poly = np.array(alignment.polynomial())
    upper = np.where(np.arange(len(poly)) % 2 == 0, poly, 0.0)
    lower = np.where(np.arange(len(poly)) % 2 == 1, poly, 0.0)[1:]
    found = []
    while len(lower):
        g = upper[0] / lower[0]
        found.append(float(g))
        rest = np.polysub(upper, np.polymul([g, 0.0], lower))[2:]
        upper, lower = lower, rest
    return found[::-1]


@pytest.mark.parametrize(("shape", "order", "low", "high", "level_db"), TABLE, ids=lambda v: str(v)[:12])
def test_crossover_table(shape, order, low, high, level_db):
    assert [round(c, 4) for c in coefficients(shape, order, "low-pass")] == list(low)
    assert [round(c, 4) for c in coefficients(shape, order, "high-pass")] == list(high)
    assert Alignment(shape, order).level_db == pytest.approx(level_db, abs=0.005)
    steps = np.array(exact_ladder(Alignment(shape, order)))  # the table rounds: up to one in the last digit
    assert list(low) == pytest.approx(steps / (2 * math.pi), abs=1.5e-4)
    assert list(high) == pytest.approx(1 / (2 * math.pi * steps), abs=1.5e-4)


@pytest.mark.parametrize("way", ["low-pass", "high-pass"])
@pytest.mark.parametrize(("shape", "order", "low", "high", "level_db"), TABLE, ids=lambda v: str(v)[:12])
def test_a_ladder_does_what_its_polynomial_says(shape, order, low, high, level_db, way):
    """The ladder solved element by element against the alignment's polynomial."""
    at_hz = np.geomspace(100.0, 10_000.0, 81)
    jw = 2j * np.pi * at_hz
    alignment = Alignment(shape, order)
    arms = [
        (e.across, jw * e.value if e.kind == "coil" else 1 / (jw * e.value))
        for e in ladder(alignment, way, 1000.0, 8.0)
    ]
    transfer, _ = backwards(arms, np.full(len(at_hz), 8.0 + 0j))
    goal = target(alignment, way, 1000.0, at_hz)
    assert 20 * np.log10(np.abs(transfer / goal)) == pytest.approx(np.zeros(81), abs=0.006)
    at_corner = target(alignment, way, 1000.0, np.array([1000.0]))
    assert 20 * math.log10(abs(at_corner[0])) == pytest.approx(level_db, abs=0.005)


def test_what_sums_flat():
    """As the table says: BW1 and BW3 either way, LR4 in phase, LR2 with one driver inverted; BW2 and BW4 not."""
    at_hz = np.geomspace(50.0, 20_000.0, 200)
    flat = {}
    for shape, order, *_ in TABLE:
        low, high = (target(Alignment(shape, order), way, 1000.0, at_hz) for way in ("low-pass", "high-pass"))
        flat[f"{shape}{order}"] = [
            bool(np.allclose(np.abs(low + sign * high), 1.0, atol=1e-9)) for sign in (1, -1)
        ]
    assert flat == {
        "BW1": [True, True], "BW2": [False, False], "LR2": [False, True], "BW3": [True, True],
        "BW4": [False, False], "LR4": [True, False],
    }  # fmt: skip
    bw2 = [target(Alignment("BW", 2), way, 1000.0, np.array([1000.0]))[0] for way in ("low-pass", "high-pass")]
    assert 20 * math.log10(abs(bw2[0] - bw2[1])) == pytest.approx(3.01, abs=0.005)
    assert abs(bw2[0] + bw2[1]) < 1e-9


def printed(values, units, digits):
    return [as_printed(v * u, d) for v, u, d in zip(values, units, digits, strict=True)]


@pytest.mark.parametrize(
    ("shape", "order", "way", "hz", "ohm", "digits"),
    [
        ("BW", 1, "high-pass", 3000, 4, ["13.26"]),
        ("BW", 1, "low-pass", 3000, 4, ["0.2122"]),
        ("LR", 2, "high-pass", 3000, 4, ["6.63", "0.424"]),
        ("LR", 4, "high-pass", 2500, 8, ["4.22", "0.320", "8.44", "1.440"]),
        ("BW", 3, "low-pass", 2500, 8, ["0.764", "10.61", "0.255"]),
    ],
)
def test_36_to_39_crossovers(shape, order, way, hz, ohm, digits):
    """Microfarads and millihenries."""
    found = ladder(Alignment(shape, order), way, hz, ohm)
    units = [1e6 if e.kind == "capacitor" else 1e3 for e in found]
    assert printed([e.value for e in found], units, digits) == digits


def test_40_pad_of_20_db():
    series, shunt = pad(8.0, 20.0)
    assert [as_printed(series, "7.20"), as_printed(shunt, ".889")] == ["7.20", "0.889"]
    assert as_printed(pad_watts(8.0, 20.0, 50.0)[0], "45") == "45"
    assert sum(pad_watts(8.0, 20.0, 50.0)) == pytest.approx(50.0 * (1 - 0.01), rel=1e-9)  # the driver gets 1 %


@pytest.mark.parametrize(
    ("ohm", "db", "series", "shunt"), [(8, 6, "3.991", "8.038"), (4, 3, "1.168", "9.696")]
)
def test_41_pads(ohm, db, series, shunt):
    assert [as_printed(r, d) for r, d in zip(pad(ohm, db), (series, shunt), strict=True)] == [series, shunt]


def test_42_zobel():
    r, c = zobel(3.2, 0.5e-3)
    assert [as_printed(r, "4.0"), as_printed(c * 1e6, "31.25")] == ["4.0", "31.25"]


@pytest.mark.parametrize(
    ("watts", "ohm", "volts"), [(75, 4, "17.32"), (100, 4, "20.00"), (300, 2, "24.49"), (1000, 1, "31.62")]
)
def test_43_volts_for_a_power(watts, ohm, volts):
    assert as_printed(gain_set_v(watts, ohm), volts) == volts


@pytest.mark.parametrize(
    ("drivers", "ohm"), [((4, 8), "2.667"), ((4, 4, 8), "1.600"), ((4, 4, 4), "1.333")]
)
def test_44_drivers_in_parallel(drivers, ohm):
    branches = [Branch(str(k), "plus", "minus", np.array([1 / r + 0j])) for k, r in enumerate(drivers)]
    solved = solve(branches, "plus", "minus")
    assert solved.impedance_ohm is not None
    assert as_printed(float(solved.impedance_ohm[0].real), ohm) == ohm


def test_45_speaker_wire():
    per_m = conductors.resistance_mohm_per_m(conductors.parse_size("16 AWG").area_mm2, "copper", 20.0, "AWG")
    loop_ohm = 2 * 5.0 * per_m / 1000.0
    assert as_printed(loop_ohm, ".134") == "0.134"
    assert as_printed(-loss_db(loop_ohm, 4.0), "-.287") == "-0.287"
    assert damping_factor(loop_ohm, 4.0) <= 29.8
