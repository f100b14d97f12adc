"""The loom page: wires, bundles, disconnects and the cutting plan of one rig; edits keep the file; data beside it."""

from __future__ import annotations

import csv
import io
import re
from typing import Any

import pytest

from loomwright import demo
from loomwright.jobs.ledger import now
from loomwright.jobs.model import StockLine
from loomwright.rig.file import parse
from tests.findings.bases import TRIKE, spoiled
from tests.findings.edits import wire

PLANNED = demo.text("carnival_trike_planned")


def stock(browser: Any, *spools: tuple[str, str, float], **more: Any) -> None:
    for size, colour, length_mm in spools:
        browser.bench.store.add_stock(
            StockLine("", "wire", 0, now(), size=size, metal="copper", insulation_c=125, colour=colour,
                      length_mm=length_mm, **more)
        )  # fmt: skip


def data(browser: Any, url: str, query: str = "") -> Any:
    return browser.data(f"{url}/loom.json{query}")["data"]


def listed(page: str) -> list[str]:
    """Wires in the list, in its order."""
    table = page[page.index('id="tables"'):page.index('id="bundles"')]
    return re.findall(r'<tr data-ref="([^"]+)"', table)


class TestThePage:
    def test_it_shows_every_wire_bundle_and_connector_of_the_rig(self, browser: Any) -> None:
        url = browser.job(PLANNED)
        page = browser.page(f"{url}/loom")
        found = data(browser, url)
        loom = found["loom"]
        assert listed(page) == [w["id"] for w in loom["wires"]]
        assert page.count('<figure class="section"') == len(loom["bundles"]) == 6
        for b in loom["bundles"]:
            section = page[page.index(f"Section of the bundle {' to '.join(b['between'])}"):]
            section = section[:section.index("</figure>")]
            assert set(re.findall(r'data-ref="([^"]+)" class="wire"', section)) == set(b["wires"])
        for d in loom["disconnects"]:
            assert f'<article class="disconnect" data-item="{d["id"]}"' in page
        assert f"{len(loom['ring_out']['joined'])} pairs that must connect" in page

    def test_a_strip_of_half_a_millimetre_is_said_in_full(self, browser: Any) -> None:
        url = browser.job(PLANNED)
        ends = [e for w in data(browser, url)["loom"]["wires"] if w["id"] == "S4" for e in w["ends"]]
        assert 6.5 in {e["strip_mm"] for e in ends}
        row = browser.page(f"{url}/loom")
        row = row[row.index('<tr data-ref="S4"'):]
        assert ", strip 6.5" in row[:row.index("</tr>")]

    def test_sections_are_to_scale(self, browser: Any) -> None:
        """Three millimetres drawn for each of the bundle, every wire at its own diameter."""
        url = browser.job(PLANNED)
        page = browser.page(f"{url}/loom")
        bundle = data(browser, url)["loom"]["bundles"][0]
        section = page[page.index('<figure class="section"'):]
        for placed in bundle["section"]:
            group = section[section.index(f'data-ref="{placed["wire"]}"'):]
            radius = float(re.search(r' r="([\d.]+)"', group)[1])  # type: ignore[index]
            assert radius == pytest.approx(3.0 * placed["diameter_mm"] / 2.0, abs=0.001)

    def test_a_chosen_wire_is_marked_and_told_of(self, browser: Any) -> None:
        url = browser.job(PLANNED)
        page = browser.page(f"{url}/loom?wire=S4")
        assert '<tr data-ref="S4" class="chosen">' in page
        assert "<h2>Wire S4</h2>" in page
        assert "&#34;S4&#34;: &#34;chosen&#34;" in page
        cut = next(w for w in data(browser, url)["loom"]["wires"] if w["id"] == "S4")["cut_mm"]
        assert f'<p class="figure">{cut:.0f}<span class="unit">mm</span>' in page

    @pytest.mark.parametrize("query", ["wire=nothing", "run=a.b", "place=moon", "item=nobody"])
    def test_what_is_not_there_is_said(self, browser: Any, small: str, query: str) -> None:
        assert "go back to the" in browser.page(f"{browser.job(small)}/loom?{query}", 404)

    def test_words_narrow_the_list_and_a_column_orders_it(self, browser: Any) -> None:
        url = browser.job(PLANNED)
        wires = {w["id"]: w for w in data(browser, url)["loom"]["wires"]}
        found = listed(browser.page(f"{url}/loom?find=FRONT_left+bkwh"))
        by_hand = [i for i, w in wires.items() if w["colour"] == "BKWH" and "front_left" in w["start"] + w["end"]]
        assert found == by_hand == ["S4"]
        assert "No wire holds these words" in browser.page(f"{url}/loom?find=purple+rain")
        lengths = [wires[i]["cut_mm"] for i in listed(browser.page(f"{url}/loom?sort=-cut"))]
        assert lengths == sorted(lengths, reverse=True)
        names = listed(browser.page(f"{url}/loom?sort=wire"))
        assert names.index("P2") < names.index("P10")

    def test_a_run_goes_by_its_places_or_its_number(self, browser: Any) -> None:
        url = browser.job(PLANNED)
        for run in ("battery_box.rear_deck", "1"):
            page = browser.page(f"{url}/loom?run={run}")
            assert "Run battery_box to rear_deck" in page
            assert "hole that battery_box to rear_deck needs" in page

    def test_a_rig_that_is_not_whole_says_what_is_still_to_do(self, browser: Any) -> None:
        url = browser.send("/jobs", {"title": "From nothing"}).removesuffix("/rig")
        page = browser.page(f"{url}/loom")
        assert "when the rig is whole" in page
        assert data(browser, url)["loom"] is None

    def test_findings_stand_at_their_places(self, browser: Any, small: str) -> None:
        rig = parse(small, "x")
        feed = next(w for w in rig.wires if w.kind == "ground" and w.size and w.size.system == "AWG")
        url = browser.job(small)
        browser.send(f"{url}/wire", {"wire": feed.id, "size": feed.size.label, "colour": "RD", "based_on": 1})
        page = browser.page(f"{url}/loom?wire={feed.id}")
        row = page[page.index(f'<tr data-ref="{feed.id}"'):]
        assert "Fix: Colour that says the opposite" in row[:row.index("</tr>")]


class TestEdits:
    def fields(self, browser: Any, url: str, **more: Any) -> dict[str, Any]:
        number = data(browser, url)["rig"]["revision"]
        return {"based_on": number, "back": "loom", "units": "mm C", **more}

    def test_way_length_colour_and_label_are_saved_and_undone(self, browser: Any) -> None:
        ring = ('run = [\n', 'run = [\n  { between = ["case", "bars"], length_mm = 4000 },\n')
        text = spoiled(TRIKE, ring)
        url = browser.job(text)
        start = browser.text(url)
        given = self.fields(browser, url, wire="P6", size="16 AWG", via="case", colour="RD", id="P60", length_mm="5000")
        assert browser.send(f"{url}/wire", given) == f"{url}/loom?wire=P60"
        made = parse(browser.text(url), "x").wire("P60")
        assert (made.via, made.colour, made.length_mm) == (("case",), "RD", 5000.0)
        assert browser.send(f"{url}/undo", {"back": "loom"}) == f"{url}/loom"
        assert browser.text(url) == start

    def test_a_way_that_cannot_be_is_refused_on_this_page(self, browser: Any) -> None:
        url = browser.job(TRIKE)
        given = self.fields(browser, url, wire="P6", size="16 AWG", via="engine")
        page = browser.send(f"{url}/wire", given, 422)
        assert "Not saved" in page
        assert 'value="engine"' in page
        assert 'id="bundles"' in page

    def test_sleeve_and_hole_of_a_run_and_slack_of_a_place(self, browser: Any) -> None:
        url = browser.job(TRIKE)
        given = self.fields(browser, url, run="seat.bars", between=["seat", "bars"], length_mm="1200",
                            hazards=["moving"], cover=["convoluted tube"], hole_mm="30")  # fmt: skip
        assert browser.send(f"{url}/run", given) == f"{url}/loom?run=seat.bars"
        given = self.fields(browser, url, place="bars", name="bars", wet="yes", slack_mm="120")
        assert browser.send(f"{url}/place", given) == f"{url}/loom?place=bars"
        rig = parse(browser.text(url), "x")
        assert (rig.runs[1].cover, rig.runs[1].hole_mm) == (("convoluted tube",), 30.0)
        assert rig.places["bars"].slack_mm == 120.0
        assert rig.wire("P6").length_mm == 2100.0 + 40.0 + 120.0

    def test_the_second_of_two_is_shown_the_difference_on_this_page(self, browser: Any) -> None:
        url = browser.job(TRIKE)
        first = self.fields(browser, url, wire="P6", size="16 AWG", colour="RD")
        second = self.fields(browser, url, wire="P6", size="16 AWG", colour="OG")
        browser.send(f"{url}/wire", first)
        page = browser.send(f"{url}/wire", second, 409)
        assert "Saved elsewhere meanwhile" in page
        assert f'href="{url}/loom">Leave theirs' in page
        assert '<input type="hidden" name="back" value="loom">' in page


class TestStock:
    def test_the_plan_cuts_from_the_shop(self, browser: Any) -> None:
        url = browser.job(PLANNED)
        before = data(browser, url)
        assert before["cutting_plan"] is None
        assert "No wire in the stock" in browser.page(f"{url}/loom")
        stock(browser, ("16 AWG", "WH", 60_000.0), ("16 AWG", "BKWH", 3000.0))
        after = data(browser, url)
        white = {w["id"] for w in after["loom"]["wires"] if (w["size"], w["colour"]) == ("16 AWG", "WH")}
        cut = {c["spool"]: c for c in after["cutting_plan"]["cuts"]}
        assert white
        assert white == set(cut["16 AWG white"]["wires"])
        assert cut["16 AWG white"]["used_mm"] + cut["16 AWG white"]["remnant_mm"] == 60_000.0
        assert cut["16 AWG black and white"]["used_mm"] <= 3000.0
        assert after["cutting_plan"]["proven"] is True
        assert not white & {w for b in after["wire_to_buy"] for w in b["wires"]}
        page = browser.page(f"{url}/loom")
        assert "proven, no plan opens less" in page

    def test_what_is_left_aside_is_said(self, browser: Any) -> None:
        url = browser.job(PLANNED)
        stock(browser, ("14 AWG", "", 5000.0), part="speaker_pair_14awg_tinned", note="pair on the wall")
        assert "pair on the wall: 2 conductors in one jacket." in browser.page(f"{url}/loom")


class TestFiles:
    def test_every_table_is_there_and_starts_no_formula(self, browser: Any) -> None:
        url = browser.job(PLANNED)
        stock(browser, ("16 AWG", "WH", 60_000.0), note="=HYPERLINK(1)")
        for name in ("cut_list", "bundles", "pinouts", "ring_out", "labels", "cutting_plan", "shopping"):
            answer = browser.client.get(f"{url}/loom/tables/{name}.csv")
            assert answer.status_code == 200
            assert answer.headers["content-type"] == "text/csv; charset=utf-8"
            assert answer.headers["content-disposition"] == f'attachment; filename="{name}.csv"'
            rows = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
            assert len(rows) > 1
            assert not any(cell.startswith(("=", "@")) for row in rows for cell in row)

    def test_labels_by_dimension(self, browser: Any) -> None:
        url = browser.job(PLANNED)
        answer = browser.client.get(f"{url}/loom/labels.pdf?label=63.5x38.1%2B2.5x0")
        assert answer.content.startswith(b"%PDF")
        refused = browser.client.get(f"{url}/loom/labels.pdf?label=tiny")
        assert refused.status_code == 422
        assert "Measure one label" in refused.text

    def test_a_plan_without_stock_is_not_there(self, browser: Any) -> None:
        answer = browser.client.get(f"{browser.job(PLANNED)}/loom/tables/cutting_plan.csv")
        assert answer.status_code == 404
        assert "stock" in answer.text


@pytest.mark.parametrize("evil", ["<b>&'\"", "=cmd", "x" * 60, "שלום"])
def test_a_name_is_data(browser: Any, evil: str) -> None:
    url = browser.job(spoiled(TRIKE, wire(TRIKE, "P6", 'id = "P6"', f'id = {toml(evil)}')))
    page = browser.page(f"{url}/loom")
    assert "<b>&'" not in page
    assert evil in [w["id"] for w in data(browser, url)["loom"]["wires"]]


def toml(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
