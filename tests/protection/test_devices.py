"""Which devices a rig has, what they guard and what goes dark behind them."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.protection.devices import chains, devices
from loomwright.protection.graph import graph_of
from loomwright.protection.guards import guards
from loomwright.protection.results import Guard
from loomwright.rig.catalogue import builtin
from loomwright.rig.model import Item, Rig, Wire
from loomwright.rig.shape import shape_of
from tests.protection.rigs import HEAD, ITEMS, NO_POWER, WIRES, Row, rig, without

STATOR = """
[item.stator]
part = "stator_36a"
place = "seat"
[item.charge_fuse]
part = "holder_sf30"
place = "seat"
fuses_a = [60]
"""
FUSED_STATOR: tuple[Row, ...] = (
    ("C1", "stator.out", "charge_fuse.in", "8 AWG", 700),
    ("C2", "charge_fuse.out", "battery.plus", "8 AWG", 150),
    ("C3", "stator.ground", "battery.minus", "8 AWG", 700),
)
SECOND = """
[item.aux]
part = "agm_30ah"
place = "case"
[item.tie]
part = "{isolator}"
place = "case"
[item.near]
part = "holder_sf30"
place = "seat"
fuses_a = [80]
"""
FAR = """
[item.far]
part = "holder_sf30"
place = "case"
fuses_a = [80]
"""
TIED: tuple[Row, ...] = (
    ("T1", "battery.plus", "near.in", "4 AWG", 150),
    ("T2", "near.out", "tie.main", "4 AWG", 900),
    ("T3", "tie.aux", "far.in", "4 AWG", 300),
    ("T4", "far.out", "aux.plus", "4 AWG", 150),
    ("T5", "aux.minus", "ground.stud5", "4 AWG", 300),
)
BARE: tuple[Row, ...] = (*TIED[:2], ("T3", "tie.aux", "aux.plus", "4 AWG", 450), TIED[4])


def guard(made: Rig, wire: str) -> Guard:
    return guards(made, NO_POWER)[wire]


def test_every_fitted_device_and_no_empty_way():
    assert list(devices(rig())) == ["main.1", "block.1", "block.2", "block.3", "front.own", "rear.own"]


def test_an_amplifiers_own_fuses_count_together():
    own = devices(rig(ITEMS.replace("amp_4x75_class_d", "amp_1x500_class_d")))["front.own"]
    assert (own.rating_a, own.count) == (30.0, 2)


def test_blades_break_1000_a_and_nothing_is_known_for_sure_of_bolt_in_fuses():
    found = devices(rig())
    assert found["block.1"].interrupting_a == 1000  # component data sheets, 32 V
    assert not found["block.1"].provisional
    assert found["main.1"].provisional


def test_a_device_knows_how_warm_its_place_is():
    hot = devices(rig(head=HEAD.replace("[place.case]", "[place.case]\ntemperature_c = 55")))
    assert (hot["main.1"].temperature_c, hot["block.1"].temperature_c) == (30, 55)


def test_a_holder_wired_the_other_way_round_still_has_the_battery_upstream():
    turned = (("P1", "battery.plus", "main.out", "4 AWG", 120), ("P2", "main.in", "block.in", "4 AWG", 1200))
    found = devices(rig(wires=(*turned, *without("P1", "P2"))))
    assert (found["main.1"].upstream, found["main.1"].downstream) == ("main.out", "main.in")
    assert guard(rig(wires=(*turned, *without("P1", "P2"))), "P2").devices == ("main.1",)


def test_chains_run_from_the_battery_to_each_load():
    assert chains(rig()) == (
        ("main.1", "block.1", "front.own"), ("main.1", "block.2", "rear.own"), ("main.1", "block.3"),
    )


def test_the_nearest_device_guards():
    made = rig()
    assert guard(made, "P2").devices == ("main.1",)
    assert guard(made, "P3").devices == ("block.1",)
    assert guard(made, "P5").rating_a == 10


def test_a_feed_is_not_guarded_by_the_fuses_inside_the_amplifier():
    made = rig(wires=(("P3", "battery.plus", "front.supply+", "8 AWG", 900), *without("P3")))
    assert guard(made, "P3").devices == ()
    assert guard(made, "P3").rating_a == inf
    assert guard(made, "P3").stub_mm == pytest.approx(900)  # the amplifier's own fuse is the first on the way


def test_the_stub_is_measured_along_the_conductor_from_the_post():
    splice = '[item.joint]\npart = "splice_crimp_heavy"\nplace = "seat"\n'
    wires = (
        ("S1", "battery.plus", "joint.leg1", "4 AWG", 70),
        ("S2", "joint.leg2", "main.in", "4 AWG", 90),
        *without("P1"),
    )
    made = rig(ITEMS + splice, wires)
    assert guard(made, "S1").stub_mm == pytest.approx(160)
    assert guard(made, "S2").stub_mm == pytest.approx(160)
    assert guard(made, "P2").stub_mm == 0


def test_a_device_bolted_to_the_post_leaves_no_stub():
    made = rig(wires=(("P1", "battery.plus", "main.in", "bolted", 0), *without("P1")))
    assert "P1" not in guards(made, NO_POWER)
    assert all(g.devices for w, g in guards(made, NO_POWER).items() if made.wire(w).kind == "power")


def test_a_charging_lead_is_guarded_at_the_battery_end():
    made = rig(ITEMS + STATOR, WIRES + FUSED_STATOR)
    assert guard(made, "C1").devices == ("charge_fuse.1",)
    assert (guard(made, "C2").devices, guard(made, "C2").stub_mm) == ((), 150)
    assert guard(made, "C3").devices == ("charge_fuse.1",)


def test_a_charging_lead_without_a_device_is_open_to_the_battery():
    wires = (("C1", "stator.out", "battery.plus", "8 AWG", 700), FUSED_STATOR[2])
    made = rig(ITEMS + STATOR, WIRES + wires)
    assert guard(made, "C1").rating_a == inf
    assert guard(made, "C1").stub_mm == inf


def test_a_charger_stronger_than_its_lead_needs_a_device_of_its_own():
    items = (ITEMS + STATOR).replace("stator_36a", "alternator_120a")
    made = rig(items, WIRES + FUSED_STATOR)
    assert guard(made, "C1").ampacity_a < 120
    assert guard(made, "C1").rating_a == inf


def test_a_tie_between_batteries_is_guarded_from_both_ends():
    made = rig(ITEMS + SECOND.format(isolator="isolator_relay_100a") + FAR, WIRES + TIED)
    assert set(guard(made, "T2").devices) == {"near.1", "far.1"}
    assert guard(made, "T4").devices == ()


def test_a_tie_with_one_fuse_is_open_at_the_other_end():
    made = rig(ITEMS + SECOND.format(isolator="isolator_relay_100a"), WIRES + BARE)
    assert guard(made, "T2").rating_a == inf


def test_a_diode_lets_no_current_back():
    made = rig(ITEMS + SECOND.format(isolator="isolator_diode_70a"), WIRES + BARE)
    assert guard(made, "T2").devices == ("near.1",)
    assert guard(made, "T3").rating_a == inf


def test_a_remote_lead_is_limited_by_the_output_that_drives_it():
    made = guard(rig(), "M2")
    assert made.devices == ()
    assert made.rating_a < 1.0


def test_a_return_is_guarded_by_what_sees_all_of_its_current():
    made = rig()
    assert guard(made, "R3").devices == ("block.1",)
    assert guard(made, "R1").devices == ("main.1",)


def test_opening_a_way_darkens_its_amplifier_only():
    assert graph_of(shape_of(rig())).dark(["block.1"]) == {"front"}


def test_what_is_switched_by_the_source_goes_dark_with_it():
    assert graph_of(shape_of(rig())).dark(["block.3"]) == {"head", "front", "rear"}
    assert graph_of(shape_of(rig())).served_by("M1") == {"front", "rear"}
    assert graph_of(shape_of(rig())).served_by("M2") == {"rear"}


def test_the_main_takes_everything_down():
    everything = {"front", "rear", "head"}
    assert graph_of(shape_of(rig())).dark(["main.1"]) == everything


def test_a_relay_without_its_coil_is_open():
    relay = '[item.relay]\npart = "relay_40a_diode"\nplace = "case"\n'
    wires = (
        *without("P3", "M1", "M2"),
        ("K1", "block.out1", "relay.30", "10 AWG", 200),
        ("K2", "relay.87", "front.supply+", "10 AWG", 200),
        ("K3", "head.remote_out", "relay.86", "18 AWG", 200),
        ("K4", "relay.85", "ground.stud5", "18 AWG", 200),
    )
    made = rig(ITEMS + relay, wires)
    assert guard(made, "K2").devices == ("block.1",)
    assert graph_of(shape_of(made)).dark(["block.3"]) == {"head", "front"}


@st.composite
def trees(draw: st.DrawFn) -> tuple[Rig, dict[str, str | None]]:
    """Buses hung from one battery, some through holders, and the device that guards each wire, noted on the way."""
    items = {"battery": item("battery", "agm_20ah")}
    rows: list[tuple[str, str, str]] = []
    above: list[str | None] = []
    expected: dict[str, str | None] = {}
    for n in range(draw(st.integers(1, 8))):
        parent = draw(st.integers(0, n - 1)) if n and draw(st.booleans()) else None
        source = "battery.plus" if parent is None else f"bus{parent}.stud2"
        guarded_by = None if parent is None else above[parent]
        items[f"bus{n}"] = item(f"bus{n}", "bus_power_6")
        items[f"lamp{n}"] = item(f"lamp{n}", "light_bar_60w")
        if draw(st.booleans()):
            items[f"fuse{n}"] = item(f"fuse{n}", "holder_c", (10.0,))
            first, last = draw(st.permutations(["in", "out"]))
            rows += [(f"A{n}", source, f"fuse{n}.{first}"), (f"B{n}", f"fuse{n}.{last}", f"bus{n}.stud1")]
            expected |= {f"A{n}": guarded_by, f"B{n}": f"fuse{n}.1"}
            guarded_by = f"fuse{n}.1"
        else:
            rows.append((f"A{n}", source, f"bus{n}.stud1"))
            expected[f"A{n}"] = guarded_by
        rows.append((f"L{n}", f"bus{n}.stud3", f"lamp{n}.supply+"))
        expected[f"L{n}"] = guarded_by
        above.append(guarded_by)
    base = rig()
    size = base.wire("P5").size
    wires = [Wire(i, a, b, "power", size, "copper", 100.0, ()) for i, a, b in rows]
    wires += [
        Wire(f"G{i}", f"{i}.supply-", "battery.minus", "ground", size, "copper", 100.0, ())
        for i in items
        if i.startswith("lamp")
    ]
    order = draw(st.permutations(wires))
    return replace(base, items=items, wires=tuple(order), runs=()), expected


def item(name: str, part: str, fuses_a: tuple[float, ...] = ()) -> Item:
    return Item(name, builtin().part(part), "seat", fuses_a)


@given(trees())
def test_in_a_tree_the_last_device_on_the_way_guards(drawn):
    made, expected = drawn
    found = guards(made, NO_POWER)
    for wire, device in expected.items():
        assert found[wire].devices == (() if device is None else (device,))
        assert (found[wire].rating_a == inf) == (device is None)
        assert (found[wire].stub_mm > 0) == (device is None)
    for n in (k for k in made.items if k.startswith("lamp")):
        device = expected[f"L{n.removeprefix('lamp')}"]
        assert found[f"G{n}"].devices == (() if device is None else (device,))


@given(trees())
def test_what_a_device_darkens_is_what_hangs_below_it(drawn):
    made, expected = drawn
    graph = graph_of(shape_of(made))
    for device in devices(made):
        mine = {w for w, d in expected.items() if d == device}
        lamps = {w.replace("L", "lamp") for w in mine if w.startswith("L")}
        dark = graph.dark([device])
        assert lamps <= dark
        assert all(n in dark or n not in graph.served_by(w) for w in mine for n in made.items)
