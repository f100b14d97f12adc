"""Outlines: exact through every file form, refused where they are none, allowances as geometry has them."""

from __future__ import annotations

import io
import math

import ezdxf
import pytest
from ezdxf import recover
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.errors import InputError
from loomwright.trace import dxf_file, form, svg_file, typed
from loomwright.trace.allowances import Allowances, applied
from loomwright.trace.outline import Outline

BOARD = typed.parse("600x400r20", ["40@120,80", "60x20r10@300,200"])
SOLID = 600.0 * 400.0 - (4.0 - math.pi) * 20.0**2
HOLES = math.pi * 20.0**2 + 40.0 * 20.0 + math.pi * 10.0**2


def same(a: Outline, b: Outline, within: float) -> None:
    assert [len(r.sides) for r in a.rings()] == [len(r.sides) for r in b.rings()]
    for p, q in zip(a.rings(), b.rings(), strict=True):
        assert p.area_mm2() == pytest.approx(q.area_mm2(), abs=within * p.length_mm())
        assert p.box_mm() == pytest.approx(q.box_mm(), abs=within)


def test_areas_are_those_of_plane_geometry() -> None:
    assert BOARD.area_mm2() == pytest.approx(SOLID - HOLES, abs=1e-6)
    assert BOARD.size_mm == pytest.approx((600.0, 400.0))


def test_toml_svg_and_dxf_give_the_outline_back() -> None:
    same(BOARD, form.read(form.text(BOARD)), 1e-5)
    same(BOARD, dxf_file.read(dxf_file.content(BOARD)), 1e-9)
    same(BOARD, svg_file.read(svg_file.text(BOARD).encode()), 2e-3)
    assert dxf_file.content(BOARD) == dxf_file.content(BOARD)


def test_the_dxf_is_clean_and_in_millimetres() -> None:
    document, auditor = recover.read(io.BytesIO(dxf_file.content(BOARD)))
    assert not auditor.errors
    assert not document.audit().errors
    assert (document.dxfversion, document.units) == ("AC1024", ezdxf.units.MM)
    assert {e.dxf.layer for e in document.modelspace()} == {"cut"}


def test_a_drawing_in_inches_says_so_or_is_told() -> None:
    stated = ezdxf.new("R2010", units=ezdxf.units.IN)
    stated.modelspace().add_lwpolyline([(0, 0), (20, 0), (20, 10), (0, 10)], close=True)
    unstated = ezdxf.new("R2010", units=0)
    space = unstated.modelspace()
    for a, b in (((0, 0), (20, 0)), ((20, 10), (20, 0)), ((20, 10), (0, 10)), ((0, 10), (0, 0))):
        space.add_line(a, b)
    for document, unit in ((stated, None), (unstated, 25.4)):
        out = io.StringIO()
        document.write(out)
        made = dxf_file.read(out.getvalue().encode(), unit_mm=unit)
        assert made.size_mm == pytest.approx((508.0, 254.0))
    inches = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="20in" height="10in" viewBox="0 0 20 10">'
        '<rect width="20" height="10"/></svg>'
    )
    assert svg_file.read(inches.encode()).size_mm == pytest.approx((508.0, 254.0))
    with pytest.raises(InputError, match="--unit in"):
        typed.parse("18x12")
    assert typed.parse("18x12", unit_mm=25.4).size_mm == pytest.approx((457.2, 304.8))


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ("0,0 600,400 600,0 0,400", "cross itself"),
        ("0,0 300,0 600,0", "has an area"),
        ("600x0", "has an area"),
        ("600", "width x height"),
        ("600x400r300", "half the shorter side"),
        ("9000x400", "at most 5000"),
    ],
)
def test_an_outline_that_is_none_is_refused_with_what_to_do(size: str, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        typed.parse(size)
    assert all(p.remedy for p in caught.value.problems)


def test_holes_lie_inside_and_apart() -> None:
    with pytest.raises(InputError, match="reaches out"):
        typed.parse("600x400", ["40@10,80"])
    with pytest.raises(InputError, match="meets it"):
        typed.parse("600x400", ["40@100,80", "40@120,80"])


def test_unknown_keys_and_wrong_numbers_of_a_toml_are_named() -> None:
    with pytest.raises(InputError, match="points_mm"):
        form.read("format = 1\n[outline]\npoint_mm = [[0, 0], [1, 0]]\n")
    with pytest.raises(InputError, match="one for each side"):
        form.read("format = 1\n[outline]\npoints_mm = [[0, 0], [90, 0], [0, 90]]\nbulges = [0.0]\n")
    with pytest.raises(InputError, match="TOML"):
        form.read("[outline")


@pytest.mark.parametrize("data", [b"", b"nothing", b"<svg", b'<!DOCTYPE x [<!ENTITY a "b">]><svg/>', b"\xff\xfe\x00"])
def test_files_that_are_no_drawings(data: bytes) -> None:
    for read in (svg_file.read, dxf_file.read):
        with pytest.raises(InputError):
            read(data)


def test_a_covering_and_a_clearance_make_the_board_smaller_and_its_holes_larger() -> None:
    made = applied(BOARD, Allowances(covering_mm=3.0, clearance_mm=1.0))
    assert made.size_mm == pytest.approx((592.0, 392.0))
    assert made.area_mm2() == pytest.approx(
        592.0 * 392.0 - (4.0 - math.pi) * 16.0**2 - math.pi * 24.0**2 - 40.0 * 28.0 - math.pi * 14.0**2, abs=1e-6
    )


def test_the_saw_on_the_line_takes_half_its_kerf() -> None:
    assert applied(BOARD, Allowances(saw="middle", kerf_mm=3.0)).size_mm == pytest.approx((603.0, 403.0))
    assert applied(BOARD, Allowances(saw="board", kerf_mm=3.0)).size_mm == pytest.approx((606.0, 406.0))
    assert applied(BOARD, Allowances(saw="waste", kerf_mm=3.0)) == BOARD


def test_an_allowance_that_eats_up_a_side_is_refused() -> None:
    narrow = typed.parse("0,0 600,0 600,400 310,400 310,430 300,430 300,400 0,400")
    with pytest.raises(InputError, match=r"allowance|cross itself"):
        applied(narrow, Allowances(covering_mm=6.0))
    with pytest.raises(InputError, match="0 to 50"):
        applied(BOARD, Allowances(covering_mm=-1.0))


@settings(max_examples=40)
@given(st.integers(60, 900), st.integers(60, 900), st.integers(0, 29), st.floats(0.1, 12.0))
def test_an_inset_takes_its_width_all_round(w: int, h: int, r: int, inset: float) -> None:
    """The area lost is length times width, less what the corners lose (Steiner's formula)."""
    board = typed.parse(f"{w}x{h}r{r}")
    made = applied(board, Allowances(covering_mm=inset))
    corners = math.pi if r > inset else 4.0
    if r == 0 or r > inset:
        expected = board.area_mm2() - board.outer.length_mm() * inset + corners * inset**2
        assert made.area_mm2() == pytest.approx(expected, abs=1e-6 * board.area_mm2())
    assert made.size_mm == pytest.approx((w - 2.0 * inset, h - 2.0 * inset))


def test_the_back_is_the_mirror_image() -> None:
    back = BOARD.mirrored()
    left, top, right, bottom = BOARD.holes[0].box_mm()
    assert back.holes[0].box_mm() == pytest.approx((600.0 - right, top, 600.0 - left, bottom))
    assert back.back
    assert back.outer.area_mm2() == pytest.approx(BOARD.outer.area_mm2())
    assert back.mirrored().holes[0].box_mm() == pytest.approx(BOARD.holes[0].box_mm())
