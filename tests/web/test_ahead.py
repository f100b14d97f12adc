"""What the worker makes ahead while nobody waits: the harness again where one was asked for and only lengths differ."""

from __future__ import annotations

from loomwright import demo
from loomwright.study import Study
from loomwright.web.work.pieces import Kept

TEXT = demo.text("canal_launch")


def study(kept: Kept, text: str) -> Study:
    stages = kept.study(text, "planned", "", 5)
    while True:
        try:
            next(stages)
        except StopIteration as end:
            found: Study = end.value[0]
            return found


def test_a_harness_that_was_asked_for_is_made_ahead() -> None:
    kept = Kept()
    first = study(kept, TEXT)
    assert not kept.go_on()
    assert "loom" not in vars(first)
    assert first.loom.wires
    length = next(line for line in TEXT.splitlines() if line.startswith("length_mm = ") and len(line) > 14)
    second = study(kept, TEXT.replace(length, "length_mm = 777"))
    assert second.rig.wires != first.rig.wires
    while kept.go_on():
        pass
    assert "loom" in vars(second)
    third = study(kept, TEXT.replace('size = "4 AWG"', 'size = "2 AWG"', 1))
    assert third.rig.wires != first.rig.wires
    assert not kept.go_on()
    assert "loom" not in vars(third)
