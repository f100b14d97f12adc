"""Runs, places and the shop's settings, in a real browser."""

from __future__ import annotations

from playwright.sync_api import expect

from loomwright.rig.file import parse
from tests.browser.conftest import Opens, Server, settled


def test_a_run_is_added_with_a_finger_and_another_tab_follows(opens: Opens, server: Server, small: str) -> None:
    page = settled(opens(f"{small}/rig", phone=True))
    other = settled(opens(f"{small}/rig", context=page.context))
    page.get_by_role("link", name="Add a place").tap()
    page.fill("#sheet [name=name]", "roof box")
    page.locator("#sheet input[type=checkbox][name=wet]").tap()
    page.locator("#sheet button.main").tap()
    expect(page.locator("#sheet h2")).to_have_text("Place roof box")
    here = next(iter(parse(server.text(small), "x").places))
    page.get_by_role("link", name="Add a run").first.tap()
    expect(page.locator("#sheet h2")).to_have_text("Add a run")
    page.locator("#sheet [name=between]").nth(0).select_option(here)
    page.locator("#sheet [name=between]").nth(1).select_option("roof box")
    page.fill("#sheet [name=length_mm]", "far")
    page.locator("#sheet input[value=edge]").tap()
    page.locator("#sheet button.main").tap()
    expect(page.locator("#sheet .refused")).to_contain_text("Length: expected a number")
    expect(page.locator("#sheet [name=length_mm]")).to_have_value("far")
    expect(page.locator("#sheet input[value=edge]")).to_be_checked()
    page.fill("#sheet [name=length_mm]", "1.2 m")
    page.locator("#sheet button.main").tap()
    expect(page.locator("#sheet > h2")).to_have_text(f"Run {here} to roof box")
    for tab in (page, other):
        row = tab.locator("#tables tr", has=tab.locator("th a", has_text=f"{here} to roof box"))
        expect(row).to_contain_text("1200")
    run = parse(server.text(small), "x").runs[-1]
    assert (run.between, run.length_mm, run.hazards) == ((here, "roof box"), 1200.0, ("edge",))


def test_inches_are_chosen_and_typed_by_keyboard(opens: Opens, server: Server, small: str) -> None:
    page = opens(f"{server.url}/settings")
    page.get_by_label("Inches", exact=True).focus()
    page.keyboard.press("Space")
    page.get_by_role("button", name="Save for the shop").press("Enter")
    expect(page.locator(".done")).to_have_text("Saved.")
    try:
        page.goto(f"{small}/rig")
        expect(page.locator("#tables thead").first).to_contain_text("Length in")
        key = page.locator("#tables a[href^='?run=']").first
        key.press("Enter")
        expect(page.locator("#sheet h2")).to_contain_text("Run ")
        page.locator("#sheet [name=length_mm]").fill("17 3/4")
        page.locator("#sheet [name=length_mm]").press("Enter")
        expect(page.locator("#sheet [name=length_mm]")).to_have_value("17.75")
        assert parse(server.text(small), "x").runs[0].length_mm == 450.85
    finally:
        page.goto(f"{server.url}/settings")
        page.get_by_label("Millimetres", exact=True).check()
        page.get_by_role("button", name="Save for the shop").click()
        expect(page.locator(".done")).to_have_text("Saved.")


def test_a_part_of_the_shop_is_copied_and_found(opens: Opens, server: Server, small: str) -> None:
    page = opens(f"{server.url}/settings/catalogue?find=agm+20")
    page.get_by_role("link", name="Copy agm_20ah").click()
    text = page.locator("[name=text]")
    broken = text.input_value().replace("capacity_ah = 20", "capacity_ah = 0")
    text.fill(broken)
    page.get_by_role("button", name="Check and save").click()
    expect(page.locator(".refused")).to_contain_text("line ")
    expect(page.locator("[name=text]")).to_have_value(broken)
    page.locator("[name=text]").fill(broken.replace("capacity_ah = 0", "capacity_ah = 21"))
    page.get_by_role("button", name="Check and save").click()
    expect(page.locator(".done")).to_contain_text("Saved.")
    page.goto(f"{small}/rig?add=item&find=agm")
    expect(page.locator("#sheet input[value=own_agm_20ah]")).to_be_attached()


def test_stock_is_noted_on_a_phone(opens: Opens, server: Server) -> None:
    page = opens(f"{server.url}/settings/stock", phone=True)
    page.get_by_role("link", name="Add: wire").tap()
    page.select_option("#sheet [name=size]", "8 AWG")
    page.fill("#sheet [name=colour]", "rd")
    page.fill("#sheet [name=length_mm]", "18.5 m")
    page.locator("#sheet button.main").tap()
    expect(page.locator("#sheet [name=colour]")).to_have_value("RD")
    expect(page.locator("#stock")).to_contain_text("18.5")
    page.get_by_role("button", name="Take it off the list").tap()
    page.get_by_role("button", name="Bring it back").tap()
    expect(page.locator("#stock")).to_contain_text("8 AWG copper")
