"""What is cut, what it is cut from, and how it lies: frozen, in millimetres, x along the sheet and y down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float]
Ring = tuple[Point, ...]
Tool = Literal["table saw", "jigsaw"]


@dataclass(frozen=True, slots=True)
class Piece:
    """Something to cut.

    Attributes
    ----------
    id : str
        Its name.
    outer : tuple of point
        Its rim, closed, the last point not repeated.
    holes : tuple
        Rings of holes; something smaller may be cut from them.
    turns_deg : tuple of float
        Turns that its grain allows: (0, 180), steps of 90, or any other list.
    """

    id: str
    outer: Ring
    holes: tuple[Ring, ...] = ()
    turns_deg: tuple[float, ...] = (0.0, 90.0, 180.0, 270.0)


@dataclass(frozen=True, slots=True)
class Stock:
    """A sheet, or a remnant, to cut from.

    Attributes
    ----------
    id : str
        Its name.
    width_mm, height_mm : float
        Along x and along y.
    margin_mm : float
        What is not used along its edges.
    count : int
        How many there are; 0 for as many as are needed.
    price : float
        What one costs, in any money; 0 for a remnant, which is then used first.
    missing : tuple
        Rings that have been cut out of it already, or are damaged.
    """

    id: str
    width_mm: float
    height_mm: float
    margin_mm: float = 0.0
    count: int = 0
    price: float = 1.0
    missing: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True)
class Laid:
    """A piece on a sheet: turned by ``turn_deg`` about its own zero (clockwise as seen), then moved by ``shift_mm``."""

    piece: str
    turn_deg: float
    shift_mm: Point
    outer: Ring
    holes: tuple[Ring, ...] = ()

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom on the sheet."""
        xs, ys = [p[0] for p in self.outer], [p[1] for p in self.outer]
        return min(xs), min(ys), max(xs), max(ys)


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut along a line, the middle of the kerf from ``start_mm`` to ``end_mm``.

    ``fence_mm`` is from the edge of the board ``against`` the fence to the kerf; ``keeps`` what is on that side,
    ``frees`` what is on the other.
    """

    number: int
    tool: Tool
    start_mm: Point
    end_mm: Point
    along: Literal["x", "y"]
    fence_mm: float
    against: Literal["left", "top", "right", "bottom"]
    keeps: tuple[str, ...] = ()
    frees: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetCuts:
    """How a sheet is cut: straight through on the table saw, in order; then what is left for the jigsaw.

    ``jigsaw`` names pieces with a rim or holes that no straight cut makes; ``together`` groups of pieces that no
    straight cut parts. ``done`` are pieces that the table saw finishes.
    """

    cuts: tuple[Cut, ...]
    jigsaw: tuple[str, ...]
    together: tuple[tuple[str, ...], ...]
    done: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CutSheet:
    """One sheet with what lies on it. ``used_mm`` is how far along x it is used; ``used_share`` of its area."""

    stock: Stock
    number: int
    laid: tuple[Laid, ...]
    used_mm: float
    used_share: float


@dataclass(frozen=True, slots=True)
class Nesting:
    """Every sheet.

    ``left_out`` are pieces that no sheet takes. ``bound_sheets`` is below the number of sheets that any layout needs,
    where there is only one kind of sheet; ``price`` is what the sheets cost.
    """

    sheets: tuple[CutSheet, ...]
    left_out: tuple[str, ...]
    kerf_mm: float
    price: float
    bound_sheets: int


@dataclass(frozen=True, slots=True)
class Strip:
    """Pieces on a strip of one width: the length they take, and a length that no layout can be shorter than."""

    width_mm: float
    length_mm: float
    bound_mm: float
    laid: tuple[Laid, ...]
