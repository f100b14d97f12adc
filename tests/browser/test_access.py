"""Every page and its main states, in both themes and on both screens: no barrier, no sideways scrolling, targets a
glove can hit. A page is loaded once and looked at four ways."""

from __future__ import annotations

import io

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from loomwright import demo
from loomwright.cli import samples
from loomwright.rig import edit
from loomwright.rig.file import parse
from tests.browser.conftest import ROOT, WAIT_MS, Opens, Server, settled, violations

PAGES = ("survey", "rig", "rig?wire=A7", "rig?item=bass_amp", "rig?add=item", "rig?add=run", "rig?view=signals",
         "rig?start=battery.plus", "rig?run=battery_box.rear_deck", "rig?place=engine", "rig?table=about",
         "rig?table=vehicle", "findings?n=1", "faults", "faults?where=A7", "power?engine=idle&programme=loud",
         "compare", "papers", "build", "build?step=mark:vehicle",
         "sound?channel=horn_amp.ch1", "sound/crossover?driver=front_left&kind=band-pass",
         "sound/joining?driver=front_left&driver=front_right&on=bass_amp.ch1", "sound/switching?turn=off",
         "loom?wire=A7", "loom?run=battery_box.rear_deck", "loom?item=right_signal&find=red")  # fmt: skip
ELSEWHERE = ("list", "advice")
"""Looked at in ``test_drafting``, on rigs that are quickly worked out."""
SHOP = ("catalogue", "catalogue?copy=agm_20ah&find=agm", "stock", "stock?add=wire", "stock?add=fuse")
SCREENS = ({"width": 1280, "height": 800}, {"width": 390, "height": 844})
OPEN_ALL = "document.querySelectorAll('details').forEach((d) => { d.open = true; })"

LOW = """[...document.querySelectorAll("button, .button, .rails a, select, summary, textarea,"
    + "input:not([type=hidden], [type=radio], [type=checkbox])")]
    .filter((e) => e.offsetParent && e.getBoundingClientRect().height < 47.5).map((e) => e.outerHTML.slice(0, 120))"""


class Looker:
    """Asks the checker about the page as it stands, in each theme and on each screen, and keeps the answers.

    What does not hang on colours is the same at night: there it is asked about colours only.
    """

    def __init__(self, axe: str) -> None:
        self.axe = axe
        self.found: dict[str, list[str]] = {}

    def look(self, page: Page, state: str, within: str = "") -> None:
        before = page.viewport_size
        for size in SCREENS:
            page.set_viewport_size(size)  # type: ignore[arg-type]
            for theme in ("light", "dark"):
                page.emulate_media(color_scheme=theme, reduced_motion="reduce")  # type: ignore[arg-type]
                found = violations(page, self.axe, within, colours=theme == "dark")
                if found:
                    self.found[f"{state}, {theme}, {size['width']} px"] = found
        assert before is not None
        page.set_viewport_size(before)


@pytest.fixture
def looker(axe: str) -> Looker:
    return Looker(axe)


def test_no_page_of_the_shop_has_a_barrier(opens: Opens, server: Server, trike: str, looker: Looker) -> None:
    page = opens(f"{server.url}/jobs")
    page.evaluate(OPEN_ALL)
    looker.look(page, "jobs, all open")
    for name in ("settings", *(f"settings/{n}" for n in SHOP), "pair", "jobs/nothing"):
        page.goto(f"{server.url}/{name}")
        looker.look(page, name)
    page.goto(trike.replace("as-found", "as-built") + "/rig")
    looker.look(page, "empty stage")
    assert looker.found == {}


def test_no_page_of_a_job_has_a_barrier(opens: Opens, trike: str, looker: Looker) -> None:
    page = settled(opens(f"{trike}/survey"))
    tabs = page.locator("nav.rails .tabs a").evaluate_all("(all) => all.map((a) => a.href.split('/').pop())")
    seen = {n.partition("?")[0] for n in PAGES}
    for name in (*PAGES, *(t for t in tabs if t not in (*seen, *ELSEWHERE))):
        page.goto(f"{trike}/{name}")
        settled(page)
        page.evaluate(OPEN_ALL)
        # A sheet is looked at alone: the rest is the same as the page without it.
        sheet = name.startswith(("rig?", "loom?wire", "loom?run")) and "view=" not in name
        looker.look(page, name, "#sheet" if sheet else "")
    assert looker.found == {}


def test_a_refused_edit_and_a_conflict_have_no_barrier(
    opens: Opens, server: Server, small: str, looker: Looker
) -> None:
    wires = parse(server.text(small), "x").wires
    wire = next(w.id for w in wires if w.kind == "power" and w.size and w.size.system != "bolted")
    page = settled(opens(f"{small}/rig?wire={wire}"))
    other = opens(f"{small}/rig?wire={wire}", context=page.context)
    page.fill("#sheet [name=length_mm]", "far")
    page.click("#sheet button.main")
    expect(page.locator("#sheet .refused")).to_be_visible()
    looker.look(page, "refused edit", "#sheet")
    page.fill("#sheet [name=length_mm]", "777")
    page.click("#sheet button.main")
    expect(page.locator("#tables")).to_contain_text("777")
    other.fill("#sheet [name=length_mm]", "888")
    other.click("#sheet button.main")
    expect(other.locator("#sheet h2")).to_have_text("Saved elsewhere meanwhile")
    looker.look(other, "conflict", "#sheet")
    assert looker.found == {}


def test_the_shops_own_catalogue_has_no_barrier(opens: Opens, server: Server, looker: Looker) -> None:
    page = opens(f"{server.url}/settings/catalogue?copy=agm_20ah&find=agm")
    text = page.input_value("textarea")
    page.fill("textarea", "[[battery")
    page.click("text=Check and save")
    expect(page.locator(".refused")).to_be_visible()
    looker.look(page, "refused catalogue")
    page.fill("textarea", text)
    page.click("text=Check and save")
    expect(page.locator(".done")).to_contain_text("Saved.")
    try:
        looker.look(page, "saved catalogue")
        page.goto(f"{server.url}/settings/catalogue?find=agm")
        looker.look(page, "the shop's parts among the others")
    finally:
        page.click("text=Put back the one before")
        page.wait_for_load_state()
    assert looker.found == {}


def test_a_wire_being_drawn_has_no_barrier(opens: Opens, server: Server, looker: Looker) -> None:
    url = server.job(edit.remove_wire(demo.text("carnival_trike_planned"), "P10"))
    page = settled(opens(f"{url}/rig"))
    page.locator('#diagram g.terminal[data-ref="block.out5"] .hit').first.click()
    expect(page.locator("#drawing-now [role=status]")).to_contain_text("Press where it ends")
    looker.look(page, "a wire begun")
    page.locator('#diagram g.terminal[data-ref="processor.supply+"] .hit').first.click()
    expect(page.locator("#sheet [name=to]")).to_have_value("processor.supply+")
    looker.look(page, "a wire with both its ends")
    assert looker.found == {}


def test_a_fault_that_is_played_has_no_barrier(opens: Opens, trike: str, looker: Looker) -> None:
    page = settled(opens(f"{trike}/faults?where=A7"))
    page.locator(".ways a").first.click()
    page.wait_for_url("**/faults?fault=*")
    settled(page)
    page.locator("#play").click()
    expect(page.locator("#steps button").last).to_have_attribute("aria-pressed", "true", timeout=WAIT_MS)
    looker.look(page, "a fault at its end")
    page.locator("#steps button").first.click()
    looker.look(page, "a fault at its beginning")
    assert looker.found == {}


def test_a_remedy_made_and_refused_has_no_barrier(opens: Opens, server: Server, looker: Looker) -> None:
    text = edit.set_wire(edit.set_fuse(samples.text(samples.BLANK), "block", 1, 40), "P3", size="18 AWG")
    page = settled(opens(f"{server.job(text)}/findings"))
    expect(page.locator("form.mend").first).to_be_visible()
    page.evaluate(OPEN_ALL)
    looker.look(page, "remedies offered")
    page.locator("form.mend button").first.click()
    page.wait_for_url("**/findings?mended=*")
    settled(page)
    looker.look(page, "remedy made")
    assert looker.found == {}


def test_work_under_way_and_stopped_has_no_barrier(opens: Opens, server: Server, looker: Looker) -> None:
    url = server.job(demo.text("canal_launch") + "\n# another\n")
    page = opens(f"{url}/power")
    task = page.locator("[data-task]").first.get_attribute("data-task")
    page.goto(f"{url}/tasks/{task}")
    looker.look(page, "work under way, or done")
    stop = page.get_by_role("button", name="Stop", exact=True)
    if stop.count():
        stop.click()
        page.wait_for_load_state()
        looker.look(page, "work stopped, or done")
    assert looker.found == {}


def test_a_marked_photograph_has_no_barrier(opens: Opens, small: str, looker: Looker) -> None:
    out = io.BytesIO()
    Image.new("RGB", (320, 240), "#777").save(out, "JPEG")
    page = settled(opens(f"{small}/survey?place=seat"))
    page.set_input_files("[name=file]", {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()})
    page.click("text=Keep it")
    page.evaluate(OPEN_ALL)
    page.locator("svg.photo").click()
    page.fill("[name=text] >> visible=true >> nth=0", "Chafed here")
    page.click("text=Mark it")
    expect(page.locator(".marks")).to_contain_text("Chafed here")
    page.evaluate(OPEN_ALL)
    looker.look(page, "a marked photograph")
    page.fill("[name=value]", "many")
    page.click("text=Note it")
    expect(page.locator(".refused")).to_be_visible()
    looker.look(page, "refused reading")
    assert looker.found == {}


def test_a_phone_page_does_not_scroll_sideways_and_its_targets_are_large(
    opens: Opens, server: Server, trike: str
) -> None:
    page = opens(f"{server.url}/jobs", phone=True)
    shop = [f"{server.url}/settings/{name}" for name in SHOP]
    urls = [f"{server.url}/jobs", f"{server.url}/settings", *shop, *(f"{trike}/{n}" for n in PAGES)]
    for url in urls:
        page.goto(url)
        if url.startswith(trike):
            settled(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, url
        low = page.evaluate(LOW)
        assert low == [], url


def test_long_names_push_no_phone_page_sideways_and_the_looms_links_are_large(opens: Opens, server: Server) -> None:
    text = (ROOT / "tests" / "findings" / "rigs" / "six_amplifiers.toml").read_text()
    url = server.job(text, title="Six amplifiers")
    page = opens(f"{url}/power", phone=True)
    for name in ("power", "sound", "sound/switching", "sound/joining", "loom"):
        page.goto(f"{url}/{name}")
        settled(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, name
    page.evaluate(OPEN_ALL)
    links = """[...document.querySelectorAll("main a[href]")]
        .filter((e) => e.checkVisibility() && !e.closest("svg") && e.getBoundingClientRect().height < 47.5)
        .map((e) => e.outerHTML.slice(0, 120))"""
    assert page.evaluate(links) == []
