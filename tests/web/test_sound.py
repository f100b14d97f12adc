"""The sound page says what the study says."""

from __future__ import annotations

import re
from typing import Any

import pytest

from loomwright import answer, demo
from loomwright.power.channels import channel_loads
from loomwright.rig.file import parse
from loomwright.sound import sheet
from loomwright.sound.wiring_choices import choices
from loomwright.study import Study
from loomwright.web.pages.sound import VIEWS


@pytest.fixture(scope="module")
def study() -> Study:
    return Study(parse(demo.text("carnival_trike_as_found"), "as found"))


@pytest.fixture
def trike(browser: Any) -> str:
    return str(browser.job(demo.text("carnival_trike_as_found"), "as found"))


def test_loads_levels_and_gains_are_those_of_the_study(browser: Any, trike: str, study: Study) -> None:
    found = sheet.sheet(study.sound, study.rig)
    data = browser.data(f"{trike}/sound.json?channel=horn_amp.ch1")["data"]
    assert data["channel"] == "horn_amp.ch1"
    assert data["sound"] == answer.plain(found)
    page = browser.page(f"{trike}/sound?channel=horn_amp.ch1")
    for step in found.steps:
        assert step.text in page
    assert "Load on horn_amp.ch1" in page
    assert "Levels to horn_amp.ch1" in page
    assert browser.client.get(f"{trike}/sound.json?channel=horn_amp.ch9").status_code == 404


def test_a_crossover_answers_with_values_volts_and_watts(browser: Any, trike: str) -> None:
    asked = "channel=horn_amp.ch1&kind=high-pass&alignment=BW1&high_pass_hz=3000&series=E24&pad_db=6"
    made = browser.data(f"{trike}/sound/crossover.json?{asked}")["data"]["crossover"]
    assert made["driver"] == "horn_left"
    assert [p["element"] for p in made["parts"]] == ["capacitor", "resistor", "resistor"]
    capacitor, *pad = made["parts"]
    assert capacitor["textbook"] == pytest.approx(1.0 / (2.0 * 3.14159265 * 3000.0 * 8.0), rel=1e-3)
    assert capacitor["rated_v"] >= capacitor["volts_v"] * 2**0.5
    assert all(p["rated_w"] > 0 for p in pad)
    assert len(made["level_db"]) == len(made["frequency_hz"]) == len(made["impedance_ohm"])
    page = browser.page(f"{trike}/sound/crossover?{asked}")
    assert f"{capacitor['value'] * 1e6:.3g}" in page


def test_a_higher_corner_asks_for_a_smaller_capacitor(browser: Any, trike: str) -> None:
    def capacitor(hz: float) -> float:
        url = f"{trike}/sound/crossover.json?driver=horn_left&kind=high-pass&alignment=BW1&high_pass_hz={hz}"
        return float(browser.data(url)["data"]["crossover"]["parts"][0]["value"])

    assert capacitor(1500.0) > capacitor(3000.0) > capacitor(6000.0)


@pytest.mark.parametrize(
    ("asked", "status"),
    [
        ("driver=nobody", 404),
        ("kind=sideways", 422),
        ("kind=high-pass&high_pass_hz=5", 422),
        ("kind=band-pass&high_pass_hz=3000&low_pass_hz=200", 422),
        ("kind=low-pass&pad_db=-3", 422),
        ("kind=low-pass&pad_db=nan", 422),
        ("kind=high-pass&high_pass_hz=inf", 422),
    ],
)
def test_what_cannot_be_made_is_refused_with_a_remedy(browser: Any, trike: str, asked: str, status: int) -> None:
    got = browser.client.get(f"{trike}/sound/crossover.json?{asked}")
    assert got.status_code == status
    assert got.json()["error"]["problems"][0]["remedy"]


def test_ways_to_wire_are_those_of_the_command(browser: Any, trike: str, study: Study) -> None:
    drivers = ("front_left", "front_right", "case_left")
    asked = "&".join(f"driver={d}" for d in drivers) + "&on=bass_amp.ch1"
    data = browser.data(f"{trike}/sound/joining.json?{asked}&n=2")["data"]
    expected = choices(study.rig, drivers, [("bass_amp", 1)])
    assert data["choices"] == answer.plain(expected)
    assert data["picked"] == answer.plain(expected.arrangements[1])
    page = browser.page(f"{trike}/sound/joining?{asked}&n=2")
    for lead in expected.arrangements[1].channels[0].leads:
        assert lead.start in page
        assert lead.end in page
    assert browser.client.get(f"{trike}/sound/joining.json?driver=nobody&on=bass_amp.ch1").status_code == 422


def test_every_thump_and_moment_is_on_the_page(browser: Any, trike: str, study: Study) -> None:
    for turn in ("on", "off"):
        timeline = getattr(study.sound.switching, turn)
        assert browser.data(f"{trike}/sound/switching.json?turn={turn}")["data"]["timeline"] == answer.plain(timeline)
        page = browser.page(f"{trike}/sound/switching?turn={turn}")
        for thump in timeline.thumps:
            assert thump.remedy in page
        times = {e.time_ms for e in timeline.events} | {t.from_ms for t in timeline.thumps}
        assert len(re.findall(r"<li data-at=", page)) == len(times)


def test_an_unfinished_rig_and_a_rig_without_loudspeakers_answer(browser: Any, small: str) -> None:
    empty = browser.send("/jobs", {"title": "Empty"}).removesuffix("/rig")
    for url in (empty, browser.job(small)):
        for slug, _ in VIEWS:
            browser.page(f"{url}/{slug}")
            assert browser.data(f"{url}/{slug}.json")["ok"]


def test_markup_in_a_name_is_data(browser: Any) -> None:
    text = demo.text("carnival_trike_as_found").replace("horn_left", "<b>x&amp;</b>")
    text = re.sub(r"^\[item\.<b>x&amp;</b>\]", '[item."<b>x&amp;</b>"]', text, flags=re.MULTILINE)
    url = browser.job(text, "as found")
    for slug, _ in VIEWS:
        assert "<b>x" not in browser.page(f"{url}/{slug}")


def test_a_picked_way_is_wired_and_taken_back(browser: Any) -> None:
    """Two drivers of 4 ohm on one channel, one after the other: 8 ohm."""
    url = browser.job(demo.text("carnival_trike_planned"))
    asked = {"driver": ["case_left", "case_right"], "on": ["rear_amp.ch1"]}
    query = "&".join(f"{k}={v}" for k, some in asked.items() for v in some)
    ways = browser.data(f"{url}/sound/joining.json?{query}&wait=1")["data"]["choices"]["arrangements"]
    n = next(k for k, w in enumerate(ways, 1) if w["channels"][0]["nominal_ohm"] == 8.0)
    assert "Wire it so" in browser.page(f"{url}/sound/joining?{query}&n={n}")
    before = browser.text(url)
    browser.send(f"{url}/sound/joining/take", {**asked, "n": n, "based_on": 1})
    assert channel_loads(parse(browser.text(url), "x"))["rear_amp"] == (8.0, None)
    browser.send(f"{url}/undo")
    assert browser.text(url) == before
    page = browser.send(f"{url}/sound/joining/take", {**asked, "n": 999, "based_on": 1}, 422)
    assert "no number 999" in page
    assert browser.text(url) == before
