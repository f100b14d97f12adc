"""Pieces on sheets: the cheapest set of sheets that takes them, remnants first; as much as may be left of the last."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations_with_replacement

from loomwright.nesting import bound, compact, straight
from loomwright.nesting.ground import Area, Ground
from loomwright.nesting.model import CutSheet, Laid, Piece, Stock
from loomwright.nesting.model import Nesting as Result
from loomwright.nesting.nofit import STRIDE, NoFit
from loomwright.nesting.search import At, Board, Work, by_size, separate
from loomwright.nesting.shapes import Shapes, Variant, polygon
from loomwright.nesting.strip import as_laid, step_for

MOVES = 4000
MOST_SHEETS = 4
"""Sets of more sheets are not tried one by one: what was laid piece by piece stands."""
MOST_SETS = 40
MOST_KINDS = 14
"""Of many kinds of sheet the first are tried together: remnants, then the cheapest."""
Spot = tuple[int, Variant, float, float]
"""Sheet, variant, and the place of its corner from the free corner of the sheet."""


def nest(
    pieces: Sequence[Piece], stocks: Sequence[Stock], kerf_mm: float, moves: int = MOVES, prefer_straight: bool = True
) -> Result:
    """Every piece on a sheet, a kerf apart and clear of the margins.

    Parameters
    ----------
    pieces : sequence of Piece
        What is cut; ids must differ.
    stocks : sequence of Stock
        What there is; sheets of no price (remnants) are used first, then the cheapest set is looked for.
    kerf_mm : float
        Width of a cut.
    moves : int
        Work to spend.
    prefer_straight : bool
        Take a layout that straight cuts part wherever it needs no dearer sheets.
    """
    shapes = Shapes(pieces, kerf_mm / 2.0)
    yard = _Yard(stocks, shapes, kerf_mm)
    left_out = [k for k in range(len(pieces)) if not any(yard.takes(s, k) for s in stocks)]
    wanted = [k for k in range(len(pieces)) if k not in left_out]
    work, rng = Work(moves), random.Random(1)
    found = yard.one_by_one(wanted)
    left_out += [k for k in wanted if k not in found[1]]
    wanted = [k for k in wanted if k in found[1]]
    sheets, spots = found
    if wanted:
        need = sum(polygon(pieces[k].outer, pieces[k].holes).area for k in wanted)
        for some in yard.sets(need, _price(sheets), len(sheets)):
            made = (yard.straight(some, wanted) if prefer_straight else None) or yard.together(
                some, wanted, work, rng, max(200, moves // 8)
            )
            if made is not None:
                sheets, spots = some, made
                break
        flat = yard.straight(sheets, wanted) if prefer_straight else None
        spots = flat if flat is not None else yard.shortened(sheets, spots, work, rng)
    return _result(pieces, sheets, spots, left_out, stocks, yard, kerf_mm)


class _Yard:
    """The sheets that there are, and what fits where."""

    def __init__(self, stocks: Sequence[Stock], shapes: Shapes, kerf: float) -> None:
        self.shapes, self.kerf = shapes, kerf
        self.stocks = sorted(stocks, key=lambda s: (s.price > 0.0, s.price, s.width_mm * s.height_mm, s.id))
        self.step = step_for(min((self.room(s)[1] for s in stocks), default=100.0), shapes)
        self.nofit = NoFit(self.step)
        self._missing = {s.id: tuple(self._holes(s, 0.0)) for s in stocks}
        self._wide = {s.id: tuple(self._holes(s, self.step)) for s in stocks}
        """The same as wide as the grid needs it."""

    def room(self, stock: Stock) -> tuple[float, float]:
        """What grown pieces may use: the sheet without margins, and half a kerf on each side."""
        return (
            stock.width_mm - 2.0 * stock.margin_mm + self.kerf, stock.height_mm - 2.0 * stock.margin_mm + self.kerf
        )  # fmt: skip

    def _holes(self, stock: Stock, more: float) -> Iterator[tuple[Variant, float, float]]:
        zero = stock.margin_mm - self.kerf / 2.0
        for ring in stock.missing:
            v = self.shapes.fixed(polygon(ring).buffer(self.kerf / 2.0 + more, join_style="mitre"))
            yield v, v.corner_mm[0] - zero, v.corner_mm[1] - zero

    def takes(self, stock: Stock, k: int) -> bool:
        """Whether a sheet is large enough for a piece at some turn."""
        w, h = self.room(stock)
        return any(v.width_mm <= w + 1e-6 and v.height_mm <= h + 1e-6 for v in self.shapes.of[k])

    def board(self, sheets: Sequence[Stock], wanted: Sequence[int], last_mm: float | None = None) -> Board:
        """An empty board of sheets side by side; the last one only so long."""
        areas, first = [], 0
        for n, s in enumerate(sheets):
            w, h = self.room(s)
            if last_mm is not None and n == len(sheets) - 1:
                w = min(w, last_mm)
            missing = tuple(
                (v, first + int(x // self.step), int(y // self.step)) for v, x, y in self._wide[s.id]
            )  # fmt: skip
            areas.append(Area(first, w, h, missing))
            first += STRIDE * (int(w / self.step) // STRIDE + 2)
        return Board(Ground(areas, self.nofit), [self.shapes.of[k] for k in wanted], self.nofit)

    def one_by_one(self, wanted: Sequence[int]) -> tuple[list[Stock], dict[int, Spot]]:
        """Large pieces first, each on the first sheet that has room; a new sheet where none has."""
        sheets: list[Stock] = []
        boards: list[Board] = []
        spots: dict[int, Spot] = {}
        for k in (wanted[n] for n in by_size([self.shapes.of[k] for k in wanted])):
            for n in range(len(sheets) + 1):
                if n == len(sheets):
                    new = next((s for s in self.stocks if self.takes(s, k)
                                and (not s.count or sum(t.id == s.id for t in sheets) < s.count)), None)  # fmt: skip
                    if new is None:
                        break
                    sheets.append(new)
                    boards.append(Board(self.board([new], []).ground, self.shapes.of, self.nofit))
                found = boards[n].best(k)
                if found is not None and found[0] <= 0.0:
                    boards[n].at[k] = found[1]
                    v = self.shapes.of[k][found[1].turn]
                    spots[k] = n, v, found[1].i * self.step, found[1].j * self.step
                    break
        used = sorted({s for s, *_ in spots.values()})
        return [sheets[n] for n in used], {k: (used.index(s), v, x, y) for k, (s, v, x, y) in spots.items()}

    def sets(self, need_mm2: float, price: float, most: int) -> Iterator[list[Stock]]:
        """Sets of sheets, cheapest first, that are large enough and no dearer; fewer and smaller before more."""
        out = []
        kinds = [s for s in self.stocks if any(self.takes(s, k) for k in range(len(self.shapes.of)))][:MOST_KINDS]
        for count in range(1, min(MOST_SHEETS, max(most, 1)) + 1):
            for some in combinations_with_replacement(kinds, count):
                if any(s.count and some.count(s) > s.count for s in some):
                    continue
                area = sum(s.width_mm * s.height_mm for s in some)
                if area >= need_mm2 and _price(some) <= price + 1e-9:
                    out.append((_price(some), count, area, [s.id for s in some], list(some)))
        out.sort(key=lambda o: o[:4])
        for o in out[:MOST_SETS]:
            yield o[4]

    def straight(self, sheets: Sequence[Stock], wanted: Sequence[int]) -> dict[int, Spot] | None:
        """A layout that straight cuts part; None where there is none, or a sheet has pieces missing."""
        if any(s.missing for s in sheets):
            return None
        made = straight.laid([self.room(s) for s in sheets], [self.shapes.of[k] for k in wanted])
        if made is None:
            return None
        return {wanted[n]: (s, self.shapes.of[wanted[n]][t], x, y) for n, (s, t, x, y) in made.items()}

    def together(
        self, sheets: Sequence[Stock], wanted: Sequence[int], work: Work, rng: random.Random, most: int
    ) -> dict[int, Spot] | None:
        """All pieces on these sheets at once; None where it was not found with so much work."""
        board = self.board(sheets, wanted)
        if not all(any(board.ground.fits(v) for v in variants) for variants in board.of):
            return None
        board.lay(by_size(board.of))
        share = Work(min(most, work.left))
        before = share.left
        done = separate(board, share, rng)
        work.left -= before - max(share.left, 0)
        return self.spots(board, wanted) if done else None

    def spots(self, board: Board, wanted: Sequence[int]) -> dict[int, Spot]:
        """Where the pieces of a board lie, sheet by sheet."""
        out: dict[int, Spot] = {}
        for n, k in enumerate(wanted):
            at = board.at[n]
            assert at is not None
            s = board.ground.area_at(at.i)
            out[k] = (
                s, self.shapes.of[k][at.turn], (at.i - board.ground.areas[s].first) * self.step, at.j * self.step
            )  # fmt: skip
        return out

    def shortened(
        self, sheets: Sequence[Stock], spots: dict[int, Spot], work: Work, rng: random.Random
    ) -> dict[int, Spot]:
        """As little of the last sheet as the work allows, then everything pushed together off the grid."""
        wanted, last, shrink = sorted(spots), len(sheets) - 1, 0.04
        while work.left > 0 and shrink > 0.004:
            end = max((x + v.width_mm for s, v, x, _ in spots.values() if s == last), default=0.0)
            length = end * (1.0 - shrink)
            board = self.board(sheets, wanted, length)
            for n, k in enumerate(wanted):
                s, v, x, y = spots[k]
                room = board.ground.areas[s].length_mm - v.width_mm
                if room >= 0.0:
                    i = round(min(x, room - room % self.step) / self.step)
                    at = At(self.shapes.of[k].index(v), board.ground.areas[s].first + i, round(y / self.step))
                    if board.ground.never(v)[at.i, at.j] < 1.0:
                        board.at[n] = at
            if separate(board, work, rng):
                spots = self.spots(board, wanted)
            else:
                shrink /= 2.0
        out: dict[int, Spot] = {}
        for n, stock in enumerate(sheets):
            on = [k for k in wanted if spots[k][0] == n]
            room_mm = self.room(stock)
            made = compact.compacted(
                [spots[k][1:] for k in on], self.nofit, (0.0, 0.0, *room_mm), self._missing[stock.id]
            )  # fmt: skip
            out |= {k: (n, *m) for k, m in zip(on, made or [spots[k][1:] for k in on], strict=True)}
        return out


def _price(sheets: Sequence[Stock]) -> float:
    return sum(s.price for s in sheets)


def _result(
    pieces: Sequence[Piece], sheets: Sequence[Stock], spots: dict[int, Spot], left_out: Sequence[int],
    stocks: Sequence[Stock], yard: _Yard, kerf: float,
) -> Result:  # fmt: skip
    out: list[CutSheet] = []
    for n, stock in enumerate(sheets):
        zero = stock.margin_mm - kerf / 2.0
        laid: list[Laid] = [
            as_laid(pieces[k], v, x + zero, y + zero) for k, (s, v, x, y) in sorted(spots.items()) if s == n
        ]
        if laid:
            area = sum(polygon(one.outer, one.holes).area for one in laid)
            out.append(CutSheet(
                stock, len(out) + 1, tuple(laid), max(one.box_mm[2] for one in laid),
                area / (stock.width_mm * stock.height_mm),
            ))  # fmt: skip
    alike = [replace(s, id="", count=0, price=0.0) for s in stocks]
    kept = [pieces[k] for k in sorted(spots)]
    low = bound.sheets(stocks[0], kept, kerf) if kept and len({(s.width_mm, s.height_mm) for s in alike}) == 1 else 0
    return Result(
        tuple(out), tuple(pieces[k].id for k in sorted(left_out)), kerf, sum(s.stock.price for s in out),
        low or (1 if kept else 0),
    )  # fmt: skip
