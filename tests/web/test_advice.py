"""What would help, in the browser: a move that is pressed is the edit shown, once, and one press takes it back."""

from __future__ import annotations

import html
from typing import Any

import pytest

from loomwright import demo
from loomwright.rig.edit import set_wire
from loomwright.rig.file import parse
from loomwright.study import Study


@pytest.fixture(scope="module")
def trike() -> str:
    return demo.text("carnival_trike_planned")


@pytest.fixture
def thin(small: str) -> str:
    """The small rig with a feed that loses volts."""
    return set_wire(set_wire(small, "P3", size="16 AWG"), "R3", size="16 AWG")


def test_a_move_is_tried_as_one_revision_and_undone(browser: Any, thin: str) -> None:
    url = browser.job(thin)
    data = browser.data(f"{url}/advice.json")["data"]
    n = next(k for k, m in enumerate(data["help"]["moves"]) if m["aim"] == "volts" and m["move"]["kind"] == "wire")
    move = data["help"]["moves"][n]
    page = html.unescape(browser.page(f"{url}/advice"))
    for change in move["changes"]:
        assert change in page
    before = min(data["help"]["now"]["volts_v"].values())
    where = browser.send(f"{url}/advice/try", {"move": data["moves"][n]})
    assert browser.text(url) != thin
    assert move["move"]["title"] in html.unescape(browser.page(where))
    after = browser.data(f"{url}/advice.json")["data"]["help"]["now"]["volts_v"]
    assert min(after.values()) == pytest.approx(before + move["gain"], abs=2e-3)
    assert browser.send(f"{url}/undo", {"back": "advice"}) == f"{url}/advice"
    assert browser.text(url) == thin
    assert "Undo it" not in browser.page(where)


def test_a_move_for_another_rig_changes_nothing(browser: Any, small: str, thin: str) -> None:
    url = browser.job(thin)
    moves = browser.data(f"{url}/advice.json")["data"]["moves"]
    job = url.split("/")[2]
    browser.bench.store.save_rig(job, "planned", small, 1)
    text = browser.text(url)
    gone = set(moves) - set(browser.data(f"{url}/advice.json")["data"]["moves"])
    assert gone
    assert "Not tried" in browser.send(f"{url}/advice/try", {"move": gone.pop()}, 409)
    browser.send(f"{url}/advice/try", {"move": "0" * 24}, 409)
    browser.send(f"{url}/advice/try", {"move": "x" * 100}, 422)
    assert browser.text(url) == text


def test_amplifiers_are_told_with_the_reason_why_others_fall_out(browser: Any, trike: str) -> None:
    url = browser.job(trike)
    found = browser.data(f"{url}/advice/amplifiers.json")["data"]["amplifiers"]
    page = html.unescape(browser.page(f"{url}/advice/amplifiers"))
    assert [p["amplifier"] for p in found] == ["front_amp", "rear_amp", "bass_amp"]
    for fit in (f for p in found for f in p["fits"] if f["verdict"] == "falls out"):
        assert fit["against"]
        assert fit["part"] in page
        assert fit["too_few"] or "; ".join(fit["against"]) in page


def test_an_amplifier_that_suits_is_fitted_by_one_press_and_undone(browser: Any, trike: str) -> None:
    url = browser.job(trike)
    page = html.unescape(browser.page(f"{url}/advice/amplifiers"))
    assert "Fit it: amp_5x60_class_d as front_amp" in page
    assert "Fit it: amp_4x50_class_d as front_amp" not in page  # it is fitted now
    where = browser.send(f"{url}/advice/fit", {"amplifier": "front_amp", "part": "amp_5x60_class_d"})
    fitted = parse(browser.text(url), "x")
    assert fitted.items["front_amp"].part.id == "amp_5x60_class_d"
    assert fitted.items["front_amp"].place == parse(trike, "x").items["front_amp"].place
    assert "Fitted: front_amp is amp_5x60_class_d" in browser.page(where)
    assert browser.send(f"{url}/undo", {"back": "advice/amplifiers"}) == f"{url}/advice/amplifiers"
    assert browser.text(url) == trike
    assert "Undo it" not in browser.page(where)


def test_a_bridged_pair_takes_the_wires_of_its_loudspeaker_along(browser: Any, trike: str) -> None:
    """The bass on one channel goes onto both of two: plus to the first, minus to the second."""
    url = browser.job(trike)
    browser.send(f"{url}/advice/fit", {"amplifier": "bass_amp", "part": "amp_2x80_class_d"})
    rig = parse(browser.text(url), "x")
    assert rig.items["bass_amp"].bridged == ((1, 2),)
    ends = {r for w in rig.wires if w.kind == "speaker" for r in (w.start, w.end) if r.startswith("bass_amp.")}
    assert ends == {"bass_amp.ch1+", "bass_amp.ch2-"}
    load = next(c for c in Study(rig).sound.loads.channels if c.item == "bass_amp")
    assert set(load.drivers) == {"bass"}


def test_an_amplifier_that_falls_out_or_is_not_there_is_not_fitted(browser: Any, trike: str) -> None:
    url = browser.job(trike)
    for amplifier, part in (("front_amp", "amp_1x150_class_d"), ("front_amp", "no"), ("nobody", "amp_2x80_class_d")):
        assert "Not fitted" in browser.send(f"{url}/advice/fit", {"amplifier": amplifier, "part": part}, 409)
    assert browser.text(url) == trike


def test_chances_name_the_causes_that_count_most(browser: Any, small: str) -> None:
    url = browser.job(small)
    found = browser.data(f"{url}/advice/chances.json")["data"]["chances"]
    page = html.unescape(browser.page(f"{url}/advice/chances"))
    assert found["draws"] == 100_000
    assert 0 < len(found["causes"]) <= 5
    for cause in found["causes"]:
        assert cause["cause"] in page


def test_the_advice_is_printed(browser: Any, small: str) -> None:
    import io

    import pdfplumber

    url = browser.job(small)
    answer = browser.client.get(f"{url}/papers/advice.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    with pdfplumber.open(io.BytesIO(answer.content)) as paper:
        text = " ".join(page.extract_text() for page in paper.pages)
    for words in ("What would help", "Which amplifiers suit", "The chance that it works"):
        assert words in text


def test_a_rig_without_an_amplifier_is_told_so(browser: Any) -> None:
    url = browser.send("/jobs", {"title": "Empty", "source": "empty"}).removesuffix("/rig")
    for page in ("advice", "advice/amplifiers", "advice/chances"):
        assert "when the rig is whole" in browser.page(f"{url}/{page}")
