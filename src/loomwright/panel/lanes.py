"""The lanes of a board: lines at right angles on which leads may lie, and what is in the way on each.

A lead runs from a terminal straight out, then along lanes. Two bends are at least both their radii apart. A lane that
another lead lies on is taken; crossing it at right angles is dear, so that no lead crosses another without need.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.panel.boxes import overlap
from loomwright.panel.results import Box, Class
from loomwright.panel.shapes import Board, Piece
from loomwright.rig.plan import Point, SideName

PITCH_MM = 15.0
CLOSE_MM = 4.0
"""A lane so near to that of a terminal is left out."""
BEND_COST_MM = 20.0
CROSS_COST_MM = 2_500.0
MIXED_COST_MM = 4_500.0
"""A crossing is worth more than any way round. One of power with line level is worth less than two others."""
PATIENT = 1.0 - 1e-6
"""How much what is still to go counts, beside what is behind: of ways that cost the same, the one is followed of which
less is done. They end sooner apart from each other, and leave more room for the leads to come."""
TRUNK_SHARE = 0.95
"""What a millimetre costs in a lane with leads that it may be tied to."""
BESIDE_COST = 1.5
"""What a millimetre costs a line lead along a power lead, and the other way round."""
FRONT_COST, HALO_COST, GATHER_COST = 3.0, 1.0, 24.0
"""What a millimetre costs more in front of a terminal whose lead is still to come, round its item, and in the room of
the cable entry for a lead that does not leave there."""
Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]


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
        self.box = _hull_box(board)
        lines[0].append(entry[0])
        lines[1].append(entry[1])
        self.xs = _lines(lines[0], self.box[0], self.box[2])
        self.ys = _lines(lines[1], self.box[1], self.box[3])
        self._static: dict[float, tuple[Mask, Mask]] = {}

    def finer(self, want: Wanted) -> Lanes:
        """The same with lanes in which a lead turns about just beside its ends, and in front of them."""
        more: tuple[list[float], list[float]] = [], []
        turn, out = 2.0 * want.radius_mm, want.straight_mm + want.radius_mm
        for e in (want.start, want.to):
            if e.side is None:
                continue
            along = 0 if e.side in ("top", "bottom") else 1
            more[along].extend((e.at_mm[along] - turn, e.at_mm[along] + turn))
            ahead = e.at_mm[1 - along] + (out if e.side in ("right", "bottom") else -out)
            more[1 - along].append(ahead)
        made = copy(self)
        made.xs, made.ys = _with(self.xs, more[0], self.box[0], self.box[2]), _with(
            self.ys, more[1], self.box[1], self.box[3]
        )  # fmt: skip
        made._static = {}
        return made

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
                self.strike(across, down, (left - half_mm, top - half_mm, right + half_mm, bottom + half_mm))
            for piece in (p for p in self.board.pieces if not p.gather):
                left, top, right, bottom = piece.box_mm
                if len(piece.edges) == 4 and all(min(abs(e.nx), abs(e.ny)) < 1e-6 for e in piece.edges):
                    self.strike(across, down, (left - half_mm, top - half_mm, right + half_mm, bottom + half_mm))
                    continue
                across &= _apart_mm(piece, xs[None, :-1], ys[:, None], xs[None, 1:], ys[:, None]) >= half_mm
                down &= _apart_mm(piece, xs[None, :], ys[:-1, None], xs[None, :], ys[1:, None]) >= half_mm
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

    def strike(self, across: Mask, down: Mask, box: Box) -> None:
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


def _apart_mm(piece: Piece, left: Floats, top: Floats, right: Floats, bottom: Floats) -> Floats:
    """How far boxes are apart from a piece, all at once."""
    x0, y0, x1, y1 = piece.box_mm
    out = np.maximum(np.maximum(x0 - right, left - x1), np.maximum(y0 - bottom, top - y1))
    for e in piece.edges:
        if min(abs(e.nx), abs(e.ny)) > 1e-6:
            out = np.maximum(out, e.nx * (left if e.nx > 0 else right) + e.ny * (top if e.ny > 0 else bottom) - e.c)
    return out


def _lines(wanted: Sequence[float], low: float, high: float) -> Floats:
    keep = sorted(set(wanted))
    n = max(2, round((high - low) / PITCH_MM))
    regular = [low + (high - low) * k / n for k in range(n + 1)]
    rest = [r for r in regular if all(abs(r - w) > CLOSE_MM for w in keep)]
    return np.array(sorted([*keep, *rest]))


def _with(lines: Floats, more: Sequence[float], low: float, high: float) -> Floats:
    """Lanes with some more between them."""
    new = [v for v in more if low < v < high and float(np.abs(lines - v).min()) > 0.5]
    return np.array(sorted([*lines.tolist(), *dict.fromkeys(new)]))


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
