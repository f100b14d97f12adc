"""Marker sheets, measured in the PDF and read back from the print."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pdfplumber
import pytest

from loomwright.drawing import pages
from loomwright.drawing.recorder import record
from loomwright.papers import marker_sheets
from loomwright.trace import layout

MM = 25.4 / 72.0


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_bars_and_markers_measured_in_the_pdf(paper: layout.PaperName) -> None:
    with pdfplumber.open(io.BytesIO(marker_sheets.pdf(paper))) as pdf:
        assert len(pdf.pages) == layout.SHEETS
        page = pdf.pages[1]
        size = float(page.width) * MM, float(page.height) * MM
        assert size == pytest.approx(layout.PAPERS_MM[paper], abs=0.02)
        across = max(float(x["x1"] - x["x0"]) * MM for x in page.lines)
        down = max(float(x["bottom"] - x["top"]) * MM for x in page.lines)
        assert (across, down) == pytest.approx((150.0, 200.0), abs=0.02)
        black = [s for s in (*page.curves, *page.rects) if float(s["x1"] - s["x0"]) * MM > 30.0]
        corners = sorted((round(float(s["x0"]) * MM, 2), round(float(s["top"]) * MM, 2)) for s in black)
        expected = sorted((m.x_mm, m.y_mm) for m in layout.sheet(paper, 2).markers)
        assert np.array(corners) == pytest.approx(np.array(expected), abs=0.02)
        assert all(float(s["x1"] - s["x0"]) * MM == pytest.approx(layout.MARKER_MM, abs=0.02) for s in black)


def test_every_marker_of_a_printed_sheet_is_read_where_it_was_put() -> None:
    picture = pages.png(marker_sheets.drawing("letter", 3), "black", dpi=100.0)
    gray = cv2.imdecode(np.frombuffer(picture, np.uint8), cv2.IMREAD_GRAYSCALE)
    corners, ids, _ = cv2.aruco.ArucoDetector(layout.dictionary()).detectMarkers(gray)
    made = layout.sheet("letter", 3)
    assert sorted(ids.ravel()) == [m.id for m in made.markers]
    for marker, at in zip(ids.ravel(), corners, strict=True):
        expected = np.array(next(m for m in made.markers if m.id == marker).corners_mm()) / 25.4 * 100.0
        assert np.abs(at.reshape(4, 2) - expected).max() < 2.5


def test_words_keep_clear_of_markers_and_of_the_border() -> None:
    for number in range(1, layout.SHEETS + 1):
        drawn = record(marker_sheets.drawing("a4", number))
        assert not drawn.text_overlaps()
        assert not drawn.outside()


def test_sheets_share_no_marker() -> None:
    every = [m.id for p in layout.PAPERS_MM for n in range(1, layout.SHEETS + 1) for m in layout.sheet(p, n).markers]
    assert len(every) == len(set(every))
    assert all(layout.sheet_of(i) is not None for i in every)
    assert layout.sheet_of(max(every) + 1) is None
