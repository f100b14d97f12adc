"""Forms for the whole rig file: no key needs a text editor, remarks stay, nothing typed is lost."""

from __future__ import annotations

from typing import Any

import pytest

from loomwright import demo
from loomwright.rig.fields import RIG_TABLES
from loomwright.rig.file import parse
from loomwright.rig.holds import keys
from loomwright.web import draft, sheets
from loomwright.web.units import Units

FORMS = {
    "top of the file": sheets.ABOUT, "[vehicle]": sheets.VEHICLE, "[limits]": sheets.LIMITS,
    "[place.name]": sheets.PLACE, "[[run]]": sheets.RUN, "[panel.name]": sheets.PANEL,
    "[item.name]": ("place", "fuses_a", *sheets.ITEM_MORE, *sheets.BATTERY, *sheets.AMPLIFIER, *sheets.DRIVER,
                    *sheets.BESIDE, *sheets.REMOTE, *sheets.CONNECTOR, "bands"),
    "bands of an item": sheets.BAND,
    "[[wire]]": ("size", *sheets.WIRE, *sheets.WIRE_MORE),
}  # fmt: skip
BY_ITSELF = {"format", "stage", "vehicle", "limits", "place", "run", "panel", "item", "wire"}
"""The program writes the format; the stage is the one that the page stands under; the rest are tables."""


def remarks(text: str) -> list[str]:
    return [line.partition("#")[2] for line in text.splitlines() if "#" in line]


def revision(browser: Any, url: str) -> int:
    return int(browser.data(f"{url}/rig.json")["data"]["rig"]["revision"])


def test_every_key_of_the_rig_file_has_a_field() -> None:
    for table, model in RIG_TABLES:
        assert set(keys(model)) - set(FORMS[table]) <= (BY_ITSELF if table == "top of the file" else set()), table


def test_every_field_that_is_shown_is_taken_by_its_address(browser: Any) -> None:
    """What is typed and not taken is lost without a word."""
    takes = {
        path.rsplit("/", 1)[-1]: set(_fields(browser, found["post"]))
        for path, found in browser.client.get("/openapi.json").json()["paths"].items()
            if "post" in found and "/panel/" not in path
    }  # fmt: skip
    for address, shown in (
        ("about", sheets.ABOUT), ("vehicle", sheets.VEHICLE), ("limits", sheets.LIMITS), ("place", sheets.PLACE),
        ("run", sheets.RUN), ("item", FORMS["[item.name]"][2:]), ("wire", (*sheets.WIRE, *sheets.WIRE_MORE)),
    ):  # fmt: skip
        assert set(shown) - {"bands"} <= takes[address], address  # filters have an address of their own


def _fields(browser: Any, post: Any) -> list[str]:
    described = browser.client.get("/openapi.json").json()["components"]["schemas"]
    body = next(iter(post.get("requestBody", {}).get("content", {}).values()), {"schema": {}})
    name = body["schema"].get("$ref", "").rpartition("/")[2]
    return list(described[name]["properties"]) if name else []


@pytest.mark.parametrize("name", demo.names())
def test_a_form_sent_as_it_was_shown_changes_nothing(browser: Any, name: str) -> None:
    from loomwright.rig.keys import HeadKeys, LimitKeys, PanelKeys, PlaceKeys, RunKeys, VehicleKeys, WireKeys
    from loomwright.web import forms

    read = draft.read(demo.text(name))
    for units in (Units(), Units("in", "F")):
        tables: list[tuple[Any, Any, Any]] = [
            (HeadKeys, sheets.ABOUT, read.raw), (VehicleKeys, sheets.VEHICLE, read.raw["vehicle"]),
            (LimitKeys, sheets.LIMITS, read.raw.get("limits", {})),
            *((PlaceKeys, sheets.PLACE, read.table("place", p)) for p in read.places),
            *((RunKeys, sheets.RUN, r.table) for r in read.runs),
            *((PanelKeys, sheets.PANEL, read.table("panel", p)) for p in sheets.panels(read)),
            *((WireKeys, (*sheets.WIRE, *sheets.WIRE_MORE), read.table("wire", w.id)) for w in read.wires),
        ]  # fmt: skip
        for model, names, raw in tables:
            made = forms.fields(model, names, raw, units, {})
            shown: dict[str, Any] = {f.name: list(f.value) if isinstance(f.value, tuple) else f.value for f in made}
            assert forms.changes(model, raw, shown, units) == {}
            usual = {f.name: f.usual for f in made if f.usual and not f.value}
            assert forms.changes(model, raw, usual, units) == {}


def test_a_run_is_added_changed_and_taken_out(browser: Any, small: str) -> None:
    url = browser.job(small)
    browser.send(f"{url}/place/add", {"name": "roof box", "wet": "yes", "temperature_c": "55", "based_on": 1})
    first = parse(small, "x")
    here = next(iter(first.places))
    where = browser.send(f"{url}/run/add", {"between": [here, "roof box"], "length_mm": "1200",
                                            "hazards": ["edge", "water"], "based_on": 2})  # fmt: skip
    assert where == f"{url}/rig?run={here}.roof%20box"
    rig = parse(browser.text(url), "x")
    assert (rig.places["roof box"].temperature_c, rig.places["roof box"].wet) == (55.0, True)
    assert (rig.runs[-1].between, rig.runs[-1].length_mm, rig.runs[-1].hazards) == (
        (here, "roof box"), 1200.0, ("edge", "water")
    )  # fmt: skip
    page = browser.page(f"{url}/rig?run=roof+box.{here}")
    assert 'value="1200"' in page
    browser.send(f"{url}/run", {"run": f"roof box.{here}", "between": [here, "roof box"], "length_mm": "1,5e3",
                                "cover": ["conduit"], "based_on": 3})  # fmt: skip
    rig = parse(browser.text(url), "x")
    assert (rig.runs[-1].length_mm, rig.runs[-1].hazards, rig.runs[-1].cover) == (1500.0, (), ("conduit",))
    assert set(remarks(small)) <= set(remarks(browser.text(url)))
    browser.send(f"{url}/run/remove", {"run": f"{here}.roof box", "based_on": 4})
    browser.send(f"{url}/place/remove", {"place": "roof box", "based_on": 5})
    assert parse(browser.text(url), "x") == first
    browser.send(f"{url}/undo")
    assert "roof box" in browser.text(url)


def test_what_a_run_cannot_be_is_said_with_the_field_and_stays_typed(browser: Any, small: str) -> None:
    url = browser.job(small)
    here = next(iter(parse(small, "x").places))
    page = browser.send(f"{url}/run/add", {"between": [here, here], "length_mm": "a mile", "cover": ["conduit"],
                                           "hazards": ["hot"], "based_on": 1}, 422)  # fmt: skip
    for said in ("Not saved", ", Length: ", "expected a number from 1 to 30,000 mm", "a mile", 'value="a mile"'):
        assert said in page
    assert page.count(" checked") == 2
    assert browser.text(url) == small


def test_a_place_in_use_is_not_taken_out(browser: Any, small: str) -> None:
    url = browser.job(small)
    rig = parse(small, "x")
    place = next(iter(rig.items.values())).place
    page = browser.send(f"{url}/place/remove", {"place": place, "based_on": 1}, 422)
    assert "Move these items to another place" in page
    assert browser.text(url) == small


def test_a_place_is_renamed_wherever_it_is_named(browser: Any) -> None:
    text = demo.text("carnival_trike_planned")
    url = browser.job(text)
    before = parse(text, "x")
    browser.send(f"{url}/place", {"place": "battery_box", "name": "under the seat", "temperature_c": "40",
                                  "based_on": 1})  # fmt: skip
    after = parse(browser.text(url), "x")
    new = {p: "under the seat" if p == "battery_box" else p for p in before.places}
    assert list(after.places) == list(new.values())
    assert [i.place for i in after.items.values()] == [new[i.place] for i in before.items.values()]
    assert [r.between for r in after.runs] == [tuple(new[p] for p in r.between) for r in before.runs]
    assert remarks(browser.text(url)) == remarks(text)
    page = browser.send(f"{url}/place", {"place": "under the seat", "name": "fairing", "based_on": 2}, 422)
    assert "Choose another name." in page


def test_head_vehicle_and_limits(browser: Any, small: str) -> None:
    url = browser.job(small)
    was = parse(small, "x")
    browser.send(f"{url}/about", {"title": 'The "new" one', "ambient_c": "31", "notes": "One\r\n\r\n# two <b>",
                                  "bundle_basis": "from 2", "based_on": 1})  # fmt: skip
    browser.send(f"{url}/vehicle", {"kind": "boat", "drive": "diesel", "idle_rpm": "800", "cruise_rpm": "2200",
                                    "crank_a": "200", "crank_min_v": "", "based_on": 2})  # fmt: skip
    browser.send(f"{url}/limits", {"drop_v": "0,4", "session_h": "5", "session_engine": "off",
                                   "session_programme": "loud", "based_on": 3})  # fmt: skip
    rig = parse(browser.text(url), "x")
    assert (rig.title, rig.ambient_c, rig.notes, rig.bundle_basis) == (
        'The "new" one', 31.0, "One\n\n# two <b>", "from 2"
    )  # fmt: skip
    v = rig.vehicle
    assert (v.kind, v.drive, v.idle_rpm, v.cruise_rpm, v.crank_a, v.crank_min_v) == (
        "boat", "diesel", 800.0, 2200.0, 200.0, 9.0
    )  # fmt: skip
    assert (rig.limits.drop_v, rig.limits.session_h) == (0.4, 5.0)
    assert (rig.limits.session_engine, rig.limits.session_programme) == ("off", "loud")
    assert (rig.wires, rig.items, rig.runs) == (was.wires, was.items, was.runs)
    page = browser.send(f"{url}/vehicle", {"idle_rpm": "900", "cruise_rpm": "600", "based_on": 4}, 422)
    assert "at least idle_rpm = 900" in page
    assert 'value="600"' in page
    shown = browser.page(f"{url}/rig?table=about")
    assert "# two &lt;b&gt;" in shown
    browser.page(f"{url}/rig?table=nonsense", 404)


def test_tables_that_are_not_there_yet_are_added(browser: Any) -> None:
    url = browser.send("/jobs", {"title": "From nothing"}).removesuffix("/rig")
    browser.send(f"{url}/limits", {"drop_v": "0.3", "session_engine": "idle", "session_programme": "music",
                                   "based_on": 1})  # fmt: skip
    browser.send(f"{url}/vehicle", {"kind": "trike", "drive": "petrol", "based_on": 2})
    browser.send(f"{url}/place/add", {"name": "case", "based_on": 3})
    browser.send(f"{url}/run/add", {"between": ["seat", "case"], "length_mm": "700", "based_on": 4})
    raw = draft.read(browser.text(url)).raw
    assert (raw["limits"], raw["vehicle"]) == ({"drop_v": 0.3}, {"kind": "trike"})
    assert raw["run"] == [{"between": ["seat", "case"], "length_mm": 700}]


def test_a_wire_gets_another_number_other_ends_and_joints(browser: Any, small: str) -> None:
    url = browser.job(small)
    rig = parse(small, "x")
    wire = next(w for w in rig.wires if w.kind == "power" and w.size and w.size.system == "AWG")
    given = {"wire": wire.id, "size": wire.size.label, "id": "X9", "from": wire.end, "to": wire.start,
             "length_mm": f"{wire.length_mm:g}" if wire.length_given else "", "metal": wire.metal,
             "insulation_c": str(wire.insulation_c), "cover": list(wire.cover), "from_joint": "solder splice",
             "measured_mohm": "3,5", "as_sold": "8 mm", "based_on": 1}  # fmt: skip
    assert browser.send(f"{url}/wire", given) == f"{url}/rig?wire=X9"
    after = parse(browser.text(url), "x").wire("X9")
    assert (after.start, after.end, after.joints[0]) == (wire.end, wire.start, "solder splice")
    assert (after.measured_mohm, after.as_sold, after.cover) == (3.5, "8 mm", wire.cover)
    assert [w.id for w in rig.wires if w.id != wire.id] == [
        w.id for w in parse(browser.text(url), "x").wires if w.id != "X9"
    ]  # fmt: skip


def test_an_item_gets_another_name_with_its_wires_and_its_own_keys(browser: Any, small: str) -> None:
    url = browser.job(small)
    rig = parse(small, "x")
    battery = rig.family("battery")[0]
    browser.send(f"{url}/item", {"item": battery.id, "place": battery.place, "name": "main+", "charge_pct": "65",
                                 "resistance_factor": "1.5", "comes_off": "yes", "based_on": 1})  # fmt: skip
    after = parse(browser.text(url), "x")
    made = after.items["main+"]
    assert (made.charge_pct, made.resistance_factor, made.comes_off) == (65.0, 1.5, True)
    assert after.vehicle.start_battery == "main+"
    assert len(after.wires) == len(rig.wires)
    amp = rig.family("amplifier")[0]
    page = browser.send(f"{url}/item", {"item": amp.id, "place": amp.place, "bridged": "1 and 2", "based_on": 2}, 422)
    assert "bridged" in page
    assert 'value="1 and 2"' in page
    browser.send(f"{url}/item", {"item": amp.id, "place": amp.place, "comes_off": "", "bridged": "", "based_on": 2})


def test_gains_delays_and_the_distance_to_the_ear(browser: Any) -> None:
    text = demo.text("carnival_trike_planned")
    url = browser.job(text)
    rig = parse(text, "x")
    amp, source = rig.family("amplifier")[0], rig.family("source")[0]
    channels = amp.part.spec.channels
    browser.send(f"{url}/item", {"item": amp.id, "place": amp.place, "gains_v": ", ".join(["1,5"] * channels),
                                 "based_on": 1})  # fmt: skip
    browser.send(f"{url}/item", {"item": source.id, "place": source.place, "remote_on_ms": "400", "based_on": 2})
    browser.send(f"{url}/limits", {"drop_v": "0.5", "session_h": "2", "listening_mm": "1.2 m", "based_on": 3})
    raw = draft.read(browser.text(url)).raw
    assert raw["item"][amp.id]["gains_v"] == [1.5] * channels
    assert raw["item"][source.id]["remote_on_ms"] == 400
    assert raw["limits"]["listening_mm"] == 1200


def test_a_measured_impedance_is_pasted_as_the_meter_exports_it(browser: Any) -> None:
    text = demo.text("carnival_trike_planned")
    url = browser.job(text)
    bass = parse(text, "x").items["bass"]
    where = {"item": "bass", "place": bass.place}
    curve = "frequency kHz\tohm\tdegrees\n" + "".join(f"{0.02 * 2**n:g}\t{4 + n:g},5\t-{n}\n" for n in range(10))
    browser.send(f"{url}/item", {**where, "mounting": "vented", "box_l": "60", "port_hz": "38", "impedance": curve,
                                 "based_on": 1})  # fmt: skip
    made = parse(browser.text(url), "x").items["bass"]
    assert (made.mounting.kind, made.mounting.box_l, made.mounting.port_hz) == ("vented", 60.0, 38.0)
    assert made.impedance is not None
    assert (made.impedance.frequency_hz[:2], made.impedance.ohm[:2]) == ((20.0, 40.0), (4.5, 5.5))
    assert "20 4.5 0" in browser.page(f"{url}/rig?item=bass").replace("-0", "0")
    page = browser.send(f"{url}/item", {**where, "impedance": "20 4 0\n40 x 0\n80 5 1", "based_on": 2}, 422)
    assert "impedance, line 2" in page
    assert "40 x 0" in page


def test_somebody_else_saved_a_run_meanwhile(browser: Any) -> None:
    text = demo.text("carnival_trike_planned")
    url = browser.job(text)
    run = parse(text, "x").runs[0]
    key, both = ".".join(run.between), list(run.between)
    given = {"run": key, "between": both, "hazards": list(run.hazards), "cover": list(run.cover)}
    browser.send(f"{url}/run", {**given, "length_mm": "555", "based_on": 1})
    page = browser.send(f"{url}/run", {**given, "length_mm": "666", "based_on": 1}, 409)
    assert "Saved elsewhere meanwhile" in page
    assert 'name="length_mm" value="666"' in page
    assert parse(browser.text(url), "x").runs[0].length_mm == 555.0
    browser.send(f"{url}/run", {**given, "length_mm": "666", "based_on": revision(browser, url)})
    assert parse(browser.text(url), "x").runs[0].length_mm == 666.0


@pytest.mark.parametrize("evil", ["<script>alert(1)</script>", '"><svg onload=alert(1)>'])
def test_markup_in_a_place_or_a_title_is_data(browser: Any, small: str, evil: str) -> None:
    url = browser.job(small)
    browser.send(f"{url}/place/add", {"name": evil, "based_on": 1})
    browser.send(f"{url}/about", {"title": evil, "ambient_c": "35", "notes": evil, "based_on": 2})
    for page in ("rig", "rig?add=run", "rig?table=about", "survey", f"rig?place={evil}"):
        assert evil not in browser.page(f"{url}/{page}")


def test_filters_are_set_changed_and_taken_off_and_the_rest_of_the_file_stays(browser: Any) -> None:
    text = demo.text("carnival_trike_planned")
    url = browser.job(text)
    page = browser.page(f"{url}/rig?item=processor")
    assert "1, 2: 110 to 3500 Hz" in page
    assert "band=new" in page
    browser.send(f"{url}/item/band", {"item": "processor", "band": 4, "channels": ["7"], "high_pass_hz": "30",
                                      "low_pass_hz": "95", "slope_db": "24", "alignment": "LR", "limit_w": "200",
                                      "based_on": 1})  # fmt: skip
    browser.send(f"{url}/item/band/add", {"item": "processor", "channels": ["8"], "low_pass_hz": "80",
                                          "slope_db": "12", "alignment": "BW", "based_on": 2})  # fmt: skip
    rig = parse(browser.text(url), "x")
    fourth, fifth = rig.items["processor"].bands[3:]
    assert (fourth.channels, fourth.high_pass_hz, fourth.low_pass_hz, fourth.limit_w) == ((7,), 30.0, 95.0, 200.0)
    assert (fifth.channels, fifth.low_pass_hz, fifth.slope_db, fifth.alignment) == ((8,), 80.0, 12, "BW")
    assert remarks(browser.text(url)) == remarks(text)
    browser.send(f"{url}/item/band/remove", {"item": "processor", "band": 5, "based_on": 3})
    browser.send(f"{url}/item/band", {"item": "processor", "band": 4, "channels": ["7"], "high_pass_hz": "35",
                                      "low_pass_hz": "110", "slope_db": "24", "alignment": "LR", "limit_w": "",
                                      "based_on": 4})  # fmt: skip
    assert parse(browser.text(url), "x").items["processor"].bands == parse(text, "x").items["processor"].bands
    two = {"item": "processor", "channels": ["7", "8"], "low_pass_hz": "80", "slope_db": "24", "alignment": "LR"}
    browser.send(f"{url}/item/band/add", {**two, "based_on": 5}, status=422)


def test_a_panel_is_added_changed_renamed_and_taken_out(browser: Any) -> None:
    text = demo.text("carnival_trike_planned")
    url = browser.job(text)
    browser.send(f"{url}/panel/add", {"name": "side", "place": "fairing", "width_mm": "400", "height_mm": "250",
                                      "space_mm": "90", "keep_outs_mm": "0 0 50 50\n100, 0, 20, 20",
                                      "based_on": 1})  # fmt: skip
    panel = parse(browser.text(url), "x").panels["side"]
    assert panel.size_mm == (400.0, 250.0)
    assert [k.size_mm for k in panel.keep_outs] == [(50.0, 50.0), (20.0, 20.0)]
    page = browser.page(f"{url}/rig?panel=side")
    assert 'value="400"' in page
    browser.send(f"{url}/panel", {"panel": "deck", "name": "plate", "place": "rear_deck", "space_mm": "120",
                                  "corners_mm": "0 0\n700 0\n700 450\n0 450", "based_on": 2})  # fmt: skip
    rig = parse(browser.text(url), "x")
    assert rig.items["block"].spot is not None
    assert rig.items["block"].spot.panel == "plate"
    assert (rig.panels["plate"].size_mm, rig.panels["plate"].space_mm) == ((700.0, 450.0), 120.0)
    page = browser.send(f"{url}/panel/remove", {"panel": "plate", "based_on": 3}, 422)
    assert "Take these items off it first." in page
    browser.send(f"{url}/panel/remove", {"panel": "side", "based_on": 3})
    assert "side" not in parse(browser.text(url), "x").panels
    assert set(remarks(text)) <= set(remarks(browser.text(url)))


def test_an_item_gets_its_place_on_a_panel(browser: Any) -> None:
    url = browser.job(demo.text("carnival_trike_planned"))
    browser.send(f"{url}/item", {"item": "block", "place": "rear_deck", "panel": "deck", "at_mm": "60, 310",
                                 "turn_deg": "180", "fixed": "yes", "turns": ["0", "180"], "based_on": 1})  # fmt: skip
    spot = parse(browser.text(url), "x").items["block"].spot
    assert spot is not None
    assert (spot.at_mm, spot.turn_deg, spot.fixed, spot.turns) == ((60.0, 310.0), 180, True, (0, 180))
    page = browser.send(f"{url}/item", {"item": "block", "place": "rear_deck", "panel": "deck", "at_mm": "here",
                                        "based_on": 2}, 422)  # fmt: skip
    assert "at_mm" in page
