"""The layouts of one panel as a model for the CP-SAT solver, on whole millimetres. Its rules are those of ``rules``."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from itertools import combinations, product
from typing import Any

from loomwright.errors import EngineMissing
from loomwright.facts import panel as facts
from loomwright.panel import shapes
from loomwright.panel.bodies import Body
from loomwright.panel.boxes import EXACT_MM
from loomwright.panel.links import MG_PER_G, Link
from loomwright.panel.results import Where
from loomwright.rig.plan import SIDES, Panel, Point, SideName, turned

SCALE = 10_000_000_000
"""Slanted edges are counted in this many parts of a millimetre: on a board of five metres rounding then moves an edge
by less than what the rules let pass."""
_SIGN: Mapping[SideName, tuple[int, int]] = {"left": (-1, 0), "top": (0, -1), "right": (1, 0), "bottom": (0, 1)}
_OTHER: Mapping[SideName, SideName] = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
Linear = Any
Literal_ = Any


def kit() -> Any:
    """The solver's package, loaded only when something is placed."""
    try:
        from ortools.sat.python import cp_model
    except ImportError as error:
        raise EngineMissing("Placing a panel needs the ortools package: type `pip install ortools`.") from error
    return cp_model


class Model:
    """Where each item may lie. ``wider`` and ``higher`` let the board grow by so much at most, at its right and bottom.

    ``second`` forbids or allows spacers; None leaves it to the panel.
    """

    def __init__(
        self, panel: Panel, bodies: Sequence[Body], *, fixed: Mapping[str, Where], wider: int = 0, higher: int = 0,
        spacer_mm: float | None = None, step: int = 1,
    ) -> None:  # fmt: skip
        self.step = step
        self.bound = 0.0
        self.kit = kit()
        self.model = self.kit.CpModel()
        self.panel, self.bodies = panel, tuple(bodies)
        self.on = {b.id: b for b in bodies}
        self.spacer_mm = panel.spacer_mm if spacer_mm is None else spacer_mm
        self.fixed = fixed
        self.more_x = self.model.new_int_var(0, wider, "wider") if wider else 0
        self.more_y = self.model.new_int_var(0, higher, "higher") if higher else 0
        self.width, self.height = (math.ceil(v) for v in panel.size_mm)
        self.x: dict[str, Any] = {}
        self.y: dict[str, Any] = {}
        self.turn: dict[str, dict[int, Any]] = {}
        self.up: dict[str, Any] = {}
        self.apart: dict[tuple[str, str, SideName], Any] = {}
        self.penalties: list[tuple[int, Any]] = []
        for b in self.bodies:
            self._item(b, wider, higher)
        for b in self.bodies:
            if b.id not in fixed:
                self._on_board(b)
        for a, b in combinations(self.bodies, 2):
            if a.id not in fixed or b.id not in fixed:
                self._pair(a, b)
        for a, b in product(self.bodies, self.bodies):
            if a is not b and (a.id not in fixed or b.id not in fixed):
                self._tools(a, b)

    # -- one item -----------------------------------------------------------------------------

    def _item(self, b: Body, wider: int, higher: int) -> None:
        m = self.model
        if b.id in self.fixed:
            at = self.fixed[b.id]
            self.x[b.id], self.y[b.id] = round(at.at_mm[0]), round(at.at_mm[1])
            self.turn[b.id] = {at.turn_deg: 1}
            self.up[b.id] = int(at.layer == 2)
            return
        step = self.step
        self.x[b.id] = step * m.new_int_var(0, (self.width + wider) // step, f"x {b.id}")
        self.y[b.id] = step * m.new_int_var(0, (self.height + higher) // step, f"y {b.id}")
        if len(b.turns) == 1:
            self.turn[b.id] = {b.turns[0]: 1}
        else:
            self.turn[b.id] = {t: m.new_bool_var(f"{b.id} {t}") for t in b.turns}
            m.add_exactly_one(self.turn[b.id].values())
        layers = [k for k in (0, 1) if self._may_be(b, k)]
        if len(layers) == 2:
            self.up[b.id] = m.new_bool_var(f"{b.id} on spacers")
        else:
            self.up[b.id] = layers[0] if layers else 0
            if not layers:
                m.add_bool_or([])

    def _may_be(self, b: Body, up: int) -> bool:
        if up and (self.spacer_mm is None or not b.may_stand):
            return False
        if b.layer is not None and b.layer != up + 1:
            return False
        top = (self.spacer_mm or 0.0 if up else 0.0) + b.height_mm
        return top + facts.room("lid_mm") <= self.panel.space_mm and top + b.plan.reach_mm <= self.panel.space_mm

    def _low(self, b: Body) -> bool:
        return self.spacer_mm is not None and b.height_mm + facts.room("under_mm") <= self.spacer_mm

    def by_turn(self, b: Body, value: Callable[[int], float], *, up: bool = True) -> Linear:
        """A figure that depends on the turn, in whole millimetres."""
        rounded = math.ceil if up else math.floor
        return sum(rounded(value(t) - 1e-9 if up else value(t) + 1e-9) * lit for t, lit in self.turn[b.id].items())

    def _end(self, b: Body, side: SideName, more: Callable[[int], float]) -> tuple[Linear, int]:
        """The coordinate of a side, moved outwards by so much, and its sign: +1 for right and bottom."""
        sx, sy = _SIGN[side]
        if sx:
            if sx > 0:
                return self.x[b.id] + self.by_turn(b, lambda t: b.size_mm(t)[0] + more(t)), 1
            return self.x[b.id] - self.by_turn(b, more), -1
        if sy > 0:
            return self.y[b.id] + self.by_turn(b, lambda t: b.size_mm(t)[1] + more(t)), 1
        return self.y[b.id] - self.by_turn(b, more), -1

    def _on_board(self, b: Body) -> None:
        board = shapes.board(self.panel)

        def margin(side: SideName) -> Callable[[int], float]:
            return lambda t: float(b.margin_mm(self.panel, side, t))

        for e in board.edges:
            self._inside(b, e, margin)
        for p in board.pieces:
            self._clear_of(b, p)

    def _inside(self, b: Body, e: shapes.Edge, margin: Callable[[SideName], Callable[[int], float]]) -> None:
        """The farthest corner of the body with its distances is inside one edge."""
        kx, ky = round(e.nx * SCALE), round(e.ny * SCALE)
        sx: SideName = "right" if e.nx > 0 else "left"
        sy: SideName = "bottom" if e.ny > 0 else "top"
        ex = self._end(b, sx, margin(sx))[0] if kx else 0
        ey = self._end(b, sy, margin(sy))[0] if ky else 0
        right = math.floor((e.c + EXACT_MM / 2.0) * SCALE)
        self.model.add(
            kx * ex + ky * ey <= right + (kx * self.more_x if kx > 0 else 0) + (ky * self.more_y if ky > 0 else 0)
        )

    def _clear_of(self, b: Body, p: shapes.Piece) -> None:
        """Some side of the body, or of the piece, has the other beyond it."""
        m, gap = self.model, self.panel.edge_mm if p.cut else 0.0
        left, top, right, bottom = p.box_mm
        left, top, right, bottom = left - gap, top - gap, right + gap, bottom + gap
        # where the board grows, what lies right of or below its middle moves along
        dx = self.more_x if left + right > self.width else 0
        dy = self.more_y if top + bottom > self.height else 0

        def need(side: SideName) -> Callable[[int], float]:
            return lambda t: float(b.need_mm(side, t, "wires", "plug"))

        out = []
        for side, limit, move in (
            ("right", math.floor(left + EXACT_MM), dx), ("bottom", math.floor(top + EXACT_MM), dy),
            ("left", math.ceil(right - EXACT_MM), dx), ("top", math.ceil(bottom - EXACT_MM), dy),
        ):  # fmt: skip
            lit = m.new_bool_var("")
            end, sign = self._end(b, side, need(side))  # type: ignore[arg-type]
            if sign > 0:
                m.add(end <= limit + move).only_enforce_if(lit)
            else:
                m.add(end >= limit + move).only_enforce_if(lit)
            out.append(lit)
        for e in p.edges:
            if min(abs(e.nx), abs(e.ny)) <= shapes.CLOSE_MM:
                continue
            kx, ky = round(e.nx * SCALE), round(e.ny * SCALE)
            sx: SideName = "left" if e.nx > 0 else "right"
            sy: SideName = "top" if e.ny > 0 else "bottom"
            lit = m.new_bool_var("")
            beyond = kx * self._end(b, sx, need(sx))[0] + ky * self._end(b, sy, need(sy))[0]
            limit = math.ceil((e.c + gap - EXACT_MM / 2.0) * SCALE)
            m.add(beyond >= limit + kx * dx + ky * dy).only_enforce_if(lit)
            out.append(lit)
        m.add_bool_or(out)

    # -- two items ----------------------------------------------------------------------------

    def _pair(self, a: Body, b: Body) -> None:
        m = self.model
        out = []
        for side in SIDES:
            lit = self.apart[a.id, b.id, side] = m.new_bool_var(f"{b.id} {side} of {a.id}")
            other = _OTHER[side]
            mine, sign = self._end(a, side, lambda t, s=side: float(a.room_mm(s, t)))  # type: ignore[misc]
            theirs, _ = self._end(b, other, lambda t, s=other: float(b.room_mm(s, t)))  # type: ignore[misc]
            m.add(sign * (theirs - mine) >= 0).only_enforce_if(lit)
            out.append(lit)
        m.add_bool_or([*out, *self._stacked(a, b), *self._stacked(b, a)])

    def _stacked(self, over: Body, under: Body) -> list[Any]:
        """One on spacers over the other, its feet beside it."""
        m = self.model
        if not self._low(under) or not self._may_be(over, 1) or not self._may_be(under, 0):
            return []
        lit = m.new_bool_var(f"{over.id} over {under.id}")
        m.add(self.up[over.id] == 1).only_enforce_if(lit)
        m.add(self.up[under.id] == 0).only_enforce_if(lit)
        half = facts.room("spacer_pad_mm") / 2.0
        for hole in over.plan.holes_mm:

            def at(t: int, axis: int, hole: Point = hole) -> float:
                return turned(hole, over.plan.width_mm, over.plan.depth_mm, t)[axis]

            sides = []
            for axis, mine, theirs in ((0, self.x[over.id], self.x[under.id]), (1, self.y[over.id], self.y[under.id])):
                low = mine + self.by_turn(over, lambda t, k=axis: at(t, k) - half, up=False)  # type: ignore[misc]
                high = mine + self.by_turn(over, lambda t, k=axis: at(t, k) + half)  # type: ignore[misc]
                far = theirs + self.by_turn(under, lambda t, k=axis: under.size_mm(t)[k])  # type: ignore[misc]
                for p, q in ((high, theirs), (far, low)):
                    side = m.new_bool_var("")
                    m.add(p <= q).only_enforce_if(side)
                    sides.append(side)
            m.add_bool_or([*sides, lit.negated()])
        if under.plan.reach_mm:
            self.penalties.append((round(facts.worth("cover_g") * MG_PER_G), lit))
        return [lit]

    def _tools(self, a: Body, b: Body) -> None:
        """Nothing stands in the way of a's screwdriver."""
        m = self.model
        half = facts.room("tool_mm") / 2.0
        for n, tool in enumerate(a.tools):
            free = []
            clash = False
            for la, lb in product((0, 1), (0, 1)):
                if not self._layer_open(a, la) or not self._layer_open(b, lb):
                    continue
                axis = self._foot(la) + tool.height_mm
                foot = self._foot(lb)
                if foot < axis + half and foot + b.height_mm > axis - half:
                    clash = True
                    continue
                lit = m.new_bool_var("")
                m.add(self.up[a.id] == la).only_enforce_if(lit)
                m.add(self.up[b.id] == lb).only_enforce_if(lit)
                free.append(lit)
            if not clash:
                continue
            boxes = {t: a.tool_boxes(t)[n][1] for t in self.turn[a.id]}
            for axis_k, mine, theirs in ((0, self.x[a.id], self.x[b.id]), (1, self.y[a.id], self.y[b.id])):
                low = mine + self.by_turn(a, lambda t, k=axis_k, boxes=boxes: boxes[t][k], up=False)  # type: ignore[misc]
                high = mine + self.by_turn(a, lambda t, k=axis_k, boxes=boxes: boxes[t][k + 2])  # type: ignore[misc]
                far = theirs + self.by_turn(b, lambda t, k=axis_k: b.size_mm(t)[k])  # type: ignore[misc]
                for p, q in ((high, theirs), (far, low)):
                    lit = m.new_bool_var("")
                    m.add(p <= q).only_enforce_if(lit)
                    free.append(lit)
            m.add_bool_or(free)

    def _foot(self, up: int) -> float:
        return (self.spacer_mm or 0.0) if up else 0.0

    def _layer_open(self, b: Body, up: int) -> bool:
        held = self.up[b.id]
        return held == up if isinstance(held, int) else True

    # -- cost ---------------------------------------------------------------------------------

    def cost(self, links: Sequence[Link]) -> Linear:
        """Milligrams of copper, with what crossings, warm neighbours and spacers are worth."""
        m = self.model
        terms: list[Any] = [w * lit for w, lit in self.penalties]
        terms += [round(facts.worth("spacers_g") * MG_PER_G) * self.up[b.id] for b in self.bodies]
        ends = [self._ends(link) for link in links]
        most = self.width + self.height
        for n, (link, (a, b)) in enumerate(zip(links, ends, strict=True)):
            for k in (0, 1):
                d = m.new_int_var(0, most, f"d{k} {n}")
                m.add(d >= a[k] - b[k])
                m.add(d >= b[k] - a[k])
                terms.append(link.mg_per_mm * d)
        meets = round(facts.worth("crossing_g") * MG_PER_G)
        for (la, a), (lb, b) in combinations(zip(links, ends, strict=True), 2):
            if {la.kind, lb.kind} == {"power", "line"}:
                terms.append(meets * self._meet(a, b))
        warm = [b for b in self.bodies if b.plan.warm]
        for one, two in combinations(warm, 2):
            terms.append(round(facts.worth("heat_g") * MG_PER_G) * self._near(one, two))
        return sum(terms)

    def _ends(self, link: Link) -> tuple[tuple[Any, Any], tuple[Any, Any]]:
        def at(item: str | None, point: tuple[int, int]) -> tuple[Any, Any]:
            if item is None:
                return round(self.panel.entry_mm[0]), round(self.panel.entry_mm[1])
            b = self.on[item]
            offs = {t: turned(point, b.width_mm, b.depth_mm, t) for t in self.turn[item]}
            dx, dy = (sum(round(offs[t][k]) * lit for t, lit in self.turn[item].items()) for k in (0, 1))
            return self.x[item] + dx, self.y[item] + dy

        return at(link.start, link.from_at), at(link.to, link.to_at)

    def _meet(self, a: Any, b: Any) -> Any:
        m = self.model
        meets = m.new_bool_var("")
        out = [meets]
        for k in (0, 1):
            for one, two in ((a, b), (b, a)):
                lit = m.new_bool_var("")
                for p, q in product(one, two):
                    m.add(p[k] <= q[k]).only_enforce_if(lit)
                out.append(lit)
        m.add_bool_or(out)
        return meets

    def _near(self, a: Body, b: Body) -> Any:
        m, near = self.model, math.ceil(facts.worth("near_mm"))
        hot = m.new_bool_var("")
        out = [hot]
        for side in SIDES:
            lit = m.new_bool_var("")
            mine, sign = self._end(a, side, lambda t: 0.0)
            theirs, _ = self._end(b, _OTHER[side], lambda t: 0.0)
            m.add(sign * (theirs - mine) >= near).only_enforce_if(lit)
            out.append(lit)
        m.add_bool_or(out)
        return hot

    def hint(self, spots: Sequence[Where]) -> None:
        """Where to begin to look."""
        m = self.model
        for s in spots:
            for held, value in ((self.x[s.item], s.at_mm[0]), (self.y[s.item], s.at_mm[1])):
                if not isinstance(held, int) and self.step == 1:
                    m.add_hint(held, round(value))
            for turn, lit in self.turn[s.item].items():
                if not isinstance(lit, int):
                    m.add_hint(lit, int(turn == s.turn_deg))
            if not isinstance(self.up[s.item], int):
                m.add_hint(self.up[s.item], int(s.layer == 2))

    def read(self, value: Callable[[Any], int]) -> tuple[Where, ...]:
        """Where everything lies in a solution."""

        def of(v: Any) -> int:
            return v if isinstance(v, int) else int(value(v))

        out = []
        for b in self.bodies:
            turn = next(t for t, lit in self.turn[b.id].items() if of(lit))
            out.append(
                Where(b.id, (float(of(self.x[b.id])), float(of(self.y[b.id]))), turn, 2 if of(self.up[b.id]) else 1)
            )
        return tuple(out)


def solved(model: Model, effort: float, searches: int = 1) -> tuple[Callable[[Any], int] | None, str]:
    """The values of a solution, or None; and what is known: ``optimal``, ``feasible``, ``infeasible`` or ``unknown``.

    One worker, or several searches that take turns; a fixed seed, and effort counted in the solver's own steps: the
    same each time. What is proven of the cost stays in ``model.bound``.
    """
    cp = model.kit
    solver = cp.CpSolver()
    solver.parameters.num_workers = searches
    solver.parameters.interleave_search = searches > 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = effort
    status = solver.solve(model.model)
    words = {cp.OPTIMAL: "optimal", cp.FEASIBLE: "feasible", cp.INFEASIBLE: "infeasible"}
    found = words.get(status, "unknown")
    model.bound = max(0.0, float(solver.best_objective_bound))
    return (solver.value if found in ("optimal", "feasible") else None), found
