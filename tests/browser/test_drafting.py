"""In a browser: from a short list to a planned rig, advice that is tried and undone, demands that conflict."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from loomwright.cli import samples
from loomwright.rig.edit import set_wire
from tests.browser.conftest import WAIT_MS, Opens, Server, settled
from tests.browser.test_access import LOW, OPEN_ALL, Looker, looker  # noqa: F401

ROWS = (
    ("1", "agm_30ah", "battery box"), ("1", "stator_45a", "engine"), ("1", "base load trike led", "fairing"),
    ("1", "source_line_2out", "fairing"), ("1", "class d 2", "rear"), ("2", "driver_6_5in", "fairing"),
)  # fmt: skip
LONG_MS = 6 * WAIT_MS


def begin(page: Page, server: Server) -> None:
    """A new job with its rows typed and saved; the row of the amplifier is still open."""
    page.goto(f"{server.url}/jobs")
    page.fill("form[action='/jobs'] [name=title]", "From a list")
    page.get_by_role("button", name="Begin with a short list").click()
    page.wait_for_url("**/planned/list")
    for n, (many, what, where) in enumerate(ROWS):
        page.get_by_label(f"Row {n + 1}: how many").fill(many)
        page.get_by_label(f"Row {n + 1}: what", exact=True).fill(what)
        page.get_by_label(f"Row {n + 1}: where").fill(where)
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_url("**/list?saved=true")


def finish(page: Page) -> None:
    """Choose the amplifier, and say how far it is."""
    page.get_by_label("Which of these?").select_option("amp_2x80_class_d")
    for n, length in enumerate(("700", "1300", "1200")):
        page.locator("[name=way_length]").nth(n).fill(length)


def drafted(page: Page) -> None:
    page.get_by_role("button", name="Draft it", exact=True).click()
    page.wait_for_url("**/drafts")
    page.locator("#drafts[data-pending]").wait_for(state="detached", timeout=LONG_MS)


def test_from_a_list_to_the_planned_rig_and_back(opens: Opens, server: Server, looker: Looker) -> None:  # noqa: F811
    page = opens(f"{server.url}/jobs")
    begin(page, server)
    expect(page.locator("#sheet")).to_contain_text("Take one of: amp_1x250_class_d")
    page.evaluate(OPEN_ALL)
    looker.look(page, "a list with an open row")
    page.reload()
    expect(page.get_by_label("Row 1: what", exact=True)).to_have_value("agm_30ah")
    finish(page)
    drafted(page)
    expect(page.get_by_role("button", name="Take this one").first).to_be_visible()
    page.evaluate(OPEN_ALL)
    looker.look(page, "drafts side by side")
    page.get_by_role("button", name="Take this one").first.click()
    page.wait_for_url("**/drafts?taken=*")
    taken = page.url
    looker.look(page, "a draft taken")
    page.get_by_role("link", name="Open the planned rig").click()
    settled(page)
    expect(page.locator("#standing .verdict")).to_contain_text("No Stop and no Fix", timeout=LONG_MS)
    assert "fairing_speaker_left" in server.text(page.url)
    page.goto(taken)
    page.get_by_role("button", name="Undo it").click()
    page.wait_for_url("**/drafts")
    assert server.text(page.url) == ""
    assert looker.found == {}


def test_demands_that_conflict_are_told_and_one_is_given_up(
    opens: Opens, server: Server, looker: Looker  # noqa: F811
) -> None:
    page = opens(f"{server.url}/jobs")
    begin(page, server)
    finish(page)
    page.get_by_label("Least volts at the amplifiers").fill("13.6")
    drafted(page)
    expect(page.locator("#drafts")).to_contain_text("No rig meets all of this together")
    expect(page.locator("#drafts")).to_contain_text("at least 13.6 V at every amplifier")
    looker.look(page, "a conflict")
    page.get_by_role("button", name="Give it up: at least 13.6 V").click()
    page.wait_for_url("**/drafts")
    expect(page.get_by_role("button", name="Take this one").first).to_be_visible(timeout=LONG_MS)
    assert looker.found == {}


def test_a_move_is_tried_and_undone(opens: Opens, server: Server, looker: Looker) -> None:  # noqa: F811
    text = set_wire(set_wire(samples.text(samples.BLANK), "P3", size="16 AWG"), "R3", size="16 AWG")
    url = server.job(text)
    page = opens(f"{url}/advice")
    button = page.locator("form.mend button").first
    expect(button).to_be_visible(timeout=LONG_MS)
    page.evaluate(OPEN_ALL)
    looker.look(page, "what would help")
    button.click()
    page.wait_for_url("**/advice?tried=*")
    expect(page.locator(".done")).to_contain_text("Tried:")
    assert server.text(url) != text
    expect(page.locator("form.mend button").first).to_be_visible(timeout=LONG_MS)
    looker.look(page, "a move tried")
    page.get_by_role("button", name="Undo it").click()
    page.wait_for_url("**/advice")
    assert server.text(url) == text
    assert looker.found == {}


@pytest.mark.parametrize("name", ["amplifiers", "chances"])
def test_the_other_views_of_the_advice_have_no_barrier(
    opens: Opens, small: str, looker: Looker, name: str  # noqa: F811
) -> None:
    page = opens(f"{small}/advice/{name}")
    page.locator(f"#{name}[data-pending]").wait_for(state="detached", timeout=LONG_MS)
    page.evaluate(OPEN_ALL)
    looker.look(page, name)
    assert looker.found == {}


def test_a_list_on_a_phone_has_large_targets_and_does_not_scroll_sideways(opens: Opens, server: Server) -> None:
    page = opens(f"{server.url}/jobs", phone=True)
    begin(page, server)
    page.evaluate(OPEN_ALL)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.evaluate(LOW) == []
