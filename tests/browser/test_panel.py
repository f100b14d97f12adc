"""The panel in a browser: an item dragged with the rules live, moved by keys, placed for me; a corner dragged."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from loomwright import demo
from tests.browser.conftest import WAIT_MS, Opens, Server, settled
from tests.browser.test_access import LOW, Looker
from tests.trace.scenes import in_two_parts, usual

LAUNCH = demo.text("canal_launch")


@pytest.fixture(autouse=True)
def patient() -> Iterator[None]:
    """A busy machine answers later."""
    expect.set_options(timeout=WAIT_MS)
    yield
    expect.set_options(timeout=5_000)


@pytest.fixture
def panel(server: Server) -> str:
    return server.job(LAUNCH, title="Canal launch")


@pytest.fixture
def looker(axe: str) -> Looker:
    return Looker(axe)


def drag(page: Page, selector: str, by: tuple[int, int], drop: bool = True) -> None:
    place = page.locator(selector)
    place.scroll_into_view_if_needed()
    box = place.bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + by[0], y + by[1], steps=6)
    if drop:
        page.mouse.up()


def saved_at(server: Server, url: str, item: str) -> str:
    section = server.text(url).split(f"[item.{item}]")[1]
    return section.split("at_mm = ")[1].split("\n")[0]


def test_an_item_is_dragged_with_the_rules_live_and_undone(opens: Opens, server: Server, panel: str) -> None:
    page = opens(f"{panel}/panel")
    expect(page.locator("#rules-said")).to_have_text("Every rule is kept")
    drag(page, 'g.item[data-ref="processor"]', (60, 140), drop=False)
    expect(page.locator("#rules-said")).to_contain_text("broken")
    expect(page.locator("#rules-list")).to_contain_text("processor")
    expect(page.locator('g.item.breaks[data-ref="processor"]')).to_be_visible()
    assert saved_at(server, panel, "processor") == "[312, 92]"
    page.mouse.up()
    expect(page.locator('.board[data-revision="2"]')).to_be_visible()
    assert saved_at(server, panel, "processor") != "[312, 92]"
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#rules-said")).to_have_text("Every rule is kept")
    assert saved_at(server, panel, "processor") == "[312, 92]"


def test_keys_move_turn_and_open_an_item(opens: Opens, server: Server, panel: str) -> None:
    page = opens(f"{panel}/panel")
    item = page.locator('g.item[data-ref="processor"]')
    item.focus()
    for key in ("ArrowUp", "ArrowUp", "Shift+ArrowLeft", "Enter"):
        page.keyboard.press(key)
    expect(page.locator('.board[data-revision="2"]')).to_be_visible()
    assert saved_at(server, panel, "processor") == "[311, 82]"
    expect(page.locator('g.item[data-ref="processor"]')).to_be_focused()
    page.keyboard.press("r")
    expect(page.locator('.board[data-revision="3"]')).to_be_visible()
    assert "turn_deg = 90" in server.text(panel).split("[item.processor]")[1].split("[item.")[0]
    page.locator('g.item[data-ref="processor"]').focus()
    page.keyboard.press("Enter")
    expect(page.locator("#sheet h2").first).to_have_text("processor")
    expect(page.locator('#sheet input[name="at_mm"]')).to_have_value("311, 82")


def test_on_a_phone_an_item_is_chosen_by_touch_and_moved_by_buttons(opens: Opens, server: Server, panel: str) -> None:
    page = opens(f"{panel}/panel", phone=True)
    page.locator('g.item[data-ref="processor"]').click()
    expect(page.locator("#sheet h2").first).to_have_text("processor")
    button = page.get_by_role("button", name="Move processor 5 mm left")
    button.click()
    expect(page.locator('.board[data-revision="2"]')).to_be_visible()
    assert saved_at(server, panel, "processor") == "[307, 92]"
    expect(button).to_be_focused()
    assert page.evaluate(LOW) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_it_is_placed_for_me_and_can_be_stopped(opens: Opens, server: Server, panel: str) -> None:
    page = opens(f"{panel}/panel")
    page.get_by_role("button", name="Place for me").click()
    page.locator("#placing").get_by_role("button", name="Stop").click()
    expect(page.locator("#placing")).to_contain_text("Placing was stopped")
    page.get_by_role("button", name="Place for me").click()
    expect(page.locator("#placing progress")).to_be_visible()
    page.get_by_role("button", name="Put them there").click(timeout=120_000)
    expect(page.locator("#rules-said")).to_have_text("Every rule is kept")


def test_a_corner_of_a_traced_board_is_dragged_and_saved(
    opens: Opens, server: Server, panel: str, looker: Looker
) -> None:
    page = opens(f"{panel}/panel/outline?panel=fore")
    picture = {"name": "template.jpg", "mimeType": "image/jpeg", "buffer": usual()}
    page.set_input_files("input[type=file]", picture)  # type: ignore[arg-type]
    page.fill("input[name=thickness]", "3")
    page.get_by_role("button", name="Trace it").click()
    corner = page.locator("g.corner").nth(2)
    expect(corner).to_have_attribute("tabindex", "0", timeout=60_000)
    fields = page.locator("input[name=x]")
    before = float(fields.nth(2).input_value())
    drag(page, "g.corner >> nth=2", (30, 0))
    dragged = float(fields.nth(2).input_value())
    assert dragged > before + 5.0
    corner.focus()
    page.keyboard.press("Shift+ArrowRight")
    expect(fields.nth(2)).to_have_value(f"{dragged + 0.1:.1f}".removesuffix(".0"))
    page.keyboard.press("Escape")
    assert float(fields.nth(2).input_value()) == before
    settled(page)
    page.fill("input[name=covering]", "3")
    page.select_option("select[name=saw]", "board")
    looker.look(page, "outline")
    page.get_by_role("button", name="Make it the board").click()
    expect(page.locator("#rules-said")).to_contain_text("broken")
    assert "corners_mm" in server.text(panel)
    assert looker.found == {}


def test_two_photographs_of_a_large_board_are_given_at_once_and_joined(
    opens: Opens, server: Server, panel: str, looker: Looker
) -> None:
    page = opens(f"{panel}/panel/outline?panel=fore")
    ends = [{"name": f"{n}.jpg", "mimeType": "image/jpeg", "buffer": b} for n, b in enumerate(in_two_parts())]
    page.set_input_files("input[type=file]", ends)  # type: ignore[arg-type]
    page.fill("input[name=thickness]", "3")
    page.get_by_role("button", name="Trace it").click()
    expect(page.locator("#outlining")).to_contain_text("Joined with 1 further photograph", timeout=60_000)
    expect(page.locator("#sheet h2").first).to_contain_text("900")
    looker.look(page, "outline from two photographs")
    page.get_by_role("button", name="Make it the board").click()
    expect(page.locator("#rules-said")).to_be_visible()
    assert "corners_mm" in server.text(panel)
    assert looker.found == {}


def test_no_state_of_the_panel_has_a_barrier(opens: Opens, server: Server, panel: str, looker: Looker) -> None:
    page = opens(f"{panel}/panel")
    for query in ("", "?item=processor"):
        page.goto(f"{panel}/panel{query}")
        settled(page)
        page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        looker.look(page, f"panel{query}")
        assert page.evaluate(LOW) == []
    page.goto(f"{panel}/panel/sawing?panel=fore")
    settled(page)
    looker.look(page, "sawing")
    assert page.evaluate(LOW) == []
    page.goto(f"{panel}/panel/outline?panel=fore")
    settled(page)
    looker.look(page, "outline before a photograph")
    assert looker.found == {}
