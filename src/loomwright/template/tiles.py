"""How a board is shared out over pages: windows that overlap, and registration marks in the overlaps."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import shapely  # type: ignore[import-untyped]

from loomwright.trace.outline import Outline, Point

PaperName = Literal["a4", "letter"]
PAPERS_MM: dict[PaperName, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
OVERLAP_MM = 15.0
EDGE_MM = 10.0
"""What printers do not reach, and a little."""
SIDE_MM = 12.0
FOOT_MM = 20.0
"""For the check bars and the words, to the right of the window and below it."""
AROUND_MM = 6.0
"""Paper that is left round the board."""
BAR_MM = 100.0


@dataclass(frozen=True, slots=True)
class Tile:
    """One page: the part of the board in its window, and where the window lies on the page [mm]."""

    row: int
    column: int
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float

    @property
    def name(self) -> str:
        """Such as ``B3``: column by letter, row by number."""
        return f"{letters(self.column)}{self.row + 1}"

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom on the board."""
        return self.left_mm, self.top_mm, self.left_mm + self.width_mm, self.top_mm + self.height_mm


@dataclass(frozen=True, slots=True)
class Tiling:
    """The pages of a board, row by row; ``marks_mm`` are registration marks, on the board."""

    page_mm: tuple[float, float]
    rows: int
    columns: int
    tiles: tuple[Tile, ...]
    marks_mm: tuple[Point, ...]

    def neighbours(self, tile: Tile) -> tuple[tuple[str, Tile], ...]:
        """Pages beside a page: ``left``, ``right``, ``above``, ``below``."""
        at = {(t.row, t.column): t for t in self.tiles}
        around = (("left", 0, -1), ("right", 0, 1), ("above", -1, 0), ("below", 1, 0))
        return tuple(
            (side, at[tile.row + dr, tile.column + dc]) for side, dr, dc in around
            if (tile.row + dr, tile.column + dc) in at
        )  # fmt: skip


def letters(column: int) -> str:
    """A to Z, then AA."""
    return (letters(column // 26 - 1) if column >= 26 else "") + chr(ord("A") + column % 26)


def tiled(outline: Outline, paper: PaperName) -> Tiling:
    """The fewest pages, upright or lying; pages without any part of the board are left out."""
    short, long = PAPERS_MM[paper]
    return min((_tiled(outline, size) for size in ((short, long), (long, short))), key=lambda t: len(t.tiles))


def one_page(outline: Outline) -> Tiling:
    """The whole board on one page: A3 where it goes on one, else a page as large as it takes, for a roll."""
    width, height = (v + 2.0 * AROUND_MM for v in outline.size_mm)
    for page in ((297.0, 420.0), (420.0, 297.0)):
        room = window_mm(page)
        if width <= room[0] and height <= room[1]:
            return Tiling(page, 1, 1, (Tile(0, 0, -AROUND_MM, -AROUND_MM, *room),), ())
    wide, high = max(width, BAR_MM + 60.0), max(height, BAR_MM + 40.0)
    page = wide + 2.0 * EDGE_MM + SIDE_MM, high + 2.0 * EDGE_MM + FOOT_MM
    return Tiling(page, 1, 1, (Tile(0, 0, -AROUND_MM, -AROUND_MM, wide, high),), ())


def window_mm(page: tuple[float, float]) -> tuple[float, float]:
    """Size of the window on a page."""
    return page[0] - 2.0 * EDGE_MM - SIDE_MM, page[1] - 2.0 * EDGE_MM - FOOT_MM


def _tiled(outline: Outline, page: tuple[float, float]) -> Tiling:
    room = window_mm(page)
    whole = tuple(v + 2.0 * AROUND_MM for v in outline.size_mm)
    step = room[0] - OVERLAP_MM, room[1] - OVERLAP_MM
    columns, rows = (1 if whole[k] <= room[k] else math.ceil((whole[k] - OVERLAP_MM) / step[k] - 1e-9) for k in (0, 1))
    # what is over is shared out at both ends, so that no page shows a sliver
    spare = tuple((n * s + OVERLAP_MM - w) / 2.0 for n, s, w in zip((columns, rows), step, whole, strict=True))
    start = -AROUND_MM - spare[0], -AROUND_MM - spare[1]
    board = shapely.Polygon(outline.outer.points(0.5)).buffer(1.0)
    tiles = tuple(
        tile
        for row in range(rows) for column in range(columns)
        if board.intersects(shapely.box(*(
            tile := Tile(row, column, start[0] + column * step[0], start[1] + row * step[1], *room)
        ).box_mm))
    )  # fmt: skip
    there = {(t.row, t.column) for t in tiles}
    marks = []
    for t in tiles:
        if (t.row, t.column + 1) in there:
            x = t.left_mm + room[0] - OVERLAP_MM / 2.0
            marks += [(x, t.top_mm + room[1] * share) for share in (0.25, 0.75)]
        if (t.row + 1, t.column) in there:
            y = t.top_mm + room[1] - OVERLAP_MM / 2.0
            marks += [(t.left_mm + room[0] * share, y) for share in (0.25, 0.75)]
    return Tiling(page, rows, columns, tiles, tuple(marks))
