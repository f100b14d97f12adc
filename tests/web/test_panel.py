"""The panel page: what lies where, moves saved as revisions, the rules of a move, placing, and outlines traced."""

from __future__ import annotations

import re
import tomllib
from typing import Any

import pytest

from loomwright import demo
from tests.trace.scenes import in_two_parts, usual

LAUNCH = demo.text("canal_launch")


@pytest.fixture
def url(browser: Any) -> str:
    return str(browser.job(LAUNCH))


def text(browser: Any, url: str) -> Any:
    job, slug = url.split("/jobs/")[1].split("/")
    return tomllib.loads(browser.bench.store.rig_text(job, slug).text)


def tried(browser: Any, url: str, x: int, y: int) -> Any:
    return browser.data(f"{url}/panel/try?panel=fore&item=processor&x={x}&y={y}")["data"]


def test_the_page_shows_the_board_and_its_data_are_those_of_the_command(browser: Any, url: str) -> None:
    page = browser.page(f"{url}/panel")
    assert "Every rule is kept" in page
    assert 'data-ref="main_amp"' in page
    made = browser.data(f"{url}/panel.json")["data"]
    assert [i["id"] for i in made["panel"]["items"]] == ["fore_block", "fore_gnd", "processor", "main_amp", "bass_amp"]
    assert made["findings"] == []


def test_the_page_says_how_the_leads_lie(browser: Any) -> None:
    url = browser.job(LAUNCH.replace("at_mm = [312, 92]", "at_mm = [20, 100]"))
    assert {f["code"] for f in browser.data(f"{url}/panel.json")["data"]["findings"]} >= {"E973"}


def test_a_rig_without_a_panel_is_told_how_to_get_one(browser: Any) -> None:
    page = browser.page(f"{browser.job(demo.text('carnival_trike_as_found'), 'as found')}/panel")
    assert "Add a panel" in page


def test_a_move_says_beforehand_what_the_saved_rig_says_afterwards(browser: Any, url: str) -> None:
    before = tried(browser, url, 312, 92)
    assert before["broken"] == []
    over = tried(browser, url, 420, 300)
    assert {"overlap"} <= {b["rule"] for b in over["broken"]}
    browser.send(f"{url}/panel/move", {"panel": "fore", "item": "processor", "based_on": 1, "x": 420, "y": 300})
    made = browser.data(f"{url}/panel.json")["data"]["panel"]
    assert made["broken"] == over["broken"]
    assert made["cost"] == over["cost"]
    assert text(browser, url)["item"]["processor"]["at_mm"] == [420, 300]


def test_moves_turns_and_layers_are_revisions_that_can_be_undone(browser: Any, url: str) -> None:
    browser.send(f"{url}/panel/move", {"panel": "fore", "item": "bass_amp", "based_on": 1, "turn": 90})
    assert text(browser, url)["item"]["bass_amp"]["turn_deg"] == 90
    browser.send(f"{url}/undo", {"back": "panel"})
    assert "turn_deg" not in text(browser, url)["item"]["bass_amp"]
    page = browser.send(f"{url}/panel/move", {"panel": "fore", "item": "bass_amp", "based_on": 1, "layer": 2}, 422)
    assert "spacer" in page


def test_what_somebody_else_saved_meanwhile_stands(browser: Any, url: str) -> None:
    browser.send(f"{url}/panel/move", {"panel": "fore", "item": "processor", "based_on": 1, "x": 300})
    page = browser.send(f"{url}/panel/move", {"panel": "fore", "item": "processor", "based_on": 1, "x": 200}, 409)
    assert "Saved elsewhere meanwhile" in page
    assert text(browser, url)["item"]["processor"]["at_mm"][0] == 300


def test_an_item_without_a_place_goes_where_nothing_is_in_its_way(browser: Any) -> None:
    url = str(browser.job(LAUNCH.replace("at_mm = [312, 92]\n", "")))
    assert "Without a place" in browser.page(f"{url}/panel")
    browser.send(f"{url}/panel/move", {"panel": "fore", "item": "processor", "based_on": 1})
    made = browser.data(f"{url}/panel.json")["data"]["panel"]
    assert made["unplaced"] == []
    assert made["broken"] == []


def test_typed_places_are_checked_and_saved(browser: Any, url: str) -> None:
    fields = {"panel": "fore", "item": "processor", "based_on": 1, "at_mm": "310, 90", "turns": "0"}
    browser.send(f"{url}/panel/item", fields)
    assert text(browser, url)["item"]["processor"]["at_mm"] == [310, 90]
    page = browser.send(f"{url}/panel/item", {**fields, "based_on": 2, "at_mm": "a long way off"}, 422)
    assert "Not saved" in page
    assert "a long way off" in page


def test_placing_is_long_work_whose_result_is_written_on_demand(browser: Any, url: str) -> None:
    browser.send(f"{url}/panel/move", {"panel": "fore", "item": "processor", "based_on": 1, "x": 250})
    browser.send(f"{url}/panel/place", {"panel": "fore"})
    key = next(t.key for t in browser.bench.tasks.of("") if t.title == "Places on fore" and t.live)
    task = browser.bench.tasks.find(key)
    placement = browser.bench.tasks.wait(task)
    assert placement.status == "proven"
    assert "Put them there" in browser.page(f"{url}/panel")
    browser.send(f"{url}/panel/use", {"panel": "fore", "based_on": 2})
    made = browser.data(f"{url}/panel.json")["data"]["panel"]
    assert made["broken"] == []
    assert made["cost"]["total_g"] == pytest.approx(placement.cost.total_g)


def test_placing_can_be_stopped_and_changes_nothing(browser: Any, url: str) -> None:
    browser.send(f"{url}/panel/place", {"panel": "fore"})
    browser.send(f"{url}/panel/stop", {"panel": "fore"})
    assert "Placing was stopped" in browser.page(f"{url}/panel")
    assert text(browser, url)["item"]["processor"]["at_mm"] == [312, 92]


def test_markup_in_a_name_is_data(browser: Any) -> None:
    url = str(browser.job(LAUNCH, title="<blink>"))
    assert "<blink>" not in browser.page(f"{url}/panel")


@pytest.mark.parametrize("query", ["panel=nothing", "panel=fore&item=nothing"])
def test_names_that_are_gone_are_told(browser: Any, url: str, query: str) -> None:
    browser.page(f"{url}/panel?{query}", 404)


def photograph(browser: Any, url: str, *contents: bytes, **more: Any) -> str:
    answer = browser.client.post(
        f"{url}/panel/photo", data={"write_token": browser.token, "panel": "fore", "thickness": "3", "across": "150",
                                    "down": "200", **more},
        files=[("file", (f"{n}.jpg", content, "image/jpeg")) for n, content in enumerate(contents)],
        headers={"accept": "text/html"}, follow_redirects=False,
    )  # fmt: skip
    assert answer.status_code == 303, answer.text[:2000]
    return str(answer.headers["location"])


def test_a_board_in_two_photographs_is_joined_at_once_or_one_after_the_other(browser: Any, url: str) -> None:
    first, second = in_two_parts()
    alone = photograph(browser, url, first)
    assert "No outline" in browser.page(alone)
    before = dict(q.split("=") for q in alone.partition("?")[2].split("&"))
    for there in (photograph(browser, url, first, second), photograph(browser, url, second, **before, join="yes")):
        made = browser.data(there.replace("/outline?", "/outline.json?"))["data"]["outline"]
        assert sorted(made["size_mm"]) == pytest.approx([240.0, 900.0], abs=1.0)
        assert made["to_mm"]  # corners in the first photograph can be dragged
        assert "Joined with 1 further photograph" in browser.page(there)


def test_too_many_photographs_of_one_board_are_refused(browser: Any, url: str) -> None:
    answer = browser.client.post(
        f"{url}/panel/photo", data={"write_token": browser.token, "panel": "fore", "thickness": "3"},
        files=[("file", (f"{n}.jpg", usual(), "image/jpeg")) for n in range(7)], headers={"accept": "text/html"},
    )  # fmt: skip
    assert answer.status_code == 422
    assert "1 to 6 photographs" in answer.text


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("thickness", "thick", "thickness"), ("thickness", "200", "thickness"), ("across", "wide", "with a rule"),
        ("down", "12", "50 to 400 mm"), ("panel", "nothing", "no panel"),
    ],
)  # fmt: skip
def test_a_mistake_beside_the_photographs_is_named_and_nothing_is_kept(
    browser: Any, url: str, field: str, typed: str, says: str
) -> None:
    fields = {"write_token": browser.token, "panel": "fore", "thickness": "3", "across": "150", "down": "200"}
    answer = browser.client.post(
        f"{url}/panel/photo", data={**fields, field: typed}, files=[("file", ("a.jpg", usual(), "image/jpeg"))],
        headers={"accept": "text/html"},
    )  # fmt: skip
    assert answer.status_code in (404, 422)
    assert says in answer.text
    assert browser.bench.store.photos(url.split("/jobs/")[1].split("/")[0]) == ()


def test_a_traced_template_becomes_the_board(browser: Any, url: str) -> None:
    there = photograph(browser, url, usual())
    made = browser.data(there.replace("/outline?", "/outline.json?"))["data"]["outline"]
    width, height = made["size_mm"]
    assert (width, height) == pytest.approx((360.0, 260.0), abs=0.6)
    page = browser.page(there)
    assert page.count('class="corner"') == 6
    corners = [c["at_mm"] for c in made["corners"]]
    fields = {"panel": "fore", "based_on": 1, "x": [c[0] for c in corners], "y": [c[1] for c in corners],
              "bulge": [0] * 6, "hole": " ".join(str(v) for v in made["holes_mm"][0])}  # fmt: skip
    browser.send(f"{url}/panel/outline", fields)
    panel = text(browser, url)["panel"]["fore"]
    assert panel["corners_mm"] == corners
    assert "width_mm" not in panel
    assert panel["holes_mm"][0] == pytest.approx([90.0, 100.0, 44.0], abs=0.6)


def test_corners_are_shown_and_typed_in_the_shops_unit(browser: Any, url: str) -> None:
    there = photograph(browser, url, usual())
    corners = browser.data(there.replace("/outline?", "/outline.json?"))["data"]["outline"]["corners"]
    browser.send("/settings", {"length_unit": "in", "based_on": 0})
    page = browser.page(there)
    shown = {axis: [float(v) for v in re.findall(rf'name="{axis}" value="([-\d.]+)"', page)] for axis in "xy"}
    assert shown["x"] == pytest.approx([c["at_mm"][0] / 25.4 for c in corners], abs=0.001)
    assert "Corners, in from" in page
    mark = re.findall(r'name="units" value="([^"]+)"', page)[-1]
    browser.send(f"{url}/panel/outline", {"panel": "fore", "based_on": 1, **shown, "units": mark})
    assert text(browser, url)["panel"]["fore"]["corners_mm"] == [c["at_mm"] for c in corners]  # not moved by the turn


def test_tracing_does_not_hold_up_the_page_and_can_be_stopped_and_begun_again(browser: Any, url: str) -> None:
    there = photograph(browser, url, usual()).replace("thickness=3", "thickness=2.7")  # not traced yet
    first = browser.client.get(there, headers={"accept": "text/html"})
    assert first.status_code == 200
    assert "data-pending" in first.text
    asked = dict(q.split("=") for q in there.partition("?")[2].split("&"))
    browser.send(f"{url}/panel/tracing", {**asked, "act": "stop"})
    assert "Tracing was stopped" in browser.page(there)
    browser.send(f"{url}/panel/tracing", {**asked, "act": "again"})
    assert browser.page(there).count('class="corner"') == 6


def test_a_traced_photograph_is_not_read_again_at_each_look(browser: Any, url: str) -> None:
    there = photograph(browser, url, usual())
    assert browser.page(there).count('class="corner"') == 6
    kept = next(browser.bench.store.folder.glob("photos/??/*.jpg"))
    kept.rename(kept.with_suffix(".away"))
    assert browser.page(there).count('class="corner"') == 6


def test_a_photograph_whose_file_is_gone_says_what_to_do(browser: Any, url: str) -> None:
    there = photograph(browser, url, usual()).replace("thickness=3", "thickness=2.9")  # not traced yet
    kept = next(browser.bench.store.folder.glob("photos/??/*.jpg"))
    kept.rename(kept.with_suffix(".away"))
    assert "Restore it from a backup" in browser.page(there)


@pytest.mark.parametrize(("saw", "inset"), [("waste", 4.0), ("middle", 3.0), ("board", 2.0)])
def test_covering_air_and_blade_are_left_all_round(browser: Any, url: str, saw: str, inset: float) -> None:
    fields = {"panel": "fore", "based_on": 1, "x": [0, 300, 300, 0], "y": [0, 0, 200, 200], "hole": "150 100 40",
              "covering": "3", "clearance": "1,0", "kerf": "2", "saw": saw}  # fmt: skip
    browser.send(f"{url}/panel/outline", fields)
    panel = text(browser, url)["panel"]["fore"]
    wide, high = 300.0 - 2.0 * inset, 200.0 - 2.0 * inset
    assert sorted(panel["corners_mm"]) == sorted([[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high]])
    assert panel["holes_mm"][0] == pytest.approx([150.0 - inset, 100.0 - inset, 40.0 + 2.0 * inset], abs=0.05)


def test_lengths_beside_a_template_are_read_as_everywhere_else(browser: Any, url: str) -> None:
    """A comma, an inch with its fraction, a unit of one's own: corners, allowances, the card and the saw alike."""
    fields = {"panel": "fore", "based_on": 1, "x": ["0", "0,3 m", "300", "0"], "y": ["0", "0", "20 cm", "200"],
              "covering": "1/8 in"}  # fmt: skip
    browser.send(f"{url}/panel/outline", fields)
    corners = text(browser, url)["panel"]["fore"]["corners_mm"]
    assert max(c[0] for c in corners) == pytest.approx(300.0 - 2 * 3.175, abs=0.11)
    assert max(c[1] for c in corners) == pytest.approx(200.0 - 2 * 3.175, abs=0.11)
    there = photograph(browser, url, usual(), thickness="0,3 cm")
    assert "thickness=3" in there
    sawn = browser.data(f"{url}/panel/sawing.json?panel=fore&across=30 in&down=0,51 m&wait=1")["data"]["cuttings"][0]
    sheet = sawn["sheets"][0]["stock"]
    assert (sheet["width_mm"], sheet["height_mm"]) == (762.0, 510.0)
    page = browser.page(f"{url}/panel/sawing?panel=fore&across=wide&down=500", 422)
    assert "50 to 5000 mm" in page
    assert "a number with its unit" in page


def test_an_allowance_that_eats_up_the_board_or_is_no_number_is_refused(browser: Any, url: str) -> None:
    fields = {"panel": "fore", "based_on": 1, "x": [0, 30, 30, 0], "y": [0, 0, 200, 200], "covering": "20"}
    page = browser.send(f"{url}/panel/outline", fields, 422)
    assert "allowance" in page
    fields["covering"] = "thick"
    assert "a number with its unit" in browser.send(f"{url}/panel/outline", fields, 422)
    assert "corners_mm" not in text(browser, url)["panel"]["fore"]


def test_the_map_to_the_board_takes_each_corner_to_its_millimetres(browser: Any, url: str) -> None:
    there = photograph(browser, url, usual())
    made = browser.data(there.replace("/outline?", "/outline.json?"))["data"]["outline"]
    m = made["to_mm"]
    for c in made["corners"]:
        x, y = c["at_px"]
        w = m[6] * x + m[7] * y + m[8]
        got = (m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w
        assert got == pytest.approx(c["at_mm"], abs=1.5)


def test_a_photograph_without_markers_says_what_to_do(browser: Any, url: str) -> None:
    import io

    from PIL import Image

    blank = io.BytesIO()
    Image.new("RGB", (1600, 1200), (120, 110, 100)).save(blank, "JPEG")
    page = browser.page(photograph(browser, url, blank.getvalue()))
    assert "No outline" in page
    assert "marker" in page.casefold()


def test_corners_that_cross_are_refused_and_kept_in_the_form(browser: Any, url: str) -> None:
    fields = {"panel": "fore", "based_on": 1, "x": [0, 300, 0, 300], "y": [0, 200, 200, 0]}
    page = browser.send(f"{url}/panel/outline", fields, 422)
    assert "does not cross itself" in page or "cross" in page
    assert "corners_mm" not in text(browser, url)["panel"]["fore"]


def test_drawing_and_marker_sheets_come_as_files(browser: Any, url: str) -> None:
    for name, start in (("fore.svg", b"<?xml"), ("fore.pdf", b"%PDF"), ("marker_sheets.pdf", b"%PDF")):
        answer = browser.client.get(f"{url}/panel/{name}")
        assert answer.status_code == 200
        assert answer.content.startswith(start)


def test_template_and_sheets_are_shown_to_scale_and_come_as_files(browser: Any, url: str) -> None:
    page = browser.page(f"{url}/panel/sawing?panel=fore")
    assert "Template of fore" in page
    assert page.count("<svg ") >= 2
    assert 'aria-label="Sheet 1' in page
    made = browser.data(f"{url}/panel/sawing.json?panel=fore")["data"]
    assert len(made["template"]["holes"]) == 18
    for ending, start in (("svg", b"<?xml"), ("dxf", b"  0"), ("pdf", b"%PDF"), ("page.pdf", b"%PDF")):
        answer = browser.client.get(f"{url}/panel/fore/template.{ending}?back=true")
        assert answer.status_code == 200
        assert answer.content.startswith(start), answer.content[:20]


def test_boards_are_laid_on_the_sheet_at_hand_with_the_blade_at_hand(browser: Any, url: str) -> None:
    there = f"{url}/panel/sawing.json?panel=fore&wait=1"
    (usual_one,) = browser.data(there)["data"]["cuttings"]
    assert (usual_one["assumed"], usual_one["kerf_mm"]) == (True, 3.0)
    (made,) = browser.data(f"{there}&across=900&down=600&kerf=2,2")["data"]["cuttings"]
    assert (made["assumed"], made["kerf_mm"]) == (False, 2.2)
    sheet = made["sheets"][0]["stock"]
    assert (sheet["width_mm"], sheet["height_mm"]) == (900.0, 600.0)
    (small,) = browser.data(f"{there}&across=120&down=90")["data"]["cuttings"]
    assert "fore" in small["left_out"]


def test_boards_are_cut_from_the_sheets_of_the_shop_unless_another_is_typed(browser: Any, url: str) -> None:
    there = f"{url}/panel/sawing.json?panel=fore&wait=1"
    sheet = {"kind": "sheet", "material": "plywood", "thickness_mm": "12", "length_mm": "800", "width_mm": "600",
             "count": "1", "note": "offcut by the door"}  # fmt: skip
    browser.send("/settings/stock/save", {**sheet, "thickness_mm": "6", "note": "too thin"})
    browser.send("/settings/stock/save", {**sheet, "count": "0", "note": "used up"})
    assert browser.data(there)["data"]["cuttings"][0]["assumed"]
    browser.send("/settings/stock/save", sheet)
    (made,) = browser.data(there)["data"]["cuttings"]
    assert not made["assumed"]
    (taken,) = made["sheets"]
    assert (taken["stock"]["id"], taken["stock"]["width_mm"], taken["stock"]["height_mm"]) == (
        "offcut by the door", 800.0, 600.0
    )  # fmt: skip
    page = browser.page(f"{url}/panel/sawing?panel=fore&wait=1")
    assert "shop's stock" in page
    (other,) = browser.data(f"{there}&across=1200&down=900")["data"]["cuttings"]
    assert other["sheets"][0]["stock"]["width_mm"] == 1200.0


@pytest.mark.parametrize("typed", ["across=900", "across=900&down=wide", "kerf=40", "across=1e9&down=5"])
def test_a_sheet_that_is_none_is_told_and_the_boards_are_laid_without_it(browser: Any, url: str, typed: str) -> None:
    answer = browser.client.get(f"{url}/panel/sawing?panel=fore&wait=1&{typed}", headers={"accept": "text/html"})
    assert answer.status_code == 422
    assert "Laid without it" in answer.text
    assert 'aria-label="Sheet 1' in answer.text


def test_the_outline_page_without_a_panel_takes_the_first_and_names_those_there_are(browser: Any, url: str) -> None:
    assert "Outline of fore" in browser.page(f"{url}/panel/outline")
    assert "Its panels: fore" in browser.page(f"{url}/panel/outline?panel=aft", 404)
