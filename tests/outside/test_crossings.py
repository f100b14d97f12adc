"""Leads on boards with items: crossings against a count of faces (Euler), bends, power apart from line level.

The bound knows nothing of the router: see ``tests/panel/crossing_bound.py``. Boards are made up from numbers in a row.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import combinations, pairwise

import pytest

from loomwright.facts import panel as facts
from loomwright.panel.lanes import Lanes, share
from loomwright.panel.routing import _meetings
from tests.panel.boards import Made, made
from tests.panel.crossing_bound import least_crossings

BOARDS = range(60)
Way = tuple[tuple[float, float], ...]


@cache
def laid(seed: int) -> tuple[Made, Lanes, tuple[Way, ...]]:
    board = made(seed)
    lanes, ways = board.laid()
    return board, lanes, tuple(w for w in ways if w is not None)


@pytest.mark.parametrize(("count", "least"), [(2, 0), (3, 1), (4, 2)])
def test_the_bound_turns_a_ring_of_leads_round_in_as_many_swaps_as_theory_says(count: int, least: int) -> None:
    """Two items with their leads in the same order clockwise: the ring has to be turned over, which takes
    floor(n/2) floor((n-1)/2) swaps of neighbours (Zarankiewicz's number for two; Woodall 1993, from memory).
    """
    order = list(range(count))
    assert least_crossings([order, order], count) == least == (count // 2) * ((count - 1) // 2)
    assert least_crossings([order, order[::-1]], count) == 0


def test_the_bound_counts_a_lead_between_two_that_leave_and_frees_those_that_may_be_tied() -> None:
    """An item between two others, whose leads are in the wrong order: one swap, none where the two may be tied."""
    rims = [[0, 1, 2], [0, 1], [2]]
    assert least_crossings(rims, 3) == 0
    rims = [[0, 2, 1, 3], [0, 1], [2, 3]]
    assert least_crossings(rims, 4) == 1
    assert least_crossings(rims, 4, frozenset({frozenset({1, 2})}), tied=1) == 0


def test_no_lead_crosses_another_that_the_optimum_lets_pass() -> None:
    """Sixty boards of two to four items and three to seven leads, against the least number there is.

    Two leads of one class may change sides in their trunk, which counts as no crossing. No board has a crossing more
    than is needed with one such change. With two, one of the sixty could do with one less: there a lead would have to
    lie in two trunks in turn.
    """
    over = {1: 0, 2: 0}
    for seed in BOARDS:
        board, lanes, ways = laid(seed)
        assert len(ways) == len(board.wants), seed
        met, free = 0, set()
        for i, j in combinations(range(len(ways)), 2):
            a, b = board.wants[i], board.wants[j]
            leaves = a.to.side is None, b.to.side is None
            tied = share(a.kind, leaves[0], b.kind, leaves[1])
            met += len(_meetings(ways[i], ways[j], lanes, tied, all(leaves)))
            free |= {frozenset({i, j})} if tied else set()
        for changes in over:
            need = least_crossings(board.rims(), len(ways), frozenset(free), changes, most=met)
            over[changes] += 0 if need is None else met - need  # None: more than were met
    assert over[1] == 0
    assert over[2] <= 1


@pytest.mark.parametrize("seed", BOARDS)
def test_every_bend_has_its_radius_and_no_lead_runs_over_an_item(seed: int) -> None:
    board, _, ways = laid(seed)
    for want, way in zip(board.wants, ways, strict=True):
        last = len(way) - 2
        for n in range(1, len(way) - 1):
            if want.to.side is None and n == last:
                continue  # where leads gather they are drawn together by hand
            before, after = math.dist(way[n - 1], way[n]), math.dist(way[n], way[n + 1])
            room = min(before / (2.0 if n > 1 else 1.0), after / (2.0 if n < last else 1.0))
            assert room >= want.radius_mm - 0.05, (want, n)
        for a, b in pairwise(way):
            x, y = sorted((a[0], b[0])), sorted((a[1], b[1]))
            for name, (left, top, right, bottom) in board.boxes:
                assert not (x[0] < right - 0.1 and x[1] > left + 0.1 and y[0] < bottom - 0.1 and y[1] > top + 0.1), name


@pytest.mark.parametrize("seed", BOARDS)
def test_power_and_line_level_never_lie_in_one_lane(seed: int) -> None:
    """Side by side they are apart by their widths and the gap between wires; more is asked for where there is room."""
    board, _, ways = laid(seed)
    for i, j in combinations(range(len(ways)), 2):
        one, two = board.wants[i], board.wants[j]
        if {one.kind, two.kind} != {"power", "line"} or (one.to.side is None and two.to.side is None):
            continue
        need = (one.width_mm + two.width_mm) / 2.0 + facts.room("wire_gap_mm")
        for a, b in pairwise(ways[i]):
            for c, d in pairwise(ways[j]):
                for k in (0, 1):
                    if a[k] == b[k] and c[k] == d[k] and a[1 - k] != b[1 - k] and c[1 - k] != d[1 - k]:
                        both = min(max(a[1 - k], b[1 - k]), max(c[1 - k], d[1 - k])) - max(
                            min(a[1 - k], b[1 - k]), min(c[1 - k], d[1 - k]))  # fmt: skip
                        assert both <= 0.0 or abs(a[k] - c[k]) >= need - 0.01, (i, j)
