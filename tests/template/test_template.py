"""Templates, measured: lengths in the PDF, tiles against each other, DXF and SVG read back."""

from __future__ import annotations

import io
import math
from typing import Any

import pdfplumber
import pytest
from ezdxf import recover
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.drawing import template_pages
from loomwright.drawing.recorder import record
from loomwright.papers import template as paper
from loomwright.template import dxf_file, svg_file, tiles
from loomwright.template.model import Hole, Note, Template
from loomwright.trace import dxf_file as outline_dxf
from loomwright.trace import svg_file as outline_svg
from loomwright.trace import typed

MM = 25.4 / 72.0
BOARD = typed.parse("560x420r25", ["60@280,300", "120x20r10@420,60"])
HOLES = tuple(
    Hole((x, y), size, label)
    for label, size, points in (
        ("main amp", 4.5, ((40.0, 40.0), (240.0, 40.0), (40.0, 190.0), (240.0, 190.0))),
        ("block", 5.2, ((300.0, 40.0), (380.0, 40.0))), ("cover", 10.0, ((540.0, 400.0), (20.0, 400.0))),
    ) for x, y in points
)  # fmt: skip
NOTES = (
    Note(((30.0, 30.0), (250.0, 30.0), (250.0, 200.0), (30.0, 200.0)), "main amp"),
    Note(((290.0, 30.0), (390.0, 30.0), (390.0, 110.0), (290.0, 110.0)), "fused block"),
)
FRONT = Template("front panel", BOARD, HOLES, NOTES, "plywood 9 mm", ("The line is the edge of the board.",))
PAPERS: tuple[tiles.PaperName, ...] = ("a4", "letter")


def lines_mm(page: Any) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Straight lines of a page, both ends, from its upper left corner."""
    return [tuple((float(x) * MM, float(y) * MM) for x, y in one["pts"]) for one in page.lines]  # type: ignore[misc]


def bars_mm(page: Any) -> tuple[float, float]:
    """The check bars: the lines of 100 mm that nothing else on the page has."""
    across = [math.dist(a, b) for a, b in lines_mm(page) if abs(a[1] - b[1]) < 0.01 and 99.0 < math.dist(a, b) < 101.0]
    down = [math.dist(a, b) for a, b in lines_mm(page) if abs(a[0] - b[0]) < 0.01 and 99.0 < math.dist(a, b) < 101.0]
    assert len(across) == len(down) == 1
    return across[0], down[0]


def crosses_mm(page: Any, arm: float) -> list[tuple[float, float]]:
    """Middles of crosses whose arms are so long."""
    made = lines_mm(page)
    flat = [((a[0] + b[0]) / 2, a[1]) for a, b in made
            if abs(a[1] - b[1]) < 0.01 and abs(math.dist(a, b) - 2 * arm) < 0.02]  # fmt: skip
    upright = [(a[0], (a[1] + b[1]) / 2) for a, b in made
               if abs(a[0] - b[0]) < 0.01 and abs(math.dist(a, b) - 2 * arm) < 0.02]  # fmt: skip
    return [p for p in flat if any(math.dist(p, q) < 0.02 for q in upright)]


@pytest.mark.parametrize("size", PAPERS)
def test_bars_of_100_mm_on_every_page_both_ways(size: tiles.PaperName) -> None:
    with pdfplumber.open(io.BytesIO(paper.tiled(FRONT, size))) as pdf:
        assert len(pdf.pages) == 1 + len(tiles.tiled(BOARD, size).tiles)
        for page in pdf.pages[1:]:
            assert bars_mm(page) == pytest.approx((100.0, 100.0), abs=0.02)
            wide, high = float(page.width) * MM, float(page.height) * MM
            assert (wide, high) in [
                pytest.approx(s, abs=0.02) for s in (tiles.PAPERS_MM[size], tiles.PAPERS_MM[size][::-1])
            ]


@pytest.mark.parametrize("size", PAPERS)
def test_pages_joined_by_their_crosses_put_every_hole_in_its_place(size: tiles.PaperName) -> None:
    """Each page is laid on the last by the crosses that both have; then holes are measured over the whole board."""
    tiling = tiles.tiled(BOARD, size)
    with pdfplumber.open(io.BytesIO(paper.tiled(FRONT, size))) as pdf:
        found = {t.name: crosses_mm(page, 4.0) for t, page in zip(tiling.tiles, pdf.pages[1:], strict=True)}
        drills = {
            t.name: {arm: crosses_mm(page, arm) for arm in (5.25, 5.6, 8.0)}
            for t, page in zip(tiling.tiles, pdf.pages[1:], strict=True)
        }
    first = tiling.tiles[0]
    shift = {first.name: (0.0, 0.0)}
    waiting = [first]
    while waiting:
        tile = waiting.pop()
        sx, sy = shift[tile.name]
        for _, other in tiling.neighbours(tile):
            if other.name in shift:
                continue
            dx, dy = other.left_mm - tile.left_mm, other.top_mm - tile.top_mm
            pairs = [
                ((a[0] - b[0]), (a[1] - b[1])) for a in found[tile.name] for b in found[other.name]
                if math.dist((a[0] - dx, a[1] - dy), b) < 1.0
            ]  # fmt: skip
            assert len(pairs) >= 2, (tile.name, other.name)
            assert max(math.dist(p, pairs[0]) for p in pairs) < 0.05  # both crosses of a seam say the same
            shift[other.name] = sx + pairs[0][0], sy + pairs[0][1]
            waiting.append(other)
    assert len(shift) == len(tiling.tiles)
    at = [
        (x + shift[name][0], y + shift[name][1], arm)
        for name, some in drills.items() for arm, points in some.items() for x, y in points
    ]  # fmt: skip
    zero = tiling.tiles[0]
    for hole in HOLES:
        x, y = hole.at_mm[0] - zero.left_mm + tiles.EDGE_MM, hole.at_mm[1] - zero.top_mm + tiles.EDGE_MM
        arm = hole.hole_mm / 2.0 + 3.0
        assert any(abs(arm - a) < 0.01 and math.dist((x, y), (px, py)) < 0.05 for px, py, a in at), hole


def test_the_rim_measured_in_the_pdf() -> None:
    with pdfplumber.open(io.BytesIO(paper.one_page(FRONT))) as pdf:
        page = pdf.pages[0]
        assert bars_mm(page) == pytest.approx((100.0, 100.0), abs=0.02)
        rim = max((*page.curves, *page.rects, *page.lines),
                  key=lambda c: float(c["width"]) * float(c["height"]) if c["linewidth"] > 0.9 else 0.0)  # fmt: skip
        assert float(rim["width"]) * MM == pytest.approx(560.0, abs=0.02)
        assert float(rim["height"]) * MM == pytest.approx(420.0, abs=0.02)


@pytest.mark.parametrize("template", [FRONT, FRONT.mirrored()])
@pytest.mark.parametrize("size", PAPERS)
def test_words_are_upright_and_cross_no_line(template: Template, size: tiles.PaperName) -> None:
    tiling = tiles.tiled(template.outline, size)
    sizes: set[str] = set()
    for page in (template_pages.map_page(template, tiling, size), *template_pages.pages(template, tiling)):
        drawn = record(page)
        assert not drawn.text_overlaps()
        assert not drawn.outside()
        assert not drawn.crossed_texts()
        assert all(t.turn_deg in (0.0, -90.0) for t in drawn.texts)
        sizes |= set(drawn.words())
    assert {"4.5 mm", "5.2 mm", "10 mm", "main amp", "fused block"} <= sizes


def test_every_hole_has_its_size_whole_on_some_page() -> None:
    tiling = tiles.tiled(BOARD, "a4")
    words = [w for p in template_pages.pages(FRONT, tiling) for w in record(p).words()]
    assert words.count("4.5 mm") >= 4
    assert words.count("10 mm") >= 2


def test_letters_of_columns_go_on_after_z() -> None:
    assert [tiles.letters(n) for n in (0, 25, 26, 27, 52)] == ["A", "Z", "AA", "AB", "BA"]


@settings(max_examples=30, deadline=None)
@given(st.floats(30.0, 2400.0), st.floats(30.0, 1200.0), st.sampled_from(PAPERS))
def test_tiles_cover_the_board_and_overlap(width: float, height: float, size: tiles.PaperName) -> None:
    board = typed.parse(f"{width:.1f}x{height:.1f}")
    tiling = tiles.tiled(board, size)
    wide, high = board.size_mm
    for k in range(60):
        x, y = wide * (k % 10) / 9.0, high * (k // 10) / 5.0
        assert any(t.box_mm[0] <= x <= t.box_mm[2] and t.box_mm[1] <= y <= t.box_mm[3] for t in tiling.tiles)
    for tile in tiling.tiles:
        for side, other in tiling.neighbours(tile):
            if side == "right":
                assert tile.box_mm[2] - other.left_mm == pytest.approx(tiles.OVERLAP_MM)
            if side == "below":
                assert tile.box_mm[3] - other.top_mm == pytest.approx(tiles.OVERLAP_MM)
    for mark in tiling.marks_mm:
        on = [t for t in tiling.tiles if t.box_mm[0] < mark[0] < t.box_mm[2] and t.box_mm[1] < mark[1] < t.box_mm[3]]
        assert len(on) >= 2


@pytest.mark.parametrize("template", [FRONT, FRONT.mirrored()])
def test_dxf_is_clean_and_its_coordinates_come_back_exactly(template: Template) -> None:
    data = dxf_file.content(template)
    document, audit = recover.read(io.BytesIO(data))
    assert not audit.errors
    assert not audit.fixes
    assert not document.audit().errors
    assert document.dxfversion == "AC1024"
    assert document.header["$INSUNITS"] == 4
    assert {"cut", "drill", "mark"} <= {layer.dxf.name for layer in document.layers}
    high = template.outline.size_mm[1]
    space = document.modelspace()
    circles = {(c.dxf.center.x, c.dxf.center.y, c.dxf.radius) for c in space.query('CIRCLE[layer=="drill"]')}
    assert circles == {(h.at_mm[0], high - h.at_mm[1], h.hole_mm / 2.0) for h in template.holes}
    rings = space.query('LWPOLYLINE[layer=="cut"]')
    assert len(rings) == 3
    for ring, made in zip(template.outline.rings(), rings, strict=True):
        points = [(s.start_mm[0], high - s.start_mm[1], -s.bulge) for s in ring.sides]
        assert [tuple(p) for p in made.get_points("xyb")] == points
    assert all(t.dxf.rotation == 0.0 for t in space.query("TEXT"))
    assert dxf_file.content(template) == data


def test_the_cut_layer_read_back_is_the_board() -> None:
    bare = Template("bare", BOARD)
    from_dxf, from_svg = outline_dxf.read(dxf_file.content(bare)), outline_svg.read(svg_file.text(bare).encode())
    assert from_dxf.area_mm2() == pytest.approx(BOARD.area_mm2(), abs=0.01)
    assert from_svg.area_mm2() == pytest.approx(BOARD.area_mm2(), abs=0.5)
    assert len(from_dxf.holes) == len(from_svg.holes) == 2
    assert from_svg.size_mm == pytest.approx(BOARD.size_mm, abs=0.001)


def test_mirrored_twice_is_the_same_and_once_is_the_other_hand() -> None:
    back = FRONT.mirrored()
    assert back.side == "back"
    assert {h.at_mm for h in back.holes} == {(560.0 - h.at_mm[0], h.at_mm[1]) for h in HOLES}
    again = back.mirrored()
    assert again.holes == FRONT.holes
    assert again.side == "face"
    assert 'id="drill"' in svg_file.text(back)
