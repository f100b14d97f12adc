"""The shop's settings, catalogue and stock in the browser."""

from __future__ import annotations

import html
import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright import demo
from loomwright.papers import cells
from loomwright.papers.cells import Column
from loomwright.rig.file import parse
from loomwright.web.units import Units, read

OWN = """format = 1

# The shop's own: data sheet of March.
[part.amp_own]
family = "amplifier"
title = "Amplifier of our own, 4 x 50 W"
amplifier_class = "D"
channels = 4
output_4ohm_w = 50
rated_v = 14.4
min_load_ohm = 2
supply = "stiff"
idle_a = 0.9
efficiency_full = 0.84
efficiency_eighth = 0.5
min_v = 9
remote_ma = 10
balanced_input = true
signal_ground_ohm = 200
"""
CATALOGUE = "/settings/catalogue"
STOCK = "/settings/stock"
WIRE = {"kind": "wire", "size": "8 AWG", "metal": "copper", "insulation_c": "105", "colour": "rd/bk",
        "length_mm": "18 500", "note": "shelf 2"}  # fmt: skip


def page_size_mm(pdf: bytes) -> tuple[int, int]:
    import io

    import pdfplumber

    with pdfplumber.open(io.BytesIO(pdf)) as document:
        page = document.pages[0]
        return round(page.width * 25.4 / 72), round(page.height * 25.4 / 72)


def test_the_look_belongs_to_the_browser(browser: Any) -> None:
    assert 'data-theme="auto"' in browser.page("/settings")
    browser.send("/settings/look", {"theme": "night"})
    assert 'data-theme="night"' in browser.page("/jobs")
    browser.send("/settings/look", {"theme": "pink"}, 422)


def test_the_shop_reads_inches_and_fahrenheit_and_the_file_keeps_millimetres(browser: Any, small: str) -> None:
    """1 in = 25.4 mm; 104 F = 40 C."""
    url = browser.job(small)
    browser.send("/settings", {"length_unit": "in", "temperature_unit": "F", "wire_size": "both", "sheet": "letter",
                               "based_on": "0"})  # fmt: skip
    assert browser.data("/settings.json")["data"]["shop"] == {
        "length_unit": "in", "temperature_unit": "F", "wire_size": "both", "sheet": "letter", "number": 1
    }  # fmt: skip
    page = browser.page(f"{url}/rig?add=place")
    assert 'name="units" value="in F"' in page
    assert "mm²" in page
    browser.send(f"{url}/place/add", {"name": "box", "temperature_c": "104", "units": "in F", "based_on": 1})
    here = next(iter(parse(small, "x").places))
    browser.send(f"{url}/run/add", {"between": [here, "box"], "length_mm": "17 3/4", "units": "in F", "based_on": 2})
    rig = parse(browser.text(url), "x")
    assert rig.places["box"].temperature_c == 40.0
    assert rig.runs[-1].length_mm == 450.85
    assert 'value="17.75"' in browser.page(f"{url}/rig?run={here}.box")
    assert browser.data(f"{url}/rig.json")["data"]["runs"][-1]["length_mm"] == 450.85


def test_a_page_says_nothing_in_the_units_that_the_shop_does_not_read(browser: Any) -> None:
    """What a reader sees of the findings, the drawings and the faults; a conductor's own size keeps its mm²."""
    url = browser.job(demo.text("carnival_trike_as_found"), "as found")
    browser.send("/settings", {"length_unit": "in", "temperature_unit": "F", "based_on": "0"})
    inches = 0
    for name in ("findings", "rig", "faults", "power", "survey", "loom"):
        seen = html.unescape(re.sub(r"<[^<>]*>", "\n", browser.page(f"{url}/{name}")))
        wrong = re.findall(r"[^\n]*\d[ \u2009\u00a0](?:mm(?!²)|cm|°C|kg)(?!\w)[^\n]*", seen)
        assert not wrong, (name, wrong[:5])
        inches += len(re.findall(r"\d[ \u2009\u00a0]in\b", seen))
    assert inches > 30


def test_papers_and_print_take_the_sheet_of_the_shop(browser: Any, small: str) -> None:
    """ISO 216: A4 is 210 x 297 mm. ANSI/ASME Y14.1: A is 8.5 x 11 in."""
    url = browser.job(small)
    assert page_size_mm(browser.client.get(f"{url}/papers/shopping_list.pdf").content) == (210, 297)
    assert "sheet_a4.css" in browser.page(f"{url}/papers")
    browser.send("/settings", {"sheet": "letter", "based_on": 0})
    assert page_size_mm(browser.client.get(f"{url}/papers/shopping_list.pdf").content) == (216, 279)
    assert "sheet_letter.css" in browser.page(f"{url}/papers")
    assert "letter" in browser.client.get("/static/now/sheet_letter.css").text


def test_the_pack_and_its_parts_are_in_the_units_of_the_shop(browser: Any, small: str) -> None:
    import pypdfium2

    def said(name: str) -> str:
        got = browser.client.get(f"{url}/papers/{name}")
        assert got.status_code == 200
        document = pypdfium2.PdfDocument(got.content)
        text = " ".join(page.get_textpage().get_text_range() for page in document)
        document.close()
        return text

    url = browser.job(small)
    assert "[mm]" in said("wire_list.pdf")
    browser.send("/settings", {"length_unit": "in", "temperature_unit": "F", "sheet": "letter", "based_on": 0})
    assert "[in]" in said("wire_list.pdf")
    whole = said("pack.pdf")
    assert "Lengths in inches, temperatures in degrees Fahrenheit" in whole
    assert "[mm]" not in whole
    assert browser.client.get(f"{url}/papers/no_such_part.pdf").status_code == 404


def test_a_setting_that_does_not_exist_is_refused(browser: Any) -> None:
    page = browser.send("/settings", {"length_unit": "ells", "based_on": 0}, 422)
    assert "Not saved" in page
    assert "length_unit" in page
    assert browser.data("/settings.json")["data"]["shop"]["number"] == 0


def test_the_second_to_save_settings_sees_the_first(browser: Any) -> None:
    browser.send("/settings", {"length_unit": "in", "based_on": 0})
    page = browser.send("/settings", {"sheet": "letter", "based_on": 0}, 409)
    assert "Saved elsewhere meanwhile" in page
    shop = browser.data("/settings.json")["data"]["shop"]
    assert (shop["length_unit"], shop["sheet"]) == ("in", "a4")
    browser.send("/settings", {"sheet": "letter", "based_on": shop["number"]})
    assert browser.data("/settings.json")["data"]["shop"]["sheet"] == "letter"


def test_the_shops_own_part_is_found_placed_and_worked_out(browser: Any, small: str) -> None:
    url = browser.job(small)
    amp = parse(small, "x").family("amplifier")[0]
    page = browser.send(f"{url}/item/add", {"item": "own", "part": "amp_own", "place": amp.place, "based_on": 1}, 422)
    assert "no part" in page
    browser.send(CATALOGUE, {"text": OWN, "based_on": 0})
    assert "Amplifier of our own" in browser.page(f"{url}/rig?add=item&find=of+our+own")
    browser.send(f"{url}/item/add", {"item": "own", "part": "amp_own", "place": amp.place, "based_on": 1})
    assert browser.data(f"{url}/rig.json")["data"]["items"][-1]["title"] == "Amplifier of our own, 4 x 50 W"
    assert "Draw a wire from own.ch4+" in browser.page(f"{url}/rig?item=own")
    found = browser.data(f"{CATALOGUE}.json?find=of+our+own")["data"]
    assert (found["own"]["parts"], [p["id"] for p in found["catalogue"]]) == (["amp_own"], ["amp_own"])
    assert browser.client.get("/settings/catalogue.toml").text == OWN


def test_the_shops_own_part_counts_before_the_built_in_one(browser: Any, small: str) -> None:
    url = browser.job(small)
    part = parse(small, "x").family("amplifier")[0].part
    before = browser.data(f"{url}/power.json")["data"]["power"]["cases"]
    page = browser.page(f"{CATALOGUE}?copy={part.id}")
    assert f"own_{part.id}" in page
    text = OWN.replace("amp_own", part.id).replace("channels = 4", f"channels = {part.spec.channels}")
    browser.send(CATALOGUE, {"text": text.replace("idle_a = 0.9", "idle_a = 5"), "based_on": 0})
    after = browser.data(f"{url}/power.json")["data"]["power"]["cases"]
    assert before != after
    browser.send(f"{CATALOGUE}/undo", {"based_on": 1})
    assert browser.data(f"{url}/power.json")["data"]["power"]["cases"] == before


@pytest.mark.parametrize(
    ("old", "new", "line", "remedy"),
    [
        ("rated_v = 14.4", "rated_v = 99", "line 10, part.amp_own.rated_v", "Lower it"),
        ("idle_a = 0.9", 'idle_a = "a little"', "line 13, part.amp_own.idle_a", "Write a number"),
        ("supply =", "suply =", "line 12, part.amp_own.suply", "Did you mean"),
        ("channels = 4", "channels = = 4", "line 8", "received"),
    ],
)
def test_a_broken_catalogue_names_line_and_remedy_and_changes_nothing(
    browser: Any, old: str, new: str, line: str, remedy: str
) -> None:
    browser.send(CATALOGUE, {"text": OWN, "based_on": 0})
    page = browser.send(CATALOGUE, {"text": OWN.replace(old, new), "based_on": 1}, 422)
    assert "Not saved" in page
    assert line in page
    assert remedy in page
    assert new.replace('"', "&#34;") in page
    assert browser.data(f"{CATALOGUE}.json")["data"]["own"]["text"] == OWN


def test_a_catalogue_comes_as_a_file(browser: Any) -> None:
    def send(content: bytes, status: int) -> str:
        form = {"write_token": browser.token, "based_on": browser.data(f"{CATALOGUE}.json")["data"]["own"]["number"]}
        answer = browser.client.post(f"{CATALOGUE}/file", data=form, files={"file": ("x.toml", content)},
                                     headers={"accept": "text/html"}, follow_redirects=False)  # fmt: skip
        assert answer.status_code == status, answer.text[:500]
        return str(answer.text)

    send(OWN.encode(), 303)
    assert browser.data(f"{CATALOGUE}.json")["data"]["own"]["text"] == OWN
    assert "UTF-8" in send(b"format = 1\n# \xff", 422)
    assert "Not saved" in send(b"\x00\x01", 422)
    send(b"x" * 1_000_001, 422)
    assert browser.data(f"{CATALOGUE}.json")["data"]["own"]["text"] == OWN


def test_the_second_to_save_the_catalogue_is_shown_the_difference(browser: Any) -> None:
    browser.send(CATALOGUE, {"text": OWN, "based_on": 0})
    mine = OWN.replace("50 W", "55 W")
    page = browser.send(CATALOGUE, {"text": mine, "based_on": 0}, 409)
    assert "Saved elsewhere meanwhile" in page
    assert "4 x 55 W" in page
    assert any(r.side and r.text == mine for r in browser.bench.store.shop_history("catalogue"))
    browser.send(CATALOGUE, {"text": mine, "based_on": 1})
    assert browser.data(f"{CATALOGUE}.json")["data"]["own"]["text"] == mine


def test_stock_is_added_changed_taken_off_and_brought_back(browser: Any) -> None:
    where = browser.send(f"{STOCK}/save", WIRE | {"length_mm": "18500"})
    browser.send(f"{STOCK}/save", {"kind": "fuse", "type": "C", "rating_a": "7,5", "count": "25"})
    browser.send(f"{STOCK}/save", {"kind": "connector", "part": "connector_2_sealed", "count": "12"})
    lines = browser.data(f"{STOCK}.json")["data"]["stock"]
    assert [line["kind"] for line in lines] == ["wire", "fuse", "connector"]
    wire = lines[0]
    assert where == f"{STOCK}?line={wire['id']}"
    assert (wire["size"], wire["colour"], wire["length_mm"], wire["insulation_c"]) == ("8 AWG", "RDBK", 18500.0, 105)
    page = browser.page(where)
    assert 'value="18500"' in page
    same = {"line": wire["id"], "number": wire["number"]}
    browser.send(f"{STOCK}/save", WIRE | same | {"length_mm": "100", "units": "in C"})
    assert browser.data(f"{STOCK}.json")["data"]["stock"][0]["length_mm"] == 2540.0
    page = browser.send(f"{STOCK}/save", WIRE | same | {"length_mm": "7777"}, 409)
    assert "Saved elsewhere meanwhile" in page
    assert 'value="7777"' in page
    back = browser.send(f"{STOCK}/remove", {"line": wire["id"]})
    assert len(browser.data(f"{STOCK}.json")["data"]["stock"]) == 2
    assert "Bring it back" in browser.page(back)
    browser.send(f"{STOCK}/restore", {"line": wire["id"]})
    assert browser.data(f"{STOCK}.json")["data"]["stock"][0]["length_mm"] == 2540.0


@pytest.mark.parametrize(
    ("field", "value"),
    [("size", "bolted"), ("size", "9 horses"), ("length_mm", "a lot"), ("length_mm", "-1"), ("colour", "XX"),
     ("metal", "gold"), ("insulation_c", "104"), ("length_mm", "")],
)  # fmt: skip
def test_stock_that_cannot_be_names_the_field_and_keeps_what_was_typed(browser: Any, field: str, value: str) -> None:
    page = browser.send(f"{STOCK}/save", WIRE | {"length_mm": "10", "note": "typed"} | {field: value}, 422)
    assert "Not saved" in page
    assert field in page
    assert 'value="typed"' in page
    assert browser.data(f"{STOCK}.json")["data"]["stock"] == []


SHEET = {
    "kind": "sheet", "material": "HDPE", "thickness_mm": "10", "length_mm": "1000", "width_mm": "500", "count": "2",
}  # fmt: skip


def test_a_sheet_of_board_is_noted_with_its_measures_and_changed(browser: Any) -> None:
    assert "Length, along the grain" in browser.page(f"{STOCK}?add=sheet")
    where = browser.send(f"{STOCK}/save", SHEET)
    (line,) = browser.data(f"{STOCK}.json")["data"]["stock"]
    assert (line["material"], line["thickness_mm"], line["length_mm"], line["width_mm"], line["count"]) == (
        "HDPE", 10.0, 1000.0, 500.0, 2
    )  # fmt: skip
    assert "HDPE, 10" in browser.page(where)
    same = {"line": line["id"], "number": line["number"], "units": "in C"}
    browser.send(f"{STOCK}/save", SHEET | same | {"thickness_mm": "0.5", "length_mm": "48", "width_mm": "24 in"})
    (line,) = browser.data(f"{STOCK}.json")["data"]["stock"]
    assert (line["thickness_mm"], line["length_mm"], line["width_mm"]) == pytest.approx((12.7, 1219.2, 609.6))


@pytest.mark.parametrize(
    ("field", "value"),
    [("material", "gold"), ("thickness_mm", "thick"), ("thickness_mm", "0"), ("length_mm", "9000"), ("width_mm", ""),
     ("count", "1.5"), ("count", "")],
)  # fmt: skip
def test_a_sheet_that_cannot_be_names_the_field(browser: Any, field: str, value: str) -> None:
    page = browser.send(f"{STOCK}/save", SHEET | {"note": "typed", field: value}, 422)
    assert "Not saved" in page
    assert field in page
    assert 'value="typed"' in page
    assert browser.data(f"{STOCK}.json")["data"]["stock"] == []


def test_a_spool_of_the_catalogue_fills_the_form(browser: Any) -> None:
    page = browser.page(f"{STOCK}?add=wire&part=wire_8awg_tinned105")
    assert '<option value="8 AWG" selected>' in page
    assert "<option selected>tinned copper</option>" in page
    assert 'value="30000"' in page
    browser.page(f"{STOCK}?add=money", 404)
    browser.page(f"{STOCK}?line=abcdefghjk", 404)


def test_wire_by_the_length_is_no_item(browser: Any, small: str) -> None:
    url = browser.job(small)
    place = next(iter(parse(small, "x").places))
    assert "wire_8awg" not in browser.page(f"{url}/rig?add=item&find=wire")
    page = browser.send(f"{url}/item/add", {"item": "reel", "part": "wire_8awg_pvc105", "place": place, "based_on": 1},
                        422)  # fmt: skip
    assert "Draw it as a [[wire]]" in page


def test_markup_in_stock_and_catalogue_is_data(browser: Any) -> None:
    evil = "</textarea><script>alert(1)</script>"
    browser.send(f"{STOCK}/save", {"kind": "other", "note": evil, "count": "1"})
    browser.send(CATALOGUE, {"text": OWN.replace("of our own", evil), "based_on": 0})
    for url in (STOCK, CATALOGUE, f"{CATALOGUE}?copy=amp_own"):
        assert evil not in browser.page(url)


@settings(max_examples=300)
@given(st.floats(1, 50_000).map(lambda v: round(v, 1)), st.floats(0, 125).map(lambda v: round(v, 1)))
def test_what_is_shown_is_read_back_as_near_as_it_is_shown(mm: float, c: float) -> None:
    """Within half of the last digit that stands on the screen: 0.0005 in and 0.005 F."""
    units = read("in F")
    assert abs(units.typed(units.shown(mm, "mm"), "mm") - mm) <= 0.0005 * 25.4 + 0.0005
    assert abs(units.typed(units.shown(c, "C"), "C") - c) <= 0.005 / 1.8 + 0.0005
    assert Units().typed(Units().shown(mm, "mm"), "mm") == mm


@pytest.mark.parametrize(
    ("typed", "mm"),
    [("18.5 m", 18_500), ("1,2m", 1_200), ("60 ft", 18_288), ("17 3/4 in", 450.85), ('3/8"', 9.525), ("45 cm", 450),
     ("12", 12), ("m", "m"), ("a mile", "a mile"), ("1/0 in", "1/0 in"), ("", None)],
)  # fmt: skip
def test_a_length_may_carry_its_own_unit(typed: str, mm: float | str | None) -> None:
    assert Units().typed(typed, "mm") == mm


def test_units_against_their_definitions() -> None:
    """The inch is 25.4 mm (1959); 0 C is 32 F, 100 C is 212 F; ASTM B258: 8 AWG is 8.37 mm2."""
    units = Units("in", "F", both_sizes=True)
    assert (units.celsius(0), units.celsius(100), units.mm(254)) == ("32", "212", "10.0")
    assert units.size("8 AWG") == "8 AWG · 8.37\u2009mm²"
    assert units.size("8 mm2") == "8 mm2 · near 8 AWG"
    assert units.size("auto") == "auto"
    columns = (Column("Length", "mm", True), Column("Limit", "°C", True), Column("Drawn", "A", True))
    table = cells.table(columns, [["508", "100", "3"]])
    shown = units.grid(table)
    assert [c["unit"] for c in shown["columns"]] == ["in", "°F", "A"]
    assert [c["text"] for c in shown["rows"][0]] == ["20.0", "212", "3"]
    assert Units().grid(table) is table
