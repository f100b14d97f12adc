"""What a lead has still before it, from every crossing of lanes and in every heading, but for the room bends need.

The nearer such a bound comes to the truth, the less has to be searched. Here whole lanes are worked out at once, bend
by bend from the goal backwards, until nothing gets cheaper: the true costs, save that a bend is taken on the spot.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.panel.lanes import BEND_COST_MM, Floats, Mask

BARRED = 1e7
"""More than any way costs [mm]."""
_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Grid:
    """Pieces of lanes, across [rows, columns - 1] and down [rows - 1, columns]: which are free, what each costs; and
    the crossings of lanes in which a lead may bend [rows, columns].
    """

    across: Mask
    cost_across: Floats
    down: Mask
    cost_down: Floats
    turn: Mask


def ahead(grid: Grid, last: Floats, heading: int | None) -> tuple[Floats, Floats, Floats, Floats]:
    """What is still to come at the least, going right, down, left and up [rows, columns]; ``BARRED`` where no way is.

    ``last`` is what the last piece costs where the goal may be reached in one, ``BARRED`` elsewhere. It ends in
    ``heading``; with None in any.
    """
    side = np.zeros(grid.turn.shape)
    np.cumsum(np.where(grid.across, grid.cost_across, BARRED), axis=1, out=side[:, 1:])
    deep = np.zeros(grid.turn.shape)
    np.cumsum(np.where(grid.down, grid.cost_down, BARRED), axis=0, out=deep[1:])
    bend = np.where(grid.turn, BEND_COST_MM, BARRED)
    right, down, left, up = (
        last if heading in (None, h) else np.full(last.shape, BARRED) for h in range(4)
    )  # fmt: skip
    before = np.full(last.shape, BARRED)
    while True:
        bent = np.minimum(down, up) + bend
        right = _least(np.minimum(right, bent)[:, ::-1] + side[:, ::-1], 1)[:, ::-1] - side
        left = _least(np.minimum(left, bent) - side, 1) + side
        here = np.minimum(right, left)
        bent = here + bend
        down = _least(np.minimum(down, bent)[::-1] + deep[::-1], 0)[::-1] - deep
        up = _least(np.minimum(up, bent) - deep, 0) + deep
        if not (here < before - _SAME).any():
            return right, down, left, up
        before = here


def _least(values: Floats, axis: int) -> Floats:
    out: Floats = np.minimum.accumulate(values, axis=axis)
    return out
