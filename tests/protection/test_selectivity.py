"""Which of two devices in series opens first, and how sure that is."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.facts import fuses
from loomwright.protection.curves import band
from loomwright.protection.devices import chains, devices
from loomwright.protection.results import Device
from loomwright.protection.selectivity import judge, pairs
from tests.protection.rigs import ITEMS, NO_POWER, WIRES, rig

TYPES = ("C", "E", "F", "SF30", "SF51", "breaker_3")


def device(type_: str, rating_a: float, name: str = "d", count: int = 1) -> Device:
    return Device(f"{name}.1", name, 1, type_, rating_a, count, 25.0, 1000.0, "d.in", "d.out", False)


def test_a_large_main_over_a_small_blade_is_proved_for_a_hard_fault():
    # worked by hand: 279.6 A through SF51 100 A is 2.8 x, 0.4 s at least; the C 15 A is open within 12 ms
    found = judge(device("SF51", 100), device("C", 15), 279.6)
    assert found.proved
    assert found.typical


def test_gates_alone_prove_nothing_for_a_bolted_fault():
    # 646 A is 6.5 x of the main device: beyond its gates; melting I2t still parts the two by far
    found = judge(device("SF51", 100), device("C", 15), 646.0)
    assert not found.proved
    assert found.typical


def test_blade_under_blade_of_40_a_is_selective_only_typically():
    # typical melting I2t 8500 and 3300 A2s: ratio 2.58, inside the 2 to 3 of common practice
    found = judge(device("E", 40), device("C", 40), 972.8)
    assert found.ratio_i2t == pytest.approx(8500 / 3300)
    assert not found.proved


def test_equal_devices_are_not_selective():
    found = judge(device("C", 30), device("C", 30), 500.0)
    assert found.ratio_i2t == 1.0
    assert not found.proved
    assert not found.typical


def test_parallel_fuses_count_with_the_square_of_their_number():
    one = judge(device("SF51", 100), device("C", 30), 400.0)
    two = judge(device("SF51", 100), device("C", 30, count=2), 400.0)
    assert one.ratio_i2t == pytest.approx(4 * two.ratio_i2t)


def test_a_bolt_in_type_makes_the_judgement_provisional():
    assert judge(device("SF51", 100), device("C", 30), 400.0).provisional
    assert not judge(device("E", 40), device("C", 25), 400.0).provisional


ANY = st.sampled_from(TYPES).flatmap(lambda t: st.sampled_from(fuses.ratings_a(t)).map(lambda r: device(t, r)))


@given(ANY, ANY, st.floats(20.0, 2000.0), st.floats(0.0, 1.0))
def test_proved_means_that_no_current_opens_the_upper_one_first(upper, lower, prospective_a, share):
    if judge(upper, lower, prospective_a).proved:
        amps_a = share * prospective_a
        above = band(upper.type, upper.rating_a, amps_a / upper.rating_a)
        below = band(lower.type, lower.rating_a, amps_a / lower.rating_a)
        assert above.fastest_s > below.slowest_s or above.fastest_s == below.slowest_s == float("inf")


@given(ANY, ANY, st.floats(20.0, 2000.0))
def test_more_fault_current_proves_no_more(upper, lower, prospective_a):
    if judge(upper, lower, prospective_a).proved:
        assert judge(upper, lower, prospective_a / 2).proved
        assert judge(upper, lower, prospective_a).typical


def test_every_pair_in_series_once():
    made = rig()
    found = [(p.upstream, p.downstream) for p in pairs(made, NO_POWER, devices(made), chains(made))]
    assert len(found) == len(set(found))
    assert set(found) == {
        ("main.1", "block.1"), ("main.1", "front.own"), ("block.1", "front.own"),
        ("main.1", "block.2"), ("main.1", "rear.own"), ("block.2", "rear.own"), ("main.1", "block.3"),
    }


def test_the_prospective_current_is_that_after_the_lower_device():
    made = rig()
    power = replace(NO_POWER, prospective_a={"block.1": 777.0, "main.1": 999.0})
    found = {(p.upstream, p.downstream): p for p in pairs(made, power, devices(made), chains(made))}
    assert found["main.1", "block.1"].prospective_a == 777.0


def test_a_tie_between_batteries_is_in_series_with_nothing():
    tie = (
        '[item.aux]\npart = "agm_30ah"\nplace = "case"\n'
        '[item.tie]\npart = "holder_sf30"\nplace = "seat"\nfuses_a = [80]\n'
    )
    wires = (
        *WIRES,
        ("T1", "battery.plus", "tie.in", "4 AWG", 150),
        ("T2", "tie.out", "aux.plus", "4 AWG", 900),
        ("T3", "aux.minus", "ground.stud5", "4 AWG", 300),
    )
    made = rig(ITEMS + tie, wires)
    found = pairs(made, NO_POWER, devices(made), chains(made))
    assert not any("tie.1" in (p.upstream, p.downstream) for p in found)
