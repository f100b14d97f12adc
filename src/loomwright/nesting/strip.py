"""Pieces on a strip of one width, as short as it goes."""

from __future__ import annotations

import random
from collections.abc import Sequence

import numpy as np
import shapely  # type: ignore[import-untyped]

from loomwright.nesting import bound
from loomwright.nesting.compact import Placed, compacted
from loomwright.nesting.ground import Area, Ground
from loomwright.nesting.model import Laid, Piece, Strip
from loomwright.nesting.nofit import NoFit
from loomwright.nesting.search import At, Board, Work, by_size, separate
from loomwright.nesting.shapes import Shapes, Variant, turned

FEWEST, MOST = 100, 200
MOVES = 6000
LOOSE = 0.6
FIRST, NEXT, LAST, STRIKES = 0.04, 0.012, 0.003, 8
DEEP, FEW = (0.15, 0.85), 16


def pack(width_mm: float, pieces: Sequence[Piece], kerf_mm: float = 0.0, moves: int = MOVES) -> Strip:
    """The pieces on a strip, kept a kerf apart; edges of the strip count as cut already.

    Parameters
    ----------
    width_mm : float
        Along y.
    pieces : sequence of Piece
        Each must fit the width at one of its turns.
    kerf_mm : float
        Width of a cut.
    moves : int
        Work to spend; a thousand moves of thirty pieces take about a second.

    Raises
    ------
    ValueError
        Where a piece is wider than the strip at every turn.
    """
    shapes = Shapes(pieces, kerf_mm / 2.0)
    room = width_mm + kerf_mm
    step = step_for(room, shapes)
    nofit = NoFit(step, LOOSE * step)
    for p, variants in zip(pieces, shapes.of, strict=True):
        if min(v.height_mm for v in variants) > room + 1e-6:
            raise ValueError(f"{p.id} is wider than the strip of {width_mm:g} mm")
    of = [[v for v in variants if v.height_mm <= room + 1e-6] for variants in shapes.of]
    longest = sum(min(v.width_mm for v in variants) + step for variants in of)

    def ground(length: float) -> Ground:
        return Ground([Area(0, length, room)], nofit)

    rng, work = random.Random(1), Work(moves)
    board = Board(ground(longest), of, nofit)
    board.lay(by_size(of))
    best = _pressed(board, nofit, longest, room)
    assert best is not None
    length = _length(best)
    low = bound.strip_mm(width_mm, pieces, kerf_mm)
    floor = max(low + kerf_mm, max(min(v.width_mm for v in variants) for variants in of))
    shrink, failed = FIRST, 0
    start = _on_grid(best, of, step)
    while work.left > 0 and length > floor * 1.0005:
        # few pieces: from anywhere, at a length well below, is as likely to be found, and worth more
        deep = len(of) <= FEW and failed % 2 == 1
        share = rng.uniform(*DEEP) if deep else 1.0
        wanted = max(floor, floor + share * (length - floor) if deep else length * (1.0 - shrink))
        board = Board(ground(wanted), of, nofit)
        board.at = list(_anyhow(of, board.ground, rng)) if deep else _pushed(start, of, board.ground)
        if not deep and (failed % 2 if len(of) > FEW else failed):
            _shaken(board, rng)
        separate(board, work, rng)
        # what nearly fits comes apart where the strip may be a little longer
        pressed = _pressed(board, nofit, wanted, room) if None not in board.at else None
        if pressed is not None and _length(pressed) < length - 1e-3:
            best, length, failed = pressed, _length(pressed), 0
            start = _on_grid(best, of, step)
            continue
        failed += 1
        shrink = min(shrink, NEXT)
        if not deep:
            kept = _kept(board)
            start = _on_grid(best, of, step) if failed % STRIKES == 1 or len(kept) < len(of) else kept
        if failed > STRIKES:
            shrink = max(shrink / 2.0, LAST)
    laid = tuple(as_laid(p, v, x - kerf_mm / 2.0, y - kerf_mm / 2.0) for p, (v, x, y) in zip(pieces, best, strict=True))
    return Strip(width_mm, max(one.box_mm[2] for one in laid), low, laid)


def _pressed(board: Board, nofit: NoFit, length: float, room: float) -> list[Placed] | None:
    """The places of a board off the grid, exactly apart; None where they do not come apart."""
    step = nofit.step_mm
    placed = [(board.variant(k), a.i * step, a.j * step) for k, a in enumerate(board.at) if a is not None]
    return compacted(placed, nofit, (0.0, 0.0, length, room))


def _on_grid(placed: Sequence[Placed], of: Sequence[Sequence[Variant]], step: float) -> list[At]:
    return [At(of[k].index(v), round(x / step), round(y / step)) for k, (v, x, y) in enumerate(placed)]


def step_for(room_mm: float, shapes: Shapes) -> float:
    """How fine a grid: the one that comes nearest to the corners of the pieces [mm]."""
    if not any(shapes.of):
        return room_mm / FEWEST
    corners = np.unique(np.round(np.concatenate([
        shapely.get_coordinates(v.polygon).ravel() for variants in shapes.of for v in variants
    ]), 6))  # fmt: skip

    def off(rows: int) -> tuple[float, int]:
        parts = corners * rows / room_mm
        return round(float(np.abs(parts - np.round(parts)).mean()), 3), rows

    return room_mm / min(range(FEWEST, MOST + 1, 2), key=off)


def as_laid(piece: Piece, v: Variant, x: float, y: float) -> Laid:
    """A piece whose variant has its corner at a place."""
    shift = x - v.corner_mm[0], y - v.corner_mm[1]
    return Laid(
        piece.id, v.turn_deg, shift, turned(piece.outer, v.turn_deg, shift),
        tuple(turned(h, v.turn_deg, shift) for h in piece.holes),
    )  # fmt: skip


def _kept(board: Board) -> list[At]:
    return [a for a in board.at if a is not None]


def _length(placed: Sequence[Placed]) -> float:
    return max(x + v.width_mm for v, x, _ in placed)


def _pushed(at: Sequence[At], of: Sequence[Sequence[Variant]], ground: Ground) -> list[At | None]:
    """The same places, those beyond the end moved back; None where a turn has no room at all."""
    out: list[At | None] = []
    length = ground.areas[0].length_mm
    for k, a in enumerate(at):
        last = int((length - of[k][a.turn].width_mm + 1e-6) // ground.step)
        rows = int((ground.areas[0].width_mm - of[k][a.turn].height_mm + 1e-6) // ground.step)
        out.append(None if last < 0 else At(a.turn, min(a.i, last), min(a.j, rows)))
    return out


def _anyhow(of: Sequence[Sequence[Variant]], ground: Ground, rng: random.Random) -> list[At]:
    """Every piece somewhere, at some turn that has room."""
    out = []
    for variants in of:
        turns = [t for t, v in enumerate(variants) if ground.fits(v)]
        t = rng.choice(turns)
        free = np.flatnonzero(ground.never(variants[t]).ravel() < 1.0)
        i, j = divmod(int(free[rng.randrange(len(free))]), ground.rows)
        out.append(At(t, i, j))
    return out


def _shaken(board: Board, rng: random.Random) -> None:
    """Two of the larger pieces change places, so that the search starts elsewhere."""
    order = by_size(board.of)
    some = order[: max(2, len(order) // 2)]
    if len(some) < 2:
        return
    a, b = rng.sample(some, 2)
    for k in (a, b):
        board.at[k] = None
    for k in (b, a):
        found = board.best(k, rng=rng)
        if found is not None:
            board.at[k] = found[1]
