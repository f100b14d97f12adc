"""Properties of the solver: closed forms, the end of a branch, corners of a source, and that everything adds up."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))
from random_circuits import random_circuit

from loomwright.power.balance import imbalance, solved
from loomwright.power.circuit import Circuit, Drive, reduce
from loomwright.power.headroom import headroom

NONE = np.zeros(0, dtype=np.intp)
EMPTY = np.zeros((1, 0))


def one_load(emf_v: float, ohm: float, watts: float, sag_v: float = 0.0) -> tuple[Circuit, Drive]:
    """A battery, a wire, a constant-power load."""
    circuit = Circuit(
        ("minus", "plus", "load"),
        np.array([1]),
        np.array([2]),
        np.array([ohm / 2]),
        np.array([1]),
        np.array([0]),
        np.array([ohm / 2]),
        np.array([2]),
        np.array([0]),
        NONE,
        NONE,
        np.zeros(0),
        NONE,
        NONE,
        NONE,
        np.zeros(0),
    )
    drive = Drive(
        np.array([[emf_v]]), np.zeros((1, 1)), np.array([[watts]]), np.zeros((1, 1)), np.array([sag_v]), EMPTY, EMPTY
    )
    return circuit, drive


@given(emf=st.floats(10, 15), ohm=st.floats(0.001, 0.2), share=st.floats(0.001, 0.999))
def test_a_constant_power_load_stands_on_the_upper_branch(emf: float, ohm: float, share: float) -> None:
    """V = (E + sqrt(E2 - 4 P R)) / 2, the textbook solution."""
    watts = share * emf**2 / (4 * ohm)
    solution = solved(*one_load(emf, ohm, watts))
    assert solution.found[0]
    assert solution.port_v[0, 0] == pytest.approx((emf + np.sqrt(emf**2 - 4 * watts * ohm)) / 2, abs=1e-6)


@given(emf=st.floats(10, 15), ohm=st.floats(0.001, 0.2), share=st.floats(1.001, 4.0))
def test_past_the_most_power_there_is_no_answer(emf: float, ohm: float, share: float) -> None:
    solution = solved(*one_load(emf, ohm, share * emf**2 / (4 * ohm)))
    assert not solution.found[0]
    assert np.isnan(solution.node_v[0]).all()


@given(emf=st.floats(10, 15), ohm=st.floats(0.002, 0.1), share=st.floats(0.06, 3.0))
def test_headroom_of_one_load_is_the_textbook_limit(emf: float, ohm: float, share: float) -> None:
    """Lost at P = E2 / 4R: headroom is that over P, to half a per cent."""
    circuit, drive = one_load(emf, ohm, share * emf**2 / (4 * ohm))
    factor, _, port = headroom(circuit, reduce(circuit), drive, np.array([True]))
    assert factor[0] == pytest.approx(1 / share, rel=0.005)
    assert port[0] == 0


@given(emf=st.floats(10, 15), ohm=st.floats(0.002, 0.3), watts=st.floats(1, 5000))
def test_a_sagging_amplifier_always_has_an_answer(emf: float, ohm: float, watts: float) -> None:
    """Below its rated volts it is a resistance of V2 / P: a divider."""
    solution = solved(*one_load(emf, ohm, watts, sag_v=14.4))
    assert solution.found[0]
    load_ohm = 14.4**2 / watts
    if emf < 14.4:
        assert solution.port_v[0, 0] == pytest.approx(emf * load_ohm / (load_ohm + ohm), rel=1e-9)


@given(draw_a=st.floats(0.5, 60), limit_a=st.floats(1, 80))
def test_a_regulator_holds_until_its_limit_then_the_battery_gives(draw_a: float, limit_a: float) -> None:
    """Charger 14.2 V, 5 mohm, limited; battery 12.8 V: takes 1 ohm on charge, gives at 10 mohm. Worked by hand per
    region."""
    circuit = Circuit(
        ("minus", "plus"),
        NONE,
        NONE,
        np.zeros(0),
        np.array([1]),
        np.array([0]),
        np.array([1.0]),
        np.array([1]),
        np.array([0]),
        np.array([1, 1]),
        np.array([0, 0]),
        np.array([99.0, 200.0]),
        NONE,
        NONE,
        NONE,
        np.zeros(0),
    )
    drive = Drive(
        np.array([[12.8]]),
        np.array([[draw_a]]),
        np.zeros((1, 1)),
        np.zeros((1, 1)),
        np.zeros(1),
        np.array([[12.8, 14.2]]),
        np.array([[1e6, limit_a]]),
    )
    v = solved(circuit, drive).node_v[0, 1]
    regulated = (14.2 * 200 + 12.8 - draw_a) / 201
    if 200 * (14.2 - regulated) <= limit_a and regulated >= 12.8:
        want = regulated
    elif 12.8 + (limit_a - draw_a) >= 12.8:
        want = 12.8 + (limit_a - draw_a)
    else:
        want = 12.8 + (limit_a - draw_a) / 100
    assert v == pytest.approx(want, abs=1e-8)


@given(seed=st.integers(0, 100_000))
def test_current_and_power_add_up(seed: int) -> None:
    circuit, drive = random_circuit(seed, cases=3)
    solution = solved(circuit, drive)
    if solution.found.any():
        current, power = imbalance(circuit, drive, solution)
        assert current.max() < 1e-9
        assert power.max() < 1e-9


@given(seed=st.integers(0, 10_000), asked=st.floats(0.05, 0.95))
def test_less_programme_never_lowers_a_load(seed: int, asked: float) -> None:
    """On the upper branch volts fall as watts rise, where nothing but resistances lies between."""
    circuit, drive = random_circuit(seed)
    full = solved(circuit, drive)
    less = solved(circuit, drive.scaled(np.array([asked])))
    if full.found[0]:
        assert less.found[0]
        loads = len(circuit.load_a)
        assert (less.port_v[0, :loads] >= full.port_v[0, :loads] - 1e-6).all()


@pytest.mark.parametrize("seed", [3, 11, 29, 47, 71, 93])
def test_headroom_is_where_the_answer_ends(seed: int) -> None:
    """Just inside the headroom there is an operating point, just outside there is none."""
    circuit, drive = random_circuit(seed)
    amplifiers = np.ones(len(circuit.load_a), dtype=bool)
    factor, _, _ = headroom(circuit, reduce(circuit), drive, amplifiers)
    if np.isfinite(factor[0]):
        assert solved(circuit, drive.scaled(factor * 0.995)).found[0]
        assert not solved(circuit, drive.scaled(factor * 1.02)).found[0]


def test_a_small_far_load_is_judged_by_itself() -> None:
    """A 3 W load behind 20 ohm is lost while the 300 W one next to the battery is well: no answer is claimed."""
    circuit = Circuit(
        ("minus", "plus", "far"),
        np.array([1]),
        np.array([2]),
        np.array([20.0]),
        np.array([1]),
        np.array([0]),
        np.array([0.008]),
        np.array([1, 2]),
        np.array([0, 0]),
        NONE,
        NONE,
        np.zeros(0),
        NONE,
        NONE,
        NONE,
        np.zeros(0),
    )
    drive = Drive(
        np.array([[12.8]]), np.zeros((1, 2)), np.array([[300.0, 3.0]]), np.zeros((1, 2)), np.zeros(2), EMPTY, EMPTY
    )
    assert not solved(circuit, drive).found[0]
    factor, _, port = headroom(circuit, reduce(circuit), drive, np.array([True, True]))
    assert 0.6 < factor[0] < 1.0
    assert port[0] == 1


def test_between_two_points_the_higher_stable_one_is_found() -> None:
    """A converter, a charger at its limit and a flat battery leave an unstable point below the stable one."""
    from loomwright import demo
    from loomwright.power.drive import drive
    from loomwright.power.network import build
    from loomwright.rig.file import parse
    from loomwright.study import Study

    text = demo.text("harvest_buggy")
    for charge in range(28, 70, 8):
        start = text.index("[item.start]")
        part = text[start : text.index("[", start + 5)]
        flat = "\n".join(f"charge_pct = {charge}" if x.startswith("charge_pct") else x for x in part.split("\n"))
        if "charge_pct" not in part:
            flat = part.replace("\n", f"\ncharge_pct = {charge}\n", 1)
        network = build(Study(parse(text.replace(part, flat), "buggy.toml")).rig)
        circuit = network.circuit_for(("idle",))
        assert solved(circuit, drive(network, (("idle", "music"),), brown_out=True)).found[0], charge
