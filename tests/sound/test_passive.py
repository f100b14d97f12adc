"""Crossovers designed for a driver as it is: values that are sold, nearer to the target than the textbook's."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loomwright.facts import loudspeakers
from loomwright.rig.model import Mounting
from loomwright.sound.alignments import Alignment
from loomwright.sound.boxes import SmallSignal, impedance_ohm
from loomwright.sound.frequencies import grid_hz
from loomwright.sound.passive import Corner, Wish, design, design_driver
from loomwright.sound.preferred import nearest_value, values_near
from loomwright.sound.purchases import capacitor_v, resistor_w
from tests.sound.rigs import one_driver

AT_HZ = grid_hz()
RESISTOR = np.full(len(AT_HZ), 4.0 + 0j)
WOOFER = impedance_ohm(SmallSignal(3.3, 0.8e-3, 1.0, 62, 4, 0.7), Mounting(), AT_HZ)
TWEETER = impedance_ohm(SmallSignal(3.4, 0.05e-3, 1.0, 1100, 2.0, 1.8), Mounting(), AT_HZ)


def high(shape, order, hz, **more):
    return Wish(high_pass=Corner(Alignment(shape, order), hz), **more)


def low(shape, order, hz, **more):
    return Wish(low_pass=Corner(Alignment(shape, order), hz), **more)


WISHES = [
    high("BW", 1, 4000), high("BW", 2, 3500), high("LR", 2, 3000), high("BW", 3, 3000), high("LR", 4, 3500),
    low("BW", 1, 900), low("BW", 2, 2500), low("LR", 4, 2500, zobel=True),
    Wish(Corner(Alignment("BW", 2), 250), Corner(Alignment("LR", 2), 3000), zobel=True),
]  # fmt: skip


@pytest.mark.parametrize("wish", WISHES, ids=range(len(WISHES)))
def test_values_are_sold_and_serve_the_driver_no_worse_than_the_textbooks(wish):
    driver = WOOFER if wish.low_pass else TWEETER
    found = design(wish, driver, AT_HZ, 4.0, 17.3, re_ohm=3.3, le_h=0.8e-3)
    for part in found.parts:
        step = part.value / 10 ** math.floor(math.log10(part.value) + 1e-9) * 10
        assert min(abs(step - s) for s in loudspeakers.series(wish.series)) < 1e-3
    assert found.error_db <= found.textbook_error_db + 0.05


@pytest.mark.parametrize("order", [1, 2, 3, 4])
def test_before_a_resistor_the_textbook_is_right(order):
    """With fine steps the choice before a resistor lies within a step or two of E24 of the textbook's values."""
    found = design(high("BW", order, 3000, series="E24"), RESISTOR, AT_HZ, 4.0, 17.3)
    assert found.error_db < 0.35
    if order <= 2:
        for part in found.parts:
            assert part.value == pytest.approx(part.textbook, rel=0.11)
    (corner,) = found.crossings
    assert corner.frequency_hz == pytest.approx(3000, rel=0.06)


def test_an_inductive_woofer_needs_other_values_than_the_textbooks():
    """The textbook's low-pass before an inductive driver lets the top through: what is chosen does better by far."""
    found = design(low("BW", 2, 1500), WOOFER, AT_HZ, 4.0, 17.3)
    assert found.error_db < 0.8 * found.textbook_error_db


def test_a_pad_takes_its_share_and_keeps_the_corner():
    found = design(high("BW", 1, 4000, attenuation_db=6), RESISTOR, AT_HZ, 4.0, 17.3)
    top = float(20 * np.log10(np.abs(found.transfer[-1])))
    assert top == pytest.approx(-6.0, abs=0.7)
    assert [(p.name, p.across) for p in found.parts] == [("C1", False), ("R1", False), ("R2", True)]
    assert {p.name: p.rated_w is not None for p in found.parts if p.element == "resistor"} == {"R1": True, "R2": True}


def test_a_choice_below_the_least_load_is_refused():
    free = design(high("BW", 2, 3000), TWEETER, AT_HZ, 4.0, 17.3)
    held = design(high("BW", 2, 3000), TWEETER, AT_HZ, 4.0, 17.3, least_ohm=free.least_ohm + 0.3)
    assert held.least_ohm > free.least_ohm + 0.25
    assert held.error_db >= free.error_db


def test_volts_and_amps_of_the_parts_by_hand():
    """A capacitor before 4 ohm: all of the volts far below its corner, V / R through it far above."""
    (part,) = design(high("BW", 1, 4000), RESISTOR, AT_HZ, 4.0, 20.0).parts
    assert part.volts_v == pytest.approx(20.0, rel=0.01)
    assert part.amps_a == pytest.approx(5.0, rel=0.03)
    assert (part.capacitor_type, part.rated_v) == ("film", 63.0)  # 20 x root 2 x 1.25 = 35 V
    assert capacitor_v(28.3, "film") == 63.0  # 100 W into 4 ohm: 63 V or 100 V parts, common practice
    assert capacitor_v(1000.0, "film") is None
    assert resistor_w(7.0) == 15.0
    assert resistor_w(400.0) is None


def test_a_large_capacitor_is_an_electrolytic_one():
    (part,) = design(high("BW", 1, 150), RESISTOR, AT_HZ, 4.0, 20.0).parts
    assert part.capacitor_type == "non-polar"


def test_what_cannot_be_asked_for():
    with pytest.raises(ValueError, match="high-pass"):
        design(Wish(), RESISTOR, AT_HZ, 4.0, 17.3)
    with pytest.raises(ValueError, match="voice-coil"):
        design(low("BW", 2, 2000, zobel=True), RESISTOR, AT_HZ, 4.0, 17.3)
    with pytest.raises(ValueError, match="LR has orders 2, 4"):
        Alignment("LR", 3)


def test_a_driver_of_a_rig_is_designed_for_with_its_lead():
    item = one_driver("inductive").items["d"]
    short = design_driver(item, low("BW", 2, 2500, zobel=True), 17.3)
    long = design_driver(item, low("BW", 2, 2500, zobel=True), 17.3, lead_ohm=1.0)
    assert short.error_db < 1.0
    assert np.abs(long.transfer[0]) == pytest.approx(np.abs(short.transfer[0]), rel=0.15)


def test_preferred_values():
    assert nearest_value(6.63e-6, "E12") == pytest.approx(6.8e-6)
    assert nearest_value(9.6e-6, "E12") == pytest.approx(1.0e-5)
    assert [round(v, 6) for v in values_near(4.7, "E6", 2.3)] == [2.2, 3.3, 4.7, 6.8, 10.0]
