"""Where an item that has no place yet can be put down: the first spot, from the upper left, that breaks no rule."""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.panel.bodies import Body, lay
from loomwright.panel.results import LaidItem, Where
from loomwright.panel.rules import broken
from loomwright.rig.plan import Panel

STEP_MM = 10


def free_spot(panel: Panel, bodies: Sequence[Body], items: Sequence[LaidItem], item: str) -> Where:
    """A spot for one item beside those that lie; the corner of the board where there is none that is free."""
    body = next(b for b in bodies if b.id == item)
    beside = [i for i in items if i.id != item]
    there = len(broken(panel, bodies, beside))
    width, height = (int(v) for v in panel.size_mm)
    for turn in body.turns:
        w, d = body.size_mm(turn)
        for y in range(0, max(height - d, 0) + 1, STEP_MM):
            for x in range(0, max(width - w, 0) + 1, STEP_MM):
                made = lay(body, panel, (float(x), float(y)), turn, body.layer or 1)
                if _alone(panel, bodies, made) and len(broken(panel, bodies, [*beside, made])) == there:
                    return Where(item, made.at_mm, turn, made.layer)
    return Where(item, (0.0, 0.0), body.turns[0], 2 if body.layer == 2 else 1)


def _alone(panel: Panel, bodies: Sequence[Body], item: LaidItem) -> bool:
    return not broken(panel, bodies, [item])
