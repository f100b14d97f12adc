"""One press on the page of findings: the edit shown is the edit made, once, and it can be taken back."""

from __future__ import annotations

import html
import re
from typing import Any

import pytest

from loomwright.rig.edit import set_fuse, set_wire
from loomwright.rig.file import parse


@pytest.fixture
def thin(small: str) -> str:
    """The small rig with a feed that is far too thin for its fuse."""
    return set_wire(set_fuse(small, "block", 1, 40), "P3", size="18 AWG")


def offered(browser: Any, url: str, code: str) -> list[dict[str, Any]]:
    data = browser.data(f"{url}/findings.json")["data"]
    return [r for r in data["remedies"] if data["findings"][r["finding"] - 1]["code"] == code]


def test_the_edit_is_shown_and_made_as_one_revision(browser: Any, thin: str) -> None:
    url = browser.job(thin)
    remedy = offered(browser, url, "E202")[-1]
    (change,) = remedy["changes"]
    page = html.unescape(browser.page(f"{url}/findings"))
    assert change in page
    assert f"<button>{remedy['title']}</button>" in page
    wire, new = re.fullmatch(r"(\w+): size 18 AWG \u2192 (.+)", change).groups()  # type: ignore[union-attr]
    where = browser.send(f"{url}/mend", {"remedy": remedy["id"]})
    after = browser.text(url)
    assert parse(after, "x").wire(wire).size.label == new
    assert [b for a, b in zip(thin.splitlines(), after.splitlines(), strict=True) if a != b] == [f'size = "{new}"']
    assert "E202" not in [f["code"] for f in browser.data(f"{url}/findings.json")["data"]["findings"]]
    done = html.unescape(browser.page(where))
    assert f"Done: E202: {remedy['title']}." in done
    assert browser.send(f"{url}/undo", {"back": "findings"}) == f"{url}/findings"
    assert browser.text(url) == thin
    assert "Done:" not in browser.page(where)


def test_a_second_press_changes_nothing_more(browser: Any, thin: str) -> None:
    url = browser.job(thin)
    remedy = offered(browser, url, "E202")[-1]
    browser.send(f"{url}/mend", {"remedy": remedy["id"]})
    once = browser.text(url)
    page = browser.send(f"{url}/mend", {"remedy": remedy["id"]}, 409)
    assert "Not mended" in page
    assert browser.text(url) == once


def test_a_rig_changed_meanwhile_is_mended_only_where_the_edit_is_still_the_same(browser: Any, thin: str) -> None:
    url = browser.job(thin)
    remedy = offered(browser, url, "E202")[-1]
    job, stage = url.split("/")[2], "planned"
    wire = remedy["changes"][0].partition(":")[0]
    store = browser.bench.store
    store.save_rig(job, stage, thin + "\n# a remark\n", 1)
    browser.send(f"{url}/mend", {"remedy": remedy["id"]})
    assert "# a remark" in browser.text(url)
    store.save_rig(job, stage, set_wire(thin, wire, size="16 AWG"), 3)
    before = browser.text(url)
    assert "changed meanwhile" in browser.send(f"{url}/mend", {"remedy": remedy["id"]}, 409)
    assert browser.text(url) == before


def test_an_edit_that_would_bring_a_stop_is_not_saved(browser: Any, thin: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from loomwright.remedies import run

    url = browser.job(thin)
    remedy = offered(browser, url, "E202")[-1]
    worse = browser.data(f"{url}/findings.json")["data"]["findings"][0]
    assert worse
    monkeypatch.setattr(run, "brought", lambda before, after: before[:1])
    page = browser.send(f"{url}/mend", {"remedy": remedy["id"]}, 422)
    assert "no new Stop" in page
    assert browser.text(url) == thin


def test_nonsense_is_refused(browser: Any, thin: str) -> None:
    url = browser.job(thin)
    browser.send(f"{url}/mend", {"remedy": "0" * 24}, 409)
    browser.send(f"{url}/mend", {"remedy": "x" * 100}, 422)
    browser.send(f"{url}/undo", {"back": "//elsewhere"}, 422)
    assert browser.text(url) == thin


def test_markup_in_a_name_stays_a_name(browser: Any, small: str) -> None:
    url = browser.job(set_wire(small, "P3", size="10 SAE", as_sold="<b>10 gauge</b>"))
    assert [r["changes"] for r in offered(browser, url, "E504")][-1] == ["P3: sold as <b>10 gauge</b> \u2192 10 SAE"]
    page = browser.page(f"{url}/findings")
    assert "&lt;b&gt;10 gauge&lt;/b&gt; \u2192 10 SAE" in page
    assert "<b>10 gauge" not in page


def test_a_value_left_to_be_chosen_is_told_as_it_stands_in_the_file(browser: Any, small: str) -> None:
    url = browser.job(set_wire(set_wire(small, "P3", metal="cca10", as_sold="copper"), "R3", size="auto"))
    (remedy,) = offered(browser, url, "E503")
    assert remedy["changes"] == ["P3: metal cca10 \u2192 copper"]
    browser.send(f"{url}/mend", {"remedy": remedy["id"]})
    assert 'size = "auto"' in browser.text(url)
