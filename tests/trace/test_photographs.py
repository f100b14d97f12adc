"""Boards traced from photographs: true to what was rendered, and never further off than the error stated."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from bench._scene import Sheet, photograph
from loomwright.errors import InputError
from loomwright.trace.outline import Outline
from loomwright.trace.photograph import Bars, trace
from loomwright.trace.typed import rectangle
from tests.trace.scenes import (
    LEFT,
    LONG,
    RIGHT,
    board,
    in_two_parts,
    lens,
    notched,
    scene,
    usual,
    with_another,
    wrong_by,
)


def test_two_sheets_give_every_side_to_a_few_tenths_and_within_the_error_stated() -> None:
    made = trace([("a.jpg", usual())], 3.0, Bars(150.0, 200.0))
    assert wrong_by(notched(), made.outline) < min(0.3, made.error_mm)
    assert made.error_mm < 0.8
    assert len(made.outline.holes) == 1
    assert made.outline.area_mm2() == pytest.approx(notched().area_mm2(), rel=1e-3)
    assert abs(made.tilt_deg - 12.0) < 0.3
    assert abs(made.k1 + 0.08) < 0.01


def test_one_sheet_says_that_it_knows_less() -> None:
    two = trace([("a.jpg", usual())], 3.0)
    one = trace([("a.jpg", photograph(scene(notched(), (LEFT,))))], 3.0)
    assert one.error_mm > 1.3 * two.error_mm
    assert wrong_by(notched(), one.outline) < min(one.error_mm, 0.6)
    assert any("second one on the opposite side" in n for n in one.notes)


def test_a_board_of_the_colour_of_its_floor_with_a_label_on_it_and_a_sheet_on_top() -> None:
    truth = Outline(rectangle(420.0, 340.0, 30.0))
    on_top = Sheet(1, (-180.0, -150.0), 2.0, on_board=True)
    made = scene(
        truth,
        (on_top,),
        floor="wood",
        floor_tint=(0.28, 0.18, 0.105),
        board=board(truth, print_at=(80.0, 40.0, 60.0, 25.0)),
        lens=lens(far_mm=760.0),
    )
    traced = trace([("a.jpg", photograph(made))], 3.0)
    assert traced.sheets == ("A4 sheet 1, on the board",)
    assert traced.outline.holes == ()
    assert wrong_by(truth, traced.outline) < min(0.6, traced.error_mm)
    assert traced.shares.thickness_mm == 0.0


def test_a_board_over_a_part_of_a_sheet_hides_markers_and_does_no_harm() -> None:
    truth = Outline(rectangle(380.0, 280.0))
    under = Sheet(2, (150.0, -140.0), -4.0)
    hidden = scene(truth, (LEFT, under), board=board(truth))
    traced = trace([("a.jpg", photograph(hidden))], 3.0)
    assert wrong_by(truth, traced.outline) < min(0.6, traced.error_mm)


def test_the_thickness_of_the_card_matters_as_geometry_says() -> None:
    right = trace([("a.jpg", usual())], 3.0).outline
    wrong = trace([("a.jpg", usual())], 6.0).outline
    high = 800.0 * float(np.cos(np.radians(12.0)))
    assert right.size_mm[0] / wrong.size_mm[0] == pytest.approx((high - 3.0) / (high - 6.0), abs=3e-4)


def test_check_bars_scale_the_outline() -> None:
    small = replace(LEFT, scale=(0.97, 0.97)), replace(RIGHT, scale=(0.97, 0.97))
    data = photograph(scene(notched(), small))
    silent = trace([("a.jpg", data)], 3.0)
    assert any("print was not checked" in w for w in silent.warnings)
    assert silent.outline.size_mm[0] > 365.0
    told = trace([("a.jpg", data)], 3.0, Bars(145.5, 194.0))
    assert wrong_by(notched(), told.outline) < told.error_mm


def test_two_photographs_of_a_long_board_are_joined() -> None:
    parts = [(f"{k}.jpg", data) for k, data in enumerate(in_two_parts())]
    with pytest.raises(InputError, match="board"):
        trace(parts[:1], 3.0)
    made = trace(parts, 3.0)
    assert wrong_by(LONG, made.outline) < min(1.0, made.error_mm)


def test_photographs_of_two_boards_beside_one_sheet_each_are_not_joined() -> None:
    """Two cards, photographed apart beside a sheet of one number: the rim of the one is not there in the other."""
    first = ("first.jpg", photograph(scene(notched())))
    for truth in (Outline(rectangle(300.0, 330.0)), Outline(rectangle(360.0, 200.0))):
        other = ("other.jpg", photograph(scene(truth, lens=lens(tilt_deg=8.0, toward_deg=200.0), seed=9)))
        with pytest.raises(InputError, match="one board that lies still"):
            trace([first, other], 3.0)


def test_two_photographs_of_one_board_from_two_sides_are_joined() -> None:
    from_there = photograph(scene(notched(), lens=lens(tilt_deg=14.0, toward_deg=215.0, roll_deg=-20.0), seed=9))
    made = trace([("a.jpg", usual()), ("b.jpg", from_there)], 3.0)
    assert wrong_by(notched(), made.outline) < min(0.5, made.error_mm)


def test_photographs_without_a_common_sheet_are_refused() -> None:
    a, b = photograph(scene(notched(), (LEFT,))), photograph(scene(notched(), (replace(LEFT, number=4),)))
    with pytest.raises(InputError, match="none in common"):
        trace([("a.jpg", a), ("b.jpg", b)], 3.0)


def test_mirrored_turned_and_with_a_lying_exif_turn_it_is_the_same_board() -> None:
    plain = trace([("a.jpg", usual())], 3.0).outline
    image = Image.open(io.BytesIO(usual()))
    over = io.BytesIO()
    image.transpose(Image.Transpose.FLIP_LEFT_RIGHT).save(over, "JPEG", quality=95)
    traced = trace([("m.jpg", over.getvalue())], 3.0)
    assert any("mirrored" in n for n in traced.notes)
    assert wrong_by(plain, traced.outline) < 0.2
    assert _corners(traced.outline) == _corners(plain)
    lying = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 5
    image.rotate(90, expand=True).save(lying, "JPEG", quality=95, exif=exif)
    turned = trace([("t.jpg", lying.getvalue())], 3.0)
    assert wrong_by(plain, turned.outline) < 0.2
    assert _corners(turned.outline) == _corners(plain)


def _corners(outline: Outline) -> tuple[str, ...]:
    """Kinds of sides with their lengths, in the order of the ring, from its longest side."""
    sides = outline.outer.sides
    first = max(range(len(sides)), key=lambda k: sides[k].length_mm)
    return tuple(f"{s.kind}{round(s.length_mm / 10)}" for s in (*sides[first:], *sides[:first]))


def test_a_sheet_that_hides_a_part_of_the_rim_does_not_pass_for_the_rim() -> None:
    truth = Outline(rectangle(440.0, 300.0))
    over = Sheet(1, (-90.0, -162.0), 3.0, on_board=True)
    data = photograph(scene(truth, (over,), lens=lens(far_mm=760.0)))
    with pytest.raises(InputError, match="finger's width"):
        trace([("a.jpg", data)], 3.0)


def test_of_two_boards_the_one_between_the_sheets_is_traced_and_the_other_told() -> None:
    made = trace([("a.jpg", with_another())], 3.0)
    assert wrong_by(notched(), made.outline) < min(0.4, made.error_mm)
    assert any("another board" in w for w in made.warnings)
    assert not any("another board" in w for w in trace([("a.jpg", usual())], 3.0).warnings)


@pytest.mark.parametrize(("quality", "subsampling"), [(80, 2), (85, 2), (90, 2), (93, 0)])
def test_a_side_where_only_the_hue_tells_card_from_floor_is_kept_to_however_the_picture_was_saved(
    quality: int, subsampling: int
) -> None:
    out = io.BytesIO()
    Image.open(io.BytesIO(usual())).save(out, "JPEG", quality=quality, subsampling=subsampling)
    made = trace([("a.jpg", out.getvalue())], 3.0)
    assert wrong_by(notched(), made.outline) < min(0.6, made.error_mm)


def test_a_floor_tile_is_no_board() -> None:
    truth = Outline(rectangle(300.0, 240.0))
    tiled = scene(truth, (replace(LEFT, at_mm=(-390.0, -150.0)),), floor="tiles", floor_tint=(0.55, 0.53, 0.50))
    traced = trace([("a.jpg", photograph(tiled))], 3.0)
    assert wrong_by(truth, traced.outline) < min(0.6, traced.error_mm)


def test_a_dark_board_on_a_dark_floor_beside_its_own_shadow() -> None:
    truth = Outline(rectangle(380.0, 260.0))
    dark = board(truth, face=(0.06, 0.06, 0.065), wall=(0.10, 0.10, 0.10))
    made = scene(truth, floor_tint=(0.12, 0.12, 0.125), board=dark, contact=0.15, contact_mm=(-4.0, 4.0))
    traced = trace([("a.jpg", photograph(made))], 3.0)
    assert wrong_by(truth, traced.outline) < min(0.8, traced.error_mm)
