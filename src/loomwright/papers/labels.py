"""Sheets of labels by dimension: as many as go on the paper, centred, cut or peeled."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources

from loomwright.drawing import pages
from loomwright.drawing.fonts import width_mm
from loomwright.drawing.marks import clean
from loomwright.loom.labels import unusable
from loomwright.loom.results import LoomWire
from loomwright.papers.paper import PAPERS, PaperSize

INSET_MM = 1.2
MM_PER_PT = 25.4 / 72.0
SMALLEST_PT, LARGEST_PT = 5.0, 11.0


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A sheet of equal labels: paper, one label, the gaps between them, the margins at left and top [mm]."""

    width_mm: float
    height_mm: float
    label_mm: tuple[float, float]
    gap_mm: tuple[float, float]
    columns: int
    rows: int
    left_mm: float
    top_mm: float


def sheet_of(
    label_mm: tuple[float, float], paper: PaperSize = "a4", gap_mm: tuple[float, float] = (0.0, 0.0)
) -> LabelSheet:
    """As many labels as the paper holds, in the middle of it.

    Raises
    ------
    InputError
        Where a label is larger than the paper, or too small to print on.
    """
    width, height = PAPERS[paper]
    across, down = label_mm
    if not (8.0 <= across <= width and 6.0 <= down <= height):
        raise unusable(
            f"8 x 6 to {width:g} x {height:g} mm", f"{across:g} x {down:g}",
            "Measure one label of the sheet, width first.",
        )  # fmt: skip
    columns = int((width + gap_mm[0]) / (across + gap_mm[0]) + 1e-9)
    rows = int((height + gap_mm[1]) / (down + gap_mm[1]) + 1e-9)
    left = (width - columns * across - (columns - 1) * gap_mm[0]) / 2.0
    top = (height - rows * down - (rows - 1) * gap_mm[1]) / 2.0
    return LabelSheet(width, height, label_mm, gap_mm, columns, rows, left, top)


def pdf(wires: Sequence[LoomWire], sheet: LabelSheet, title: str) -> bytes:
    """The labels of every wire, both ends beside each other, in the order of the rig.

    Raises
    ------
    EngineMissing
        Where the typesetter or the fonts are not installed.
    """
    labels = [[clean(line) for line in text.split("\n")] for w in wires for text in w.labels]
    each = sheet.columns * sheet.rows
    data = {
        "title": clean(title),
        "width_mm": sheet.width_mm,
        "height_mm": sheet.height_mm,
        "label_mm": sheet.label_mm,
        "gap_mm": sheet.gap_mm,
        "left_mm": sheet.left_mm,
        "top_mm": sheet.top_mm,
        "columns": sheet.columns,
        "size_pt": size_pt(labels, sheet.label_mm),
        "sheets": [labels[k : k + each] for k in range(0, len(labels), each)] or [[]],
    }
    template = resources.files("loomwright.papers").joinpath("labels.typ").read_bytes()
    return pages.typeset({"main.typ": template, "data.json": json.dumps(data).encode()}, "pdf")


def size_pt(labels: Sequence[Sequence[str]], label_mm: tuple[float, float]) -> float:
    """The largest type in which every line goes into its label: one size for all."""
    room = label_mm[0] - 2.0 * INSET_MM
    widest = max((width_mm(line, 10.0 * MM_PER_PT, "bold") for text in labels for line in text), default=1.0)
    lines = max((len(text) for text in labels), default=1)
    by_width = 10.0 * room / max(widest, 1e-6)
    by_height = (label_mm[1] - 2.0 * INSET_MM) / lines / MM_PER_PT / 1.35
    return math.floor(2.0 * min(LARGEST_PT, max(SMALLEST_PT, min(by_width, by_height)))) / 2.0
