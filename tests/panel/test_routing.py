"""Leads: at right angles, every bend at or above its radius, no crossing without need."""

from __future__ import annotations

import math
from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright import demo
from loomwright.panel.lanes import End, Lanes, Wanted
from loomwright.panel.links import Link
from loomwright.panel.results import Lead, PanelLayout
from loomwright.panel.routing import _knots, _Laying, _Lead, _meetings, segments
from loomwright.panel.shapes import board as shape_of
from loomwright.panel.way import way
from loomwright.rig.file import parse
from loomwright.rig.plan import SideName
from loomwright.study import Study
from tests.panel.rigs import board

PLACED = ("canal_launch", "carnival_trike_planned", "harvest_buggy")


def layouts(name: str) -> tuple[PanelLayout, ...]:
    return Study(parse(demo.text(name), name)).panels.layouts


def bends(lead: Lead) -> list[float]:
    """Straight room on each side of each bend, shared with the next bend: the largest radius that goes in."""
    points = lead.points_mm
    out = []
    for n in range(1, len(points) - 1):
        before, after = math.dist(points[n - 1], points[n]), math.dist(points[n], points[n + 1])
        out.append(min(before / (2.0 if n > 1 else 1.0), after / (2.0 if n + 2 < len(points) else 1.0)))
    return out


@pytest.mark.parametrize("name", PLACED)
def test_every_bend_of_a_held_lead_has_its_radius(name: str) -> None:
    for layout in layouts(name):
        zone = layout.panel.entry_mm
        for lead in layout.leads:
            if not lead.held:
                continue
            assert lead.radius_mm - lead.width_mm / 2.0 >= lead.least_radius_mm - 0.01
            for n, room in enumerate(bends(lead), 1):
                at = lead.points_mm[n]
                if lead.to is None and n == len(lead.points_mm) - 2 and math.dist(at, zone) < 90.0:
                    continue  # where leads gather they are drawn together by hand
                assert room >= lead.radius_mm - 0.05, (lead.id, n)


@pytest.mark.parametrize("name", PLACED)
def test_leads_run_at_right_angles_and_over_no_body(name: str) -> None:
    for layout in layouts(name):
        for lead in (one for one in layout.leads if one.held):
            pieces = list(pairwise(lead.points_mm))
            for a, b in pieces[: -1 if lead.to is None else None]:
                assert min(abs(a[0] - b[0]), abs(a[1] - b[1])) < 0.02
                for item in (i for i in layout.items if i.layer == 1):
                    left, top, right, bottom = item.box_mm
                    x, y = sorted((a[0], b[0])), sorted((a[1], b[1]))
                    assert not (x[0] < right - 0.1 and x[1] > left + 0.1 and y[0] < bottom - 0.1 and y[1] > top + 0.1)


@pytest.mark.parametrize("name", PLACED)
def test_a_wire_is_at_least_as_long_as_the_way_across(name: str) -> None:
    for layout in layouts(name):
        at = {t.ref: t.at_mm for i in layout.items for t in i.terminals}
        rig = parse(demo.text(name), name)
        for one in layout.lengths:
            wire = rig.wire(one.wire)
            if one.both and all(lead.held for lead in layout.leads if wire.id in lead.wires):
                assert one.length_mm >= math.dist(at[wire.start], at[wire.end]) - 0.2


SIDES: tuple[SideName, ...] = ("left", "top", "right", "bottom")
spots = st.tuples(st.integers(60, 340), st.integers(60, 240), st.sampled_from(SIDES))


@settings(max_examples=25, deadline=None)
@given(spots, spots, st.floats(2.0, 8.0))
def test_a_lead_alone_keeps_its_bends_wherever_it_goes(
    a: tuple[int, int, SideName], b: tuple[int, int, SideName], thick: float
) -> None:
    start, to = (End((float(x), float(y)), side, None) for x, y, side in (a, b))
    if math.dist(start.at_mm, to.at_mm) < 1.0:
        return
    lanes = Lanes(shape_of(board(400, 300)), (), (0.0, 150.0), 0.0, (start, to))
    want = Wanted(start, to, "power", thick, thick, 3.5 * thick, 8.0)
    found = way(lanes, want, (), 3.0)
    if found is None:
        return
    points = found[1]
    assert (points[0], points[-1]) == (start.at_mm, to.at_mm)
    lead = Lead("x", (), "power", "", "", points, thick, want.radius_mm, 3 * thick, 0.0, ())
    assert all(room >= want.radius_mm - 1e-6 for room in bends(lead))


def crossings(lanes: Lanes, wants: list[Wanted], order: tuple[int, ...]) -> int:
    laid: dict[int, tuple[tuple[float, float], ...]] = {}
    for k in order:
        there = [s for j, way in laid.items() for s in segments(way, wants[j])]
        found = way(lanes, wants[k], there, 3.0)
        if found is None:
            return 99
        laid[k] = found[1]
    ways = list(laid.values())
    return sum(len(_meetings(a, b, lanes, False, False)) for n, a in enumerate(ways) for b in ways[n + 1 :])


def test_nested_leads_do_not_cross_and_one_that_parts_the_board_is_crossed_once() -> None:
    """By hand: leads in the order of their terminals need no crossing; one from edge to edge parts the board in two."""

    def pair(xs: tuple[float, float], ys: tuple[float, float], kinds: tuple[str, str]) -> list[Wanted]:
        return [
            Wanted(End((x, 60.0), "bottom", None), End((y, 240.0), "top", None), k, 3.0, 3.0, 10.5, 8.0)  # type: ignore[arg-type]
            for x, y, k in zip(xs, ys, kinds, strict=True)
        ]

    def best(wants: list[Wanted]) -> int:
        ends = [e for w in wants for e in (w.start, w.to)]
        lanes = Lanes(shape_of(board(400, 300)), (), (0.0, 0.0), 0.0, ends)
        return min(crossings(lanes, wants, order) for order in permutations(range(len(wants))))

    kinds = ("power", "speaker")
    assert best(pair((150.0, 200.0), (150.0, 200.0), kinds)) == 0
    assert best(pair((150.0, 200.0), (100.0, 260.0), kinds)) == 0
    parts = Wanted(End((200.0, 0.0), "bottom", None), End((200.0, 300.0), "top", None), "power", 3.0, 3.0, 10.5, 8.0)
    over = Wanted(End((0.0, 140.0), "right", None), End((400.0, 170.0), "left", None), "speaker", 3.0, 3.0, 10.5, 8.0)
    assert best([parts, over]) == 1


LINK = Link("a", (0, 0), "b", (0, 0), "power", 1, (), ())
WIDE, HIGH = 600.0, 480.0


def on_rim(spot: int) -> End:
    """One of 24 terminals along the rim of a board, in order round it, that look inwards."""
    side, k = divmod(spot, 6)
    x, y = 80.0 + 88.0 * k, 70.0 + 68.0 * k
    at, looks = (((x, 0.0), "bottom"), ((WIDE, y), "left"), ((WIDE - x, HIGH), "top"), ((0.0, HIGH - y), "right"))[side]
    return End(at, looks, None)  # type: ignore[arg-type]


@settings(max_examples=12, deadline=None)
@given(st.permutations(range(24)).map(lambda p: p[:6]))
def test_leads_from_rim_to_rim_cross_as_often_as_their_ends_lie_crosswise_and_no_more(spots: list[int]) -> None:
    """On a bare board two leads must cross where their ends follow each other crosswise round it, and nowhere else.

    A lead from rim to rim parts the board in two: ends on both sides of it mean a crossing, ends on one side none. So
    the number of such pairs is a bound from outside, and with three leads it is reached.
    """
    chords = [tuple(sorted(spots[k : k + 2])) for k in (0, 2, 4)]
    crosswise = sum(a < c < b < d or c < a < d < b for n, (a, b) in enumerate(chords) for c, d in chords[n + 1 :])
    kinds = ("power", "speaker", "line")
    ends = [(on_rim(a), on_rim(b)) for a, b in chords]
    lanes = Lanes(shape_of(board(WIDE, HIGH)), (), (-500.0, -500.0), 0.0, [e for pair in ends for e in pair])
    todo = [
        _Lead(f"x.{n}", LINK, Wanted(a, b, k, 3.0, 3.0, 10.5, 8.0), 9.0, 1.0)  # type: ignore[arg-type]
        for n, ((a, b), k) in enumerate(zip(ends, kinds, strict=True))
    ]
    laid = _Laying(lanes, todo).best()
    assert len(laid) == 3
    ways = list(laid.values())
    met = sum(len(_meetings(a, b, lanes, False, False)) for n, a in enumerate(ways) for b in ways[n + 1 :])
    assert met == crosswise


@pytest.mark.parametrize("name", PLACED)
def test_no_lead_meets_itself_and_every_one_has_its_way(name: str) -> None:
    for layout in layouts(name):
        for lead in layout.leads:
            assert lead.held, lead.id
            assert _knots(lead.points_mm) == (), lead.id
