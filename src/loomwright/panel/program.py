"""The linear program under the placement: links, differences between coordinates, poses of items."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import Any

from loomwright.errors import EngineMissing
from loomwright.facts import panel as facts
from loomwright.panel import shapes
from loomwright.panel.bodies import Body, foot_mm
from loomwright.panel.links import Link
from loomwright.panel.results import Where
from loomwright.rig.plan import SIDES, Panel, SideName, turned

OTHER: Mapping[SideName, SideName] = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
EXACT = 1e-6
Pose = tuple[int, int]
"""Turn and layer."""
Step = tuple[int, int | None, int | None, float]
"""Axis, from, to, least difference of their coordinates; None is the board's own corner."""


class Program:
    """The items of one panel as a linear program; what is asked for last is taken back first."""

    def __init__(
        self, panel: Panel, bodies: Sequence[Body], links: Sequence[Link], fixed: Mapping[str, Where],
    ) -> None:  # fmt: skip
        self.panel, self.bodies, self.links = panel, tuple(bodies), tuple(links)
        self.board = shapes.board(panel)
        self.number = {b.id: k for k, b in enumerate(bodies)}
        self.fixed = {self.number[i]: w for i, w in fixed.items()}
        self.pairs = [
            p for p in combinations(range(len(bodies)), 2) if p[0] not in self.fixed or p[1] not in self.fixed
        ]
        self.poses = [self._poses(k) for k in range(len(bodies))]
        self.mass = [sum(link.mg_per_mm for link in links if b.id in (link.start, link.to)) for b in bodies]
        self._exts: dict[tuple[int, Pose | None, SideName], float] = {}
        self._offs: dict[tuple[str, tuple[int, int], Pose], tuple[float, float]] = {}
        self._program()

    # -- poses --------------------------------------------------------------------------------

    def _poses(self, k: int) -> list[Pose]:
        b = self.bodies[k]
        if k in self.fixed:
            return [(self.fixed[k].turn_deg, self.fixed[k].layer)]
        layers = [n for n in (1, 2) if self._may_be(b, n)]
        return [(t, n) for n in layers for t in b.turns]

    def _may_be(self, b: Body, layer: int) -> bool:
        if layer == 2 and (self.panel.spacer_mm is None or not b.may_stand):
            return False
        if b.layer is not None and b.layer != layer:
            return False
        top = foot_mm(self.panel, layer) + b.height_mm
        return top + facts.room("lid_mm") <= self.panel.space_mm and top + b.plan.reach_mm <= self.panel.space_mm

    def over(self, k: int, pose: Pose | None) -> list[Pose]:
        """The poses that are still open for an item."""
        return self.poses[k] if pose is None else [pose]

    # -- the linear program -------------------------------------------------------------------

    def _program(self) -> None:
        try:
            from ortools.linear_solver import pywraplp  # type: ignore[import-untyped]
        except ImportError as error:
            raise EngineMissing("Placing a panel needs the ortools package: type `pip install ortools`.") from error
        self.lp: Any = pywraplp.Solver.CreateSolver("GLOP")
        self.optimal = pywraplp.Solver.OPTIMAL
        how = self.how = pywraplp.MPSolverParameters()
        # From one node to the next little changes: go on from the last basis.
        how.SetIntegerParam(how.PRESOLVE, how.PRESOLVE_OFF)
        how.SetIntegerParam(how.SCALING, how.SCALING_OFF)
        how.SetIntegerParam(how.INCREMENTALITY, how.INCREMENTALITY_ON)
        how.SetIntegerParam(how.LP_ALGORITHM, how.DUAL)
        inf = self.inf = self.lp.infinity()
        n = len(self.bodies)
        width, height = self.panel.size_mm
        self.at = [[self.lp.NumVar(0.0, (width, height)[axis], "") for _ in range(n)] for axis in (0, 1)]
        self.row: dict[tuple[int, int, int], Any] = {}
        for axis in (0, 1):
            for u in range(n):
                for v in range(n):
                    if u < v:
                        r = self.lp.Constraint(-inf, inf)
                        r.SetCoefficient(self.at[axis][v], 1.0)
                        r.SetCoefficient(self.at[axis][u], -1.0)
                        self.row[axis, u, v] = r
        self.far = []
        goal = self.lp.Objective()
        for link in self.links:
            for axis in (0, 1):
                d = self.lp.NumVar(0.0, inf, "")
                goal.SetCoefficient(d, float(link.mg_per_mm))
                rows = []
                for sign in (1.0, -1.0):
                    r = self.lp.Constraint(-inf, inf)
                    r.SetCoefficient(d, 1.0)
                    r.SetCoefficient(self.at[axis][self.number[link.start]], -sign)
                    if link.to is not None:
                        r.SetCoefficient(self.at[axis][self.number[link.to]], sign)
                    rows.append(r)
                self.far.append((link, axis, rows))
        goal.SetMinimization()
        self.slant = []
        for k in range(n):
            for e in self.board.edges:
                if min(abs(e.nx), abs(e.ny)) > shapes.CLOSE_MM and k not in self.fixed:
                    r = self.lp.Constraint(-inf, inf)
                    r.SetCoefficient(self.at[0][k], e.nx)
                    r.SetCoefficient(self.at[1][k], e.ny)
                    self.slant.append((k, e, r))
        self.trail: list[tuple[Any, float, float]] = []
        for k in range(n):
            self._pose_bounds(k, None)
        for link, axis, rows in self.far:
            self._link_rows(link, axis, rows, {})

    def _bound(self, row: Any, low: float, high: float) -> None:
        """New bounds of a row or a variable; the old ones are kept for going back."""
        old = (row.lb(), row.ub()) if hasattr(row, "lb") else (row.Lb(), row.Ub())
        self.trail.append((row, old[0], old[1]))
        row.SetBounds(low, high)

    def _back(self, mark: int) -> None:
        while len(self.trail) > mark:
            row, low, high = self.trail.pop()
            row.SetBounds(low, high)

    def _pose_bounds(self, k: int, pose: Pose | None) -> None:
        """Where an item may lie for the hull of the board, at one pose or at the best of those that are open."""
        b = self.bodies[k]
        if k in self.fixed:
            for axis in (0, 1):
                at = float(round(self.fixed[k].at_mm[axis]))
                self._bound(self.at[axis][k], at, at)
            return
        low, high = [math.inf, math.inf], [-math.inf, -math.inf]
        for t, _ in self.over(k, pose):
            ext = self._edge_ext(b, t)
            box = [0.0, 0.0, *self.panel.size_mm]
            for e in self.board.edges:
                if min(abs(e.nx), abs(e.ny)) <= shapes.CLOSE_MM:
                    if e.nx < -0.5:
                        box[0] = max(box[0], -e.c)
                    elif e.nx > 0.5:
                        box[2] = min(box[2], e.c)
                    elif e.ny < -0.5:
                        box[1] = max(box[1], -e.c)
                    else:
                        box[3] = min(box[3], e.c)
            low[0], low[1] = min(low[0], box[0] + ext[0]), min(low[1], box[1] + ext[1])
            high[0], high[1] = max(high[0], box[2] - ext[2]), max(high[1], box[3] - ext[3])
        for axis in (0, 1):
            v = self.at[axis][k]
            lo, hi = max(math.ceil(low[axis] - EXACT), v.lb()), min(math.floor(high[axis] + EXACT), v.ub())
            if lo > hi:
                lo, hi = 1.0, 0.0
            self._bound(v, lo, hi)
        for kk, e, r in self.slant:
            if kk == k:
                c = max(
                    e.c - e.nx * (ext[2] if e.nx > 0 else -ext[0]) - e.ny * (ext[3] if e.ny > 0 else -ext[1])
                    for ext in (self._edge_ext(b, t) for t, _ in self.over(k, pose))
                )
                self._bound(r, -self.inf, c)

    def _edge_ext(self, b: Body, turn: int) -> tuple[float, float, float, float]:
        w, d = b.size_mm(turn)
        m = {s: b.margin_mm(self.panel, s, turn) for s in SIDES}
        return float(m["left"]), float(m["top"]), float(w + m["right"]), float(d + m["bottom"])

    def _ends(self, link: Link, axis: int, poses: Mapping[int, Pose]) -> list[tuple[float, float]]:
        """Least and most offset of both ends of a link along an axis."""
        out = []
        for item, at in ((link.start, link.from_at), (link.to, link.to_at)):
            if item is None:
                there = float(round(self.panel.entry_mm[axis]))
                out.append((there, there))
                continue
            k = self.number[item]
            b = self.bodies[k]
            offs = [round(turned(at, b.width_mm, b.depth_mm, t)[axis]) for t, _ in self.over(k, poses.get(k))]
            out.append((float(min(offs)), float(max(offs))))
        return out

    def _link_rows(self, link: Link, axis: int, rows: Sequence[Any], poses: Mapping[int, Pose]) -> None:
        (a0, a1), (b0, b1) = self._ends(link, axis, poses)
        self._bound(rows[0], a0 - b1, self.inf)
        self._bound(rows[1], b0 - a1, self.inf)

    def _set_pose(self, poses: dict[int, Pose], k: int, pose: Pose) -> None:
        poses[k] = pose
        self._pose_bounds(k, pose)
        b = self.bodies[k].id
        for link, axis, rows in self.far:
            if b in (link.start, link.to):
                self._link_rows(link, axis, rows, poses)

    def _step(self, step: Step) -> bool:
        """One difference asked for; False where it cannot be."""
        axis, u, v, least = step
        if u is None:
            assert v is not None
            var = self.at[axis][v]
            lo = max(var.lb(), least)
            self._bound(var, lo, var.ub())
            return bool(lo <= var.ub() + EXACT)
        if v is None:
            var = self.at[axis][u]
            hi = min(var.ub(), -least)
            self._bound(var, var.lb(), hi)
            return bool(hi >= var.lb() - EXACT)
        if u < v:
            r = self.row[axis, u, v]
            self._bound(r, max(r.Lb(), least), r.Ub())
        else:
            r = self.row[axis, v, u]
            self._bound(r, r.Lb(), min(r.Ub(), -least))
        return bool(r.Lb() <= r.Ub() + EXACT)
