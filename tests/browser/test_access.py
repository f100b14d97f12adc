"""Every page, in both themes and on both screens: no barrier, no sideways scrolling, targets a glove can hit."""

from __future__ import annotations

import pytest

from tests.browser.conftest import Opens, Server, settled, violations

PAGES = ("survey", "rig", "rig?wire=A7", "rig?item=bass_amp", "rig?add=item", "rig?add=run", "rig?view=signals",
         "rig?start=battery.plus", "rig?run=battery_box.rear_deck", "rig?place=engine", "rig?table=about",
         "rig?table=vehicle", "findings?n=1", "faults", "faults?where=A7", "power?engine=idle&programme=loud",
         "compare", "papers", "sound?channel=horn_amp.ch1", "sound/crossover?driver=front_left&kind=band-pass",
         "sound/joining?driver=front_left&driver=front_right&on=bass_amp.ch1", "sound/switching?turn=off")  # fmt: skip
SHOP = ("catalogue", "catalogue?copy=agm_20ah&find=agm", "stock", "stock?add=wire", "stock?add=fuse")

LOW = """[...document.querySelectorAll("button, .button, .rails a, select, summary, textarea,"
    + "input:not([type=hidden], [type=radio], [type=checkbox])")]
    .filter((e) => e.offsetParent && e.getBoundingClientRect().height < 47.5).map((e) => e.outerHTML.slice(0, 120))"""


@pytest.mark.parametrize("night", [False, True], ids=["paper", "night"])
def test_no_page_has_a_barrier(opens: Opens, server: Server, trike: str, axe: str, night: bool) -> None:
    page = opens(f"{server.url}/jobs", night=night)
    found = {"jobs": violations(page, axe)}
    page.goto(f"{server.url}/settings")
    found["settings"] = violations(page, axe)
    for name in SHOP:
        page.goto(f"{server.url}/settings/{name}")
        found[name] = violations(page, axe)
    page.goto(f"{server.url}/pair")
    found["pair"] = violations(page, axe)
    page.goto(f"{server.url}/jobs/nothing")
    found["failure"] = violations(page, axe)
    for name in PAGES:
        page.goto(f"{trike}/{name}")
        settled(page)
        found[name] = violations(page, axe)
    page.goto(trike.replace("as-found", "as-built") + "/rig")
    found["empty stage"] = violations(page, axe)
    assert {k: v for k, v in found.items() if v} == {}


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
