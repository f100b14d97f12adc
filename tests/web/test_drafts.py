"""A job from a short list: rows that are typed become a planned rig by two presses, and nothing typed is lost."""

from __future__ import annotations

import html
from typing import Any

import pytest

from loomwright.web.app import create_app
from loomwright.web.config import Config
from loomwright.web.worked import Shelf

ROWS = (
    ("1", "agm_30ah", "battery_box"), ("1", "stator_45a", "engine"), ("", "base load trike led", "Fairing"),
    ("1", "source_line_2out", "fairing"), ("1", "amp_2x80_class_d", "left_case"), ("2", "driver_6_5in", "fairing"),
)  # fmt: skip
WAYS = (("battery_box", "engine", "700"), ("battery_box", "fairing", "1300"), ("battery_box", "left_case", "90 cm"))


def form(rows: Any = ROWS, ways: Any = WAYS, **more: Any) -> dict[str, Any]:
    return {
        "many": [r[0] for r in rows], "what": [r[1] for r in rows], "where": [r[2] for r in rows],
        "pick": ["" for _ in rows], "way_from": [w[0] for w in ways], "way_to": [w[1] for w in ways],
        "way_length": [w[2] for w in ways], "units": "mm C", "based_on": "0", "then": "save", **more,
    }  # fmt: skip


def begun(browser: Any, **more: Any) -> str:
    url: str = browser.send("/jobs", {"title": "From a list", "source": "list"}).removesuffix("/list")
    browser.send(f"{url}/list", form(**more))
    return url


def test_a_list_becomes_the_planned_rig_and_can_be_taken_back(browser: Any) -> None:
    url = begun(browser)
    data = browser.data(f"{url}/list.json")["data"]
    assert data["problems"] == []
    assert browser.send(f"{url}/list", form(based_on="1", then="draft")) == f"{url}/drafts"
    data = browser.data(f"{url}/drafts.json")["data"]
    assert data["conflict"] is None
    assert all(f["severity"] == "Know" for d in data["drafts"] for f in d["findings"])
    grams = [d["copper_g"] for d in data["drafts"]]
    assert grams == sorted(grams)
    page = browser.page(f"{url}/drafts")
    assert page.count("Take this one</button>") == len(grams)
    where = browser.send(f"{url}/drafts/take", {"key": data["key"], "n": "1", "based_on": "0"})
    assert "Taken as the planned rig" in browser.page(where)
    found = browser.data(f"{url}/findings.json")["data"]
    assert (found["counts"]["Stop"], found["counts"]["Fix"]) == (0, 0)
    assert {"amp", "fairing_speaker_left", "fairing_speaker_right"} <= {
        i["id"] for i in browser.data(f"{url}/rig.json")["data"]["items"]
    }
    assert browser.send(f"{url}/undo", {"back": "drafts"}) == f"{url}/drafts"
    assert browser.text(url) == ""


def test_what_was_typed_outlives_the_server(browser: Any, config: Config, shelf: Shelf) -> None:
    from fastapi.testclient import TestClient

    rows = [*ROWS, ("two", "class d", "left case")]
    ways = [*WAYS, ("fairing", "shelf", "far")]
    url = begun(browser, rows=rows, ways=ways, **{"vehicle.crank_a": "much", "hazards": ["0:hot", "1:edge"]})
    with TestClient(create_app(config, shelf), base_url="http://localhost") as client:
        page = html.unescape(client.get(f"{url}/list", headers={"accept": "text/html"}).text)
    for value in ('value="two"', 'value="class d"', 'value="left_case"', 'value="far"', 'value="much"', 'value="900"'):
        assert value in page, value
    assert 'value="0:hot" checked' in page
    assert "Which of these?" in page
    assert "Amplifier, class D, 2 x 80 W" in page


def test_words_that_fit_several_parts_are_asked_about_and_the_answer_is_kept(browser: Any) -> None:
    rows = [r if r[1] != "amp_2x80_class_d" else ("1", "class d 2", "left_case") for r in ROWS]
    url = begun(browser, rows=rows)
    problems = browser.data(f"{url}/list.json")["data"]["problems"]
    assert [p["place"] for p in problems] == ["row 5, what"]
    assert "amp_2x80_class_d" in problems[0]["remedy"]
    picked = ["" if r[1] != "class d 2" else "amp_2x80_class_d" for r in rows]
    browser.send(f"{url}/list", form(rows=rows, pick=picked, based_on="1"))
    data = browser.data(f"{url}/list.json")["data"]
    assert data["problems"] == []
    assert "amp_2x80_class_d" in [r["what"] for r in data["list"]["equipment"]]


def test_a_place_that_no_way_leads_to_is_asked_for(browser: Any) -> None:
    url = begun(browser, ways=WAYS[:2])
    page = browser.page(f"{url}/list")
    assert page.count('name="way_length"') == 3
    browser.send(f"{url}/list", form(ways=[*WAYS[:2], ("battery_box", "left_case", "")], based_on="1"))
    assert "Measure the way from battery_box to left_case." in browser.page(f"{url}/list")
    assert 'name="way_to" value="left_case"' in page


def test_wishes_that_conflict_are_told_in_a_minimal_set_and_one_press_gives_one_up(browser: Any) -> None:
    url = begun(browser, **{"wishes.min_amp_v": "13.5"})
    data = browser.data(f"{url}/drafts.json")["data"]
    assert data["drafts"] == []
    demands = data["conflict"]["demands"]
    assert "wishes.min_amp_v" in [d["key"] for d in demands]
    page = html.unescape(browser.page(f"{url}/drafts"))
    assert "at least 13.5 V at every amplifier" in page
    browser.send(f"{url}/drafts/give-up", {"demand": "wishes.min_amp_v", "based_on": "1"})
    assert browser.data(f"{url}/drafts.json")["data"]["conflict"] is None
    browser.send(f"{url}/drafts/give-up", {"demand": "wishes.nothing", "based_on": "2"}, 404)


def test_what_is_there_stays_when_the_list_begins_with_the_rig_as_found(browser: Any, small: str) -> None:
    from loomwright.rig import edit
    from loomwright.rig.file import parse

    found = small
    for wire in ("S1", "S2", "S3", "S4"):
        found = edit.remove_wire(found, wire)
    for driver in ("left", "right"):
        found = edit.remove_item(found, driver)
    job = browser.job(found, "as found").split("/")[2]
    planned = f"/jobs/{job}/planned"
    browser.send(f"{planned}/list", form(rows=[("2", "driver_6_5in", "seat")], ways=(), base="as found"))
    data = browser.data(f"{planned}/drafts.json")["data"]
    assert data["conflict"] is None
    browser.send(f"{planned}/drafts/take", {"key": data["key"], "n": "1", "based_on": "0"})
    rig = parse(browser.text(planned), "x")
    for was in parse(found, "x").wires:
        assert (rig.wire(was.id).start, rig.wire(was.id).end, rig.wire(was.id).size) == (was.start, was.end, was.size)
    assert {"seat_speaker_left", "seat_speaker_right"} <= set(rig.items)
    assert browser.data(f"{planned}/findings.json")["data"]["counts"]["Stop"] == 0


def test_two_who_write_the_list_lose_nothing(browser: Any) -> None:
    url = begun(browser)
    browser.send(f"{url}/list", form(based_on="1", **{"vehicle.crank_a": "150"}))
    page = browser.send(f"{url}/list", form(based_on="1", **{"vehicle.crank_a": "180"}), 409)
    assert "Saved elsewhere meanwhile" in page
    assert 'value="180"' in page
    assert browser.data(f"{url}/list.json")["data"]["list"]["vehicle"]["crank_a"] == 150


def test_markup_in_a_row_is_data(browser: Any) -> None:
    url = begun(browser, rows=[*ROWS, ("1", "<script>x()</script>", '"><b>place</b>')])
    page = browser.page(f"{url}/list")
    assert "<script>x()" not in page
    assert "<b>place" not in page


@pytest.mark.parametrize("n", ["0", "9", "x"])
def test_a_rig_that_was_not_drafted_cannot_be_taken(browser: Any, n: str) -> None:
    url = begun(browser)
    key = browser.data(f"{url}/drafts.json")["data"]["key"]
    browser.send(f"{url}/drafts/take", {"key": key, "n": n, "based_on": "0"}, 404 if n == "9" else 422)
    browser.send(f"{url}/drafts/take", {"key": "0" * 40, "n": "1", "based_on": "0"}, 409)
    assert browser.text(url) == ""


def test_which_amplifier_drives_which_loudspeaker_is_chosen_for_each(browser: Any) -> None:
    rows = [*ROWS, ("1", "amp_1x150_class_d", "right_case"), ("1", "driver_8in", "right_case")]
    ways = [*WAYS, ("battery_box", "right_case", "900")]
    url = begun(browser, rows=rows, ways=ways)
    page = browser.page(f"{url}/list")
    assert page.count('name="driven_by"') == 3
    amplifier = "left_case_amp"
    assert f"<option>{amplifier}</option>" in page
    named = [d.partition('"')[0] for d in page.split('name="driver" value="')[1:]]
    chosen = [amplifier if d.startswith("fairing") else "" for d in named]
    browser.send(f"{url}/list", form(rows=rows, ways=ways, based_on="1", driver=named, driven_by=chosen))
    found = browser.data(f"{url}/list.json")["data"]
    assert found["problems"] == []
    assert found["list"]["wishes"]["drives"] == {amplifier: [d for d in named if d.startswith("fairing")]}
    assert browser.page(f"{url}/list").count(f"<option selected>{amplifier}</option>") == 2
    fewer = [r for r in rows if r[1] != "amp_2x80_class_d"]
    browser.send(f"{url}/list", form(rows=fewer, ways=ways, based_on="2", driver=named, driven_by=chosen))
    problems = browser.data(f"{url}/list.json")["data"]["problems"]
    assert any("drives" in p["place"] and p["remedy"] for p in problems)


def test_a_list_with_one_amplifier_asks_for_no_choice_of_it(browser: Any) -> None:
    assert 'name="driven_by"' not in browser.page(f"{begun(browser)}/list")
