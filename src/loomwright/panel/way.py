"""The best way of one lead among those that lie already: shortest, with few bends, crossing nothing without need.

Every piece between two bends is at least as long as both their radii together. From a bend the search therefore jumps
to the first lane that is far enough; from there it may bend again or go on. What it finds is the cheapest way there is
in these lanes.
"""

from __future__ import annotations

import heapq
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence

import numpy as np

from loomwright.panel.ahead import BARRED, Grid, ahead
from loomwright.panel.lanes import (
    BEND_COST_MM,
    BESIDE_COST,
    CROSS_COST_MM,
    GATHER_COST,
    MIXED_COST_MM,
    PATIENT,
    TRUNK_SHARE,
    Floats,
    Lanes,
    Mask,
    Segment,
    Wanted,
    share,
)
from loomwright.panel.results import Box
from loomwright.rig.plan import Point, SideName

CLOSE = 1e-6
BESIDE_MM = 50.0
_OUT: Mapping[SideName, tuple[int, int]] = {"left": (-1, 0), "right": (1, 0), "top": (0, -1), "bottom": (0, 1)}
_HEADING = {(0, 1): 0, (1, 1): 1, (0, -1): 2, (1, -1): 3}
"""Axis and sense of a piece: right, down, left, up."""


def way(
    lanes: Lanes, want: Wanted, there: Sequence[Segment], gap_mm: float, bars: Sequence[Point] = (),
    kept: Sequence[tuple[Box, float]] = (),
) -> tuple[float, tuple[Point, ...]] | None:  # fmt: skip
    """The best way for a lead: what it costs, and its corners; None where there is none. It shuns ``bars``, and keeps
    out of the boxes ``kept`` for others, by what a millimetre in them costs more.
    """
    return _Search(lanes, want, there, gap_mm, bars, kept).best()


class _Search:
    """One lead looked for among those that lie already. A node is ``row * columns + column``."""

    def __init__(
        self, lanes: Lanes, want: Wanted, there: Sequence[Segment], gap_mm: float, bars: Sequence[Point],
        kept: Sequence[tuple[Box, float]],
    ) -> None:  # fmt: skip
        self.lanes, self.want = lanes, want
        xs, ys = lanes.xs, lanes.ys
        self.columns = len(xs)
        across, down = (m.copy() for m in lanes.free(want.thick_mm / 2.0))
        turn = np.ones((len(ys), len(xs)), dtype=bool)
        price_a, price_d = np.ones(across.shape), np.ones(down.shape)
        cross_a, cross_d = np.zeros(across.shape), np.zeros(down.shape)
        self.pass_a, self.pass_d = np.zeros(turn.shape), np.zeros(turn.shape)
        rows, columns = (ys, ys.tolist()), (xs, xs.tolist())
        for s in there:
            band = (want.width_mm + s.width_mm) / 2.0 + gap_mm
            mixed = {s.kind, want.kind} == {"power", "line"}
            joins = share(s.kind, s.leaving, want.kind, want.to.side is None)
            if s.across:
                self._taken(across, cross_d, self.pass_d, turn, price_a, rows, columns, s, band, mixed, joins)
            else:
                self._taken(
                    down.T, cross_a.T, self.pass_a.T, turn.T, price_d.T, columns, rows, s, band, mixed, joins
                )  # fmt: skip
        for (left, top, right, bottom), more in [*kept, *self._gathering()]:
            i0, i1 = bisect_left(rows[1], top), bisect_right(rows[1], bottom)
            k0, k1 = bisect_left(columns[1], left), bisect_right(columns[1], right)
            price_a[i0:i1, max(k0 - 1, 0) : k1] += more
            price_d[max(i0 - 1, 0) : i1, k0:k1] += more
        for x, y in bars:
            half = want.width_mm
            lanes.strike(across, down, (x - half, y - half, x + half, y + half))
        self._costs(
            across, np.diff(xs)[None, :] * price_a + cross_a, down, np.diff(ys)[:, None] * price_d + cross_d, turn
        )
        self.cross_a, self.cross_d = cross_a, cross_d
        self.grid = Grid(self.free_a, self.cost_a, self.free_d, self.cost_d, turn)
        self.turn = turn.ravel()
        self.xl: list[float] = columns[1]
        self.yl: list[float] = rows[1]

    def _gathering(self) -> list[tuple[Box, float]]:
        """The room in front of the cable entry, which is kept for leads that leave there."""
        (x, y), r = self.lanes.entry, self.lanes.zone
        return [] if self.want.to.side is None else [((x - r, y - r, x + r, y + r), GATHER_COST)]

    def _taken(
        self, along: Mask, crossed: Floats, passed: Floats, turn: Mask, price: Floats, at: tuple[Floats, list[float]],
        to: tuple[Floats, list[float]], s: Segment, band: float, mixed: bool, joins: bool,
    ) -> None:  # fmt: skip
        """What a lead that lies already takes: its lane and its neighbours; crossing it costs. Lanes are sorted."""
        lanes, (_, lane), (_, node) = self.lanes, at, to
        own = s.across
        zone_lane, zone_node = (lanes.entry[1], lanes.entry[0]) if own else (lanes.entry[0], lanes.entry[1])
        low, high = bisect_right(lane, s.at_mm - band + CLOSE), bisect_left(lane, s.at_mm + band - CLOSE)
        first, last = bisect_right(node, s.from_mm - band), bisect_left(node, s.to_mm + band)
        z0, z1 = bisect_left(node, zone_node - lanes.zone), bisect_right(node, zone_node + lanes.zone)
        c0, c1 = max(first - 1, 0), min(last, len(node) - 1)
        for r in range(low, high):
            gathers = abs(lane[r] - zone_lane) <= lanes.zone
            if joins and abs(lane[r] - s.at_mm) <= CLOSE:
                # they may run in one trunk: in the very lane, or clear of it
                price[r, c0:c1] = np.minimum(price[r, c0:c1], TRUNK_SHARE)
            elif gathers:
                along[r, c0 : max(min(c1, z0), c0)] = False
                along[r, min(max(c0, z1 - 1), c1) : c1] = False
                turn[r, first : max(min(last, z0), first)] = False
                turn[r, min(max(first, z1), last) : last] = False
            else:
                along[r, c0:c1] = False
                turn[r, first:last] = False
        r = bisect_right(lane, s.at_mm + CLOSE) - 1
        if 0 <= r < len(lane) - 1:
            i0, i1 = bisect_right(node, s.from_mm - CLOSE), bisect_left(node, s.to_mm + CLOSE)
            dear = MIXED_COST_MM if mixed else CROSS_COST_MM
            near = r if s.at_mm - lane[r] <= lane[r + 1] - s.at_mm else r + 1
            if joins and abs(lane[near] - s.at_mm) <= CLOSE:
                # who bends into it runs along; who goes straight over it crosses
                i0, i1 = bisect_right(node, s.from_mm + CLOSE), bisect_left(node, s.to_mm - CLOSE)
                crossed, r = passed, near
            if abs(lane[near] - zone_lane) <= lanes.zone:
                crossed[r, i0 : max(min(i1, z0), i0)] += dear
                crossed[r, min(max(i0, z1), i1) : i1] += dear
            else:
                crossed[r, i0:i1] += dear
        if mixed:
            low, high = bisect_right(lane, s.at_mm - BESIDE_MM), bisect_left(lane, s.at_mm + BESIDE_MM)
            price[low:high, c0:c1] = BESIDE_COST

    def _costs(self, across: Mask, cost_a: Floats, down: Mask, cost_d: Floats, turn: Mask) -> None:
        """What a step along a lane and a bend with its jump cost, node by node and heading; infinite where barred."""
        xs, ys = self.lanes.xs, self.lanes.ys
        need = 2.0 * self.want.radius_mm - CLOSE
        blocked = np.where(across, 0.0, np.inf), np.where(down, 0.0, np.inf)
        self.step: list[memoryview] = []
        self.jump: list[memoryview] = []
        self.land: list[list[int]] = []
        self.cost_a, self.cost_d = cost_a, cost_d
        self.free_a, self.free_d = across, down
        for axis, sense in ((0, 1), (1, 1), (0, -1), (1, -1)):
            lines, cost, bar, free, passed = (xs, cost_a, blocked[0], across, self.pass_a) if axis == 0 else (
                ys, cost_d.T, blocked[1].T, down.T, self.pass_d.T
            )  # fmt: skip
            n = len(lines)
            open_turn = turn if axis == 0 else turn.T
            step = np.full(open_turn.shape, np.inf)
            if sense > 0:
                step[:, :-1] = cost + bar + passed[:, :-1]
                there = np.searchsorted(lines, lines + need)
            else:
                step[:, 1:] = cost + bar + passed[:, 1:]
                there = np.searchsorted(lines, lines - need, side="right") - 1
            total = np.zeros(open_turn.shape)
            np.cumsum(cost, axis=1, out=total[:, 1:])
            shut = np.zeros(open_turn.shape)
            np.cumsum(~free, axis=1, out=shut[:, 1:])
            inside = (there >= 0) & (there < n)
            to = np.where(inside, there, 0)
            over = np.cumsum(passed, axis=1)
            far = np.abs(total[:, to] - total) + np.abs(over[:, to] - over) - (passed[:, to] if sense > 0 else passed)
            barred = (shut[:, to] != shut) | ~inside[None, :] | ~open_turn
            jump = np.where(barred, np.inf, far + BEND_COST_MM)
            if axis:
                step, jump = step.T, jump.T
            self.step.append(step.ravel().data)
            self.jump.append(jump.ravel().data)
            self.land.append(to.tolist())

    def best(self) -> tuple[float, tuple[Point, ...]] | None:
        """The cheapest way."""
        columns, last = self.columns, self._last()
        still = [(PATIENT * a).ravel().data for a in ahead(self.grid, last, self._into())]
        ends = (last < BARRED).ravel().data
        far = float("inf")
        best: dict[int, float] = {}
        back: dict[int, int] = {}
        heap: list[tuple[float, int]] = []
        for state, cost in self._first():
            if cost < best.get(state, far):
                best[state] = cost
                heapq.heappush(heap, (cost + still[state & 3][state >> 2], state))
        done, end = BARRED, -1
        move = (1, columns, -1, -columns)
        closed: set[int] = set()
        while heap:
            total, state = heapq.heappop(heap)
            if total >= done - 1e-9:
                break
            if state in closed:
                continue
            closed.add(state)
            node, heading = state >> 2, state & 3
            cost = best[state]
            if ends[node]:
                finish = self._finish(node, heading, cost)
                if finish is not None and finish < done - 1e-9:
                    done, end = finish, state
            row, column = divmod(node, columns)
            for way in (heading, (heading + 1) & 3, (heading + 3) & 3):
                if way == heading:
                    add, there = self.step[way][node], node + move[way]
                elif way & 1:
                    add, there = self.jump[way][node], self.land[way][row] * columns + column
                else:
                    add, there = self.jump[way][node], row * columns + self.land[way][column]
                if add == far:
                    continue
                reached = cost + add
                state_there = there << 2 | way
                if reached < best.get(state_there, far) - 1e-9:
                    total = reached + still[way][there]
                    if total >= done - 1e-9:
                        continue
                    best[state_there], back[state_there] = reached, state
                    closed.discard(state_there)
                    heapq.heappush(heap, (total, state_there))
        if end < 0:
            return None
        points = [self.want.to.at_mm]
        here: int | None = end
        while here is not None:
            points.append((self.xl[(here >> 2) % columns], self.yl[(here >> 2) // columns]))
            here = back.get(here)
        points.append(self.want.start.at_mm)
        return done, _corners(points[::-1])

    def _last(self) -> Floats:
        """What the last piece costs from the nodes that it may begin at; more than any way from the others."""
        (gx, gy), side = self.want.to.at_mm, self.want.to.side
        dx, dy = (gx - self.lanes.xs)[None, :], (gy - self.lanes.ys)[:, None]
        if side is None:
            near = (np.abs(dx) <= self.lanes.zone) & (np.abs(dy) <= self.lanes.zone)
            return np.where(near, np.abs(dx) + np.abs(dy), BARRED)
        sx, sy = _OUT[side]
        along, aside = (dx, dy) if sx else (dy, dx)
        far = -(sx + sy) * along
        return np.where((np.abs(aside) <= CLOSE) & (far >= -CLOSE), far, BARRED)

    def _into(self) -> int | None:
        """The heading in which the goal is reached; None where any will do."""
        side = self.want.to.side
        if side is None:
            return None
        x, y = _OUT[side]
        return _HEADING[0 if x else 1, -(x + y)]

    def _first(self) -> list[tuple[int, float]]:
        """States straight out of the first terminal, with their costs."""
        want = self.want
        side = want.start.side
        assert side is not None
        sx, sy = _OUT[side]
        axis, way = (0, sx) if sx else (1, sy)
        x, y = want.start.at_mm
        half = want.thick_mm / 2.0
        least = want.straight_mm + want.radius_mm
        lines, other = (self.xl, self.yl) if axis == 0 else (self.yl, self.xl)
        mid, start = (y, x) if axis == 0 else (x, y)
        j = min(range(len(other)), key=lambda n: abs(other[n] - mid))
        costs, free = (self.cost_a[j], self.free_a[j]) if axis == 0 else (self.cost_d[:, j], self.free_d[:, j])
        out = []
        run, before = 0.0, start
        for n in _outward(lines, start, way):
            at = lines[n]
            a, b = ((before, y), (at, y)) if axis == 0 else ((x, before), (x, at))
            if not self.lanes.clear(a, b, half, want.start.item):
                break
            first = abs(at - start)
            edge = min(n, n - way) if 0 <= n - way < len(lines) else n
            if edge < len(free):
                if first > least + 2.0 * half and not free[edge]:
                    break
                cost = float(costs[edge])
            else:
                cost = 0.0
            run += min(cost, abs(at - before)) if before == start else cost
            if before != start:
                run += float(self.pass_a[j, n - way] if axis == 0 else self.pass_d[n - way, j])
            before = at
            if first >= least - CLOSE:
                node = j * self.columns + n if axis == 0 else n * self.columns + j
                out.append((node << 2 | _HEADING[axis, way], run))
        return out

    def _finish(self, node: int, heading: int, cost: float) -> float | None:
        """The cost when the last piece goes from a node to the goal; None where it cannot."""
        want = self.want
        j, k = divmod(node, self.columns)
        x, y = self.xl[k], self.yl[j]
        gx, gy = want.to.at_mm
        if want.to.side is None:
            if not self.lanes.in_zone((x, y)):
                return None
            return cost + abs(x - gx) + abs(y - gy)
        sx, sy = _OUT[want.to.side]
        along = 0 if sx else 1
        if abs(y - gy if along == 0 else x - gx) > CLOSE:
            return None
        far = (x - gx) * sx + (y - gy) * sy
        straight = heading % 2 == along
        if straight and heading != _HEADING[along, -(sx + sy)]:
            return None
        if far < (0.0 if straight else want.straight_mm + want.radius_mm) - CLOSE:
            return None
        if not straight and not self.turn[node]:
            return None
        if not self.lanes.clear((x, y), (gx, gy), want.thick_mm / 2.0, want.to.item):
            return None
        over = float((self.pass_a if along == 0 else self.pass_d)[j, k]) if straight else BEND_COST_MM
        return cost + far + self._crossed(k, j, along, (gx, gy)) + over

    def _crossed(self, k: int, j: int, along: int, goal: Point) -> float:
        """What the last piece crosses."""
        lines = self.xl if along == 0 else self.yl
        low, high = sorted((lines[k if along == 0 else j], goal[along]))
        first, last = bisect_left(lines, low - CLOSE), bisect_right(lines, high + CLOSE) - 1
        some = self.cross_a[j, first:last] if along == 0 else self.cross_d[first:last, k]
        over = self.pass_a[j, first + 1 : last] if along == 0 else self.pass_d[first + 1 : last, k]
        return float(some.sum() + over.sum()) if last > first else 0.0


def _outward(lines: Sequence[float], start: float, way: int) -> list[int]:
    found = [n for n, v in enumerate(lines) if (v - start) * way > CLOSE]
    return found if way > 0 else found[::-1]


def _corners(points: Sequence[Point]) -> tuple[Point, ...]:
    """The points without those on a straight piece."""
    out: list[Point] = []
    for p in points:
        if out and abs(out[-1][0] - p[0]) < CLOSE and abs(out[-1][1] - p[1]) < CLOSE:
            continue
        if len(out) > 1:
            a, b = out[-2], out[-1]
            if abs((b[0] - a[0]) * (p[1] - b[1]) - (b[1] - a[1]) * (p[0] - b[0])) < CLOSE:
                out[-1] = p
                continue
        out.append(p)
    return tuple(out)
