"""Marker sheets of our own making: where each marker and check bar lies on the page, exactly.

Markers are squares of the ArUco kind, 5 x 5 cells with a black border of one cell, from the set of 250. Each sheet has
twenty of its own, so that a sheet is known by its markers, and its paper by the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

PaperName = Literal["a4", "letter"]
PAPERS_MM: dict[PaperName, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
SHEETS = 6
COLUMNS, ROWS = 4, 5
EACH = COLUMNS * ROWS
CELLS = 7
CELL_MM = 4.5
MARKER_MM = CELLS * CELL_MM
PITCH_ACROSS_MM = 50.0
BAR_ACROSS_MM, BAR_DOWN_MM = 150.0, 200.0
_TOP_MM = 14.0
_PITCH_DOWN_MM: dict[PaperName, float] = {"a4": 52.0, "letter": 48.0}


@dataclass(frozen=True, slots=True)
class Marker:
    """One marker: its id in the set, and its upper left corner on the page [mm]."""

    id: int
    x_mm: float
    y_mm: float

    def corners_mm(self) -> tuple[tuple[float, float], ...]:
        """Corners from the upper left, clockwise as seen."""
        x, y, a = self.x_mm, self.y_mm, MARKER_MM
        return ((x, y), (x + a, y), (x + a, y + a), (x, y + a))


@dataclass(frozen=True, slots=True)
class Bar:
    """A check bar from end to end [mm]."""

    start_mm: tuple[float, float]
    end_mm: tuple[float, float]

    @property
    def length_mm(self) -> float:
        """How long it must be on a true print."""
        return abs(self.end_mm[0] - self.start_mm[0]) + abs(self.end_mm[1] - self.start_mm[1])


@dataclass(frozen=True, slots=True)
class MarkerSheet:
    """One page: x to the right and y down from its upper left corner [mm]."""

    paper: PaperName
    number: int
    width_mm: float
    height_mm: float
    markers: tuple[Marker, ...]
    across: Bar
    down: Bar

    @property
    def name(self) -> str:
        """Such as ``A4 sheet 2``."""
        return f"{'A4' if self.paper == 'a4' else 'Letter'} sheet {self.number}"


@lru_cache(maxsize=16)
def sheet(paper: PaperName, number: int) -> MarkerSheet:
    """The layout of one sheet; ``number`` from 1 to 6."""
    if not 1 <= number <= SHEETS:
        raise ValueError(f"sheets are numbered 1 to {SHEETS}; received {number}")
    width, height = PAPERS_MM[paper]
    first = EACH * (number - 1 + (SHEETS if paper == "letter" else 0))
    left = (width - (COLUMNS - 1) * PITCH_ACROSS_MM - MARKER_MM) / 2.0
    step = _PITCH_DOWN_MM[paper]
    markers = tuple(
        Marker(first + COLUMNS * row + column, left + column * PITCH_ACROSS_MM, _TOP_MM + row * step)
        for row in range(ROWS)
        for column in range(COLUMNS)
    )
    below = _TOP_MM + (ROWS - 1) * step + MARKER_MM + 11.0
    middle = width / 2.0
    across = Bar((middle - BAR_ACROSS_MM / 2.0, below), (middle + BAR_ACROSS_MM / 2.0, below))
    down = Bar((middle, _TOP_MM), (middle, _TOP_MM + BAR_DOWN_MM))
    return MarkerSheet(paper, number, width, height, markers, across, down)


def sheet_of(marker_id: int) -> MarkerSheet | None:
    """The sheet that carries a marker, or None where no sheet does."""
    index = marker_id // EACH
    if not 0 <= index < 2 * SHEETS:
        return None
    return sheet("a4" if index < SHEETS else "letter", index % SHEETS + 1)


def key_of(made: MarkerSheet) -> int:
    """A number for a sheet: A4 sheets 0 to 5, Letter sheets 6 to 11."""
    return made.number - 1 + (SHEETS if made.paper == "letter" else 0)


def sheet_by_key(key: int) -> MarkerSheet:
    """The sheet with a number of :func:`key_of`."""
    return sheet("a4" if key < SHEETS else "letter", key % SHEETS + 1)


@lru_cache(maxsize=256)
def cells(marker_id: int) -> tuple[tuple[bool, ...], ...]:
    """Which of the 7 x 7 cells of a marker are black, row by row from the top."""
    import cv2

    picture = cv2.aruco.generateImageMarker(dictionary(), marker_id, CELLS)
    return tuple(tuple(bool(v < 128) for v in row) for row in picture)


def dictionary() -> Any:
    """The set of markers, as the detector wants it."""
    import cv2

    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)
