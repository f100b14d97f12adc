"""Build mode in a real browser: with a connection, without one, over a restart of the server, on two phones."""

from __future__ import annotations

import io
import json
import urllib.request
from typing import Any

from PIL import Image
from playwright.sync_api import Page, expect

from loomwright.jobs.acts import standings
from loomwright.jobs.store import Store, url_in
from tests.browser.conftest import WAIT_MS, Opens, Server, settled
from tests.browser.test_access import LOW, Looker, looker

__all__ = ["looker"]
SAVED = "All saved."
OPEN_SHOWN = """document.querySelectorAll("article:not([hidden]) details, #acts details, #all")
    .forEach((d) => { d.open = true; })"""


def begun(page: Page) -> Page:
    """The page, once its script has read what the phone holds."""
    settled(page)
    page.locator("#build[data-ready]").wait_for(timeout=2 * WAIT_MS)
    return page


def kept(page: Page) -> Page:
    """The page, once the phone can load it without a connection."""
    begun(page).locator("#build[data-kept]").wait_for()
    return page


def plan(url: str) -> list[dict[str, Any]]:
    with urllib.request.urlopen(f"{url}/build.json") as answer:
        steps: list[dict[str, Any]] = json.load(answer)["data"]["plan"]["steps"]
    return steps


def acts(server: Server, url: str) -> Any:
    job = url.split("/jobs/")[1].split("/")[0]
    with Store(url_in(server.folder)) as store:
        return store.acts(job, "planned")


def tick(page: Page, by: str = "Ada") -> None:
    page.fill("#tick [name=by]", by)
    page.click("#done")
    expect(page.locator("#log")).to_contain_text(f"Done by {by}")


def sign(page: Page, by: str = "Ben") -> None:
    page.fill("#sign [name=by]", by)
    page.click("#sign button")
    expect(page.locator("#log")).to_contain_text(f"Signed by {by}")


def follow(page: Page) -> None:
    """To the next step."""
    before = page.locator("article.step:visible").get_attribute("data-number")
    page.click("#next")
    expect(page.locator("article.step:visible")).not_to_have_attribute("data-number", str(before))


def test_thirty_ticks_made_offline_survive_a_restart_and_a_reload(opens: Opens, server: Server, small: str) -> None:
    page = kept(opens(f"{small}/build", phone=True))
    steps = plan(small)
    page.context.set_offline(True)
    server.kill()
    for n in range(30):
        tick(page)
        if steps[n]["gate"]:
            sign(page)
        if n == 17:  # the battery of the phone ran out
            page.reload()
            begun(page)
            assert page.locator("article.step:visible").get_attribute("data-step") == steps[n]["id"]
        follow(page)
    waiting = 30 + sum(bool(s["gate"]) for s in steps[:30])
    expect(page.locator("#queue")).to_contain_text(f"{waiting} waiting, kept on this phone")
    expect(page.locator("#count")).to_have_text("30")
    server.start()
    page.context.set_offline(False)
    expect(page.locator("#queue")).to_have_text(SAVED, timeout=2 * WAIT_MS)
    found = acts(server, small)
    assert [a.step for a in found if a.kind == "done"] == [s["id"] for s in steps[:30]]
    assert len({a.id for a in found}) == len(found) == waiting
    assert [a.at for a in found] == sorted(a.at for a in found)
    page.reload()
    begun(page)
    expect(page.locator("#count")).to_have_text("30")


def test_a_lost_answer_doubles_nothing(opens: Opens, server: Server, small: str) -> None:
    """The server has kept the tick and its answer never came: it is sent again and kept once."""
    page = begun(opens(f"{small}/build", phone=True))
    lost: list[int] = []

    def lose(route: Any) -> None:
        answer = route.fetch()
        if len(lost) < 2:
            lost.append(answer.status)
            route.abort()
        else:
            route.fulfill(response=answer)

    page.context.route("**/build/act", lose)
    tick(page)
    expect(page.locator("#queue")).to_have_text(SAVED)
    assert lost == [200, 200]
    assert len(acts(server, small)) == 1
    page.context.unroute("**/build/act")


def test_a_measured_step_with_photograph_gate_and_undo(opens: Opens, server: Server, small: str) -> None:
    page = begun(opens(f"{small}/build?step=isolate:dead", phone=True))
    form = page.locator("article.step:visible form.measure")
    form.locator("[name=value]").fill("12,4")
    form.locator("button").first.click()
    expect(form.locator(".readings")).to_contain_text("too high")
    form.locator("[name=value]").fill("0.02")
    form.locator("button").first.click()
    expect(form.locator(".readings")).to_contain_text("as predicted")
    out = io.BytesIO()
    Image.new("RGB", (320, 240), "#a86").save(out, "JPEG")
    page.get_by_text("Photograph or note").click()
    page.set_input_files("#photo [name=file]", {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()})
    page.click("#photo button")
    tick(page)
    page.fill("#sign [name=by]", " ada ")
    page.click("#sign button")
    assert page.evaluate("document.querySelector('#sign [name=by]').validationMessage") != ""
    sign(page)
    expect(page.locator("#queue")).to_have_text(SAVED)
    expect(page.locator("#log img")).to_have_js_property("complete", True)
    page.locator("#log li", has_text="Done by").get_by_role("button").click()
    expect(page.locator("#log")).not_to_contain_text("Done by")
    expect(page.locator("#queue")).to_have_text(SAVED)
    found = standings(acts(server, small))["isolate:dead"]
    assert [r.value for r in found.readings] == [12.4, 0.02]
    assert (found.done, len(found.photos)) == ((), 1)


def test_a_step_waits_for_the_gate_before_it(opens: Opens, small: str) -> None:
    page = begun(opens(f"{small}/build?step=sign:before power", phone=True))
    expect(page.locator("#blocked")).to_contain_text("A second person has not signed")
    expect(page.locator("#done")).to_be_disabled()
    page.locator("#blocked a").first.click()
    expect(page.locator("article.step:visible")).to_have_attribute("data-step", "isolate:dead")


def test_two_phones_tick_one_step_and_both_ticks_are_shown(opens: Opens, server: Server, small: str) -> None:
    one = kept(opens(f"{small}/build", phone=True))
    two = kept(opens(f"{small}/build", phone=True))
    for phone, name in ((one, "Ada"), (two, "Ben")):
        phone.context.set_offline(True)
        tick(phone, name)
    for phone in (one, two):
        phone.context.set_offline(False)
    for phone in (one, two):
        expect(phone.locator("#queue")).to_have_text(SAVED, timeout=WAIT_MS)
        expect(phone.locator("#log")).to_contain_text("Done by Ada", timeout=WAIT_MS)
        expect(phone.locator("#log")).to_contain_text("Done by Ben", timeout=WAIT_MS)
        expect(phone.locator("#twice")).to_be_visible()
    assert {a.by for a in acts(server, small)} == {"Ada", "Ben"}


def test_it_goes_on_where_it_was_left(opens: Opens, small: str) -> None:
    page = begun(opens(f"{small}/build", phone=True))
    tick(page)
    follow(page)
    left = page.locator("article.step:visible").get_attribute("data-step")
    assert left is not None
    page.goto(f"{small}/papers")
    page.goto(f"{small}/build")
    begun(page)
    assert page.locator("article.step:visible").get_attribute("data-step") == left
    other = begun(opens(f"{small}/build", phone=True))  # another phone: the first step that is not done
    assert other.locator("article.step:visible").get_attribute("data-step") == left


def test_what_the_server_refuses_is_shown_and_holds_nothing_up(opens: Opens, server: Server, small: str) -> None:
    page = kept(opens(f"{small}/build", phone=True))
    page.context.set_offline(True)
    page.get_by_text("Photograph or note").click()
    page.set_input_files("#photo [name=file]", {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"no picture"})
    page.click("#photo button")
    tick(page)
    page.context.set_offline(False)
    expect(page.locator("#queue")).to_have_text(SAVED, timeout=WAIT_MS)
    expect(page.locator("#refusals li")).to_have_count(1)
    assert [a.kind for a in acts(server, small)] == ["done"]
    page.locator("#refusals").get_by_text("Leave it out").click()
    expect(page.locator("#refusals")).to_be_hidden()


def test_where_a_browser_keeps_no_page_it_says_to_leave_it_open(opens: Opens, server: Server, small: str) -> None:
    """Over plain http in the workshop there is no service worker: what is done waits all the same."""
    page = begun(opens(f"{small}/build", phone=True))
    page.add_init_script("Object.defineProperty(navigator, 'serviceWorker', { value: undefined })")
    page.reload()
    begun(page)
    page.context.set_offline(True)
    tick(page)
    expect(page.locator("#queue")).to_contain_text("1 waiting, kept on this phone. Leave this page open.")
    page.context.set_offline(False)
    expect(page.locator("#queue")).to_have_text(SAVED, timeout=WAIT_MS)
    assert len(acts(server, small)) == 1


def test_the_keyboard_alone_ticks_a_step_and_goes_on(opens: Opens, small: str) -> None:
    page = begun(opens(f"{small}/build"))
    page.focus("#tick [name=by]")
    page.keyboard.type("Ada")
    page.keyboard.press("Enter")
    expect(page.locator("#log")).to_contain_text("Done by Ada")
    expect(page.locator("#next")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("article.step:visible h2")).to_be_focused()
    page.keyboard.press("ArrowLeft")
    expect(page.locator("article.step:visible")).to_have_attribute("data-number", "1")


def test_the_drawing_stands_at_the_wire_and_can_be_read(opens: Opens, server: Server, small: str) -> None:
    page = begun(opens(f"{small}/build", phone=True))
    steps = plan(small)
    step = next(s for s in steps if s["id"].startswith("power:"))
    page.goto(f"{small}/build?step={step['id']}")
    begun(page)
    box = page.locator("article.step:visible .near")
    wire = step["wires"][0]
    group = box.locator(f'g.wire.chosen[data-ref="{wire}"]')
    expect(group).to_have_count(1)
    seen, room = group.bounding_box(), box.bounding_box()
    assert seen is not None
    assert room is not None
    for at, size in (("x", "width"), ("y", "height")):
        assert seen[at] < room[at] + room[size]
        assert seen[at] + seen[size] > room[at]
    tall = page.evaluate("document.querySelector('article:not([hidden]) .near text').getBoundingClientRect().height")
    assert tall >= 10


def test_drawings_come_beside_the_page_and_are_there_without_a_connection(
    opens: Opens, server: Server, small: str
) -> None:
    """The page does not carry them; after its first visit all are kept, also of steps that were not looked at."""
    page = kept(opens(f"{small}/build", phone=True))
    assert "<svg" not in page.evaluate("fetch(location.href).then((a) => a.text())").partition('id="build"')[2]
    step = next(s for s in plan(small) if s["id"].startswith("power:"))
    page.context.set_offline(True)
    server.kill()
    page.goto(f"{small}/build?step={step['id']}")
    begun(page)
    expect(page.locator(f'article.step:visible .near g.wire.chosen[data-ref="{step["wires"][0]}"]')).to_have_count(1)
    server.start()
    page.context.set_offline(False)


def test_a_drawing_that_could_not_be_fetched_comes_with_the_connection(opens: Opens, small: str) -> None:
    page = begun(opens(f"{small}/build?step=isolate:dead", phone=True))
    page.add_init_script("Object.defineProperty(navigator, 'serviceWorker', { value: undefined })")
    page.context.route("**/build/sheets/**", lambda route: route.abort())
    step = next(s for s in plan(small) if s["id"].startswith("power:"))
    page.goto(f"{small}/build?step={step['id']}")
    begun(page)
    expect(page.locator("article.step:visible .look")).to_contain_text("comes with the connection")
    page.context.unroute("**/build/sheets/**")
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("article.step:visible .near")).to_be_visible()


def test_the_build_page_has_no_barrier(opens: Opens, server: Server, small: str, looker: Looker) -> None:
    page = kept(opens(f"{small}/build?step=isolate:dead", phone=True))
    form = page.locator("article.step:visible form.measure")
    form.locator("[name=value]").fill("9")
    form.locator("button").first.click()
    tick(page)
    page.context.set_offline(True)
    sign(page)
    page.evaluate(OPEN_SHOWN)
    looker.look(page, "a gate signed without a connection")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.evaluate(LOW) == []
    page.context.set_offline(False)
    expect(page.locator("#queue")).to_have_text(SAVED, timeout=WAIT_MS)
    steps = plan(small)
    for kind in ("make:", "ring:", "land:", "power:"):
        step = next(s["id"] for s in steps if s["id"].startswith(kind))
        page.goto(f"{small}/build?step={step}")
        begun(page)
        page.evaluate(OPEN_SHOWN)
        looker.look(page, step)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, step
        assert page.evaluate(LOW) == [], step
    assert looker.found == {}
