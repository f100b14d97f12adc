"""Sheets of paper: sizes of ISO 216, frame and reference zones of ISO 5457, title block fields of ISO 7200."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Literal

from loomwright.drawing import fonts
from loomwright.drawing.marks import Mark, Stroke, Text, Weight, line, rectangle

SheetSize = Literal["A4", "A3", "A2", "A1", "A0", "Letter", "Tabloid"]
Paper = Literal["A3", "A4", "Letter", "Tabloid"]
PAPERS: tuple[Paper, ...] = ("A3", "A4", "Letter", "Tabloid")
# Landscape, width and height [mm]; Letter and Tabloid are 11 in by 8.5 in and 17 in by 11 in
SIZES_MM: dict[SheetSize, tuple[float, float]] = {
    "A4": (297.0, 210.0), "A3": (420.0, 297.0), "A2": (594.0, 420.0), "A1": (841.0, 594.0), "A0": (1189.0, 841.0),
    "Letter": (279.4, 215.9), "Tabloid": (431.8, 279.4),
}  # fmt: skip
_LARGER: dict[SheetSize, tuple[SheetSize, ...]] = {
    "A4": ("A3", "A2", "A1", "A0"), "A3": ("A2", "A1", "A0"),
    "Letter": ("Tabloid", "A2", "A1", "A0"), "Tabloid": ("A2", "A1", "A0"),
}  # fmt: skip
FILING_MM = 20.0  # left, for the punch
EDGE_MM = 10.0
BLOCK_MM = (180.0, 27.0)
SMALL_MM = 2.2  # least height of capitals
_ZONE_MM = 50.0
_BORDER = Stroke(0.7)
_THIN = Stroke(0.35)


def large(paper: Literal["a4", "letter"]) -> Paper:
    """The large sheet that goes with the paper of a document."""
    return "A3" if paper == "a4" else "Tabloid"


def upward(paper: Paper) -> tuple[SheetSize, ...]:
    """A size of paper, then the larger ones that are taken where something goes on no smaller sheet."""
    return (paper, *_LARGER[paper])


@dataclass(frozen=True, slots=True)
class Title:
    """What the title block says. Date, maker and checker are left free, to be signed by hand."""

    title: str
    document: str  # kind of document
    number: str = ""  # identification number
    stage: str = ""  # as found, planned, as built
    case: str = ""
    sheet: str = "1 / 1"


@dataclass(frozen=True, slots=True)
class Room:
    """The part of a sheet that is free for the drawing [mm]."""

    x: float
    y: float
    width_mm: float
    height_mm: float


def room(size: SheetSize, clear_mm: float = 6.0) -> Room:
    """Free room inside the frame, above the title block."""
    width, height = SIZES_MM[size]
    return Room(
        FILING_MM + clear_mm,
        EDGE_MM + clear_mm,
        width - FILING_MM - EDGE_MM - 2 * clear_mm,
        height - 2 * EDGE_MM - BLOCK_MM[1] - 2 * clear_mm,
    )


def notes_room(size: SheetSize, clear_mm: float = 4.0) -> Room:
    """Free room to the left of the title block."""
    width, height = SIZES_MM[size]
    return Room(
        FILING_MM + clear_mm,
        height - EDGE_MM - BLOCK_MM[1] + 1.0,
        width - FILING_MM - EDGE_MM - BLOCK_MM[0] - 2 * clear_mm,
        BLOCK_MM[1] - 2.0,
    )


def frame(size: SheetSize, title: Title) -> tuple[Mark, ...]:
    """Border, centring marks, reference zones and title block of one sheet."""
    width, height = SIZES_MM[size]
    inner = rectangle(FILING_MM, EDGE_MM, width - FILING_MM - EDGE_MM, height - 2 * EDGE_MM, _BORDER)
    marks: list[Mark] = [inner]
    left, right, top, bottom = FILING_MM, width - EDGE_MM, EDGE_MM, height - EDGE_MM
    # outer edge of the reference band: 5 mm outside the frame
    marks.append(rectangle(left - 5, top - 5, right - left + 10, bottom - top + 10, _THIN))
    centre_x, centre_y = width / 2, height / 2
    low = bottom if centre_x > right - BLOCK_MM[0] else bottom - 5  # never into the title block
    for x1, y1, x2, y2 in (
        (centre_x, 0, centre_x, top + 5), (centre_x, height, centre_x, low),
        (0, centre_y, left + 5, centre_y), (width, centre_y, right - 5, centre_y),
    ):  # fmt: skip
        marks.append(line(x1, y1, x2, y2, _BORDER))
    marks += _zones(size, left, right, top, bottom)
    return (*marks, *_block(title, right, bottom))


def _zones(size: SheetSize, left: float, right: float, top: float, bottom: float) -> list[Mark]:
    """Reference fields of 50 mm counted from the centring marks; letters downward, numerals to the right."""
    width, height = SIZES_MM[size]
    marks: list[Mark] = []
    for x1, x2, name in _fields(left, right, width / 2, letters=False):
        marks += [Text(((x1 + x2) / 2, y + 1.25), name, 2.5, "middle") for y in (top - 2.5, bottom + 2.5)]
        if x2 < right - 0.1 and abs(x2 - width / 2) > 0.1:
            marks += [line(x2, top - 5, x2, top, _THIN), line(x2, bottom, x2, bottom + 5, _THIN)]
    for y1, y2, name in _fields(top, bottom, height / 2, letters=True):
        marks += [Text((x, (y1 + y2) / 2 + 1.25), name, 2.5, "middle") for x in (left - 2.5, right + 2.5)]
        if y2 < bottom - 0.1 and abs(y2 - height / 2) > 0.1:
            marks += [line(left - 5, y2, left, y2, _THIN), line(right, y2, right + 5, y2, _THIN)]
    return marks


def zone(size: SheetSize, at: tuple[float, float]) -> str:
    """The reference field that a point lies in: its letter, then its numeral."""
    width, height = SIZES_MM[size]
    across = _fields(FILING_MM, width - EDGE_MM, width / 2, letters=False)
    down = _fields(EDGE_MM, height - EDGE_MM, height / 2, letters=True)
    names = [
        next((name for a, b, name in fields if a <= place <= b), fields[0 if place < fields[0][0] else -1][2])
        for fields, place in ((down, at[1]), (across, at[0]))
    ]
    return "".join(names)


def _fields(low: float, high: float, centre: float, *, letters: bool) -> list[tuple[float, float, str]]:
    cuts = [centre]
    while cuts[0] - _ZONE_MM > low + 0.1:
        cuts.insert(0, cuts[0] - _ZONE_MM)
    while cuts[-1] + _ZONE_MM < high - 0.1:
        cuts.append(cuts[-1] + _ZONE_MM)
    edges = [low, *cuts, high]
    names = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    wide = [(a, b) for a, b in itertools.pairwise(edges) if b - a > 6.0]
    return [(a, b, names[k % len(names)] if letters else str(k + 1)) for k, (a, b) in enumerate(wide)]


def _block(title: Title, right: float, bottom: float) -> list[Mark]:
    """The title block: three rows, each field with its name in small letters over it."""
    width, height = BLOCK_MM
    x, y = right - width, bottom - height
    marks: list[Mark] = [rectangle(x, y, width, height, _BORDER, "raised")]
    row = height / 3

    def field(column: float, wide: float, at_row: int, name: str, value: str, big: float = 2.5, rows: int = 1) -> None:
        left, top = x + column, y + at_row * row
        marks.append(rectangle(left, top, wide, row * rows, _THIN))
        marks.append(Text((left + 1.5, top + 3.1), name, SMALL_MM, role="pencil"))
        if value:
            weight: Weight = "semibold" if big > 2.5 else "regular"
            big = big if fonts.width_mm(fonts.printable(value), big, weight) <= wide - 3.0 else max(0.8 * big, SMALL_MM)
            text = fonts.shortened(value, wide - 3.0, big, weight)
            base = top + row * rows - 1.5 if rows == 1 else top + row * rows / 2 + 3.6
            marks.append(Text((left + 1.5, base), text, big, weight=weight))

    field(0, 42, 0, "Drawn by", "")
    field(0, 42, 1, "Checked by", "")
    field(0, 42, 2, "Date", "")
    field(42, 90, 0, "Title", title.title, 3.5, rows=2)
    field(42, 90, 2, "Kind of document", title.document)
    field(132, 48, 0, "Identification", title.number)
    field(132, 48, 1, "Case", title.case)
    field(132, 28, 2, "Stage", title.stage)
    field(160, 20, 2, "Sheet", title.sheet)
    return marks
