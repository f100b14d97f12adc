"""What a technician does, done in a real browser."""

from __future__ import annotations

import io

from PIL import Image
from playwright.sync_api import Page, expect

from loomwright.cli import samples
from loomwright.rig import edit
from loomwright.rig.file import parse
from tests.browser.conftest import Opens, Server, settled

WIRE = "P2"


def a_wire(server: Server, url: str) -> str:
    rig = parse(server.text(url), "x")
    amp = rig.family("amplifier")[0].id
    return next(w.id for w in rig.wires if w.kind == "power" and w.end.startswith(f"{amp}."))


def press(page: Page, kind: str, ref: str) -> None:
    page.locator(f'#diagram g.{kind}[data-ref="{ref}"]').first.dispatch_event("click")


def test_a_wire_is_edited_from_the_diagram_and_another_tab_follows(opens: Opens, server: Server, small: str) -> None:
    wire = a_wire(server, small)
    page = settled(opens(f"{small}/rig"))
    other = settled(opens(f"{small}/rig", context=page.context))
    stays = other.evaluate("document.body.stays = 1")
    press(page, "wire", wire)
    expect(page.locator("#sheet h2")).to_have_text(f"Wire {wire}")
    assert f"wire={wire}" in page.url
    page.select_option("#sheet [name=size]", "2 AWG")
    page.fill("#sheet [name=length_mm]", "1234")
    page.click("#sheet button.main")
    for tab in (page, other):
        row = tab.locator("#tables tr", has=tab.locator("th a", has_text=wire)).first
        expect(row).to_contain_text("2 AWG")
        expect(row).to_contain_text("1234")
        expect(tab.locator(f'#diagram g[data-ref="{wire}"]').first).to_contain_text("2 AWG")
    assert other.evaluate("document.body.stays") == stays
    assert parse(server.text(small), "x").wire(wire).length_mm == 1234


def test_the_keyboard_alone_edits_a_wire(opens: Opens, server: Server, small: str) -> None:
    wire = a_wire(server, small)
    page = settled(opens(f"{small}/rig"))
    page.locator(f'#diagram g.wire[data-ref="{wire}"]').first.focus()
    page.keyboard.press("Enter")
    expect(page.locator("#sheet h2")).to_be_focused()
    page.keyboard.press("Tab")
    expect(page.locator("#sheet [name=size]")).to_be_focused()


def test_a_wire_is_broken_with_a_finger(opens: Opens, server: Server, trike: str) -> None:
    page = settled(opens(f"{trike}/faults", phone=True))
    press(page, "wire", "A7")
    page.wait_for_url("**/faults?where=A7")
    settled(page)
    page.locator(".ways a").first.tap()
    page.wait_for_url("**/faults?fault=*")
    settled(page)
    expect(page.locator("#steps li").first).to_contain_text("At once")
    page.locator("#steps button").first.tap()
    expect(page.locator("#steps button").first).to_have_attribute("aria-pressed", "true")
    expect(page.locator('#diagram g.wire[data-ref="A7"]').first).to_have_class("wire fault")


def test_two_tabs_in_conflict_lose_nothing(opens: Opens, server: Server, small: str) -> None:
    wire = a_wire(server, small)
    one = opens(f"{small}/rig?wire={wire}")
    two = opens(f"{small}/rig?wire={wire}")
    one.select_option("#sheet [name=size]", "2 AWG")
    two.select_option("#sheet [name=size]", "6 AWG")
    two.fill("#sheet [name=length_mm]", "321")
    one.click("#sheet button.main")
    expect(one.locator("#tables")).to_contain_text("2 AWG")
    two.click("#sheet button.main")
    expect(two.locator("#sheet h2")).to_have_text("Saved elsewhere meanwhile")
    expect(two.locator(".diff")).to_contain_text("321")
    two.click("text=Put mine on top of theirs")
    expect(two.locator("#sheet h2")).to_have_text(f"Wire {wire}")
    found = parse(server.text(small), "x").wire(wire)
    assert found.size is not None
    assert (found.size.label, found.length_mm) == ("6 AWG", 321)


def test_a_server_that_goes_away_loses_nothing_that_was_typed(opens: Opens, server: Server, small: str) -> None:
    wire = a_wire(server, small)
    page = settled(opens(f"{small}/rig?wire={wire}"))
    page.fill("#sheet [name=length_mm]", "987")
    server.kill()
    page.click("#sheet button.main")
    expect(page.locator("#said")).to_contain_text("does not answer")
    expect(page.locator("#sheet [name=length_mm]")).to_have_value("987")
    server.start()
    page.click("#sheet button.main")
    expect(page.locator("#tables")).to_contain_text("987")
    assert parse(server.text(small), "x").wire(wire).length_mm == 987


def test_a_rig_with_two_amplifiers_is_built_from_nothing(opens: Opens, server: Server) -> None:
    page = opens(f"{server.url}/jobs")
    page.fill("[name=title] >> visible=true", "From nothing")
    page.get_by_role("button", name="Begin with an empty rig").click()
    page.wait_for_url("**/planned/rig")
    for item, words, title in (
        ("battery", "agm 20", "Battery, AGM, 20 Ah"), ("block", "fused block 4 type c", "Fused block, 4 ways, type C"),
        ("bus", "ground 6 studs m6", "Ground bus bar, 6 studs M6, 150 A"),
        ("front", "class d 4 x 75", "Amplifier, class D, 4 x 75 W, stiff supply"),
        ("rear", "class d 2 x 80", "Amplifier, class D, 2 x 80 W, stiff supply, sealed"),
    ):  # fmt: skip
        page.click("text=Add an item")
        page.fill("#sheet [name=find]", words)
        page.click("#sheet >> text=Search >> nth=-1")
        page.locator("#sheet label.pick", has_text=title).first.click()
        page.fill("#sheet [name=item]", item)
        page.click("text=Add it")
        expect(page.locator("#sheet h2")).to_have_text(item)
    for start, end in (
        ("battery.plus", "block.in"), ("battery.minus", "bus.stud1"), ("block.out1", "front.supply+"),
        ("front.supply-", "bus.stud2"), ("block.out2", "rear.supply+"), ("rear.supply-", "bus.stud3"),
    ):  # fmt: skip
        page.locator("#tables th a", has_text=start.partition(".")[0]).first.click()
        page.click(f'#sheet a[aria-label="Draw a wire from {start}"]')
        page.select_option("#sheet [name=to]", end)
        page.click("#sheet button.main")
        expect(page.locator("#sheet h2")).to_contain_text("Wire W")
    expect(page.locator("#diagram g.item[data-ref=rear]")).to_be_visible()
    assert len(parse(server.text(page.url), "x").family("amplifier")) == 2


def test_a_photograph_is_marked_with_a_finger(opens: Opens, server: Server, small: str) -> None:
    out = io.BytesIO()
    Image.new("RGB", (320, 240), "#777").save(out, "JPEG")
    page = opens(f"{small}/survey?place=seat", phone=True)
    page.set_input_files("[name=file]", {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()})
    page.click("text=Keep it")
    picture = page.locator("svg.photo")
    room = picture.bounding_box()
    assert room is not None
    picture.tap(position={"x": room["width"] * 0.25, "y": room["height"] * 0.5})
    page.fill("[name=text] >> visible=true >> nth=0", "Chafed here")
    page.click("text=Mark it")
    expect(page.locator(".marks")).to_contain_text("Chafed here")
    expect(page.locator(".pin text")).to_have_text("1")
    centre = page.locator(".pin circle").get_attribute("cx")
    assert centre is not None
    assert abs(float(centre) - 80) < 4


def test_a_paper_is_printed(opens: Opens, server: Server, small: str) -> None:
    page = settled(opens(f"{small}/papers"))
    with page.expect_download() as waited:
        page.click('[aria-label="Download: Summary"]')
    path = waited.value.path()
    assert path.read_bytes().startswith(b"%PDF")


def test_a_job_taken_off_the_list_is_brought_back(opens: Opens, server: Server, small: str) -> None:
    page = opens(f"{server.url}/jobs")
    count = page.locator("a.card").count()
    page.locator("summary", has_text="Change").first.click()
    page.locator("text=Take off the list >> visible=true").first.click()
    expect(page.locator("a.card")).to_have_count(count - 1)
    page.locator("form.done button").click()
    expect(page.locator("a.card")).to_have_count(count)


def test_the_first_page_is_light(opens: Opens, server: Server, small: str) -> None:
    page = opens("about:blank")
    got: list[int] = []
    page.on("requestfinished", lambda r: got.append(r.sizes()["responseBodySize"] + r.sizes()["responseHeadersSize"]))
    page.goto(f"{small}/rig?wait=1")
    page.wait_for_timeout(500)
    assert sum(got) < 250_000


def test_a_finding_is_mended_with_a_finger_and_taken_back(opens: Opens, server: Server) -> None:
    text = edit.set_wire(edit.set_fuse(samples.text(samples.BLANK), "block", 1, 40), "P3", size="18 AWG")
    url = server.job(text)
    page = settled(opens(f"{url}/findings", phone=True))
    form = page.locator("form.mend", has_text="P3: size 18 AWG \u2192").first
    button = form.locator("button")
    room = button.bounding_box()
    assert room is not None
    assert min(room["width"], room["height"]) >= 48
    button.tap()
    page.wait_for_url("**/findings?mended=2")
    settled(page)
    expect(page.locator("form.done")).to_contain_text("Done: E202")
    expect(page.locator("form.mend", has_text="P3: size 18 AWG")).to_have_count(0)
    assert server.text(url) != text
    page.locator("form.done button").tap()
    expect(page.locator("form.done")).to_have_count(0)
    settled(page)
    expect(page.locator("form.mend", has_text="P3: size 18 AWG").first).to_be_visible()
    assert server.text(url) == text


def test_two_tabs_that_write_one_note_lose_nothing(opens: Opens, server: Server, small: str) -> None:
    one = opens(f"{small}/survey?place=seat")
    two = opens(f"{small}/survey?place=seat", phone=True)
    one.fill("[name=text] >> visible=true >> nth=-1", "Clamp is green.")
    two.fill("[name=text] >> visible=true >> nth=-1", "Clamp is loose.")
    one.click("text=Save the note")
    one.wait_for_url("**/survey?place=seat")
    expect(one.locator("textarea")).to_have_value("Clamp is green.")
    two.click("text=Save the note")
    expect(two.locator("#conflict")).to_contain_text("Saved elsewhere meanwhile")
    expect(two.locator(".diff")).to_contain_text("Clamp is green.")
    expect(two.locator("textarea")).to_have_value("Clamp is loose.")
    two.fill("textarea", "Clamp is green and loose.")
    two.click("text=Put mine on top of theirs")
    expect(two.locator("textarea")).to_have_value("Clamp is green and loose.")
    expect(two.locator("#conflict")).to_have_count(0)


def test_what_is_pressed_on_a_phone_in_the_vehicle_is_large_enough_for_gloves(
    opens: Opens, server: Server, trike: str
) -> None:
    """Survey, findings and faults: every link, button and field outside the drawing is at least 48 px high."""
    low = """[..."a button select input:not([type=hidden]) summary".split(" ")]
        .flatMap((kind) => [...document.querySelectorAll(`main ${kind}`)])
        .filter((e) => !e.closest("svg") && e.getClientRects().length && e.getBoundingClientRect().height < 48)
        .map((e) => e.outerHTML.slice(0, 120))"""
    for part in ("survey", "findings", "faults"):
        page = settled(opens(f"{trike}/{part}", phone=True))
        assert page.evaluate(low) == [], part
        assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_refusal_comes_into_sight_where_its_form_is_long(opens: Opens, server: Server, small: str) -> None:
    page = settled(opens(f"{small}/rig?wire={a_wire(server, small)}"))
    page.fill("#sheet [name=length_mm]", "long")
    page.locator("#sheet button.main").scroll_into_view_if_needed()
    page.click("#sheet button.main")
    expect(page.locator("#sheet .refused")).to_contain_text("Type a number")
    expect(page.locator("#sheet .refused")).to_be_in_viewport()


def test_a_diagram_begins_at_its_first_item(opens: Opens, server: Server, trike: str) -> None:
    page = settled(opens(f"{trike}/faults", phone=True))
    first = """(() => { const box = document.querySelector("#diagram .drawing").getBoundingClientRect();
        const rooms = [...document.querySelectorAll("#diagram g.item")].map((g) => g.getBoundingClientRect());
        const one = rooms.reduce((a, b) => (b.left < a.left ? b : a));
        return one.top >= box.top && one.bottom <= box.bottom && one.left >= box.left; })()"""
    assert page.evaluate(first)
