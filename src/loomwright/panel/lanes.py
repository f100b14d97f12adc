"""The lanes of a board: lines at right angles on which leads may lie, and what is in the way on each.

A lead runs from a terminal straight out, then along lanes. Two bends are at least both their radii apart. A lane that
another lead lies on is taken; crossing it at right angles is dear, so that no lead crosses another without need.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loomwright.panel.boxes import overlap
from loomwright.panel.results import Box, Class
from loomwright.panel.shapes import Board
from loomwright.rig.plan import Point, SideName

PITCH_MM = 15.0
CLOSE_MM = 4.0
"""A lane so near to that of a terminal is left out."""
BEND_COST_MM = 20.0
CROSS_COST_MM = 250.0
MIXED_COST_MM = 800.0
EAGER = 1.1
"""How much more what is still to go counts than what is behind: the way may be so much longer, and is found sooner."""
TRUNK_SHARE = 0.95
"""What a millimetre costs in a lane with leads that it may be tied to."""
BESIDE_COST = 1.5
"""What a millimetre costs a line lead along a power lead, and the other way round."""
Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]
_HEADING = {(0, 1): 0, (1, 1): 1, (0, -1): 2, (1, -1): 3}
"""Axis and sense of a piece: right, down, left, up."""
_OUT: dict[SideName, tuple[int, int]] = {"left": (-1, 0), "right": (1, 0), "top": (0, -1), "bottom": (0, 1)}


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight piece of a lead that lies already. ``across`` where it runs left to right."""

    across: bool
    at_mm: float
    from_mm: float
    to_mm: float
    width_mm: float
    kind: Class
    leaving: bool  # it leaves by the cable entry


@dataclass(frozen=True, slots=True)
class End:
    """Where a lead starts or ends: a terminal with its side, or the cable entry with None."""

    at_mm: Point
    side: SideName | None
    item: str | None


@dataclass(frozen=True, slots=True)
class Wanted:
    """A lead to lay. ``straight_mm`` is what it runs straight out of a terminal before the bend begins."""

    start: End
    to: End
    kind: Class
    width_mm: float
    thick_mm: float
    radius_mm: float
    straight_mm: float


def share(one: Class, one_leaves: bool, two: Class, two_leaves: bool) -> bool:
    """Whether two leads may be tied into one trunk: of one class, speaker with remote, or both on their way out.

    Power and line level never.
    """
    if {one, two} == {"power", "line"}:
        return False
    return one == two or {one, two} == {"speaker", "remote"} or (one_leaves and two_leaves)


class Lanes:
    """The lanes of one board, with everything that stands on it."""

    def __init__(
        self, board: Board, blocks: Sequence[tuple[str, Box]], entry: Point, zone_mm: float, ends: Sequence[End]
    ) -> None:
        self.board, self.blocks, self.entry, self.zone = board, tuple(blocks), entry, zone_mm
        lines: tuple[list[float], list[float]] = [], []
        for e in ends:
            if e.side in ("top", "bottom"):
                lines[0].append(e.at_mm[0])
            elif e.side is not None:
                lines[1].append(e.at_mm[1])
        box = _hull_box(board)
        lines[0].append(entry[0])
        lines[1].append(entry[1])
        self.xs = _lines(lines[0], box[0], box[2])
        self.ys = _lines(lines[1], box[1], box[3])
        self._static: dict[float, tuple[Mask, Mask]] = {}

    def free(self, half_mm: float) -> tuple[Mask, Mask]:
        """Pieces of lanes with nothing in the way: across [rows, columns - 1], down [rows - 1, columns]."""
        key = round(half_mm, 1)
        if key not in self._static:
            xs, ys = self.xs, self.ys
            inside = np.ones((len(ys), len(xs)), dtype=bool)
            for e in self.board.edges:
                inside &= e.nx * xs[None, :] + e.ny * ys[:, None] <= e.c - half_mm + 1e-6
            inside |= self._near_entry()
            across, down = inside[:, :-1] & inside[:, 1:], inside[:-1, :] & inside[1:, :]
            boxes = [b for _, b in self.blocks]
            for left, top, right, bottom in boxes:
                self._strike(across, down, (left - half_mm, top - half_mm, right + half_mm, bottom + half_mm))
            for piece in (p for p in self.board.pieces if not p.gather):
                left, top, right, bottom = piece.box_mm
                if len(piece.edges) == 4 and all(min(abs(e.nx), abs(e.ny)) < 1e-6 for e in piece.edges):
                    self._strike(across, down, (left - half_mm, top - half_mm, right + half_mm, bottom + half_mm))
                    continue
                for j, y in enumerate(ys):
                    for k in range(len(xs) - 1):
                        if across[j, k] and piece.apart_mm((xs[k], y, xs[k + 1], y)) < half_mm:
                            across[j, k] = False
                for j in range(len(ys) - 1):
                    for k, x in enumerate(xs):
                        if down[j, k] and piece.apart_mm((x, ys[j], x, ys[j + 1])) < half_mm:
                            down[j, k] = False
            self._static[key] = across, down
        return self._static[key]

    def _near_entry(self) -> Mask:
        near: Mask = (np.abs(self.xs[None, :] - self.entry[0]) < 1e-6) & (
            np.abs(self.ys[:, None] - self.entry[1]) < PITCH_MM
        )
        near |= (np.abs(self.ys[:, None] - self.entry[1]) < 1e-6) & (
            np.abs(self.xs[None, :] - self.entry[0]) < PITCH_MM
        )
        return near

    def _strike(self, across: Mask, down: Mask, box: Box) -> None:
        """Take out what runs through the inside of a box."""
        xs, ys = self.xs, self.ys
        left, top, right, bottom = box
        rows = (ys > top + 1e-6) & (ys < bottom - 1e-6)
        cols = (xs[:-1] < right - 1e-6) & (xs[1:] > left + 1e-6)
        across[np.ix_(rows, cols)] = False
        cols = (xs > left + 1e-6) & (xs < right - 1e-6)
        rows = (ys[:-1] < bottom - 1e-6) & (ys[1:] > top + 1e-6)
        down[np.ix_(rows, cols)] = False

    def in_zone(self, at: Point) -> bool:
        """Whether a point lies where the leads gather before they leave the board."""
        return abs(at[0] - self.entry[0]) <= self.zone and abs(at[1] - self.entry[1]) <= self.zone

    def clear(self, a: Point, b: Point, half_mm: float, skip: str | None) -> bool:
        """Whether a straight piece is free of what stands there; ``skip`` is the item that it leaves."""
        way = (
            min(a[0], b[0]) - half_mm,
            min(a[1], b[1]) - half_mm,
            max(a[0], b[0]) + half_mm,
            max(a[1], b[1]) + half_mm,
        )
        return not any(i != skip and overlap(way, box) for i, box in self.blocks)

    def lay(self, want: Wanted, there: Sequence[Segment], gap_mm: float) -> tuple[float, tuple[Point, ...]] | None:
        """The best way for a lead: what it costs, and its corners; None where there is none."""
        return _Search(self, want, there, gap_mm).best()


class _Search:
    """One lead looked for among those that lie already."""

    def __init__(self, lanes: Lanes, want: Wanted, there: Sequence[Segment], gap_mm: float) -> None:
        self.lanes, self.want = lanes, want
        xs, ys = lanes.xs, lanes.ys
        across, down = (m.copy() for m in lanes.free(want.thick_mm / 2.0))
        self.cross_a = np.zeros(across.shape)
        self.cross_d = np.zeros(down.shape)
        turn = np.ones((len(ys), len(xs)), dtype=bool)
        self.on_a, self.on_d = np.zeros(across.shape, dtype=bool), np.zeros(down.shape, dtype=bool)
        price_a, price_d = np.ones(across.shape), np.ones(down.shape)
        zone_r = np.abs(ys - lanes.entry[1]) <= lanes.zone
        zone_c = np.abs(xs - lanes.entry[0]) <= lanes.zone
        for s in there:
            mixed = {s.kind, want.kind} == {"power", "line"}
            joins = share(s.kind, s.leaving, want.kind, want.to.side is None)
            band = (want.width_mm + s.width_mm) / 2.0 + gap_mm
            if not joins:
                at, to, on = (ys, xs, self.on_a) if s.across else (xs, ys, self.on_d.T)
                cells = (to[:-1] < s.to_mm - 1e-6) & (to[1:] > s.from_mm + 1e-6)
                on[np.outer(np.abs(at - s.at_mm) < 1.0, cells)] = True
            dear = MIXED_COST_MM if mixed else CROSS_COST_MM
            if s.across:
                self._taken(across, self.cross_d, turn, price_a, ys, xs, s, band, dear, mixed, joins, zone_r, zone_c)
            else:
                self._taken(
                    down.T, self.cross_a.T, turn.T, price_d.T, xs, ys, s, band, dear, mixed, joins, zone_c, zone_r
                )
        self.across, self.down = across.tolist(), down.tolist()
        self.turn = turn.tolist()
        self.cost_a = (np.diff(xs)[None, :] * price_a + self.cross_a).tolist()
        self.cost_d = (np.diff(ys)[:, None] * price_d + self.cross_d).tolist()
        self.xl, self.yl = xs.tolist(), ys.tolist()

    @staticmethod
    def _taken(
        along: Mask, crossed: Floats, turn: Mask, price: Floats, at: Floats, to: Floats, s: Segment, band: float,
        dear: float, mixed: bool, joins: bool, zone_at: Mask, zone_to: Mask,
    ) -> None:  # fmt: skip
        """What a lead that lies already takes: its lane and its neighbours; crossing it costs."""
        rows = np.abs(at - s.at_mm) < band - 1e-6
        cells = (to[:-1] < s.to_mm + band) & (to[1:] > s.from_mm - band)
        zone = zone_to[:-1] & zone_to[1:]
        nodes = (to > s.from_mm - band) & (to < s.to_mm + band)
        if joins:
            # they may run in one trunk: in the very lane, or clear of it
            rows &= np.abs(at - s.at_mm) > 1e-6
            price[np.outer(np.abs(at - s.at_mm) <= 1e-6, cells)] *= TRUNK_SHARE
        along[np.outer(rows, cells) & ~np.outer(zone_at, zone)] = False
        turn[np.outer(rows, nodes) & ~np.outer(zone_at, zone_to)] = False
        between = (at[:-1] < s.at_mm + 1e-6) & (at[1:] > s.at_mm + 1e-6)
        inside = (to > s.from_mm - 1e-6) & (to < s.to_mm + 1e-6)
        hit = np.outer(between, inside)
        if zone_at[np.abs(at - s.at_mm).argmin()]:
            hit &= ~zone_to[None, :]
        crossed[hit] += dear
        if mixed:
            near = np.abs(at - s.at_mm) < 50.0
            price[np.outer(near, cells)] = BESIDE_COST

    def best(self) -> tuple[float, tuple[Point, ...]] | None:
        want, lanes = self.want, self.lanes
        goal = want.to.at_mm
        heap: list[tuple[float, int, float, tuple[int, int, int], Any]] = []
        count = 0
        best: dict[tuple[int, int, int], float] = {}

        def push(cost: float, state: tuple[int, int, int], back: Any) -> None:
            nonlocal count
            if cost < best.get(state, 1e18) - 1e-9:
                best[state] = cost
                count += 1
                far = TRUNK_SHARE * (abs(self.xl[state[0]] - goal[0]) + abs(self.yl[state[1]] - goal[1]))
                heapq.heappush(heap, (cost + EAGER * far, count, cost, state, back))

        assert want.start.side is not None
        done = self._first(push)
        while heap:
            total, _, cost, state, back = heapq.heappop(heap)
            if done is not None and total >= EAGER * done[0] - 1e-9:
                break
            if cost > best[state] + 1e-9:
                continue
            k, j, heading = state
            axis = heading % 2
            path = (state, back)
            finish = self._finish(k, j, heading, cost)
            if finish is not None and (done is None or finish < done[0] - 1e-9):
                done = finish, path
            if not self.turn[j][k]:
                continue
            need = 2.0 * want.radius_mm
            for way in (-1, 1):
                onward = _HEADING[1 - axis, way]
                for there, add in self._run(k, j, 1 - axis, way):
                    far = abs(self.xl[there[0]] - self.xl[k]) + abs(self.yl[there[1]] - self.yl[j])
                    if far >= need - 1e-6:
                        push(cost + add + BEND_COST_MM, (there[0], there[1], onward), path)
        if done is None:
            return None
        points = [goal]
        step = done[1]
        while step is not None:
            (k, j, _), step = step
            points.append((self.xl[k], self.yl[j]))
        points.append(want.start.at_mm)
        del lanes
        return done[0], _corners(points[::-1])

    def _first(self, push: Any) -> Any:
        """Straight out of the first terminal."""
        want = self.want
        side = want.start.side
        assert side is not None
        sx, sy = _OUT[side]
        axis = 0 if sx else 1
        (x, y) = want.start.at_mm
        half = want.thick_mm / 2.0
        least = want.straight_mm + want.radius_mm
        lines, other = (self.xl, self.yl) if axis == 0 else (self.yl, self.xl)
        mid = y if axis == 0 else x
        j = min(range(len(other)), key=lambda n: abs(other[n] - mid))
        start = x if axis == 0 else y
        run = 0.0
        before = start
        for n in _outward(lines, start, sx + sy):
            at = lines[n]
            a, b = ((before, y), (at, y)) if axis == 0 else ((x, before), (x, at))
            if not self.lanes.clear(a, b, half, want.start.item):
                break
            first = abs(at - start)
            edge = min(n, n - (sx + sy)) if 0 <= n - (sx + sy) < len(lines) else n
            beyond = first > least + 2.0 * half
            free = self.across[j][edge] if axis == 0 and edge < len(self.across[j]) else (
                self.down[edge][j] if axis == 1 and edge < len(self.down) else True
            )  # fmt: skip
            if beyond and not free:
                break
            on = self.on_a[j] if axis == 0 else self.on_d[:, j]
            if edge < len(on) and on[edge]:
                break
            cost = self.cost_a[j][edge] if axis == 0 and edge < len(self.cost_a[j]) else (
                self.cost_d[edge][j] if axis == 1 and edge < len(self.cost_d) else 0.0
            )  # fmt: skip
            run += min(cost, abs(at - before)) if before == start else cost
            before = at
            if first >= least - 1e-6:
                k, jj = (n, j) if axis == 0 else (j, n)
                push(run, (k, jj, _HEADING[axis, sx + sy]), None)
        return None

    def _run(self, k: int, j: int, axis: int, way: int) -> Any:
        """Nodes along a lane in one direction, with the cost to each."""
        cost = 0.0
        if axis == 0:
            row, free = self.cost_a[j], self.across[j]
            n = k
            while 0 <= n + way < len(self.xl):
                edge = n if way > 0 else n - 1
                if not free[edge]:
                    return
                cost += row[edge]
                n += way
                if self.turn[j][n]:
                    yield (n, j), cost
        else:
            n = j
            while 0 <= n + way < len(self.yl):
                edge = n if way > 0 else n - 1
                if not self.down[edge][k]:
                    return
                cost += self.cost_d[edge][k]
                n += way
                if self.turn[n][k]:
                    yield (k, n), cost

    def _finish(self, k: int, j: int, heading: int, cost: float) -> float | None:
        """The cost when the last piece goes from a node to the goal; None where it cannot."""
        want = self.want
        x, y = self.xl[k], self.yl[j]
        gx, gy = want.to.at_mm
        if want.to.side is None:
            if not self.lanes.in_zone((x, y)):
                return None
            return float(cost + abs(x - gx) + abs(y - gy))
        sx, sy = _OUT[want.to.side]
        along = 0 if sx else 1
        if (along == 0 and abs(y - gy) > 1e-6) or (along == 1 and abs(x - gx) > 1e-6):
            return None
        far = (x - gx) * sx + (y - gy) * sy
        straight = heading % 2 == along
        if straight and heading != _HEADING[along, -(sx + sy)]:
            return None
        if far < (0.0 if straight else want.straight_mm + want.radius_mm) - 1e-6:
            return None
        if not straight and not self.turn[j][k]:
            return None
        if not self.lanes.clear((x, y), (gx, gy), want.thick_mm / 2.0, want.to.item):
            return None
        if self._lies_on(k, j, along, (gx, gy)):
            return None
        bend = 0.0 if straight else BEND_COST_MM
        return float(cost + far + self._crossed(k, j, along, (gx, gy)) + bend)

    def _lies_on(self, k: int, j: int, along: int, goal: Point) -> bool:
        """Whether the last piece would lie on another lead."""
        lines, taken = (self.xl, self.on_a[j]) if along == 0 else (self.yl, self.on_d[:, k])
        low, high = sorted((lines[k if along == 0 else j], goal[along]))
        return any(
            taken[n] for n in range(len(lines) - 1) if lines[n] < high - 1e-6 and lines[n + 1] > low + 1e-6
        )  # fmt: skip

    def _crossed(self, k: int, j: int, along: int, goal: Point) -> float:
        """What the last piece crosses."""
        total = 0.0
        if along == 0:
            low, high = sorted((self.xl[k], goal[0]))
            for n in range(len(self.xl) - 1):
                if low - 1e-6 <= self.xl[n] and self.xl[n + 1] <= high + 1e-6:
                    total += float(self.cross_a[j][n])
        else:
            low, high = sorted((self.yl[j], goal[1]))
            for n in range(len(self.yl) - 1):
                if low - 1e-6 <= self.yl[n] and self.yl[n + 1] <= high + 1e-6:
                    total += float(self.cross_d[n][k])
        return total


def _outward(lines: Sequence[float], start: float, way: int) -> list[int]:
    found = [n for n, v in enumerate(lines) if (v - start) * way > 1e-6]
    return found if way > 0 else found[::-1]


def _corners(points: Sequence[Point]) -> tuple[Point, ...]:
    """The points without those on a straight piece."""
    out: list[Point] = []
    for p in points:
        if out and abs(out[-1][0] - p[0]) < 1e-6 and abs(out[-1][1] - p[1]) < 1e-6:
            continue
        if len(out) > 1:
            a, b = out[-2], out[-1]
            if abs((b[0] - a[0]) * (p[1] - b[1]) - (b[1] - a[1]) * (p[0] - b[0])) < 1e-6:
                out[-1] = p
                continue
        out.append(p)
    return tuple(out)


def _lines(wanted: Sequence[float], low: float, high: float) -> Floats:
    keep = sorted(set(wanted))
    n = max(2, round((high - low) / PITCH_MM))
    regular = [low + (high - low) * k / n for k in range(n + 1)]
    rest = [r for r in regular if all(abs(r - w) > CLOSE_MM for w in keep)]
    return np.array(sorted([*keep, *rest]))


def _hull_box(board: Board) -> Box:
    """The box round the hull, from its half planes."""
    big = 1e9
    left, top, right, bottom = -big, -big, big, big
    from itertools import combinations

    xs, ys = [], []
    for a, b in combinations(board.edges, 2):
        det = a.nx * b.ny - a.ny * b.nx
        if abs(det) > 1e-9:
            x, y = (a.c * b.ny - b.c * a.ny) / det, (a.nx * b.c - b.nx * a.c) / det
            if all(e.nx * x + e.ny * y <= e.c + 1e-6 for e in board.edges):
                xs.append(x)
                ys.append(y)
    left, right, top, bottom = min(xs), max(xs), min(ys), max(ys)
    return left, top, right, bottom
