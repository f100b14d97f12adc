"""Templates of panels, boards on the shop's sheets, and what is said of bad input."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from loomwright import demo
from loomwright.drawing import cut_sheet
from loomwright.drawing.recorder import record
from loomwright.errors import InputError
from loomwright.panel.results import Laid
from loomwright.rig.file import parse
from loomwright.study import Study
from loomwright.template import board, cutting, sheet_stock
from loomwright.trace.allowances import Allowances

SHEETS = """format = 1
[[spool]]
id = "red"
size = "10 AWG"
length_mm = 1900
[[sheet]]
id = "offcut"
material = "plywood"
thickness_mm = 12
width_mm = 500
height_mm = 700
margin_mm = 2
count = 1
[[sheet]]
id = "half"
material = "plywood"
thickness_mm = 12
width_mm = 1220
height_mm = 1220
price = 34
"""
ROUND = "holes_mm = [[340, 60, 60], [20, 20, 60, 20, 40, 60]]"


def launch(more: str = "") -> Laid:
    text = demo.text("canal_launch").replace("space_mm = 110", f"space_mm = 110\n{more}")
    return Study(parse(text, "launch.toml")).boards[0]


def test_holes_are_where_the_items_have_them() -> None:
    layout = launch()
    made = board.template(layout, "Launch")
    assert made.outline.size_mm == (680.0, 500.0)
    assert [(h.at_mm, h.hole_mm) for h in made.holes] == [(d.at_mm, d.hole_mm) for d in layout.drills]
    assert {n.words for n in made.notes} == {"cable entry", *(i.id for i in layout.items)}


def test_a_covering_makes_the_board_smaller_and_moves_its_corner() -> None:
    layout = launch()
    made = board.template(layout, "Launch", Allowances(covering_mm=3.0))
    assert made.outline.size_mm == pytest.approx((674.0, 494.0))
    first, was = made.holes[0], layout.drills[0]
    assert first.at_mm == pytest.approx((was.at_mm[0] - 3.0, was.at_mm[1] - 3.0))
    assert any("3 mm are left" in w for w in made.words)


def test_on_a_board_with_slanted_corners_holes_keep_their_place_on_it() -> None:
    layout = Study(parse(demo.text("carnival_trike_planned"), "trike.toml")).boards[0]
    plain, covered = (board.template(layout, "", Allowances(covering_mm=c)) for c in (0.0, 2.0))
    for a, b in zip(plain.holes, covered.holes, strict=True):
        assert b.at_mm == pytest.approx((a.at_mm[0] - 2.0, a.at_mm[1] - 2.0))
    rim = shapely.LinearRing(covered.outline.outer.points())
    was = shapely.LinearRing([(x - 2.0, y - 2.0) for x, y in plain.outline.outer.points()])
    assert all(was.distance(shapely.Point(p)) == pytest.approx(2.0, abs=0.9) for p in rim.coords)
    assert min(was.distance(shapely.Point(p)) for p in rim.coords) > 1.99


def test_a_round_hole_is_round_again() -> None:
    made = board.template(launch(ROUND), "Launch")
    hole = next(h for h in made.outline.holes if any(s.bulge for s in h.sides))
    assert hole.sides[0].radius_mm == pytest.approx(30.0, abs=1e-3)
    assert hole.box_mm() == pytest.approx((310.0, 30.0, 370.0, 90.0), abs=0.02)
    assert sum(len(h.sides) == 3 for h in made.outline.holes) == 1


def test_sheets_stand_beside_spools_in_the_stock_file() -> None:
    found = sheet_stock.parse(SHEETS, "stock.toml")
    assert [(s.id, s.count, s.price, s.grain) for s in found] == [
        ("offcut", 1, 0.0, "along the width"), ("half", 0, 34.0, "along the width"),
    ]  # fmt: skip
    from loomwright.loom.stock_file import parse_stock

    assert [s.id for s in parse_stock(SHEETS, "stock.toml")] == ["red"]


def test_the_offcut_goes_first_where_its_grain_suits() -> None:
    layout = launch()
    made = board.template(layout, "Launch", Allowances(covering_mm=3.0))
    stock = sheet_stock.parse(SHEETS, "stock.toml")
    across = cutting.cuttings([cutting.wanted(layout.panel, made.outline, "across")], stock, 3.0)[0]
    assert [s.stock.id for s in across.sheets] == ["half"]
    down = cutting.cuttings([cutting.wanted(layout.panel, made.outline, "down")], stock, 3.0)[0]
    assert [s.stock.id for s in down.sheets] == ["offcut"]
    assert down.price == 0.0
    anyhow = cutting.cuttings([cutting.wanted(layout.panel, made.outline)], stock, 3.0)[0]
    assert [s.stock.id for s in anyhow.sheets] == ["offcut"]


def test_without_stock_a_usual_sheet_is_taken_and_said() -> None:
    layout = launch()
    made = board.template(layout, "Launch")
    found = cutting.cuttings(
        [cutting.wanted(layout.panel, made.outline)], (), 3.0, cutting.extras(["lid=690x510", "plate=120x80*2"])
    )  # fmt: skip
    assert found[0].assumed
    assert found[0].price == 0.0
    assert {one.piece for s in found[0].sheets for one in s.laid} == {"fore", "lid", "plate 1", "plate 2"}
    assert found[0].bound_sheets == len(found[0].sheets) == 1


def test_boards_of_two_materials_come_from_two_sheets() -> None:
    layout = launch()
    made = cutting.wanted(layout.panel, board.outline(layout.panel))
    found = cutting.cuttings([made, replace(made, id="other", material="HDPE")], (), 3.0)
    assert [c.material for c in found] == ["plywood", "HDPE"]


def test_the_drawing_of_a_sheet_keeps_its_words_clear() -> None:
    layout = launch()
    made = cutting.wanted(layout.panel, board.outline(layout.panel))
    more = cutting.extras(["lid=690x510", "plate=120x80*4"])
    found = cutting.cuttings([made], (), 3.0, more)[0]
    for size in ("A3", "A4", "Letter"):
        drawn = record(cut_sheet.draw(found.sheets[0], found.cuts[0], "Launch", "plywood", 3.0, size))  # type: ignore[arg-type]
        assert not drawn.text_overlaps()
        assert not drawn.outside()
        assert not drawn.crossed_texts()
        assert "fore" in drawn.words()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('thickness_mm = 12\nwidth_mm = 500', 'thickness_mm = 0.2\nwidth_mm = 500', "thickness_mm"),
        ('id = "half"', 'id = "offcut"', "no other sheet"),
        ("margin_mm = 2", "margin_mm = 199\nwidth = 3", "width_mm"),
        ("width_mm = 500", "width_mm = 5", "50"),
    ],
)  # fmt: skip
def test_a_bad_sheet_is_named_with_what_to_do(old: str, new: str, said: str) -> None:
    with pytest.raises(InputError) as error:
        sheet_stock.parse(SHEETS.replace(old, new), "stock.toml")
    assert said in str(error.value)


@pytest.mark.parametrize("text", ["lid", "lid=300", "lid=3x4", "lid=300x9999", "=300x200", "a=300x200*0", "lid=-3x20"])
def test_a_piece_that_cannot_be_read(text: str) -> None:
    with pytest.raises(InputError):
        cutting.extras([text])


def test_two_pieces_of_one_name_are_refused() -> None:
    with pytest.raises(InputError):
        cutting.extras(["lid=300x200", "lid=100x100"])
