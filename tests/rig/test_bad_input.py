"""Bad input: a clear error each, with place, what was expected, what came and what to do."""

from __future__ import annotations

import cProfile
import itertools
import pstats
from pathlib import Path

import pytest

from loomwright.errors import InputError
from loomwright.rig.catalogue import builtin
from loomwright.rig.catalogue import parse as parse_catalogue
from loomwright.rig.file import load, parse

from .rigs import SMALL, at, changed, item, problems, wire, without_wire

BATTERY = '[item.battery]\npart = "agm_20ah"'


def test_the_small_rig_itself_is_good() -> None:
    assert problems(SMALL) == ()


VALUES = [
    # text to replace, replacement, place, a piece of what is expected, a piece of what was received
    ("ambient_c = 30", "ambient_c = -5", "ambient_c", "from 0 to 70 [C]", "-5"),
    ("ambient_c = 30", "ambient_c = 200", "ambient_c", "from 0 to 70 [C]", "200"),
    ("ambient_c = 30", "ambient_c = nan", "ambient_c", "a number", "nan"),
    ("ambient_c = 30", "ambient_c = inf", "ambient_c", "a number", "inf"),
    ("ambient_c = 30", 'ambient_c = "30"', "ambient_c", "a number", '"30"'),
    ("ambient_c = 30", "ambient_c = true", "ambient_c", "a number", "true"),
    ("ambient_c = 30", "", "ambient_c", "a number", "nothing"),
    ('title = "Small"', 'title = ""', "title", "text", '""'),
    ('title = "Small"', "title = 7", "title", "text", "7"),
    ("length_mm = 900", "length_mm = 0", "run[1].length_mm", "from 1 to 30,000 [mm]", "0"),
    ("length_mm = 900", "length_mm = -900", "run[1].length_mm", "from 1 to 30,000 [mm]", "-900"),
    ("length_mm = 900", "length_mm = 1000000", "run[1].length_mm", "from 1 to 30,000 [mm]", "1000000"),
    ("length_mm = 450", "length_mm = 1000000", "wire[4] (P3).length_mm", "from 1 to 50,000 [mm]", "1000000"),
    ("length_mm = 450", "length_mm = 0", "wire[4] (P3).length_mm", "from 1 to 50,000 [mm]", "0"),
    ("length_mm = 450", "metal = 'gold'", "wire[4] (P3).metal", 'one of "copper"', '"gold"'),
    ("length_mm = 450", "insulation_c = 70", "wire[4] (P3).insulation_c", "60, 75, 80", "70"),
    ("length_mm = 450", "measured_mohm = 0", "wire[4] (P3).measured_mohm", "above 0", "0"),
    (
        'to = "main.in"\nsize = "bolted"', 'to = "main.in"\nsize = "bolted"\nmeasured_mohm = 2',
        "wire[1] (P1).measured_mohm", "no resistance on a bolted joint", "2",
    ),
    ("length_mm = 450", 'cover = ["sock"]', "wire[4] (P3).cover[1]", "braided sleeve", '"sock"'),
    ("length_mm = 450", 'to_joint = "screw"', "wire[4] (P3).to_joint", "screw clamp", '"screw"'),
    ("length_mm = 900", 'length_mm = 900\nhazards = ["hot", "wolves"]', "run[1].hazards[2]", "moving", '"wolves"'),
    ('size = "10 AWG"', 'size = "0 mm2"', "wire[4] (P3).size", '"8 AWG"', '"0 mm2"'),
    ('size = "10 AWG"', 'size = "-8 AWG"', "wire[4] (P3).size", '"8 AWG"', '"-8 AWG"'),
    ('size = "10 AWG"', 'size = "8"', "wire[4] (P3).size", '"8 AWG"', '"8"'),
    ('size = "18 AWG"', 'size = "auto"', "wire[10] (M1).size", "a size, for a remote wire", '"auto"'),
    ('size = "16 AWG"', 'size = "bolted"', "wire[13] (S1).size", "a size, for a speaker wire", '"bolted"'),
    ("[30, 25, 5, 0]", "[30, 25, 5]", "item.block.fuses_a", "4 values", "3 values"),
    ("[30, 25, 5, 0]", "[30, 25, 5, -1]", "item.block.fuses_a[4]", "from 0 to 500", "-1"),
    ("[30, 25, 5, 0]", '[30, 25, 5, "big"]', "item.block.fuses_a[4]", '"auto"', '"big"'),
    ("[30, 25, 5, 0]", "[60, 25, 5, 0]", "item.block.fuses_a[1]", "at most 40 A", "60"),
    ("[30, 25, 5, 0]", "[0, 25, 5, 0]", "item.block.fuses_a[1]", "wire P4 hangs on it", "empty way"),
    ("fuses_a = [60]", "", "item.main.fuses_a", "1 value", "nothing"),
    (BATTERY, BATTERY + "\nfuses_a = [5]", "item.battery.fuses_a", "fuse holders", "family battery"),
    (BATTERY, BATTERY + "\ncharge_pct = 101", "item.battery.charge_pct", "from 0 to 100 [%]", "101"),
    (BATTERY, BATTERY + "\nresistance_factor = 0", "item.battery.resistance_factor", "from 0.5", "0"),
    ('"amp_1x250_class_d"', '"amp_1x250_class_d"\ncharge_pct = 50', "item.bass.charge_pct", "batteries", "amplifier"),
    ('"amp_1x250_class_d"', '"amp_1x250_class_d"\nbridged = [[1, 2]]', "item.bass.bridged", "cannot", "[[1, 2]]"),
    ('"amp_4x50_class_d"', '"amp_4x50_class_d"\nbridged = [[2, 3]]', "item.amp.bridged[1]", "[1, 2], [3, 4]", "[2, 3]"),
    ('"amp_4x50_class_d"', '"amp_4x50_class_d"\nbridged = [[1]]', "item.amp.bridged[1]", "2 whole numbers", "[1]"),
    (
        '"amp_4x50_class_d"', '"amp_4x50_class_d"\nbridged = [[1, 2], [2, 1]]', "item.amp.bridged[2]",
        "each channel once", "[2, 1]",
    ),
    ('[item.gnd]\npart = "bus_ground_6"', "[item.gnd]", "item.gnd.part", "text", "nothing"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "place", "expected", "received"), VALUES, ids=lambda v: str(v)[:30])
def test_values(old: str, new: str, place: str, expected: str, received: str) -> None:
    found = at(changed((old, new)), place)
    assert expected in found.expected
    assert received in found.received


NAMES = [
    ('part = "agm_20ah"', 'part = "agm_20"', "item.battery.part", "agm_20ah"),
    ('part = "amp_1x250_class_d"', 'part = "amp_1x250_clas_d"', "item.bass.part", "amp_1x250_class_d"),
    ('place = "seat"', 'place = "saet"', "item.battery.place", "seat"),
    ('between = ["seat", "case"]', 'between = ["seat", "cse"]', "run[1].between[2]", "case"),
    ('to = "amp.supply+"', 'to = "amp.suply+"', "wire[4] (P3).to", "amp.supply+"),
    ('to = "amp.supply+"', 'to = "apm.supply+"', "wire[4] (P3).to", "amp"),
    ('to = "amp.supply+"', 'to = "amp"', "wire[4] (P3).to", "supply+"),
    ("length_mm = 450", "lenght_mm = 450", "wire[4] (P3).lenght_mm", "length_mm"),
    ("[place.attic]", "[place.attic]\ntemprature_c = 40", "place.attic.temprature_c", "temperature_c"),
    ('title = "Small"', 'title = "Small"\nnots = "x"', "nots", "notes"),
    ("[place.attic]", "[place.attic]\n[plce.x]", "plce", "place"),
    ("[place.attic]", '[place.attic]\n[vehicle]\nstart_battery = "batery"', "vehicle.start_battery", "battery"),
    ("[place.attic]", '[place.attic]\n[vehicle]\nkind = "tricke"', "vehicle.kind", "trike"),
    ('size = "10 AWG"', 'size = "10 AVG"', "wire[4] (P3).size", "10 AWG"),
]


@pytest.mark.parametrize(("old", "new", "place", "near"), NAMES, ids=lambda v: str(v)[:30])
def test_unknown_names_are_refused_with_the_nearest_valid_one(old: str, new: str, place: str, near: str) -> None:
    assert near in at(changed((old, new)), place).remedy


def test_an_unknown_terminal_lists_the_valid_ones() -> None:
    found = at(changed(('to = "left.+"', 'to = "left.plus"')), "wire[13] (S1).to")
    assert "+, -" in found.expected


def test_a_contact_that_a_connector_has_not() -> None:
    text = SMALL + item("plug", "connector_2_sealed") + wire("X1", "battery.plus", "plug.a3")
    assert at(text, "wire[15] (X1).to").remedy.startswith("It has 2 contacts:")


def test_two_wires_in_one_contact_and_where_there_is_room() -> None:
    plug = SMALL + item("plug", "connector_2_sealed")
    text = plug + wire("X1", "gnd.stud5", "plug.a1") + wire("X2", "gnd.stud6", "plug.a1")
    assert at(text, "wire[16] (X2)").remedy.endswith("free contact of that half, with its fellow: a2.")
    full = text + wire("X3", "gnd.stud7", "plug.a2")
    assert "a connector with more contacts" in at(full, "wire[16] (X2)").remedy


JOINS = [
    ("battery.plus", "gnd.stud5", "battery.plus (power) and gnd.stud5 (ground)"),
    ("amp.ch2+", "gnd.stud5", "amp.ch2+ (speaker) and gnd.stud5 (ground)"),
    ("amp.ch2+", "bass.in1", "amp.ch2+ (speaker) and bass.in1 (line)"),
    ("source.out2", "left.+", "source.out2 (line) and left.+ (speaker)"),
    ("source.remote_out", "battery.plus", "source.remote_out (remote output) and battery.plus (power)"),
    ("bass.remote", "gnd.stud5", "bass.remote (remote) and gnd.stud5 (ground)"),
]


@pytest.mark.parametrize(("start", "end", "both"), JOINS)
def test_unlike_kinds_are_refused_and_both_ends_named(start: str, end: str, both: str) -> None:
    found = at(SMALL + wire("X1", start, end), "wire[15] (X1)")
    assert found.received == both
    assert "X1" in found.remedy


def test_unlike_kinds_through_a_connector_are_refused() -> None:
    text = SMALL + item("plug", "connector_2_sealed") + wire("X1", "battery.plus", "plug.a1")
    text += wire("X2", "plug.b1", "gnd.stud5")
    found = at(text, "wire[16] (X2)")
    for name in ("battery.plus (power)", "gnd.stud5 (ground)", "X1", "X2", "plug"):
        assert name in found.expected + found.received


def test_a_wire_from_a_terminal_to_itself() -> None:
    assert "another terminal" in at(SMALL + wire("X1", "gnd.stud5", "gnd.stud5"), "wire[15] (X1).to").expected


def test_two_ends_on_one_clamp() -> None:
    found = at(SMALL + wire("X1", "block.in", "amp.supply+"), "wire[15] (X1)")
    assert "at most 1 wire end on amp.supply+ (screw clamp)" in found.expected
    assert "P3, X1" in found.received


def test_one_number_on_two_wires() -> None:
    found = at(SMALL + wire("P3", "gnd.stud5", "gnd.stud6"), "wire[15] (P3).id")
    assert "wire[4] (P3)" in found.received


def test_one_name_on_a_wire_and_an_item() -> None:
    assert "also an item" in at(SMALL + wire("amp", "gnd.stud5", "gnd.stud6"), "wire[15] (amp).id").received


def test_a_run_from_a_place_to_itself() -> None:
    text = changed(("[item.battery]", '[[run]]\nbetween = ["case", "case"]\nlength_mm = 10\n\n[item.battery]'))
    assert "twice" in at(text, "run[2].between").received


def test_two_runs_between_the_same_places() -> None:
    text = changed(("[item.battery]", '[[run]]\nbetween = ["case", "seat"]\nlength_mm = 10\n\n[item.battery]'))
    assert "run 1" in at(text, "run[2].between").expected


def test_runs_that_close_a_ring_are_fine() -> None:
    ring = "".join(
        f'[[run]]\nbetween = ["{a}", "{b}"]\nlength_mm = 500\n' for a, b in (("case", "attic"), ("attic", "seat"))
    )
    assert problems(changed(("[item.battery]", f"{ring}\n[item.battery]"))) == ()


def test_no_way_and_no_length() -> None:
    text = changed(('part = "driver_6_5in"\nplace = "case"', 'part = "driver_6_5in"\nplace = "attic"'))
    found = at(text, "wire[13] (S1).length_mm")
    assert "case to attic" in found.expected
    given = text.replace('size = "16 AWG"', 'size = "16 AWG"\nlength_mm = 700')
    assert problems(given) == ()


def test_a_way_of_a_kilometre() -> None:
    places = "".join(f"[place.far{n}]\n" for n in range(40))
    names = ["case", *(f"far{n}" for n in range(40))]
    runs = "".join(
        f'[[run]]\nbetween = ["{a}", "{b}"]\nlength_mm = 25000\n' for a, b in itertools.pairwise(names)
    )
    text = changed(
        ("[place.attic]", f"[place.attic]\n{places}{runs}"),
        ('part = "driver_6_5in"\nplace = "case"', 'part = "driver_6_5in"\nplace = "far39"'),
    )
    assert "1,000,080 mm along the runs" in at(text, "wire[13] (S1).length_mm").received


def test_terminals_bolted_together_across_the_vehicle() -> None:
    text = changed(('to = "block.in"\nsize = "6 AWG"', 'to = "block.in"\nsize = "bolted"'))
    assert "seat and case" in at(text, "wire[2] (P2).size").received


def test_a_loop_without_resistance() -> None:
    text = SMALL + "".join(item(f"bar{n}", "bus_ground_6") for n in (1, 2))
    text += wire("X1", "gnd.stud5", "bar1.stud1", "bolted") + wire("X2", "bar1.stud1", "bar2.stud1", "bolted")
    text += wire("X4", "bar1.stud2", "bar2.stud2")
    assert problems(text) == ()
    text += wire("X3", "bar2.stud1", "gnd.stud5", "bolted")
    assert "without resistance" in at(text, "wire[18] (X3)").received


def test_missing_ground() -> None:
    found = at(without_wire("R3"), "item.amp")
    assert "amp.supply-" in found.expected
    assert "ground bus" in found.remedy


def test_a_ground_that_leads_nowhere() -> None:
    text = changed(('from = "amp.supply-"\nto = "gnd.stud2"', 'from = "amp.supply-"\nto = "lone.stud1"'))
    text += item("lone", "bus_ground_6") + wire("X1", "lone.stud2", "lone2.stud1") + item("lone2", "bus_ground_6")
    text += wire("X2", "lone2.stud2", "lone.stud3")
    assert "battery.minus" in at(text, "item.amp").expected


def test_an_island_without_a_source() -> None:
    text = changed(('from = "block.out2"\nto = "amp.supply+"', 'from = "bar.stud1"\nto = "amp.supply+"'))
    text = text.replace('from = "block.out1"\nto = "bass.supply+"', 'from = "bar.stud2"\nto = "bass.supply+"')
    found = at(text + item("bar", "bus_power_4"), "item.amp")
    assert "island without a source: amp, bass" in found.received


def test_no_battery_at_all() -> None:
    text = 'format = 1\ntitle = "x"\nambient_c = 20\n'
    assert at(text, "item").received == "no battery"


def test_two_systems_that_share_nothing() -> None:
    text = SMALL + item("other", "agm_12ah") + item("lamp", "light_bar_60w")
    text += wire("X1", "other.plus", "lamp.supply+") + wire("X2", "lamp.supply-", "other.minus")
    assert "battery" in at(text, "item.other").expected


LOOSE = [
    (item("plug", "connector_2_sealed") + wire("X1", "block.in", "plug.a1"), "plug.b1"),
    (item("lump", "splice_crimp") + wire("X1", "block.in", "lump.leg1"), "lump.leg2"),
    (item("fuse2", "holder_c", more="fuses_a = [5]") + wire("X1", "block.in", "fuse2.in"), "fuse2.out"),
    (item("knob", "switch_toggle_15a") + wire("X1", "block.in", "knob.in"), "knob.out"),
    (item("relay", "relay_40a") + wire("X1", "source.remote_out", "relay.86"), "relay.85"),
]


@pytest.mark.parametrize(("more", "wanting"), LOOSE, ids=[w for _, w in LOOSE])
def test_dangling_ends(more: str, wanting: str) -> None:
    found = [p for p in problems(SMALL + more) if wanting in p.expected]
    assert len(found) == 1
    assert "wire X1 on" in found[0].received


def test_a_loudspeaker_with_one_wire_does_not_stop_the_check() -> None:
    assert problems(SMALL + wire("X1", "amp.ch2+", "left.+")) == ()


FORMATS = [
    ("", "nothing"), ("format = 2", "newer"), ('format = "1"', '"1"'), ("format = 0", "0"), ("format = true", "true"),
    ("format = 1.0", "1.0"),
]  # fmt: skip


@pytest.mark.parametrize(("line", "received"), FORMATS)
def test_formats(line: str, received: str) -> None:
    assert received in at(changed(("format = 1", line)), "format").received


SYNTAX = [
    ('title = "Trike\nformat = 1\n', "quote", "quote"),
    ('title = Trike"\nformat = 1\n', "quote", "quote"),
    ("wet = yes\n", "true or false", "wet = true"),
    ("wet = False\n", "true or false", "wet = false"),
    ("length_mm = 700 mm\n", "a number", "length_mm = 700"),
    ('[wire]\nid = "P1"\n[wire]\n', "[[wire]]", "[[wire]]"),
    ('[wire]\nid = "P1"\n[[wire]]\n', "[[wire]]", "[[wire]]"),
    ("title =\n", "a value", "Write the value"),
    ("title = oops\n", "text in quotes", 'title = "oops"'),
]


@pytest.mark.parametrize(("text", "expected", "remedy"), SYNTAX, ids=range(len(SYNTAX)))
def test_common_slips_of_syntax_are_named(text: str, expected: str, remedy: str) -> None:
    (found,) = problems(text)
    assert expected in found.expected
    assert remedy in found.remedy


BROKEN = [
    ("format = 1\ntitle = oops\n", "line 2, column 9"),
    ("format = 1\n[place.x\n", "line 2"),
    ("a = 1\na = 2\n", "line 2"),
    ('title = "never closed', "end of document"),
    ("x = " + "[" * 3000, "file"),
    ("x = " + "9" * 5000, "file"),
    ("\x00", "line 1, column 1"),
]


@pytest.mark.parametrize(("text", "where"), BROKEN, ids=range(len(BROKEN)))
def test_text_that_is_not_toml_is_refused_by_line_and_column(text: str, where: str) -> None:
    (found,) = problems(text)
    assert where in found.place
    assert found.expected
    assert found.remedy


SHAPES = ["wire = 3", "wire = [3]", "item = 'x'", "item = [1]", "place = [[1]]", "run = 'x'", "vehicle = 1"]


@pytest.mark.parametrize("line", SHAPES)
def test_tables_of_the_wrong_shape(line: str) -> None:
    found = problems(f'format = 1\ntitle = "x"\nambient_c = 20\n{line}\n')
    assert any(p.place.startswith(line.split(" ")[0]) for p in found)


BAD_IDS = ["a.b", "a\\u0007b", "", " a", "a ", "x" * 65, "a\\nb", "a\\u2028b", "\\u202Etxt"]


@pytest.mark.parametrize("name", BAD_IDS)
def test_ids_that_cannot_be_used(name: str) -> None:
    as_wire = problems(SMALL + wire(name, "gnd.stud5", "gnd.stud6"))
    as_item = problems(SMALL + f'\n[item."{name}"]\npart = "bus_ground_6"\nplace = "case"\n')
    as_place = problems(SMALL + f'\n[place."{name}"]\n')
    for found in (as_wire, as_item, as_place):
        assert len(found) == 1, found
        assert str(found[0]).isprintable()


MARKED = ['a "quoted" one', "<b>&amp;</b>", "/etc/passwd", "C:\\\\rig\\\\P", "#set(x)$_*`", "a,b;c\\\\t", "Ωμέγα 9"]


@pytest.mark.parametrize("name", MARKED)
def test_ids_with_quotes_markup_and_path_characters_stay_as_they_are(name: str) -> None:
    quoted = name.replace('"', '\\"')
    text = SMALL.replace("P3", quoted).replace("[item.amp]", f'[item."{quoted} amp"]')
    text = text.replace('"amp.', f'"{quoted} amp.')
    rig = parse(text, "x")
    plain = name.replace("\\\\", "\\")
    assert rig.wire(plain).end == f"{plain} amp.supply+"


def test_every_planted_error_is_said_at_once() -> None:
    pieces = [(old, new, place) for old, new, place, *_ in VALUES]
    text, places = SMALL, []
    for old, new, place in pieces:
        table = place.split(".")[0]
        if text.count(old) == SMALL.count(old) and not any(p.startswith(table) for p in places if "[" in p):
            text = text.replace(old, new, 1)
            places.append(place)
    assert len(places) >= 10
    said = {p.place for p in problems(text)}
    assert set(places) <= said


def test_one_mistake_is_not_said_twice() -> None:
    for old, new, place, *_ in NAMES:
        assert [p.place for p in problems(changed((old, new)))] == [place]


@pytest.mark.parametrize("inline", [False, True])
def test_fifty_thousand_wires_are_counted_and_never_read(
    tmp_path: Path, inline: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if inline:
        rows = ",".join('{id="P",from="a.b",to="c.d",size="8 AWG"}' for _ in range(50_000))
        text = f"format = 1\nwire = [{rows}]\n"
    else:
        text = "format = 1\n" + "".join(f'[[wire]]\nid = "P{n}"\nfrom = "a.b"\nto = "c.d"\n' for n in range(50_000))
    path = tmp_path / "big.toml"
    path.write_text(text)
    monkeypatch.setattr("loomwright.rig.read.tables", lambda text: pytest.fail("it was read"))
    with pytest.raises(InputError) as caught:
        load(path)
    assert "50000 wires" in caught.value.problems[0].received


def test_a_file_of_more_than_5_mb_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "big.toml"
    path.write_text("#" + "x" * 6_000_000)
    with pytest.raises(InputError, match=r"6\.0 MB"):
        load(path)


def test_what_reading_costs_grows_with_the_wires_and_not_with_their_square() -> None:
    head = SMALL.replace('part = "bus_ground_6"', 'part = "wide_bus"')
    own = 'format = 1\n[part.wide_bus]\nfamily = "bus"\ntitle = "x"\nkind = "ground"\nstuds = 24\npath_mohm = 0.1\n'
    own += "rating_a = 100\nterminal.stud = { max_wires = 12 }\n"
    parts = parse_catalogue(own, "own").over(builtin())

    def calls(ring: int) -> int:
        rig = head + "".join(
            item(f"b{n}", "wide_bus") + wire(f"W{n}", f"b{n}.stud1", f"b{(n + 1) % ring}.stud2") for n in range(ring)
        )
        rig += wire("W", "b0.stud3", "gnd.stud9")
        profile = cProfile.Profile()
        read = profile.runcall(parse, rig, "x", parts)
        assert len(read.wires) == ring + 15
        return int(pstats.Stats(profile).total_calls)  # type: ignore[attr-defined]

    calls(10)  # what is read once and kept
    few, many = calls(200), calls(400)
    assert many < 2.2 * few


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path, Path("a\x00b.toml")):
        with pytest.raises(InputError) as caught:
            load(path)
        assert caught.value.problems[0].place == "file"
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'format = 1\ntitle = "caf\xe9"\n')
    with pytest.raises(InputError) as caught:
        load(latin)
    assert caught.value.problems[0].place == "line 2"


def test_a_byte_order_mark_and_windows_line_ends_are_no_matter(tmp_path: Path) -> None:
    path = tmp_path / "rig.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALL.replace("\n", "\r\n").encode())
    assert load(path).wires == parse(SMALL, "rig.toml").wires
