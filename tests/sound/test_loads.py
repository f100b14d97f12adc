"""What a channel sees: nominal figures in any mix, real curves, and wiring that is not as it should be."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loomwright.rig.model import Rig
from loomwright.sound.loads import study_loads
from tests.sound.rigs import load, one_driver, rig, through

JOINTS = 0.01
"""A millimetre of wire and its joints leave under this in all [ohm]."""


def kinds(made: Rig, channel: int = 1) -> set[str]:
    return {f.kind for f in load(made, channel).flags}


def parallel(*parts: str) -> Rig:
    """Drivers in parallel on channel 1, joined at the first driver's tags and on from tag to tag."""
    items = {f"d{n}": part for n, part in enumerate(parts)}
    wires = [("amp.ch1+", "d0.+"), ("amp.ch1-", "d0.-")]
    for n in range(1, len(parts)):
        wires += [(f"d{n - 1}.+", f"d{n}.+"), (f"d{n - 1}.-", f"d{n}.-")]
    return rig(items, wires)


# Worked by hand: 1 / (1/4 + 1/8) and so on.
@pytest.mark.parametrize(
    ("parts", "ohm"), [(("four", "eight"), 2.667), (("four", "four", "eight"), 1.6), (("four",) * 3, 1.333)]
)
def test_parallel_drivers(parts: tuple[str, ...], ohm: float) -> None:
    found = load(parallel(*parts))
    assert found.nominal_ohm == pytest.approx(ohm, abs=JOINTS)
    assert found.least_ohm == pytest.approx(ohm, abs=JOINTS)
    assert all(np.abs(d.transfer) == pytest.approx(1.0, abs=5e-3) for d in found.drivers.values())


def test_series_and_parallel_mixed() -> None:
    # two fours in series, an eight across the second: 4 + 4 // 8 = 6.667 ohm; the volts divide 4 : 2.667
    made = rig(
        {"a": "four", "b": "four", "c": "eight"},
        [("amp.ch1+", "a.+"), ("a.-", "b.+"), ("b.-", "amp.ch1-"), ("b.+", "c.+"), ("c.-", "b.-")],
    )
    found = load(made)
    assert found.nominal_ohm == pytest.approx(6.667, abs=JOINTS)
    assert abs(found.drivers["a"].transfer[0]) == pytest.approx(0.6, abs=1e-3)
    assert abs(found.drivers["c"].transfer[0]) == pytest.approx(0.4, abs=1e-3)


def test_a_bridged_pair_works_between_the_first_plus_and_the_second_minus() -> None:
    made = rig({"d": "four"}, [("amp.ch1+", "d.+"), ("amp.ch2-", "d.-")], bridged="[[1, 2]]")
    found = load(made, 2)
    assert (found.channels, found.name, found.bridged) == ((1, 2), "amp.ch1+2", True)
    assert found.nominal_ohm == pytest.approx(4.0, abs=JOINTS)
    assert {c.channels for c in study_loads(made).channels} == {(1, 2), (3,), (4,)}


def test_wiring_that_bridges_without_saying_so_is_named() -> None:
    made = rig({"d": "four"}, [("amp.ch1+", "d.+"), ("amp.ch2-", "d.-")])
    assert kinds(made) == {"open", "bridged unsaid"}


def test_an_open_channel_and_a_driver_that_nothing_feeds() -> None:
    made = rig({"d": "four", "e": "four"}, [("amp.ch1+", "d.+"), ("d.+", "e.+")])
    found = load(made)
    assert found.open
    assert math.isinf(found.least_ohm)
    assert found.nominal_ohm is None
    assert study_loads(made).unfed == ("d", "e")


def test_a_short_across_a_channel() -> None:
    made = rig(
        {"d": "four", "s": "splice_crimp"},
        [("amp.ch1+", "s.leg1"), ("amp.ch1-", "s.leg2"), ("s.leg3", "d.+"), ("amp.ch1-", "d.-")],
    )
    found = load(made)
    assert found.short
    assert found.least_ohm < 0.01
    assert {"short", "driver shorted"} <= {f.kind for f in found.flags}


def test_a_driver_the_other_way_round_shows_in_its_flag_and_not_in_the_impedance() -> None:
    right = rig({"d": "known"}, [("amp.ch1+", "d.+"), ("amp.ch1-", "d.-")])
    wrong = rig({"d": "known"}, [("amp.ch1+", "d.-"), ("amp.ch1-", "d.+")])
    assert kinds(right) == set()
    assert kinds(wrong) == {"reversed"}
    assert load(right).impedance_ohm == pytest.approx(load(wrong).impedance_ohm)
    assert load(right).drivers["d"].transfer == pytest.approx(-load(wrong).drivers["d"].transfer)


def test_a_reversed_driver_behind_a_crossover_is_found_too() -> None:
    made = rig(
        {"d": "known", "c": "capacitor_film_6u8", "l": "coil_0m22"},
        [("amp.ch1+", "c.a"), ("c.b", "d.-"), ("d.+", "amp.ch1-"), ("c.b", "l.a"), ("l.b", "d.+")],
    )
    assert kinds(made) == {"reversed"}


def test_two_channels_in_one_wiring() -> None:
    made = rig(
        {"a": "four", "b": "four"},
        [("amp.ch1+", "a.+"), ("amp.ch1-", "a.-"), ("amp.ch2+", "b.+"), ("amp.ch2-", "b.-"), ("a.-", "b.-")],
    )
    assert {"shared"} <= kinds(made)
    assert {"shared"} <= kinds(made, 2)


def test_a_driver_with_nothing_but_its_nominal_impedance_is_a_guess() -> None:
    found = load(one_driver("four"))
    assert found.guess
    assert found.drivers["d"].basis == "nominal"
    assert not load(one_driver("known")).guess


def test_a_zobel_network_of_unknown_values_is_left_out_and_named() -> None:
    made = rig(
        {"d": "known", "z": "odd_zobel"},
        [("amp.ch1+", "d.+"), ("amp.ch1-", "d.-"), ("d.+", "z.a"), ("d.-", "z.b")],
    )
    assert kinds(made) == {"part unknown"}
    assert load(made).impedance_ohm == pytest.approx(load(one_driver("known")).impedance_ohm, rel=1e-6)


def test_a_zobel_network_makes_an_inductive_driver_flat() -> None:
    zobel = (
        '[part.z]\nfamily = "passive"\ntitle = "Z"\nelement = "zobel"\nresistance_ohm = 3.2\ncapacitance_uf = 48.828\n'
    )
    bare = one_driver("inductive")
    made = rig(
        {"d": "inductive", "n": "z"},
        [("amp.ch1+", "d.+"), ("amp.ch1-", "d.-"), ("d.+", "n.a"), ("d.-", "n.b")],
        parts=zobel,
    )
    high = load(made).frequency_hz > 2000  # with R = Re and C = Le / Re^2 it is a resistor above the resonance
    assert np.abs(load(made).impedance_ohm[high]) == pytest.approx(3.2, rel=0.01)
    assert abs(load(bare).impedance_ohm[-1]) > 30


def test_a_pad_takes_off_what_it_says_and_keeps_the_load() -> None:
    made = rig(
        {"d": "eight", "p": "tap"},
        [("amp.ch1+", "p.a"), ("p.b", "d.+"), ("amp.ch1-", "d.-"), ("d.-", "p.c")],
    )
    found = load(made)
    assert 20 * math.log10(abs(found.drivers["d"].transfer[0])) == pytest.approx(-6.0, abs=0.005)
    assert found.nominal_ohm == pytest.approx(8.0, abs=JOINTS)
    assert set(found.parts) == {"p.series", "p.shunt"}


def test_a_box_raises_the_resonance() -> None:
    free = load(one_driver("known"))
    boxed = load(one_driver('known\nmounting = "sealed"\nbox_l = 5'))
    low = free.frequency_hz < 1000
    peak = lambda found: found.frequency_hz[low][np.argmax(np.abs(found.impedance_ohm[low]))]  # noqa: E731
    assert peak(free) == pytest.approx(60.0, rel=0.01)
    assert peak(boxed) == pytest.approx(120.0, rel=0.01)  # fs x root of 1 + 15/5


def test_a_vented_box_has_two_peaks_with_its_tuning_between() -> None:
    found = load(one_driver('known\nmounting = "vented"\nbox_l = 15\nport_hz = 60'))
    size = np.abs(found.impedance_ohm)
    inner = (size[1:-1] > size[:-2]) & (size[1:-1] > size[2:])
    low, high = found.frequency_hz[1:-1][inner & (found.frequency_hz[1:-1] < 1000)]
    assert low < 60 < high
    between = (found.frequency_hz > low) & (found.frequency_hz < high)
    saddle = found.frequency_hz[between][np.argmin(size[between])]
    assert saddle == pytest.approx(60.0, rel=0.03)


def test_a_measured_curve_counts_before_everything_else() -> None:
    rows = "\nimpedance = [[10, 5, 0], [20, 5, 0], [40, 10, 30], [80, 5, 0], [160, 5, 0], [320, 5, 0]]"
    found = load(one_driver("known" + rows))
    at = int(np.argmin(np.abs(found.frequency_hz - 40)))
    z = found.drivers["d"].impedance_ohm[at]
    assert found.drivers["d"].basis == "measured"
    assert abs(z) == pytest.approx(10, rel=0.02)
    assert math.degrees(np.angle(z)) == pytest.approx(30, abs=1)
    assert any("320 Hz" in n for n in found.drivers["d"].notes)


def test_what_flows_in_adds_up() -> None:
    """Kirchhoff: the amps of the parallel branches are those of the channel; the volts of a series path are 1."""
    made = through(10, "known")
    found = load(made)
    volts = found.parts["c"].volts + found.drivers["d"].transfer
    assert volts == pytest.approx(np.ones(len(volts)), abs=1e-3)
    amps = found.drivers["d"].transfer / found.drivers["d"].impedance_ohm
    assert found.parts["c"].amps == pytest.approx(amps, rel=1e-6)
    assert np.abs(found.wires["S1"].amps) == pytest.approx(np.abs(1 / found.impedance_ohm), rel=1e-6)


def test_a_source_units_speaker_outputs_are_channels_too() -> None:
    from loomwright import demo
    from loomwright.rig.file import load as load_file

    study = study_loads(load_file(demo.path("carnival_trike_as_found")))
    assert [c.name for c in study.channels if c.item == "source"] == [f"source.spk{n}" for n in (1, 2, 3, 4)]


def test_every_driver_of_the_demo_rigs_is_fed_and_lies_the_right_way_round() -> None:
    from loomwright import demo
    from loomwright.rig.file import load as load_file

    for name in demo.names():
        study = study_loads(load_file(demo.path(name)))
        assert study.unfed == ()
        assert not [f for c in study.channels for f in c.flags if f.kind != "open"]
