"""The cheapest layout of a panel, proven: branch and bound over turns, layers and who lies on which side of whom.

While it is open who lies where, the rest is a linear program: the mass of the links times their lengths at right
angles, under differences between coordinates. Its optimum is below every layout that is still open, and lies on whole
millimetres.
A pair that overlaps there is taken apart in four ways, one after the other; so is every other rule that is broken. A
crossing, or a warm neighbour, is a rule that may also be paid for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from loomwright.facts import panel as facts
from loomwright.panel import shapes
from loomwright.panel.bodies import Body, foot_mm
from loomwright.panel.links import MG_PER_G, Link
from loomwright.panel.program import EXACT, Pose, Program, Step
from loomwright.panel.results import Box, Where
from loomwright.rig.plan import SIDES, Panel, SideName, turned


@dataclass(frozen=True, slots=True)
class Choice:
    """A rule that is broken: the ways to keep it, each a set of differences, or what it costs to break it [mg]."""

    ways: tuple[tuple[Step, ...], ...]
    short: float
    pay: int | None = None
    name: object = None


@dataclass(slots=True)
class Found:
    """What the search has: the best layout, its cost and what is proven [mg], and how many nodes it looked at."""

    spots: tuple[Where, ...] | None = None
    cost_mg: float = math.inf
    bound_mg: float = 0.0
    nodes: int = 0
    proven: bool = False


@dataclass(slots=True)
class _Node:
    """Where the search stands: poses chosen, rules paid for."""

    poses: dict[int, Pose] = field(default_factory=dict)
    paid: dict[object, int] = field(default_factory=dict)
    kept: set[object] = field(default_factory=set)


@dataclass(slots=True)
class _Worst:
    """The worst of what is broken so far; the first of equals."""

    weight: float = -math.inf
    what: Choice | int | None = None

    def offer(self, weight: float, choice: Choice | None) -> None:
        if choice is not None:
            self.take(weight * choice.short, choice)

    def any(self) -> bool:
        return self.what is not None

    def take(self, weight: float, what: Choice | int) -> None:
        if weight > self.weight + EXACT:
            self.weight, self.what = weight, what


class Search(Program):
    """The search on one panel. ``report`` is told how far it is, and stops it with True."""

    def __init__(
        self, panel: Panel, bodies: Sequence[Body], links: Sequence[Link], fixed: Mapping[str, Where],
        report: Callable[[Found], bool] | None = None,
    ) -> None:  # fmt: skip
        super().__init__(panel, bodies, links, fixed)
        self.report = report
        self.found = Found()
        self.open: list[list[float]] = []
        self.stopped = False
        self.most = 0

    # -- the rules ----------------------------------------------------------------------------

    def _ext(self, k: int, poses: Mapping[int, Pose], side: SideName) -> float:
        """From the corner of an item to the end of its room on a side, at the best of its open poses."""
        b = self.bodies[k]
        key = k, poses.get(k), side
        if key not in self._exts:
            sizes = ((b.size_mm(t), t) for t, _ in self.over(k, poses.get(k)))
            self._exts[key] = float(min(
                {"left": 0, "top": 0, "right": w, "bottom": d}[side] + b.room_mm(side, t) for (w, d), t in sizes
            ))  # fmt: skip
        return self._exts[key]

    def _apart(self, a: int, b: int, poses: Mapping[int, Pose]) -> list[tuple[Step, ...]]:
        return [
            ((0, a, b, self._ext(a, poses, "right") + self._ext(b, poses, "left")),),
            ((0, b, a, self._ext(b, poses, "right") + self._ext(a, poses, "left")),),
            ((1, a, b, self._ext(a, poses, "bottom") + self._ext(b, poses, "top")),),
            ((1, b, a, self._ext(b, poses, "bottom") + self._ext(a, poses, "top")),),
        ]

    def _boxes(self, a: int, box: Box, b: int, other: Box) -> list[tuple[Step, ...]]:
        """Ways for a box of one item to be apart from a box of another, both from their corners."""
        return [
            ((0, a, b, box[2] - other[0]),), ((0, b, a, other[2] - box[0]),),
            ((1, a, b, box[3] - other[1]),), ((1, b, a, other[3] - box[1]),),
        ]  # fmt: skip

    def _body_box(self, k: int, pose: Pose) -> Box:
        w, d = self.bodies[k].size_mm(pose[0])
        return 0.0, 0.0, float(w), float(d)

    def _choice(
        self, ways: list[tuple[Step, ...]], at: Sequence[Sequence[float]], pay: int | None = None, name: object = None
    ) -> Choice | None:
        """The rule as a choice, where the coordinates break it; the nearest way first."""
        shorts = [max(self._missing(s, at) for s in way) for way in ways]
        least = min(shorts)
        if least <= EXACT:
            return None
        order = sorted(range(len(ways)), key=lambda n: (shorts[n], n))
        return Choice(tuple(ways[n] for n in order), least, pay, name)

    def _missing(self, step: Step, at: Sequence[Sequence[float]]) -> float:
        axis, u, v, least = step
        a = 0.0 if u is None else at[axis][u]
        b = 0.0 if v is None else at[axis][v]
        return least - (b - a)

    def _broken(self, node: _Node, at: Sequence[Sequence[float]]) -> Choice | int | None:
        """The worst rule that is broken, the item whose pose must be chosen first, or None."""
        poses = node.poses
        worst = _Worst()

        for a, b in self.pairs:
            weight = float(min(self.mass[a], self.mass[b]) + 1)
            pa, pb = self.over(a, poses.get(a)), self.over(b, poses.get(b))
            if any(x[1] != y[1] for x in pa for y in pb) and self._may_stack(a, b, pa, pb):
                if a in poses and b in poses:
                    for choice in self._stacked(node, a, b, at):
                        worst.offer(weight, choice)
                continue
            choice = self._choice(self._apart(a, b, poses), at)
            if choice is None:
                continue
            free = [k for k in (a, b) if k not in poses]
            if free:
                k = max(free, key=lambda n: (self.mass[n], -n))
                worst.take(weight * choice.short, k)
            else:
                worst.offer(weight, choice)
        if worst.any():
            return worst.what
        for k in range(len(self.bodies)):
            if k not in self.fixed and k in poses:
                for piece in self.board.pieces:
                    worst.offer(1.0, self._clear_of(k, poses[k], piece, at))
        for a, b in self.pairs:
            if a in poses and b in poses:
                for one, two in ((a, b), (b, a)):
                    for choice in self._tools(one, two, poses, at):
                        worst.offer(1.0, choice)
        if worst.any():
            return worst.what
        free = [k for k in range(len(self.bodies)) if k not in poses]
        if free:
            return max(free, key=lambda n: (self.mass[n], -n))
        for choice in self._priced(node, at):
            worst.offer(1.0, choice)
        return worst.what

    def _may_stack(self, a: int, b: int, pa: Sequence[Pose], pb: Sequence[Pose]) -> bool:
        return any(
            (x[1] == 2 and y[1] == 1 and self.bodies[b].low(self.panel))
            or (y[1] == 2 and x[1] == 1 and self.bodies[a].low(self.panel))
            for x in pa
            for y in pb
        )

    def _stacked(self, node: _Node, a: int, b: int, at: Sequence[Sequence[float]]) -> list[Choice | None]:
        up, down = (a, b) if node.poses[a][1] == 2 else (b, a)
        half = facts.room("spacer_pad_mm") / 2.0
        plan = self.bodies[up].plan
        under = self._body_box(down, node.poses[down])
        out: list[Choice | None] = []
        for hole in plan.holes_mm:
            x, y = turned(hole, plan.width_mm, plan.depth_mm, node.poses[up][0])
            pad = (math.floor(x - half), math.floor(y - half), math.ceil(x + half), math.ceil(y + half))
            out.append(self._choice(self._boxes(up, pad, down, under), at))
        return out

    def _clear_of(self, k: int, pose: Pose, p: shapes.Piece, at: Sequence[Sequence[float]]) -> Choice | None:
        b = self.bodies[k]
        gap = math.ceil(self.panel.edge_mm) if p.cut else 0
        w, d = b.size_mm(pose[0])
        n = {s: b.need_mm(s, pose[0], "wires", "plug") for s in SIDES}
        left, top, right, bottom = p.box_mm
        ways: list[tuple[Step, ...]] = [
            ((0, k, None, -(math.floor(left + EXACT) - gap - w - n["right"])),),
            ((0, None, k, math.ceil(right - EXACT) + gap + n["left"]),),
            ((1, k, None, -(math.floor(top + EXACT) - gap - d - n["bottom"])),),
            ((1, None, k, math.ceil(bottom - EXACT) + gap + n["top"]),),
        ]
        for e in p.edges:
            if min(abs(e.nx), abs(e.ny)) <= shapes.CLOSE_MM:
                continue
            cx = -n["left"] if e.nx > 0 else w + n["right"]
            cy = -n["top"] if e.ny > 0 else d + n["bottom"]
            x, y = at[0][k] + cx, at[1][k] + cy
            lack = e.c + gap - (e.nx * x + e.ny * y)
            if lack <= EXACT:
                return None
            # a corner beyond a slanted edge: split at the foot of the corner on the edge
            fx = round(at[0][k] + lack * e.nx / 1.0)
            need_y = (e.c + gap - e.nx * (fx + cx)) / e.ny - cy
            sx: Step = (0, None, k, float(fx)) if e.nx < 0 else (0, k, None, -float(fx))
            sy: Step = (
                (1, None, k, math.ceil(need_y - EXACT)) if e.ny > 0 else (1, k, None, -math.floor(need_y + EXACT))
            )
            ways.append((sx, sy))
            # on the other side of that point the edge is judged anew
            beyond = fx + 1 if e.nx > 0 else fx - 1
            need_y = (e.c + gap - e.nx * (beyond + cx)) / e.ny - cy
            other: Step = (0, None, k, float(beyond)) if e.nx > 0 else (0, k, None, -float(beyond))
            ways.append((other,))
        return self._choice(ways, at)

    def _tools(self, a: int, b: int, poses: Mapping[int, Pose], at: Sequence[Sequence[float]]) -> list[Choice | None]:
        half = facts.room("tool_mm") / 2.0
        out: list[Choice | None] = []
        for _, box, tool in self.bodies[a].tool_boxes(poses[a][0]):
            axis = foot_mm(self.panel, poses[a][1]) + tool.height_mm
            foot = foot_mm(self.panel, poses[b][1])
            if foot < axis + half and foot + self.bodies[b].height_mm > axis - half:
                out.append(self._choice(self._boxes(a, box, b, self._body_box(b, poses[b])), at))
        return out

    def _priced(self, node: _Node, at: Sequence[Sequence[float]]) -> list[Choice | None]:
        """Rules that may be broken at a price."""
        poses = node.poses
        out: list[Choice | None] = []
        near, heat = math.ceil(facts.worth("near_mm")), round(facts.worth("heat_g") * MG_PER_G)
        for a, b in combinations(range(len(self.bodies)), 2):
            if self.bodies[a].plan.warm and self.bodies[b].plan.warm and ("near", a, b) not in node.paid:
                box, other = self._body_box(a, poses[a]), self._body_box(b, poses[b])
                ways = [tuple((s[0], s[1], s[2], s[3] + near) for s in w) for w in self._boxes(a, box, b, other)]
                out.append(self._choice(ways, at, heat, ("near", a, b)))
            if {poses[a][1], poses[b][1]} == {1, 2} and ("cover", a, b) not in node.paid:
                down = a if poses[a][1] == 1 else b
                if self.bodies[down].plan.reach_mm:
                    ways = self._boxes(a, self._body_box(a, poses[a]), b, self._body_box(b, poses[b]))
                    out.append(self._choice(ways, at, round(facts.worth("cover_g") * MG_PER_G), ("cover", a, b)))
        price = round(facts.worth("crossing_g") * MG_PER_G)
        for (m, one), (n, two) in combinations(enumerate(self.links), 2):
            if {one.kind, two.kind} == {"power", "line"} and ("meet", m, n) not in node.paid:
                out.append(self._meet(one, two, poses, at, price, ("meet", m, n)))
        return out

    def _points(self, link: Link, poses: Mapping[int, Pose]) -> list[tuple[int | None, tuple[float, float]]]:
        """Both ends of a link: the item, and where on it."""
        out: list[tuple[int | None, tuple[float, float]]] = []
        for item, at in ((link.start, link.from_at), (link.to, link.to_at)):
            if item is None:
                out.append((None, (float(round(self.panel.entry_mm[0])), float(round(self.panel.entry_mm[1])))))
                continue
            k = self.number[item]
            key = item, at, poses[k]
            if key not in self._offs:
                b = self.bodies[k]
                x, y = turned(at, b.width_mm, b.depth_mm, poses[k][0])
                self._offs[key] = float(round(x)), float(round(y))
            out.append((k, self._offs[key]))
        return out

    def _meet(
        self, one: Link, two: Link, poses: Mapping[int, Pose], at: Sequence[Sequence[float]], price: int, name: object
    ) -> Choice | None:
        p, q = self._points(one, poses), self._points(two, poses)
        for axis in (0, 1):
            a = [o[axis] + (0.0 if k is None else at[axis][k]) for k, o in p]
            b = [o[axis] + (0.0 if k is None else at[axis][k]) for k, o in q]
            if max(a) <= min(b) + EXACT or max(b) <= min(a) + EXACT:
                return None
        ways = []
        for axis in (0, 1):
            for first, second in ((p, q), (q, p)):
                steps = tuple(
                    (axis, u, v, uo[axis] - vo[axis])
                    for u, uo in first
                    for v, vo in second
                    if u is not None or v is not None
                )
                fixed_wrong = any(
                    u is None and v is None and uo[axis] > vo[axis] for u, uo in first for v, vo in second
                )
                same = any(u is not None and u == v and uo[axis] > vo[axis] for u, uo in first for v, vo in second)
                if not fixed_wrong and not same:
                    ways.append(tuple(s for s in steps if s[1] != s[2]))
        if any(not w for w in ways):
            return None
        if not ways:
            return Choice((), 1.0, price, name)
        return self._choice(ways, at, price, name)

    # -- the search ---------------------------------------------------------------------------

    def run(self, most_nodes: int) -> Found:
        """Search to the end, or so many nodes far."""
        self.most = most_nodes
        node = _Node()
        if any(not p for p in self.poses):
            self.found.proven, self.found.bound_mg = True, math.inf
            return self.found
        for k, poses in enumerate(self.poses):
            if len(poses) == 1:
                self._set_pose(node.poses, k, poses[0])
        self._down(node)
        found = self.found
        found.proven = not self.stopped
        if found.proven:
            found.bound_mg = found.cost_mg
        return found

    def _value(self, node: _Node) -> float:
        """The least that anything below this node costs; infinite where there is nothing."""
        if self.lp.Solve(self.how) != self.optimal:
            return math.inf
        spacers = round(facts.worth("spacers_g") * MG_PER_G) * sum(p[1] == 2 for p in node.poses.values())
        return float(self.lp.Objective().Value()) + sum(node.paid.values()) + spacers

    def _down(self, node: _Node) -> None:
        found = self.found
        found.nodes += 1
        if found.nodes % 256 == 0 and self._told():
            self.stopped = True
        if self._halted() or found.nodes > self.most:
            self.stopped = True
            return
        value = self._value(node)
        if value >= found.cost_mg - 0.5:
            return
        at = [[v.solution_value() for v in self.at[axis]] for axis in (0, 1)]
        broken = self._broken(node, at)
        if broken is None:
            self._leaf(node, at, value)
        elif isinstance(broken, int):
            self._turns(node, broken)
        else:
            self._ways(node, broken)

    def _halted(self) -> bool:
        return self.stopped

    def _leaf(self, node: _Node, at: Sequence[Sequence[float]], value: float) -> None:
        off = [(abs(at[axis][k] - round(at[axis][k])), axis, k) for axis in (0, 1) for k in range(len(self.bodies))]
        worst = max(off)
        if worst[0] > 1e-4:
            _, axis, k = worst
            low = math.floor(at[axis][k])
            self._branch(node, [((axis, k, None, -float(low)),), ((axis, None, k, low + 1.0),)], None, None)
            return
        spots = tuple(
            Where(
                b.id,
                (float(round(at[0][k])), float(round(at[1][k]))),
                node.poses[k][0],
                2 if node.poses[k][1] == 2 else 1,
            )
            for k, b in enumerate(self.bodies)
        )
        self.found.spots, self.found.cost_mg = spots, round(value)
        self._told()

    def _turns(self, node: _Node, k: int) -> None:
        tried = []
        mark = len(self.trail)
        for pose in self.poses[k]:
            self._set_pose(node.poses, k, pose)
            tried.append((self._value(node), pose))
            del node.poses[k]
            self._back(mark)
        tried.sort()
        self.open.append([v for v, _ in tried])
        for n, (value, pose) in enumerate(tried):
            self.open[-1][n] = math.inf
            if value >= self.found.cost_mg - 0.5:
                continue
            self._set_pose(node.poses, k, pose)
            self.open[-1][n] = value
            self._down(node)
            del node.poses[k]
            self._back(mark)
            if self._halted():
                return
            self.open[-1][n] = math.inf
        self.open.pop()

    def _ways(self, node: _Node, choice: Choice) -> None:
        self._branch(node, choice.ways, choice.pay, choice.name)

    def _branch(self, node: _Node, ways: Sequence[tuple[Step, ...]], pay: int | None, name: object) -> None:
        """Each way in turn; what one way asked for is ruled out in those that follow."""
        start = len(self.trail)
        tried: list[tuple[float, int]] = []
        for n, way in enumerate(ways):
            value = self._value(node) if all(self._step(s) for s in way) else math.inf
            tried.append((value, n))
            self._back(start)
        tried.sort()
        if pay is not None:
            node.paid[name] = pay
            value = self._value(node)
            del node.paid[name]
            tried.append((value, -1))
        self.open.append([v for v, _ in tried])
        for m, (value, n) in enumerate(tried):
            if self._halted():
                return
            if value < self.found.cost_mg - 0.5:
                mark = len(self.trail)
                if n < 0:
                    node.paid[name] = pay or 0
                    self._down(node)
                    del node.paid[name]
                elif all(self._step(s) for s in ways[n]):
                    self._down(node)
                self._back(mark)
                if self._halted():
                    return
            self.open[-1][m] = math.inf
            if n >= 0 and len(ways[n]) == 1 and m + 1 < len(tried) and not self._not(ways[n][0]):
                break
        self.open.pop()
        self._back(start)

    def _not(self, step: Step) -> bool:
        """The opposite of a difference, on whole millimetres; False where nothing is left."""
        axis, u, v, least = step
        return self._step((axis, v, u, 1.0 - math.ceil(least - EXACT)))

    def bound_mg(self) -> float:
        """What is proven so far: nothing costs less."""
        left = [v for level in self.open for v in level]
        return min([self.found.cost_mg, *left]) if left else (self.found.cost_mg if not self.stopped else 0.0)

    def _told(self) -> bool:
        """Tell how far it is; True where it is to stop."""
        self.found.bound_mg = self.bound_mg()
        return self.report is not None and self.report(self.found)
