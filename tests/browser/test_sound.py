"""The acts of the sound page, done in a real browser."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from tests.browser.conftest import Opens, settled

WAYS = "sound/joining?driver=front_left&driver=front_right&driver=case_left&on=bass_amp.ch1"


def capacitor(page: Page) -> str:
    return page.locator("#parts tbody tr", has_text="capacitor").first.inner_text()


def test_a_handle_moved_with_the_mouse_changes_curve_and_parts(opens: Opens, trike: str) -> None:
    page = settled(opens(f"{trike}/sound/crossover?driver=horn_left&kind=high-pass&alignment=BW1&high_pass_hz=3000"))
    handle = page.get_by_role("slider", name="Begins at")
    expect(handle).to_have_attribute("aria-valuenow", "3000")
    before = capacitor(page)
    box = handle.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 40)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2 - 120, box["y"] + 40, steps=8)
    page.mouse.up()
    page.wait_for_url(re.compile(r"high_pass_hz=[1-9]\d{2}(&|$)"))
    moved = float(page.locator("[name=high_pass_hz]").input_value())
    assert 100 < moved < 1500
    expect(page.locator("#parts tbody tr").first).not_to_have_text(before)
    assert float(handle.get_attribute("aria-valuenow") or 0) == moved


def test_a_handle_follows_the_keyboard_and_the_field(opens: Opens, trike: str) -> None:
    page = settled(opens(f"{trike}/sound/crossover?driver=horn_left&kind=high-pass&alignment=LR2&high_pass_hz=2000"))
    handle = page.get_by_role("slider", name="Begins at")
    handle.focus()
    for _ in range(3):
        page.keyboard.press("PageUp")
    page.wait_for_url(re.compile(r"high_pass_hz=40[0-2]0"))
    expect(handle).to_be_focused()
    page.fill("[name=high_pass_hz]", "2500")
    expect(handle).to_have_attribute("aria-valuetext", "2500 Hz")
    page.wait_for_url(re.compile(r"high_pass_hz=2500"))
    page.select_option("[name=kind]", "band-pass")
    expect(page.get_by_role("slider", name="Ends at")).to_be_visible()
    page.fill("[name=low_pass_hz]", "900")
    expect(page.locator("#refused")).to_contain_text("Let the driver end above where it begins")
    page.fill("[name=low_pass_hz]", "9000")
    expect(page.locator("#refused")).to_be_empty()


def test_a_handle_is_moved_with_a_finger_on_a_phone(opens: Opens, trike: str) -> None:
    asked = "driver=bass&kind=low-pass&alignment=BW2&low_pass_hz=100"
    page = settled(opens(f"{trike}/sound/crossover?{asked}", phone=True))
    handle = page.get_by_role("slider", name="Ends at")
    handle.scroll_into_view_if_needed()
    box = handle.bounding_box()
    assert box is not None
    assert box["width"] >= 48
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    session = page.context.new_cdp_session(page)
    for kind, at in (("touchStart", x), ("touchMove", x + 30), ("touchMove", x + 60), ("touchEnd", 0.0)):
        points = [] if kind == "touchEnd" else [{"x": at, "y": y}]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    page.wait_for_url(re.compile(r"low_pass_hz=(1[1-9]\d|[2-9]\d\d)(&|$)"))


def test_a_way_to_wire_is_picked_and_drawn(opens: Opens, trike: str) -> None:
    page = settled(opens(f"{trike}/{WAYS}"))
    way = page.locator("ol.ways a").nth(1)
    words = way.locator("span").first.inner_text()
    way.click()
    settled(page)
    expect(page.locator("#way h2")).to_have_text(words)
    for driver in ("front_left", "front_right", "case_left"):
        expect(page.locator("#way svg")).to_contain_text(driver)


def test_switching_is_played_moment_by_moment(opens: Opens, trike: str) -> None:
    page = settled(opens(f"{trike}/sound/switching"))
    steps = page.locator("#moments button")
    expect(steps.last).to_have_attribute("aria-pressed", "true")
    end = page.locator("#timeline svg .now").get_attribute("x1")
    page.get_by_role("button", name="Play it").click()
    expect(steps.first).to_have_attribute("aria-pressed", "true")
    assert float(page.locator("#timeline svg .now").get_attribute("x1") or 0) < float(end or 0)
    expect(steps.nth(1)).to_have_attribute("aria-pressed", "true")
    steps.nth(3).press("Enter")
    expect(steps.nth(3)).to_have_attribute("aria-pressed", "true")


def test_a_channel_is_chosen_and_its_load_shown(opens: Opens, trike: str) -> None:
    page = settled(opens(f"{trike}/sound"))
    page.get_by_role("navigation", name="Channel").get_by_role("link", name="bass_amp.ch1").click()
    settled(page)
    expect(page.locator("#sheet h2")).to_have_text("bass_amp.ch1")
    expect(page.locator("#pictures")).to_contain_text("Load on bass_amp.ch1")
