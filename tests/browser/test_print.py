"""Every page on paper: whole, within the sheet, black on white whatever the screen shows, and saying what it is."""

from __future__ import annotations

import io

import pdfplumber
import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Opens, Server, settled

PAGES = {
    "survey": "Survey", "rig?wire=A7": "Rig", "findings": "Findings", "faults": "Faults", "faults?where=A7": "Faults",
    "power": "Power", "loom?wire=A7": "Loom", "compare": "Compare", "papers": "Papers",
}  # fmt: skip
SHOP = {"jobs": "Jobs", "settings": "Settings", "settings/catalogue": "Catalogue", "settings/stock?add=fuse": "Stock"}
A4_PT = (595.3, 841.9)
MARGIN_PT = 12 / 25.4 * 72
SHEET_PX = 702  # A4 less its margins, at 96 to the inch
ON_SCREEN_ONLY = ("Skip to the page", "Undo", "Redo", "Larger", "Show the place", "Take off the list", "Copy", "Save")
CUT = """() => [...document.querySelectorAll("main *")]
    .filter((e) => e.offsetParent && e.scrollWidth > e.clientWidth + 1)
    .filter((e) => ["auto", "scroll", "hidden", "clip"].includes(getComputedStyle(e).overflowX))
    .map((e) => e.outerHTML.slice(0, 99))"""


def holds(page: Page, words: tuple[str, ...]) -> None:
    """What the open page is like when it is printed from a dark screen."""
    page.emulate_media(media="print", color_scheme="dark")
    page.set_viewport_size({"width": SHEET_PX, "height": 1000})
    assert page.evaluate("document.documentElement.scrollWidth") <= SHEET_PX, page.url
    assert page.evaluate(CUT) == [], page.url
    shown = page.locator("nav li a:visible, button:visible")
    assert [s for s in shown.all_inner_texts() if s.strip() in ON_SCREEN_ONLY] == []
    with pdfplumber.open(io.BytesIO(page.pdf(prefer_css_page_size=True, print_background=True))) as printed:
        first = printed.pages[0]
        assert (first.width, first.height) == pytest.approx(A4_PT, abs=1)
        text = first.extract_text()
        assert [w for w in words if w not in text] == [], page.url
        lines = text.splitlines()
        assert [w for w in ON_SCREEN_ONLY if w in lines] == [], page.url
        for sheet in printed.pages:
            assert all(c["x0"] > MARGIN_PT - 3 and c["x1"] < sheet.width - MARGIN_PT + 3 for c in sheet.chars), page.url
        look = first.to_image(resolution=24).original.convert("L")
        assert look.getpixel((2, 2)) == 255
        tones = look.histogram()
        assert sum(tones[200:]) > 0.8 * sum(tones), f"dark paper: {page.url}"
        assert sum(tones[:160]) > 0, f"pale ink: {page.url}"
    page.emulate_media(media="screen")


def test_a_printed_page_is_whole_and_says_what_it_is(opens: Opens, server: Server, trike: str) -> None:
    page = opens(f"{server.url}/jobs", night=True)
    for name, title in SHOP.items():
        page.goto(f"{server.url}/{name}")
        holds(page, (title,))
    for name, title in PAGES.items():
        page.goto(f"{trike}/{name}")
        settled(page)
        holds(page, ("Carnival trike", "As found", title))


def test_the_steps_of_a_fault_and_the_notes_of_a_place_are_printed(opens: Opens, trike: str) -> None:
    page = settled(opens(f"{trike}/faults?where=A7"))
    page.locator(".ways a").first.click()
    page.wait_for_url("**/faults?fault=*")
    settled(page)
    page.emulate_media(media="print")
    assert page.locator("#steps button").first.is_visible()
    page.emulate_media(media="screen")
    page.goto(f"{trike}/survey")
    settled(page)
    page.fill("[name=text] >> visible=true >> nth=-1", "Clamp is green.\nCable tie is brittle.")
    page.click("text=Save the note")
    page.wait_for_url("**/survey?place=*")
    page.emulate_media(media="print")
    assert page.locator(".on-paper").inner_text() == "Clamp is green.\nCable tie is brittle."


def test_the_picture_stands_below_the_heading_on_the_first_sheet(opens: Opens, trike: str) -> None:
    page = settled(opens(f"{trike}/rig"))
    with pdfplumber.open(io.BytesIO(page.pdf(prefer_css_page_size=True))) as printed:
        text = printed.pages[0].extract_text()
    assert "Rig" in text
    assert "vehicle_fuse" in text
    assert "battery.plus" not in text, "the tables begin on the next sheet"
