"""The solver's model against the rules: neither stricter nor looser, at slanted edges and odd distances too."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from loomwright.panel.bodies import Body, lay
from loomwright.panel.model import Model, solved
from loomwright.panel.rules import broken
from loomwright.panel.search import Search
from loomwright.rig.plan import Panel
from tests.panel.rigs import board, some


def odd(seed: int) -> tuple[Panel, Body, int]:
    """A board with two slanted corners, a crooked hole and an edge distance that is no whole number; an item, a row."""
    rnd = random.Random(seed)
    w, h = rnd.randint(420, 520), rnd.randint(340, 420)
    a, b = (rnd.uniform(40.0, 160.0) for _ in range(2))
    outer = ((a, 0.0), (w - b, 0.0), (float(w), 0.7 * b), (float(w), float(h)), (0.0, float(h)), (0.0, 1.3 * a))
    x, y, r = w * rnd.uniform(0.3, 0.7), h * rnd.uniform(0.3, 0.6), rnd.uniform(6.0, 22.0)
    hole = tuple((x + r * math.cos(k), y + r * math.sin(k)) for k in (0.1, 1.3, 2.6, 3.9, 5.2))
    made = replace(board(w, h, (w / 2.0, float(h))), outer=outer, holes=(hole,), edge_mm=rnd.choice((0.0, 6.5, 8.25)))
    (body,), _ = some(made, rnd.choice(("fore_gnd", "processor")), turns=(rnd.choice((0, 90)),))
    return made, body, rnd.randint(20, 120)


@pytest.mark.parametrize("seed", range(24))
def test_an_item_may_lie_as_far_to_each_side_as_the_rules_let_it(seed: int) -> None:
    panel, body, y = odd(seed)
    turn = body.turns[0]
    allowed = [x for x in range(int(panel.size_mm[0]))
               if not broken(panel, (body,), (lay(body, panel, (float(x), float(y)), turn, 1),))]  # fmt: skip
    for sense, end in ((1, min), (-1, max)):
        model = Model(panel, (body,), fixed={})
        model.model.add(model.y[body.id] == y)
        model.model.minimize(sense * model.x[body.id])
        read, state = solved(model, 4.0)
        if not allowed:
            assert state == "infeasible"
        else:
            assert read is not None
            assert state == "optimal"
            assert model.read(read)[0].at_mm[0] == end(allowed)


def test_a_board_that_is_just_wide_enough_is_not_called_too_small() -> None:
    """By hand: a hole 6.6 mm from the wires of an item keeps the edge distance of 6.5 mm; one 6.4 mm away does not."""
    (body,), _ = some(board(600, 400), "fore_gnd", turns=(0,))
    wires = [body.need_mm(s, 0, "wires", "plug") for s in ("left", "right")]
    plain = board(900, 400, (880.0, 400.0), edge_mm=6.5)
    least = body.margin_mm(plain, "left", 0)
    for more, fits in ((0.6, True), (0.4, False)):
        left = least + body.width_mm + wires[1] + 6.0 + more
        hole = ((left, 0.0), (left + 5.0, 0.0), (left + 5.0, 399.0), (left, 399.0))
        outer = ((0.0, 0.0), (left + 60.0, 0.0), (left + 60.0, 400.0), (0.0, 400.0))
        panel = replace(plain, holes=(hole,), outer=outer, entry_mm=(left + 55.0, 400.0))
        model = Model(panel, (body,), fixed={})
        assert (solved(model, 4.0)[1] != "infeasible") is fits
        assert (Search(panel, (body,), (), {}).run(1000).spots is not None) is fits
