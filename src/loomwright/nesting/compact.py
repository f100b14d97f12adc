"""The last fraction of a step, off the grid: places that overlap a little are moved apart, and all is pushed together.

Each pair of convex parts is kept apart by the line along one side of their no-fit polygon; with those lines chosen, the
shortest length is a linear programme. The lines are chosen again after each, as long as that shortens anything.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from loomwright.nesting.nofit import NoFit
from loomwright.nesting.shapes import Variant

Placed = tuple[Variant, float, float]
Box = tuple[float, float, float, float]
ROUNDS = 14
REACH = 2.5
"""A piece moves by no more than so many steps of the grid in one round."""
EXACT_MM = 1e-5
_PULL_X, _PULL_Y, _SLACK = 1e-3, 3e-4, 1e3


def compacted(
    placed: Sequence[Placed], nofit: NoFit, room: Box, missing: Sequence[Placed] = (), rounds: int = ROUNDS
) -> list[Placed] | None:
    """The same pieces without overlaps and as far to the left, then up, as they go; None where overlaps stay.

    ``room`` is left, top, right, bottom; the right side gives way where it must, the others do not.
    """
    now, best, length = list(placed), None, math.inf
    for _ in range(rounds):
        made = _programme(now, nofit, room, missing)
        if made is None:
            break
        now, end, slack = made
        if slack <= EXACT_MM:
            done = end >= length - 1e-4
            if end < length:
                best, length = list(now), end
            if done:
                break
    return best


def _programme(
    placed: Sequence[Placed], nofit: NoFit, room: Box, missing: Sequence[Placed]
) -> tuple[list[Placed], float, float] | None:
    """One round: places, the length, and how much of overlaps is left."""
    from ortools.linear_solver import pywraplp  # type: ignore[import-untyped]

    solver: Any = pywraplp.Solver.CreateSolver("GLOP")
    reach = REACH * nofit.step_mm
    end = solver.NumVar(0.0, solver.infinity(), "")
    xs, ys = [], []
    goal = solver.Objective()
    goal.SetCoefficient(end, 1.0)
    for v, x, y in placed:
        low = min(max(y - reach, room[1]), room[3] - v.height_mm)
        xs.append(solver.NumVar(max(x - reach, room[0]), max(x, room[0]) + reach, ""))
        ys.append(solver.NumVar(low, max(low, min(y + reach, room[3] - v.height_mm)), ""))
        goal.SetCoefficient(xs[-1], _PULL_X)
        goal.SetCoefficient(ys[-1], _PULL_Y)
        inside = solver.Constraint(v.width_mm, solver.infinity())
        inside.SetCoefficient(end, 1.0)
        inside.SetCoefficient(xs[-1], -1.0)
    slacks: list[Any] = []
    for b, (vb, xb, yb) in enumerate(placed):
        for a, (va, xa, ya) in enumerate([*placed[:b], *missing]):
            if not _near(va, xa, ya, vb, xb, yb, 2.0 * reach):
                continue
            for nx, ny, c in nofit.sides(va, vb, xb - xa, yb - ya, 2.9 * reach):
                slack = solver.NumVar(0.0, solver.infinity(), "")
                slacks.append(slack)
                goal.SetCoefficient(slack, _SLACK)
                still = a >= b
                line = solver.Constraint(c + (nx * xa + ny * ya if still else 0.0), solver.infinity())
                line.SetCoefficient(xs[b], nx)
                line.SetCoefficient(ys[b], ny)
                line.SetCoefficient(slack, 1.0)
                if not still:
                    line.SetCoefficient(xs[a], -nx)
                    line.SetCoefficient(ys[a], -ny)
    goal.SetMinimization()
    if solver.Solve() != pywraplp.Solver.OPTIMAL:
        return None
    made = [
        (v, x.solution_value(), y.solution_value()) for (v, _, _), x, y in zip(placed, xs, ys, strict=True)
    ]  # fmt: skip
    return made, max(x + v.width_mm for v, x, _ in made), max((s.solution_value() for s in slacks), default=0.0)


def _near(v: Variant, x: float, y: float, o: Variant, ox: float, oy: float, reach: float) -> bool:
    return (
        ox < x + v.width_mm + reach and x - reach < ox + o.width_mm
        and oy < y + v.height_mm + reach and y - reach < oy + o.height_mm
    )  # fmt: skip
