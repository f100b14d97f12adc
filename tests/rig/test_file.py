"""A good rig file becomes the rig that it describes."""

from __future__ import annotations

import pytest

from loomwright.errors import InputError
from loomwright.rig.file import load, parse
from loomwright.rig.model import AmplifierSpec, Rig

from .rigs import SMALL, changed, item, wire


@pytest.fixture(scope="module")
def rig() -> Rig:
    return parse(SMALL, "small.toml")


def test_places_take_the_ambient_where_they_say_nothing(rig: Rig) -> None:
    assert rig.places["case"].temperature_c == 30
    assert parse(changed(("[place.case]", "[place.case]\ntemperature_c = 45")), "x").places["case"].temperature_c == 45


def test_a_wire_takes_its_length_from_the_runs(rig: Rig) -> None:
    """A run of 900 mm, and 40 mm at each end so that it can be remade once."""
    assert (rig.wire("P2").length_mm, rig.wire("P2").route, rig.wire("P2").length_given) == (980, (0,), False)


def test_a_given_length_wins_and_the_route_stays(rig: Rig) -> None:
    old = 'to = "block.in"\nsize = "6 AWG"'
    longer = parse(changed((old, f"{old}\nlength_mm = 1200")), "x")
    assert (longer.wire("P2").length_mm, longer.wire("P2").route, longer.wire("P2").length_given) == (1200, (0,), True)


def test_inside_one_place_a_wire_is_150_mm(rig: Rig) -> None:
    assert (rig.wire("R3").length_mm, rig.wire("R3").route) == (150, ())


def test_the_shortest_way_is_taken() -> None:
    ways = """
[[run]]
between = ["seat", "attic"]
length_mm = 300
[[run]]
between = ["attic", "case"]
length_mm = 400
"""
    rig = parse(changed(("\n[item.battery]", f"{ways}\n[item.battery]")), "x")
    assert (rig.wire("P2").length_mm, rig.wire("P2").route) == (780, (1, 2))
    assert rig.wire("R2").route == (2, 1)


def test_of_two_equal_ways_the_one_with_fewer_runs_is_taken() -> None:
    ways = """
[[run]]
between = ["seat", "attic"]
length_mm = 400
[[run]]
between = ["attic", "case"]
length_mm = 500
"""
    assert parse(changed(("\n[item.battery]", f"{ways}\n[item.battery]")), "x").wire("P2").route == (0,)


def test_bolted_terminals_have_no_length(rig: Rig) -> None:
    bolted = rig.wire("P1")
    assert bolted.size is not None
    assert (bolted.size.system, bolted.length_mm, bolted.joints) == ("bolted", 0, ("bolted", "bolted"))


def test_auto_is_left_for_later(rig: Rig) -> None:
    assert rig.wire("R3").size is None


def test_awg_and_sae_of_one_number_are_two_sizes(rig: Rig) -> None:
    sae = parse(changed(('to = "bass.supply+"\nsize = "8 AWG"', 'to = "bass.supply+"\nsize = "8 SAE"')), "x")
    a, b = rig.wire("P4").size, sae.wire("P4").size
    assert a is not None
    assert b is not None
    assert a.area_mm2 == pytest.approx(8.366, abs=0.001)  # ASTM B258
    assert b.area_mm2 == pytest.approx(7.504, abs=0.001)  # 14810 cmil


def test_kinds_follow_from_the_terminals(rig: Rig) -> None:
    kinds = {w.id: w.kind for w in rig.wires}
    assert kinds["P3"] == "power"
    assert kinds["R3"] == "ground"
    assert kinds["M1"] == "remote"
    assert kinds["L1"] == "line"
    assert kinds["S1"] == "speaker"


def test_a_remote_input_may_be_fed_from_a_fuse() -> None:
    text = changed(('from = "source.remote_out"\nto = "amp.remote"', 'from = "block.out2"\nto = "amp.remote"'))
    text = text.replace('from = "block.out2"\nto = "amp.supply+"', 'from = "main.out"\nto = "amp.supply+"')
    assert parse(text, "x").wire("M1").kind == "remote"


def test_contacts_take_the_kind_of_what_they_join() -> None:
    text = changed(('from = "amp.supply-"\nto = "gnd.stud2"', 'from = "amp.supply-"\nto = "plug.b2"'))
    text += item("plug", "connector_8_sealed") + wire("R3b", "plug.a2", "gnd.stud2")
    text = text.replace('from = "amp.ch1+"\nto = "left.+"', 'from = "amp.ch1+"\nto = "plug.b3"')
    text += wire("S1b", "plug.a3", "left.+", "16 AWG")
    rig = parse(text, "x")
    assert rig.wire("R3").kind == rig.wire("R3b").kind == rig.terminal("plug.a2").kind == "ground"
    assert rig.wire("S1").kind == rig.terminal("plug.b3").kind == "speaker"


def test_a_relay_coil_sits_between_remote_and_ground() -> None:
    text = SMALL + item("relay", "relay_40a_diode") + item("lamp", "light_bar_60w")
    text += wire("X1", "source.remote_out", "relay.86", "18 AWG") + wire("X2", "relay.85", "gnd.stud5", "18 AWG")
    text += wire("X3", "block.in", "relay.30") + wire("X4", "relay.87", "lamp.supply+", "14 AWG")
    text += wire("X5", "lamp.supply-", "gnd.stud5", "14 AWG")
    rig = parse(text, "x")
    assert (rig.wire("X1").kind, rig.wire("X2").kind, rig.wire("X3").kind) == ("remote", "ground", "power")


def test_joints_come_from_the_terminals_unless_given() -> None:
    assert parse(SMALL, "x").wire("P3").joints == ("ring lug", "screw clamp")
    rig = parse(changed(("length_mm = 450", 'length_mm = 450\nto_joint = "ferrule"')), "x")
    assert rig.wire("P3").joints == ("ring lug", "ferrule")


def test_the_only_battery_cranks(rig: Rig) -> None:
    assert rig.vehicle.start_battery == "battery"


def test_a_breaker_brings_its_own_rating() -> None:
    text = changed(('"holder_post"\nplace = "seat"\nfuses_a = [60]', '"breaker_hand_80a"\nplace = "seat"'))
    assert parse(text, "x").items["main"].fuses_a == (80,)


def test_bridged_pairs_are_put_in_order() -> None:
    text = changed(('part = "amp_4x50_class_d"', 'part = "amp_4x50_class_d"\nbridged = [[4, 3]]'))
    assert parse(text, "x").items["amp"].bridged == ((3, 4),)


def test_a_wire_on_the_frame_stays_where_its_other_end_is() -> None:
    text = changed(('from = "amp.supply-"\nto = "gnd.stud2"', 'from = "amp.supply-"\nto = "frame.stud1"'))
    text = text.replace("[place.attic]", "[place.attic]\ntemperature_c = 90")
    text += item("frame", "frame_steel_tube", "attic") + wire("X1", "frame.stud2", "gnd.stud2")
    rig = parse(text, "x")
    assert rig.wire("R3").route == ()
    assert rig.wire_temperature_c(rig.wire("R3")) == 30


def test_the_user_catalogue_beside_the_rig_wins(tmp_path) -> None:  # type: ignore[no-untyped-def]
    (tmp_path / "rig.toml").write_text(SMALL.replace("amp_1x250_class_d", "my_bass_amp"))
    own = """
format = 1
title = "Mine"
[part.my_bass_amp]
family = "amplifier"
title = "My bass amplifier"
amplifier_class = "AB"
channels = 1
output_4ohm_w = 100
rated_v = 14.4
min_load_ohm = 4
supply = "stiff"
idle_a = 1
efficiency_full = 0.6
efficiency_eighth = 0.22
min_v = 10
remote_ma = 10
balanced_input = true
signal_ground_ohm = 1000
[part.agm_20ah]
family = "battery"
title = "My battery"
chemistry = "agm"
capacity_ah = 21
resistance_mohm = 9
rest_table = "agm_c"
charge_min_v = 14.2
charge_max_v = 14.8
max_charge_a = 6
acceptance_c = 0.03
peukert = 1.1
"""
    (tmp_path / "shop.catalogue.toml").write_text(own)
    rig = load(tmp_path / "rig.toml")
    spec = rig.items["bass"].part.spec
    assert isinstance(spec, AmplifierSpec)
    assert spec.output_4ohm_w == 100
    assert rig.items["battery"].part.title == "My battery"
    (tmp_path / "catalogue.toml").write_text(own)
    with pytest.raises(InputError, match="also in") as caught:
        load(tmp_path / "rig.toml")
    assert {p.place for p in caught.value.problems} == {"part.my_bass_amp", "part.agm_20ah"}


def test_mistakes_in_both_files_are_said_together(tmp_path) -> None:  # type: ignore[no-untyped-def]
    (tmp_path / "rig.toml").write_text(SMALL.replace("ambient_c = 30", "ambient_c = 300"))
    (tmp_path / "catalogue.toml").write_text('format = 1\n[part.x]\nfamily = "batery"\ntitle = "X"\n')
    with pytest.raises(InputError) as caught:
        load(tmp_path / "rig.toml")
    places = {p.place for p in caught.value.problems}
    assert places == {"ambient_c", "part.x.family"}


def test_the_same_text_gives_the_same_rig() -> None:
    assert parse(SMALL, "x") == parse(SMALL, "x")
