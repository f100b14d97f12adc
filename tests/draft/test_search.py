"""The search against trying everything: same objective, on problems small enough for that."""

from __future__ import annotations

import pytest

from loomwright.draft import equipment, search
from loomwright.draft.drawn import draw
from loomwright.draft.layout import Block, Layout
from loomwright.draft.layup import Layup
from loomwright.draft.options import Option
from loomwright.draft.probe import probe

LIST = """
format = 1
title = "Small"
ambient_c = 30
[vehicle]
start_battery = "battery"
[limits]
drop_v = {drop}
[wishes]
stock = {stock}
[place.box]
[place.rear]
[place.front]
[[run]]
between = ["box", "rear"]
length_mm = {long}
[[run]]
between = ["rear", "front"]
length_mm = 800
[item.battery]
part = "agm_60ah"
place = "box"
[item.frame]
part = "frame_steel_tube"
place = "box"
[item.source]
part = "source_line_2out"
place = "rear"
[item.one]
part = "{one}"
place = "rear"
[item.two]
part = "{two}"
place = "front"
[item.left]
part = "driver_6_5in"
place = "front"
[item.right]
part = "driver_6_5in"
place = "front"
[item.bass]
part = "driver_10in"
place = "rear"
"""

CASES = (
    (0.5, '["16 AWG", "12 AWG", "8 AWG"]', 2500, "amp_1x250_class_d", "amp_2x80_class_d"),
    (0.25, '["16 AWG", "10 AWG", "6 AWG"]', 2500, "amp_1x250_class_d", "amp_2x80_class_d"),
    (0.3, '["16 AWG", "10 AWG", "8 AWG"]', 4000, "amp_1x500_class_d", "amp_2x50_class_ab"),
    (0.2, '["14 AWG", "8 AWG", "4 AWG"]', 5000, "amp_1x500_class_d", "amp_2x100_class_ab"),
    (0.05, '["14 AWG", "8 AWG"]', 5000, "amp_1x250_class_d", "amp_2x80_class_d"),
)


@pytest.mark.parametrize(("drop", "stock", "long", "one", "two"), CASES)
def test_cheapest_is_what_trying_everything_finds(drop: float, stock: str, long: int, one: str, two: str) -> None:
    given = equipment.parse(LIST.format(drop=drop, stock=stock, long=long, one=one, two=two), "small.toml")
    layup = Layup(draw(given, Layout((Block("rear", "C", ("one", "two")),))))
    task = layup.problem

    def holds(chosen: tuple[Option, ...]) -> bool:
        rig = layup.made(chosen)
        pairs = search.Pairs(task)
        mains = {g.name: o for g, o in zip(task.every, chosen, strict=True) if g.name.startswith("main:")}
        for g, o in zip(task.every, chosen, strict=True):
            for above, main in mains.items():
                if above in task.above.get(g.name, ()):
                    beside = task.least_a[above] - task.least_a[g.name]
                    for device, rating in o.ratings:
                        if not all(pairs.allowed(d, r, device, rating, beside) for d, r in main.ratings):
                            return False
        return not probe(rig, given.wishes).broken

    cheapest = next(
        (sum(o.cost for o in c) for c in sorted(search.each(task), key=lambda c: sum(o.cost for o in c)) if holds(c)),
        None,
    )

    def judge(chosen: tuple[Option, ...]) -> search.Answer:
        seen = layup.probe(layup.made(chosen), given.wishes)
        ways = layup.ways_that_fail(task, chosen, seen, given.wishes) if seen.broken else ()
        return search.Answer(not seen.broken, ways)

    found = search.Search(task).run(judge, 10_000)
    assert found.proven
    assert (None if found.options is None else found.cost) == (None if cheapest is None else pytest.approx(cheapest))
    assert found.asked < task.combinations
