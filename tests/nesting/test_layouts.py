"""Layouts keep what they promise: inside the sheet, a kerf apart, at allowed turns, the same each time."""

from __future__ import annotations

import math
import random

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import ops

from loomwright.nesting import bound, strip
from loomwright.nesting.model import CutSheet, Laid, Piece, Stock
from loomwright.nesting.sheets import nest

FULL = Stock("full", 1220.0, 610.0, margin_mm=8.0, price=30.0)


def box(name: str, width: float, height: float, turns: tuple[float, ...] = (0.0, 90.0, 180.0, 270.0)) -> Piece:
    return Piece(name, ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height)), turns_deg=turns)


def blob(seed: int) -> Piece:
    """A star of random radii, sometimes with a hole."""
    rng = random.Random(seed)
    n, size = rng.randint(3, 9), rng.uniform(40.0, 160.0)
    points = [
        (size * r * math.cos(2 * math.pi * k / n), size * r * math.sin(2 * math.pi * k / n))
        for k, r in enumerate(rng.uniform(0.4, 1.0) for _ in range(n))
    ]
    shape = shapely.Polygon(points)
    holes = ()
    if rng.random() < 0.4:
        inner = shape.buffer(-0.15 * size)
        if inner.geom_type == "Polygon" and not inner.is_empty:
            holes = (tuple(inner.exterior.coords[:-1]),)
    return Piece(
        f"blob {seed}", tuple(points), holes, rng.choice([(0.0, 180.0), (0.0, 90.0, 180.0, 270.0), (0.0, 37.0)])
    )


def polygons(laid: tuple[Laid, ...]) -> list[shapely.Polygon]:
    return [shapely.Polygon(one.outer, one.holes) for one in laid]


def keeps_apart(laid: tuple[Laid, ...], kerf: float) -> bool:
    shapes = polygons(laid)
    return all(
        shapely.intersection(a, b).area < 1e-3 and (not kerf or a.distance(b) >= kerf - 1e-4)
        for n, a in enumerate(shapes) for b in shapes[:n]
    )  # fmt: skip


def inside(sheet: CutSheet) -> bool:
    s, m = sheet.stock, sheet.stock.margin_mm - 1e-4
    free = shapely.box(m, m, s.width_mm - m, s.height_mm - m)
    return all(free.covers(p) for p in polygons(sheet.laid))


@settings(max_examples=20, deadline=None)
@given(st.lists(st.integers(0, 10_000), min_size=1, max_size=9, unique=True), st.sampled_from([0.0, 2.2, 6.0]))
def test_pieces_lie_inside_their_sheet_a_kerf_apart(seeds: list[int], kerf: float) -> None:
    pieces = [blob(s) for s in seeds]
    made = nest(pieces, [FULL], kerf, moves=300, prefer_straight=False)
    assert not made.left_out
    assert sorted(one.piece for s in made.sheets for one in s.laid) == sorted(p.id for p in pieces)
    for sheet in made.sheets:
        assert inside(sheet)
        assert keeps_apart(sheet.laid, kerf)


@settings(max_examples=20, deadline=None)
@given(st.lists(st.integers(0, 10_000), min_size=1, max_size=8, unique=True), st.sampled_from([0.0, 3.0]))
def test_a_strip_is_never_shorter_than_its_bound_and_pieces_keep_their_shape(seeds: list[int], kerf: float) -> None:
    pieces = [blob(s) for s in seeds]
    made = strip.pack(400.0, pieces, kerf, moves=200)
    assert made.length_mm >= made.bound_mm - 1e-6
    assert keeps_apart(made.laid, kerf)
    for piece, one in zip(pieces, made.laid, strict=True):
        assert one.turn_deg in [t % 360.0 for t in piece.turns_deg]
        assert min(y for _, y in one.outer) > -1e-4
        assert max(y for _, y in one.outer) < 400.0 + 1e-4
        was, now = shapely.Polygon(piece.outer, piece.holes), shapely.Polygon(one.outer, one.holes)
        assert now.area == pytest.approx(was.area)
        assert now.length == pytest.approx(was.length)


@pytest.mark.parametrize("seed", range(6))
def test_no_bound_is_above_a_layout_that_is_known(seed: int) -> None:
    """A rectangle cut up by slanting lines goes together again."""
    rng = random.Random(seed)
    parts = [shapely.box(0, 0, 300, 200)]
    for _ in range(7):
        part = parts.pop(0)
        left, top, right, bottom = part.bounds
        line = shapely.LineString([
            (rng.uniform(left, right), top - 1), (rng.uniform(left, right), bottom + 1)
        ] if right - left > bottom - top else [
            (left - 1, rng.uniform(top, bottom)), (right + 1, rng.uniform(top, bottom))
        ])  # fmt: skip
        parts += list(ops.split(part, line).geoms)
    pieces = [Piece(str(k), tuple(p.exterior.coords[:-1]), turns_deg=(0.0, 180.0)) for k, p in enumerate(parts)]
    assert bound.strip_mm(200.0, pieces) == pytest.approx(300.0, abs=1e-6)


def test_pieces_higher_than_half_the_strip_go_one_after_another() -> None:
    pieces = [box(str(k), 100.0, 55.0, (0.0, 180.0)) for k in range(5)]
    assert bound.strip_mm(100.0, pieces, 3.0) == pytest.approx(5 * 100.0, abs=20.0)
    assert strip.pack(100.0, pieces, 3.0, moves=50).length_mm == pytest.approx(5 * 100.0 + 4 * 3.0, abs=0.01)


def test_grain_keeps_pieces_along_the_sheet() -> None:
    pieces = [box(str(k), 300.0, 120.0, (0.0, 180.0)) for k in range(6)]
    for sheet in nest(pieces, [FULL], 3.0).sheets:
        for one in sheet.laid:
            left, top, right, bottom = one.box_mm
            assert right - left == pytest.approx(300.0)
            assert bottom - top == pytest.approx(120.0)


def test_small_pieces_come_out_of_the_hole_of_a_large_one() -> None:
    frame = Piece(
        "frame", ((0.0, 0.0), (590.0, 0.0), (590.0, 590.0), (0.0, 590.0)),
        (((50.0, 50.0), (50.0, 540.0), (540.0, 540.0), (540.0, 50.0)),),
    )  # fmt: skip
    one = Stock("square", 610.0, 610.0, margin_mm=8.0)
    made = nest([frame, box("lid", 300.0, 200.0), box("plate", 200.0, 150.0)], [one], 3.0)
    assert len(made.sheets) == 1
    assert keeps_apart(made.sheets[0].laid, 3.0)


def test_a_remnant_is_used_before_a_new_sheet() -> None:
    remnant = Stock("remnant", 500.0, 400.0, margin_mm=5.0, count=1, price=0.0)
    made = nest([box("panel", 420.0, 300.0)], [FULL, remnant], 3.0)
    assert [s.stock.id for s in made.sheets] == ["remnant"]
    assert made.price == 0.0
    both = nest([box("panel", 420.0, 300.0), box("lid", 420.0, 300.0)], [FULL, remnant], 3.0)
    assert both.price == 30.0


def test_a_half_sheet_is_taken_where_it_is_cheaper() -> None:
    half = Stock("half", 610.0, 610.0, margin_mm=8.0, price=17.0)
    assert nest([box("a", 500.0, 400.0)], [FULL, half], 3.0).price == 17.0
    assert nest([box("a", 590.0, 500.0), box("b", 590.0, 500.0)], [FULL, half], 3.0).price == 30.0


def test_what_is_missing_of_a_remnant_stays_free() -> None:
    gone = ((0.0, 0.0), (300.0, 0.0), (300.0, 300.0), (0.0, 300.0))
    remnant = Stock("remnant", 610.0, 610.0, margin_mm=5.0, count=1, price=0.0, missing=(gone,))
    made = nest([box("a", 300.0, 250.0), box("b", 280.0, 280.0)], [remnant], 3.0)
    assert not made.left_out
    for shape in polygons(made.sheets[0].laid):
        assert shape.distance(shapely.Polygon(gone)) >= 3.0 - 1e-3


def test_what_no_sheet_takes_is_left_out_and_named() -> None:
    made = nest([box("large", 1300.0, 300.0), box("small", 300.0, 200.0)], [FULL], 3.0)
    assert made.left_out == ("large",)
    assert [one.piece for one in made.sheets[0].laid] == ["small"]
    few = nest([box(str(k), 590.0, 500.0) for k in range(3)], [Stock("only", 610.0, 610.0, count=2)], 3.0)
    assert len(few.left_out) == 1


def test_a_long_list_of_remnants_is_no_trouble() -> None:
    many = [Stock(f"r{k}", 300.0 + k, 200.0 + k, count=1, price=0.0) for k in range(200)]
    made = nest([box("a", 280.0, 180.0), box("b", 290.0, 190.0)], [*many, FULL], 3.0, moves=200)
    assert made.price == 0.0
    assert not made.left_out


def test_nothing_to_cut_and_nothing_to_cut_from() -> None:
    assert nest([], [FULL], 3.0).sheets == ()
    assert nest([box("a", 10.0, 10.0)], [], 3.0).left_out == ("a",)


def test_the_same_each_time() -> None:
    pieces = [blob(s) for s in range(8)]
    assert nest(pieces, [FULL], 3.0, moves=400) == nest(pieces, [FULL], 3.0, moves=400)
