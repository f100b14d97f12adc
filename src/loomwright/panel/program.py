"""The linear program under the placement, and what may be asked of it on top.

Its unknowns are where each item lies, the share of each of its turns, and whether it stands on spacers. While a turn is
open, ends of wires and rooms are those of the mean of the turns by their shares: a bound below each of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, permutations, product

import numpy as np

from loomwright.facts import panel as facts
from loomwright.panel import shapes
from loomwright.panel.bodies import Body, foot_mm
from loomwright.panel.links import MG_PER_G, Link
from loomwright.panel.results import Box, Where
from loomwright.panel.simplex import Array, Simplex
from loomwright.rig.plan import SIDES, Panel, Point, turned

EXACT = 1e-6
Way = tuple["Row", ...]


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """``a z >= least``. Where it is ``whole``, both sides are on whole millimetres, turns and layers."""

    a: Array
    least: float
    whole: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Rule:
    """One of its ways has to be kept, or ``pay`` [mg] is due."""

    name: tuple[object, ...]
    ways: tuple[Way, ...]
    pay: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Sum:
    """``a z + more``."""

    a: Array
    more: float

    def __add__(self, other: Sum) -> Sum:
        return Sum(self.a + other.a, self.more + other.more)

    def __sub__(self, other: Sum) -> Sum:
        return Sum(self.a - other.a, self.more - other.more)


class Program:
    """The items of one panel."""

    def __init__(
        self, panel: Panel, bodies: Sequence[Body], links: Sequence[Link], fixed: Mapping[str, Where],
    ) -> None:  # fmt: skip
        self.panel, self.bodies, self.links = panel, tuple(bodies), tuple(links)
        self.board = shapes.board(panel)
        self.number = {b.id: k for k, b in enumerate(bodies)}
        self.fixed = {self.number[i]: w for i, w in fixed.items()}
        self.turns = [(self.fixed[k].turn_deg,) if k in self.fixed else b.turns for k, b in enumerate(bodies)]
        self.layers = [
            (int(self.fixed[k].layer),) if k in self.fixed else tuple(n for n in (1, 2) if self._may_be(b, n))
            for k, b in enumerate(bodies)
        ]
        self.mass = [1 + sum(link.mg_per_mm for link in links if b.id in (link.start, link.to)) for b in bodies]
        self.columns = 2 * len(bodies)
        self.share: list[dict[int, int]] = []
        for turns in self.turns:
            self.share.append({t: self.columns + n for n, t in enumerate(turns[1:])})
            self.columns += len(turns) - 1
        self.spacers: dict[int, int] = {}
        for k, layers in enumerate(self.layers):
            if len(layers) == 2:
                self.spacers[k] = self.columns
                self.columns += 1
        self.always_mg = round(facts.worth("spacers_g") * MG_PER_G) * sum(n == (2,) for n in self.layers)
        self.empty = any(not n for n in self.layers)
        self.lp = self._program()
        self.rules = tuple(self._rules())

    def _may_be(self, b: Body, layer: int) -> bool:
        if layer == 2 and (self.panel.spacer_mm is None or not b.may_stand):
            return False
        if b.layer is not None and b.layer != layer:
            return False
        top = foot_mm(self.panel, layer) + b.height_mm
        return top + facts.room("lid_mm") <= self.panel.space_mm and top + b.plan.reach_mm <= self.panel.space_mm

    # -- sums ---------------------------------------------------------------------------------

    def _none(self) -> Array:
        return np.zeros(self.columns)

    def at(self, k: int, axis: int) -> Sum:
        """Where an item lies along an axis."""
        a = self._none()
        a[2 * k + axis] = 1.0
        return Sum(a, 0.0)

    def by_turn(self, k: int, value: Callable[[int], float]) -> Sum:
        """A figure that depends on the turn of an item."""
        a, first = self._none(), float(value(self.turns[k][0]))
        for t, column in self.share[k].items():
            a[column] = value(t) - first
        return Sum(a, first)

    def end(self, k: int, box: Callable[[int], Sequence[float]], n: int) -> Sum:
        """A side of a box of an item that is told by turn from its corner: 0 left, 1 top, 2 right, 3 bottom."""
        return self.at(k, n % 2) + self.by_turn(k, lambda t: box(t)[n])

    @staticmethod
    def beyond(high: Sum, low: Sum, gap: float = 0.0) -> Row:
        """``high`` is at least so far beyond ``low``."""
        apart = high - low
        return Row(apart.a, gap - apart.more)

    def turn_way(self, k: int, turn: int) -> Row:
        """An item lies at a turn."""
        a = self._none()
        if turn in self.share[k]:
            a[self.share[k][turn]] = 1.0
            return Row(a, 1.0)
        for column in self.share[k].values():
            a[column] = -1.0
        return Row(a, 0.0)

    def layer_way(self, k: int, layer: int) -> Way | None:
        """An item lies on a layer; None where it cannot."""
        if layer not in self.layers[k]:
            return None
        if k not in self.spacers:
            return ()
        a = self._none()
        a[self.spacers[k]] = 1.0 if layer == 2 else -1.0
        return (Row(a, 1.0 if layer == 2 else 0.0),)

    def points(self, link: Link, axis: int) -> tuple[Sum, Sum]:
        """Both ends of a link along an axis."""
        out = []
        for item, at in ((link.start, link.from_at), (link.to, link.to_at)):
            if item is None:
                out.append(Sum(self._none(), float(round(self.panel.entry_mm[axis]))))
                continue
            k = self.number[item]
            b = self.bodies[k]
            out.append(
                self.at(k, axis)
                + self.by_turn(k, lambda t, b=b, at=at: round(turned(at, b.width_mm, b.depth_mm, t)[axis]))  # type: ignore[misc]
            )
        return out[0], out[1]

    # -- the linear program -------------------------------------------------------------------

    def _program(self) -> Simplex:
        n = self.columns
        low, high = np.zeros(n), np.ones(n)
        rows: list[tuple[Array, float, float, float, float]] = []
        for k, b in enumerate(self.bodies):
            ways = [self.turn_way(k, t) for t in self.turns[k][:1] if self.share[k]]
            rows += [(w.a, -1.0, 0.0, 0.0, 0.0) for w in ways]
            if k in self.fixed:
                for axis in (0, 1):
                    low[2 * k + axis] = high[2 * k + axis] = float(round(self.fixed[k].at_mm[axis]))
                continue
            self._on_board(k, b, low, high, rows)
        for link in self.links:
            for axis in (0, 1):
                one, two = self.points(link, axis)
                apart = one - two
                rows.append((apart.a, -math.inf, math.inf, float(link.mg_per_mm), -apart.more))
        for k in self.spacers:
            a = self._none()
            a[self.spacers[k]] = 1.0
            rows.append((a, -math.inf, math.inf, float(round(facts.worth("spacers_g") * MG_PER_G)), 0.0))
        return Simplex(
            np.vstack([np.eye(n), *(r[0] for r in rows)]),
            *(np.concatenate([first, [r[m] for r in rows]])
              for m, first in ((1, low), (2, high), (3, np.zeros(n)), (4, np.zeros(n)))),
        )  # fmt: skip

    def _on_board(
        self, k: int, b: Body, low: Array, high: Array, rows: list[tuple[Array, float, float, float, float]]
    ) -> None:
        """Inside the hull of the board with all its distances."""
        box = [0.0, 0.0, *self.panel.size_mm]
        slant = []
        for e in self.board.edges:
            if min(abs(e.nx), abs(e.ny)) > shapes.CLOSE_MM:
                slant.append(e)
            elif e.nx < -0.5:
                box[0] = max(box[0], -e.c)
            elif e.nx > 0.5:
                box[2] = min(box[2], e.c)
            elif e.ny < -0.5:
                box[1] = max(box[1], -e.c)
            else:
                box[3] = min(box[3], e.c)

        def need(t: int) -> tuple[float, ...]:
            w, d = b.size_mm(t)
            m = {s: b.margin_mm(self.panel, s, t) for s in SIDES}
            return float(m["left"]), float(m["top"]), float(w + m["right"]), float(d + m["bottom"])

        for axis in (0, 1):
            lows = {t: math.ceil(box[axis] + need(t)[axis] - EXACT) for t in self.turns[k]}
            highs = {t: math.floor(box[axis + 2] - need(t)[axis + 2] + EXACT) for t in self.turns[k]}
            low[2 * k + axis], high[2 * k + axis] = min(lows.values()), max(highs.values())
            if len(set(lows.values())) > 1:
                row = self.beyond(self.at(k, axis), self.by_turn(k, lambda t, lows=lows: lows[t]))  # type: ignore[misc]
                rows.append((row.a, row.least, math.inf, 0.0, 0.0))
            if len(set(highs.values())) > 1:
                row = self.beyond(self.by_turn(k, lambda t, highs=highs: highs[t]), self.at(k, axis))  # type: ignore[misc]
                rows.append((row.a, row.least, math.inf, 0.0, 0.0))
        for e in slant:
            far = self.by_turn(
                k, lambda t, e=e: e.nx * (need(t)[2] if e.nx > 0 else -need(t)[0])  # type: ignore[misc]
                + e.ny * (need(t)[3] if e.ny > 0 else -need(t)[1]),
            )  # fmt: skip
            a = e.nx * self.at(k, 0).a + e.ny * self.at(k, 1).a + far.a
            rows.append((a, -math.inf, e.c - far.more, 0.0, 0.0))

    # -- rules --------------------------------------------------------------------------------

    def apart(
        self, a: int, box: Callable[[int], Sequence[float]], b: int, other: Callable[[int], Sequence[float]],
        gap: float = 0.0,
    ) -> tuple[Way, ...]:  # fmt: skip
        """Ways for a box of one item to lie beside a box of another."""
        return tuple(
            (self.beyond(self.end(q, theirs, axis), self.end(p, mine, axis + 2), gap),)
            for axis in (0, 1)
            for p, mine, q, theirs in ((a, box, b, other), (b, other, a, box))
        )

    def _body(self, k: int) -> Callable[[int], Box]:
        def box(t: int) -> Box:
            w, d = self.bodies[k].size_mm(t)
            return 0.0, 0.0, float(w), float(d)

        return box

    def _room(self, k: int) -> Callable[[int], Box]:
        def box(t: int) -> Box:
            b = self.bodies[k]
            w, d = b.size_mm(t)
            left, top, right, bottom = (b.room_mm(s, t) for s in ("left", "top", "right", "bottom"))
            return float(-left), float(-top), float(w + right), float(d + bottom)

        return box

    def _rules(self) -> Iterator[Rule]:
        for k, turns in enumerate(self.turns):
            if len(turns) > 1:
                yield Rule(("turn", k), tuple((self.turn_way(k, t),) for t in turns))
        for k in self.spacers:
            yield Rule(("layer", k), tuple(w for n in (1, 2) if (w := self.layer_way(k, n)) is not None))
        for a, b in combinations(range(len(self.bodies)), 2):
            if a not in self.fixed or b not in self.fixed:
                yield from self._pair(a, b)
        for a, b in permutations(range(len(self.bodies)), 2):
            if a not in self.fixed or b not in self.fixed:
                yield from self._tools(a, b)
        for k in range(len(self.bodies)):
            if k not in self.fixed:
                for n, p in enumerate(self.board.pieces):
                    yield Rule(("piece", k, n), tuple((row,) for row in self._clear_of(k, p)))
        yield from self._priced()

    def _layers(self, *asked: tuple[int, int]) -> Way | None:
        """Items on layers, as a way; None where it cannot be."""
        out: Way = ()
        for k, layer in asked:
            way = self.layer_way(k, layer)
            if way is None:
                return None
            out += way
        return out

    def _pair(self, a: int, b: int) -> Iterator[Rule]:
        over = [
            (up, down, way)
            for up, down in ((a, b), (b, a))
            if self.bodies[down].low(self.panel) and (way := self._layers((up, 2), (down, 1))) is not None
        ]
        if all(way for _, _, way in over):
            apart = self.apart(a, self._room(a), b, self._room(b))
            yield Rule(("apart", a, b), (*apart, *(way for _, _, way in over)))
        for up, down, _ in over:
            other = [w for k, n in ((up, 1), (down, 2)) if (w := self.layer_way(k, n)) is not None]
            for n, hole in enumerate(self.bodies[up].plan.holes_mm):
                feet = self.apart(up, self._pad(up, hole), down, self._body(down))
                yield Rule(("feet", up, down, n), (*feet, *other))

    def _pad(self, k: int, hole: Point) -> Callable[[int], Box]:
        plan, half = self.bodies[k].plan, facts.room("spacer_pad_mm") / 2.0

        def box(t: int) -> Box:
            x, y = turned(hole, plan.width_mm, plan.depth_mm, t)
            return math.floor(x - half), math.floor(y - half), math.ceil(x + half), math.ceil(y + half)

        return box

    def _tools(self, a: int, b: int) -> Iterator[Rule]:
        """Nothing stands in the way of a's screwdrivers."""
        half = facts.room("tool_mm") / 2.0
        for n, tool in enumerate(self.bodies[a].tools):
            free: list[Way] = []
            clash = False
            for la, lb in product((1, 2), (1, 2)):
                way = self._layers((a, la), (b, lb))
                if way is None:
                    continue
                axis, foot = foot_mm(self.panel, la) + tool.height_mm, foot_mm(self.panel, lb)
                if foot < axis + half and foot + self.bodies[b].height_mm > axis - half:
                    clash = True
                else:
                    free.append(way)
            if clash:
                boxes = {t: self.bodies[a].tool_boxes(t)[n][1] for t in self.turns[a]}
                yield Rule(("tool", a, b, n), (*self.apart(a, boxes.__getitem__, b, self._body(b)), *free))

    def _clear_of(self, k: int, p: shapes.Piece) -> Iterator[Row]:
        """An item with its wires lies beyond a side of the box of a piece, or beyond a slanted edge of it."""
        b, gap = self.bodies[k], self.panel.edge_mm if p.cut else 0.0
        left, top, right, bottom = p.box_mm

        def box(t: int) -> Box:
            w, d = b.size_mm(t)
            n = {s: b.need_mm(s, t, "wires", "plug") for s in SIDES}
            return float(-n["left"]), float(-n["top"]), float(w + n["right"]), float(d + n["bottom"])

        def still(v: float) -> Sum:
            return Sum(self._none(), v)

        yield self.beyond(still(math.floor(left - gap + EXACT)), self.end(k, box, 2))
        yield self.beyond(self.end(k, box, 0), still(math.ceil(right + gap - EXACT)))
        yield self.beyond(still(math.floor(top - gap + EXACT)), self.end(k, box, 3))
        yield self.beyond(self.end(k, box, 1), still(math.ceil(bottom + gap - EXACT)))
        for e in p.edges:
            if min(abs(e.nx), abs(e.ny)) > shapes.CLOSE_MM:
                x, y = self.end(k, box, 0 if e.nx > 0 else 2), self.end(k, box, 1 if e.ny > 0 else 3)
                least = e.c + gap - e.nx * x.more - e.ny * y.more
                yield Row(e.nx * x.a + e.ny * y.a, least, whole=False)

    def _priced(self) -> Iterator[Rule]:
        """Rules that may be broken at a price."""
        near = float(math.ceil(facts.worth("near_mm")))
        heat, cover, meet = (round(facts.worth(n) * MG_PER_G) for n in ("heat_g", "cover_g", "crossing_g"))
        for a, b in combinations(range(len(self.bodies)), 2):
            if self.bodies[a].plan.warm and self.bodies[b].plan.warm:
                yield Rule(("near", a, b), self.apart(a, self._body(a), b, self._body(b), near), heat)
            for up, down in ((a, b), (b, a)):
                if self.bodies[down].plan.reach_mm and self._layers((up, 2), (down, 1)) is not None:
                    other = [w for k, n in ((up, 1), (down, 2)) if (w := self.layer_way(k, n)) is not None]
                    free = self.apart(up, self._body(up), down, self._body(down))
                    yield Rule(("cover", up, down), (*free, *other), cover)
        ends = [tuple(self.points(link, axis) for axis in (0, 1)) for link in self.links]
        for (m, one), (n, two) in combinations(enumerate(self.links), 2):
            if {one.kind, two.kind} == {"power", "line"}:
                ways = [
                    tuple(self.beyond(high, low) for low in first for high in second)
                    for axis in (0, 1)
                    for first, second in ((ends[m][axis], ends[n][axis]), (ends[n][axis], ends[m][axis]))
                ]
                kept = [tuple(r for r in way if r.a.any() or r.least > EXACT) for way in ways]
                possible = [way for way in kept if all(r.a.any() for r in way)]
                if not possible:
                    self.always_mg += meet
                elif all(possible):
                    yield Rule(("meet", m, n), tuple(possible), meet)

