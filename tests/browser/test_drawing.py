"""The diagram as a place to work: wires drawn from terminal to terminal, joints picked, table and diagram together."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from loomwright import demo
from loomwright.rig import edit
from loomwright.rig.file import parse
from tests.browser.conftest import WAIT_MS, Opens, Server, settled


@pytest.fixture(scope="module")
def bare(server: Server) -> str:
    """A rig that lacks two of its wires: a feed and a speaker lead."""
    return edit.remove_wire(edit.remove_wire(demo.text("carnival_trike_planned"), "P10"), "S25")


@pytest.fixture
def rig(server: Server, bare: str) -> str:
    return server.job(bare)


def ring(page: Page, ref: str) -> Locator:
    """Where the terminal is pressed."""
    return page.locator(f'#diagram g.terminal[data-ref="{ref}"] .hit, #diagram g.joint[data-ref$="@{ref}"] .hit').first


def draws(page: Page, part: str) -> set[str]:
    refs: list[str] = page.evaluate(
        """(part) => [...document.querySelectorAll(`#diagram g[data-draws="${part}"]`)]
            .map((g) => g.dataset.ref.split("@").pop())""",
        part,
    )
    return set(refs)


def middle(place: Locator) -> tuple[float, float]:
    place.page.evaluate("document.fonts.ready")
    place.hover(trial=True)  # in view, at rest, and nothing over it
    box = place.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def wire_between(server: Server, url: str, start: str, end: str) -> Any:
    text = server.text(url)
    from loomwright.web import draft

    return next((w for w in draft.read(text).wires if {w.start, w.end} == {start, end}), None)


def test_a_wire_is_drawn_with_two_presses_of_the_mouse(opens: Opens, server: Server, rig: str) -> None:
    page = settled(opens(f"{rig}/rig"))
    ring(page, "block.out5").click()
    expect(page.locator("#sheet h2")).to_have_text("A wire from block.out5")
    expect(page.locator("#drawing-now [role=status]")).to_contain_text("Press where it ends")
    assert "processor.supply+" in draws(page, "fit")
    assert "gnd.stud7" in draws(page, "none")
    ring(page, "processor.supply+").click()
    expect(page.locator("#sheet [name=to]")).to_have_value("processor.supply+")
    expect(page.locator("#sheet [name=size]")).to_have_value("auto")
    expect(page.locator("#sheet button.main")).to_be_focused()
    assert "to=processor" in page.url
    page.click("#sheet button.main")
    expect(page.locator("#sheet h2")).to_contain_text("Wire W")
    assert wire_between(server, rig, "block.out5", "processor.supply+").size == "auto"
    joint = page.locator('#diagram g.joint[data-ref$="@processor.supply+"]')
    expect(joint).to_have_count(1, timeout=WAIT_MS)
    expect(page.locator("#drawing-now button")).to_be_hidden()


def test_a_wire_is_dragged_with_the_mouse(opens: Opens, server: Server, rig: str) -> None:
    page = settled(opens(f"{rig}/rig"))
    page.click("[data-zoom=fit]")
    start = middle(ring(page, "block.out5"))
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] + 20, start[1] + 20, steps=4)
    expect(page.locator("#diagram .rubber")).to_have_count(1)
    expect(page.locator("#diagram [data-draws=fit]").first).to_be_attached()
    place = ring(page, "processor.supply+").bounding_box()
    assert place is not None
    page.mouse.move(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2, steps=6)
    page.mouse.up()
    expect(page.locator("#sheet [name=to]")).to_have_value("processor.supply+")
    page.click("#sheet button.main")
    expect(page.locator("#sheet h2")).to_contain_text("Wire W")
    assert wire_between(server, rig, "block.out5", "processor.supply+") is not None


def test_a_speaker_lead_is_drawn_with_a_finger(opens: Opens, server: Server, rig: str) -> None:
    page = settled(opens(f"{rig}/rig?view=signals", phone=True))
    ring(page, "bass_amp.ch1+").tap()
    expect(page.locator("#drawing-now button")).to_be_visible()
    expect(page.locator("#diagram")).to_be_in_viewport()
    assert "gnd.stud7" not in draws(page, "fit")
    ring(page, "bass.+").tap()
    expect(page.locator("#sheet [name=to]")).to_have_value("bass.+")
    expect(page.locator("#sheet [name=size]")).to_have_value("16 AWG")
    expect(page.locator("#sheet button.main")).to_be_in_viewport()
    page.locator("#sheet button.main").tap()
    expect(page.locator("#sheet h2")).to_contain_text("Wire W")
    assert wire_between(server, rig, "bass_amp.ch1+", "bass.+").size == "16 AWG"


def test_a_finger_drags_a_wire_and_does_not_scroll(opens: Opens, server: Server, rig: str) -> None:
    page = settled(opens(f"{rig}/rig?view=signals", phone=True))
    ring(page, "bass_amp.ch1+").evaluate("(r) => r.scrollIntoView({ block: 'center', inline: 'center' })")
    x, y = middle(ring(page, "bass_amp.ch1+"))
    box = page.locator("#diagram .drawing")
    before = box.evaluate("(b) => [b.scrollLeft, b.scrollTop, scrollY]")
    touch = page.context.new_cdp_session(page)

    def send(kind: str, *at: float) -> None:
        points = [{"x": at[0], "y": at[1]}] if at else []
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    send("touchStart", x, y)
    for k in range(1, 6):
        send("touchMove", x + 6 * k, y + 3 * k)
    expect(page.locator("#diagram .rubber")).to_have_count(1)
    expect(page.locator("#diagram [data-draws=fit]").first).to_be_attached()
    assert box.evaluate("(b) => [b.scrollLeft, b.scrollTop, scrollY]") == before
    place = ring(page, "bass.+").bounding_box()
    assert place is not None
    send("touchMove", place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
    send("touchEnd")
    expect(page.locator("#sheet [name=to]")).to_have_value("bass.+")


def test_the_keyboard_alone_draws_a_wire(opens: Opens, server: Server, rig: str) -> None:
    page = settled(opens(f"{rig}/rig"))
    page.locator("#diagram g.item[data-ref=processor]").focus()
    for _ in range(12):
        page.keyboard.press("ArrowRight")
        if page.evaluate("document.activeElement.dataset.ref") == "processor.supply+":
            break
    page.keyboard.press("Enter")
    expect(page.locator("#drawing-now [role=status]")).to_contain_text("A wire from processor.supply+")
    page.keyboard.press("Escape")
    expect(page.locator("#drawing-now button")).to_be_hidden()
    expect(page.locator('#diagram g.terminal[data-ref="processor.supply+"]')).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#drawing-now button")).to_be_visible()
    for _ in range(60):
        page.keyboard.press("Shift+Tab")
        if page.evaluate("(document.activeElement.dataset.ref || '').endsWith('block.out5')"):
            break
        assert page.evaluate("document.activeElement.dataset.draws || 'out'") in ("fit", "from")
    page.keyboard.press("Enter")
    expect(page.locator("#sheet button.main")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#sheet h2")).to_contain_text("Wire W")
    assert wire_between(server, rig, "processor.supply+", "block.out5") is not None


def test_a_new_item_is_wired_from_the_diagram_before_the_rig_is_whole(opens: Opens, server: Server) -> None:
    text = '\n'.join([
        'format = 1', 'title = "Begun"', 'stage = "planned"', 'ambient_c = 35', '[place.seat]',
        '[item.battery]', 'part = "agm_20ah"', 'place = "seat"',
        '[item.amp]', 'part = "amp_2x80_class_d"', 'place = "seat"',
        '[item.left]', 'part = "driver_6_5in"', 'place = "seat"', "",
    ])  # fmt: skip
    url = server.job(text)
    page = opens(f"{url}/rig")
    for start, end in (("battery.plus", "amp.supply+"), ("battery.minus", "amp.supply-")):
        ring(page, start).click()
        ring(page, end).click()
        page.click("#sheet button.main")
        expect(page.locator("#sheet h2")).to_contain_text("Wire W")
        expect(page.locator(f'#diagram g.joint[data-ref$="@{end}"]')).to_have_count(1, timeout=WAIT_MS)
    page.click("text=Remote, line, speaker")
    expect(page.locator("#diagram g.item[data-ref=left]")).to_be_visible()
    for start, end in (("amp.ch1+", "left.+"), ("amp.ch1-", "left.-")):
        ring(page, start).click()
        ring(page, end).click()
        page.click("#sheet button.main")
        expect(page.locator("#sheet h2")).to_contain_text("Wire W")
        expect(page.locator(f'#diagram g.joint[data-ref$="@{end}"]')).to_have_count(1, timeout=WAIT_MS)
    assert len(parse(server.text(url), "x").wires) == 4


def test_what_is_being_drawn_survives_a_reload_and_a_change_of_view(opens: Opens, server: Server, rig: str) -> None:
    page = settled(opens(f"{rig}/rig"))
    ring(page, "block.out5").click()
    expect(page.locator("#drawing-now button")).to_be_visible()
    settled(page)
    page.reload()
    settled(page)
    expect(page.locator("#drawing-now [role=status]")).to_contain_text("A wire from block.out5")
    page.click("text=Remote, line, speaker")
    expect(page.locator("#diagram g.item[data-ref=bass]")).to_be_visible()
    expect(page.locator("#drawing-now button")).to_be_visible()
    page.click("text=Cancel")
    expect(page.locator("#drawing-now button")).to_be_hidden()


def test_a_joint_and_a_fuse_are_picked_on_the_diagram_and_broken(opens: Opens, server: Server, trike: str) -> None:
    page = settled(opens(f"{trike}/faults"))
    joints = page.locator("#diagram g.joint")
    assert joints.count() > 10
    rig = parse(server.text(trike), "x")
    wire = next(w for w in rig.wires if w.kind == "power" and w.size and w.size.system != "bolted")
    joint = f"{wire.id}@{wire.end}"
    page.locator(f'#diagram g.joint[data-ref="{joint}"] text').click()
    page.wait_for_url("**/faults?where=*%40*")
    settled(page)
    expect(page.locator("#sheet h2")).to_have_text(f"Break the joint of {wire.id} on {wire.end}")
    page.locator(".ways a").first.click()
    page.wait_for_url("**/faults?fault=*")
    settled(page)
    expect(page.locator("#steps li").first).to_contain_text("At once")
    expect(page.locator(f'#diagram g.joint[data-ref="{joint}"]')).to_have_class("joint fault")


def test_a_fuse_of_a_block_is_picked(opens: Opens, server: Server) -> None:
    page = settled(opens(f"{server.job(demo.text('carnival_trike_planned'))}/faults"))
    page.locator('#diagram g.device[data-ref="block.2"]').click()
    page.wait_for_url("**/faults?where=block.2")
    settled(page)
    expect(page.locator(".ways a").first).to_be_visible()


def test_what_is_chosen_in_the_table_is_chosen_on_the_diagram_and_back(opens: Opens, rig: str) -> None:
    page = settled(opens(f"{rig}/rig"))
    page.locator("#tables tr[data-ref=P7] a").click()
    expect(page.locator("#diagram g.wire[data-ref=P7]")).to_have_class("wire chosen")
    page.locator("#diagram g.wire[data-ref=R7]").dispatch_event("click")
    expect(page.locator("#tables tr[data-ref=R7]")).to_have_class("chosen")
    expect(page.locator("#tables tr.chosen")).to_have_count(1)
    expect(page.locator("#diagram g.wire.chosen")).to_have_count(1)
    page.locator("#tables tr[data-ref=S17] a").click()
    expect(page.locator("#diagram g.wire[data-ref=S17]")).to_have_class("wire chosen")


def test_an_edit_of_a_wire_chosen_in_the_table_shows_on_both(opens: Opens, server: Server) -> None:
    page = settled(opens(f"{server.job(demo.text('carnival_trike_planned'))}/rig"))
    page.locator("#tables tr[data-ref=P7] a").click()
    expect(page.locator("#sheet h2")).to_have_text("Wire P7")
    page.select_option("#sheet [name=size]", "4 AWG")
    page.fill("#sheet [name=length_mm]", "432")
    page.click("#sheet button.main")
    for place in (page.locator("#diagram g.wire[data-ref=P7]"), page.locator("#tables tr[data-ref=P7]")):
        expect(place).to_contain_text("4 AWG", timeout=WAIT_MS)
        expect(place).to_contain_text("432")
        expect(place).to_have_class("wire chosen" if place.evaluate("(e) => e.tagName") == "g" else "chosen")
