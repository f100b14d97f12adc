"""Findings, faults, power and papers say what the study says."""

from __future__ import annotations

from typing import Any

import pytest

from loomwright import answer, demo
from loomwright.findings.run import check
from loomwright.rig.file import parse
from loomwright.study import Study


@pytest.fixture(scope="module")
def study() -> Study:
    return Study(parse(demo.text("carnival_trike_as_found"), "as found"))


@pytest.fixture
def trike(browser: Any) -> str:
    return str(browser.job(demo.text("carnival_trike_as_found"), "as found"))


def test_every_page_of_a_bad_rig(browser: Any, trike: str, study: Study, monkeypatch: pytest.MonkeyPatch) -> None:
    found = check(study)
    data = browser.data(f"{trike}/findings.json")["data"]
    assert data["findings"] == answer.plain(found)
    page = browser.page(f"{trike}/findings?n=1")
    assert "Do not power up." in page
    assert page.count("<article") == len(found)
    assert "chosen" in page

    drill = browser.data(f"{trike}/faults.json")["data"]
    assert {f["id"] for f in drill["faults"]} == {f.id for f in study.protection.drill}
    fault = max(study.protection.drill, key=lambda f: len(f.openings))
    page = browser.page(f"{trike}/faults?fault={fault.id}")
    for opening in fault.openings:
        assert f"{opening.device} opens" in page
    for item in fault.dark:
        assert item in page
    assert "Break A7" in browser.page(f"{trike}/faults?where=A7")

    case = study.power.case("idle", "loud")
    shown = browser.data(f"{trike}/power.json?engine=idle&programme=loud")["data"]["case"]
    assert shown["items"] == answer.plain(case.items)
    assert "Bass hit" in browser.page(f"{trike}/power")

    got = browser.client.get(f"{trike}/papers/summary.pdf")
    assert got.content.startswith(b"%PDF")
    assert browser.client.get(f"{trike}/papers/gain_card.pdf").content.startswith(b"%PDF")
    assert browser.client.get(f"{trike}/papers/rig.toml").text == demo.text("carnival_trike_as_found")


def test_an_unfinished_rig_answers_everywhere(browser: Any) -> None:
    url = browser.send("/jobs", {"title": "Empty"}).removesuffix("/rig")
    for name in ("rig", "findings", "faults", "power", "papers"):
        browser.page(f"{url}/{name}")
        assert browser.data(f"{url}/{name}.json")["ok"]
    assert browser.client.get(f"{url}/papers/summary.pdf").status_code == 422


def test_a_page_does_not_wait_for_the_study(browser: Any, trike: str) -> None:
    first = browser.client.get(f"{trike}/findings", headers={"accept": "text/html"}).text
    assert 'class="waits"' in first or "Do not power up." in first


def test_an_unknown_fault_and_case(browser: Any, small: str) -> None:
    url = browser.job(small)
    assert browser.client.get(f"{url}/faults.json?fault=none").status_code == 404
    assert browser.client.get(f"{url}/power.json?engine=flying").status_code == 422


def test_two_stages_are_compared(browser: Any, small: str) -> None:
    url = browser.job(small)
    assert "nothing to compare with" in browser.page(f"{url}/compare")
    job = url.split("/")[2]
    worse = small.replace('size = "6 AWG"', 'size = "14 AWG"', 1)
    browser.bench.store.save_rig(job, "as found", worse, 0)
    data = browser.data(f"{url}/compare.json")["data"]
    assert data["before"] == ["as-found"]
    before = browser.data(f"/jobs/{job}/as-found/findings.json")["data"]["counts"]
    after = browser.data(f"{url}/findings.json")["data"]["counts"]
    shown = {c["severity"]: (c["before"], c["after"]) for c in data["changes"]["counts"]}
    assert shown == {s: (before[s], after[s]) for s in before}
    assert "Mended" in browser.page(f"{url}/compare?before=as-found")
    assert browser.client.get(f"{url}/compare.pdf?before=as-found").content.startswith(b"%PDF")


def test_a_rig_of_another_job_stands_beside_two_of_this_one(browser: Any, small: str) -> None:
    url = browser.job(small)
    job = url.split("/")[2]
    browser.bench.store.save_rig(job, "as found", small.replace('size = "6 AWG"', 'size = "14 AWG"', 1), 0)
    other = browser.job(small.replace('title = "', 'title = "Another: ', 1), title="<b>Another</b>").split("/")[2]
    asked = f"before=as-found&before={other}%2Fplanned"
    data = browser.data(f"{url}/compare.json?{asked}")["data"]
    assert data["before"] == ["as-found", f"{other}/planned"]
    assert [r["name"] for r in data["changes"]["rigs"]] == ["A", "B", "C"]
    for row in data["changes"]["counts"]:
        assert row["each"][1] == row["each"][2]
    page = browser.page(f"{url}/compare?{asked}")
    assert "3 rigs side by side" in page
    assert "&lt;b&gt;Another&lt;/b&gt;, planned" in page
    assert "<svg" in page
    assert browser.client.get(f"{url}/compare.pdf?{asked}").content.startswith(b"%PDF")
    browser.page(f"{url}/compare?before=nowhere%2Fplanned", 404)
    browser.page(f"{url}/compare?" + "&".join(["before=as-found"] * 8), 422)
