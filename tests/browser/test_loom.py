"""The loom page in a real browser: a wire that is pressed lights up everywhere, by mouse, key and address."""

from __future__ import annotations

import re
import urllib.request

import pytest
from playwright.sync_api import Page, expect

from loomwright import demo
from loomwright.jobs.ledger import now
from loomwright.jobs.model import StockLine
from loomwright.jobs.store import Store, url_in
from loomwright.rig.file import parse
from tests.browser.conftest import WAIT_MS, Opens, Server, settled

PLANNED = "carnival_trike_planned"


@pytest.fixture(scope="module")
def planned(server: Server) -> str:
    with Store(url_in(server.folder)) as store:
        store.add_stock(
            StockLine("", "wire", 0, now(), size="16 AWG", metal="copper", insulation_c=105, colour="BKWH",
                      length_mm=60_000.0, note="striped reel")
        )  # fmt: skip
    return worked_out(server.job(demo.text(PLANNED)))


def worked_out(url: str) -> str:
    """The address of a rig, once its loom and all drawings are there."""
    urllib.request.urlopen(f"{url}/loom?wait=1", timeout=600).close()
    return url


def everywhere(page: Page, wire: str) -> None:
    """The wire is lit in list, drawing, sections, contacts, cutting plan and ring-out."""
    rig = parse(demo.text(PLANNED), "x")
    runs = len(rig.wire(wire).route)
    expect(page.locator("#tables tr.chosen")).to_have_attribute("data-ref", wire)
    expect(page.locator("#bundles .cut g.lit")).to_have_count(runs)
    assert {g.get_attribute("data-ref") for g in page.locator("#bundles .cut g.lit").all()} == {wire}
    expect(page.locator(f'#diagram g.chosen[data-ref="{wire}"]').first).to_be_attached()
    expect(page.locator("#disconnects .contact.lit")).to_have_count(2)  # mating side and wire side
    expect(page.locator("#disconnects tr.lit")).to_have_count(1)
    expect(page.locator(f'#cutting .bar .lit[data-wires="{wire}"]')).to_have_count(1)
    expect(page.locator("#ringout tr.lit").first).to_be_attached()
    expect(page.locator("#sheet h2")).to_have_text(f"Wire {wire}")


def test_a_wire_pressed_in_a_section_lights_up_everywhere(opens: Opens, planned: str) -> None:
    page = settled(opens(f"{planned}/loom"))
    page.locator('#bundles .cut g[data-ref="S4"]').first.click()
    page.wait_for_url(re.compile("wire=S4"))
    everywhere(page, "S4")
    page.reload()
    settled(page)
    everywhere(page, "S4")
    page.locator("#disconnects td a", has_text=re.compile("^S8$")).click()
    page.wait_for_url(re.compile("wire=S8"))
    everywhere(page, "S8")
    page.go_back()
    settled(page)
    everywhere(page, "S4")


def test_a_wire_pressed_on_the_map_and_on_a_wiring_sheet(opens: Opens, planned: str) -> None:
    page = settled(opens(f"{planned}/loom?wire=S4"))
    page.locator('#diagram g.wire[data-ref="S8"]').first.dispatch_event("click")
    page.wait_for_url(re.compile("wire=S8"))
    everywhere(page, "S8")
    ids = page.locator("form.views option", has_text="shows S8").evaluate_all("(all) => all.map((o) => o.value)")
    page.select_option("form.views select", next(i for i in ids if i.startswith("wiring")))
    page.wait_for_url(re.compile("view=wiring"))
    page.locator('#diagram g.wire[data-ref="S4"] .touch').first.dispatch_event("click")
    page.wait_for_url(re.compile("wire=S4"))
    everywhere(page, "S4")
    assert "view=wiring" in page.url


def test_a_run_on_the_map_opens_its_sheet(opens: Opens, planned: str) -> None:
    page = settled(opens(f"{planned}/loom?view=map"))
    page.locator('#diagram g.card[data-ref="run 1"]').dispatch_event("click")
    page.wait_for_url(re.compile("run=1"))
    expect(page.locator("#sheet h2")).to_have_text("Run battery_box to rear_deck")


def test_the_keyboard_goes_from_wire_to_wire_in_a_section(opens: Opens, planned: str) -> None:
    page = settled(opens(f"{planned}/loom"))
    first = page.locator("#bundles .cut").first.locator("g[data-ref]").first
    first.focus()
    page.keyboard.press("ArrowRight")
    second = page.locator("#bundles .cut").first.locator("g[data-ref]").nth(1)
    expect(second).to_be_focused()
    wire = second.get_attribute("data-ref")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(f"wire={wire}"))
    expect(second).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#sheet h2")).to_have_text(f"Wire {wire}")


def test_the_list_follows_words_as_they_are_typed_and_the_address_keeps_them(opens: Opens, planned: str) -> None:
    page = settled(opens(f"{planned}/loom?wire=S4"))
    page.fill("form.search [name=find]", "front_left")
    expect(page.locator("#tables tbody tr")).to_have_count(2)
    assert "find=front_left" in page.url
    assert "wire=S4" in page.url
    page.click("#tables th a:text('Cut')")
    page.wait_for_url(re.compile("sort=cut"))
    expect(page.locator("#tables th[aria-sort]")).to_have_attribute("aria-sort", "ascending")
    page.click("#tables tbody a:text('S2')")
    page.wait_for_url(re.compile("wire=S2"))
    assert "find=front_left" in page.url
    expect(page.locator("#tables tbody tr")).to_have_count(2)


def test_an_edit_is_saved_shown_and_undone(opens: Opens, server: Server) -> None:
    url = worked_out(server.job(demo.text(PLANNED)))
    page = settled(opens(f"{url}/loom?wire=S4"))
    before = server.text(url)
    page.fill("#sheet [name=length_mm]", "3210")
    page.click("#sheet button.main")
    expect(page.locator("#facts .figure")).to_contain_text("3215", timeout=4 * WAIT_MS)
    expect(page.locator("#tables tr.chosen td.number")).to_have_text("3215", timeout=4 * WAIT_MS)
    assert "/loom?wire=S4" in page.url
    page.locator("#acts button", has_text="Undo").click()
    page.wait_for_url(re.compile("/loom$"))
    assert server.text(url) == before


def test_labels_and_tables_come_down(opens: Opens, planned: str) -> None:
    page = settled(opens(f"{planned}/loom"))
    with page.expect_download() as caught:
        page.click("text=Cut list, CSV")
    assert caught.value.suggested_filename == "cut_list.csv"


def test_a_phone_shows_it_without_scrolling_sideways(opens: Opens, planned: str) -> None:
    page = settled(opens(f"{planned}/loom?wire=S4", phone=True))
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.locator('#bundles .cut g[data-ref="S8"]').first.tap()
    page.wait_for_url(re.compile("wire=S8"))
    expect(page.locator("#sheet h2")).to_have_text("Wire S8")
