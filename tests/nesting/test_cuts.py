"""The order of cuts, carried out on the board: nothing is cut into, and what is called done lies alone."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.nesting import cuts
from loomwright.nesting.model import CutSheet, Piece, SheetCuts, Stock
from loomwright.nesting.sheets import nest

KERF = 3.0
FULL = Stock("full", 1220.0, 610.0, margin_mm=8.0, price=30.0)


def box(name: str, width: float, height: float) -> Piece:
    return Piece(name, ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height)))


def carried_out(sheet: CutSheet, plan: SheetCuts) -> list[shapely.Polygon]:
    """The boards after every cut; each cut must go through one board from edge to edge and hit no piece."""
    boards = [shapely.box(0.0, 0.0, sheet.stock.width_mm, sheet.stock.height_mm)]
    laid = {one.piece: shapely.Polygon(one.outer, one.holes) for one in sheet.laid}
    for cut in plan.cuts:
        line = shapely.LineString([cut.start_mm, cut.end_mm])
        kerf = line.buffer(KERF / 2.0, cap_style="flat")
        assert all(shapely.intersection(kerf, p).area < 1e-2 for p in laid.values())
        hit = [b for b in boards if b.buffer(1e-6).covers(line.buffer(1e-9)) or b.intersection(kerf).area > 1.0]
        board = max(hit, key=lambda b: b.intersection(kerf).area)
        left, top, right, bottom = board.bounds
        edge = {"left": left, "right": right, "top": top, "bottom": bottom}[cut.against]
        middle = cut.start_mm[0] if cut.along == "y" else cut.start_mm[1]
        assert cut.fence_mm == pytest.approx(abs(middle - edge) - KERF / 2.0, abs=1e-3)
        assert cut.fence_mm > 0.0
        boards.remove(board)
        rest = board.difference(kerf)
        boards += [g for g in getattr(rest, "geoms", [rest]) if g.area > 1e-6]
    return boards


def check(sheet: CutSheet) -> SheetCuts:
    plan = cuts.order(sheet, KERF)
    boards = carried_out(sheet, plan)
    shapes = {one.piece: shapely.Polygon(one.outer, one.holes) for one in sheet.laid}
    for name in plan.done:
        mine = next(b for b in boards if b.buffer(1e-3).covers(shapes[name]))
        assert mine.area == pytest.approx(shapes[name].area, rel=1e-3)
    assert sorted((*plan.done, *plan.jigsaw)) == sorted(shapes)
    assert [c.number for c in plan.cuts] == list(range(1, len(plan.cuts) + 1))
    return plan


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(60, 500), st.integers(60, 400)), min_size=1, max_size=10))
def test_rectangles_come_apart_on_the_table_saw_alone(sizes: list[tuple[int, int]]) -> None:
    pieces = [box(str(k), float(w), float(h)) for k, (w, h) in enumerate(sizes)]
    for sheet in nest(pieces, [FULL], KERF).sheets:
        plan = check(sheet)
        assert not plan.jigsaw
        assert not plan.together


def test_a_hole_and_a_slant_are_for_the_jigsaw() -> None:
    frame = Piece("frame", ((0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0)),
                  (((50.0, 50.0), (50.0, 90.0), (90.0, 90.0), (90.0, 50.0)),))  # fmt: skip
    slant = Piece("slant", ((0.0, 0.0), (300.0, 0.0), (200.0, 250.0), (0.0, 250.0)))
    made = nest([frame, slant, box("lid", 200.0, 100.0)], [FULL], KERF)
    plan = check(made.sheets[0])
    assert set(plan.jigsaw) == {"frame", "slant"}
    assert plan.done == ("lid",)


def test_what_no_line_parts_stays_together() -> None:
    frame = Piece("frame", ((0.0, 0.0), (590.0, 0.0), (590.0, 590.0), (0.0, 590.0)),
                  (((50.0, 50.0), (50.0, 540.0), (540.0, 540.0), (540.0, 50.0)),))  # fmt: skip
    made = nest([frame, box("lid", 300.0, 200.0)], [Stock("square", 610.0, 610.0, margin_mm=8.0)], KERF)
    plan = check(made.sheets[0])
    assert [set(group) for group in plan.together] == [{"frame", "lid"}]
