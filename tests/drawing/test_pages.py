import io
import struct
from pathlib import Path

import pdfplumber
import pytest

from loomwright.drawing import assets, fonts, frame, pages
from loomwright.drawing.marks import Group, Sheet, Stroke, Text, Weight, line
from loomwright.errors import EngineMissing
from tests.drawing import samples

PT_PER_MM = 72 / 25.4
RULER = Sheet(
    420.0,
    297.0,
    (line(30, 100, 130, 100, Stroke(0.5)), line(30, 100, 30, 200, Stroke(0.5)), Text((30, 90), "100 mm")),
    "ruler",
)


def test_a_line_of_100_mm_is_100_mm_on_the_page() -> None:
    with pdfplumber.open(io.BytesIO(pages.pdf(RULER))) as document:
        (page,) = document.pages
        assert float(page.width) == pytest.approx(420 * PT_PER_MM, abs=0.01)
        assert float(page.height) == pytest.approx(297 * PT_PER_MM, abs=0.01)
        spans = sorted(
            (round(float(o["width"]), 2), round(float(o["height"]), 2))
            for o in (*page.lines, *page.curves, *page.rects)
        )
        assert any(w == pytest.approx(100 * PT_PER_MM, abs=0.02) and h < 2 for w, h in spans)
        assert any(h == pytest.approx(100 * PT_PER_MM, abs=0.02) and w < 2 for w, h in spans)


def test_words_in_a_page_can_be_read_and_copied() -> None:
    with pdfplumber.open(io.BytesIO(pages.pdf(RULER))) as document:
        assert document.pages[0].extract_text() == "100 mm"


def test_the_same_sheet_gives_the_same_bytes_and_no_date() -> None:
    first = pages.pdf(RULER)
    assert first == pages.pdf(RULER)
    assert b"CreationDate" not in first
    assert pages.png(RULER) == pages.png(RULER)


def test_a_picture_has_the_size_asked_for() -> None:
    width, height = struct.unpack(">LL", pages.png(RULER, dpi=50.8)[16:24])
    assert (width, height) == (840, 594)


@pytest.mark.parametrize("text", samples.HOSTILE)
def test_markup_in_a_title_is_no_markup(text: str) -> None:
    sheet = Sheet(100.0, 50.0, (Group((Text((5, 20), text),), "item", text, text),), text + "\\")
    assert pages.pdf(sheet).startswith(b"%PDF")


@pytest.mark.parametrize("size", sorted(frame.SIZES_MM))
def test_frame_leaves_20_mm_to_punch_and_10_elsewhere(size: frame.SheetSize) -> None:
    width, height = frame.SIZES_MM[size]
    border = frame.frame(size, frame.Title("A", "B"))[0]
    xs, ys = [p[0] for p in border.points], [p[1] for p in border.points]  # type: ignore[union-attr]
    assert (min(xs), width - max(xs), min(ys), height - max(ys)) == (20, 10, 10, 10)


def test_a_path_ends_in_what_it_is(tmp_path: Path) -> None:
    assert pages.write(RULER, tmp_path / "a" / "x.svg").read_text("utf-8").startswith("<?xml")
    assert pages.write(RULER, tmp_path / "x.pdf").read_bytes().startswith(b"%PDF")
    assert pages.write(RULER, tmp_path / "x.PNG").read_bytes().startswith(b"\x89PNG")
    with pytest.raises(ValueError, match=r"x\.gif"):
        pages.write(RULER, tmp_path / "x.gif")


def test_missing_assets_say_how_to_get_them(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(assets, "_FOLDER", tmp_path)
    with pytest.raises(EngineMissing, match="make install"):
        assets.layout_engine()


@pytest.mark.parametrize("weight", ["regular", "semibold", "bold"])
def test_a_line_looks_the_same_whether_or_not_there_are_letters_beside_it_that_few_papers_need(weight: Weight) -> None:
    words = "Øre, AVATAR To. fi “12.7 A” 3×2 µΩ −1 → žluťoučký"
    usual = Sheet(200.0, 40.0, (Text((10.0, 20.0), words, 3.5, weight=weight),), "usual")
    rare = Sheet(200.0, 40.0, (*usual.marks, Text((10.0, 30.0), "Ж", 3.5)), "rare")
    found = []
    for sheet in (usual, rare):
        with pdfplumber.open(io.BytesIO(pages.pdf(sheet))) as document:
            chars = document.pages[0].chars
        found.append([(c["text"], c["fontname"][7:], c["x0"], c["x1"]) for c in chars if c["text"] != "Ж"])
    assert found[0] == found[1]
    assert "".join(c[0] for c in found[0]) == words


@pytest.mark.parametrize(("weight", "named"), [("regular", "Regular"), ("semibold", "SemiBold"), ("bold", "Bold")])
def test_a_line_in_two_scripts_keeps_to_the_width_that_it_was_given_and_to_its_weight(
    weight: Weight, named: str
) -> None:
    words = "\u05e8\u05db\u05d1: a parcel van, long name"
    sheet = Sheet(200.0, 40.0, (Text((10.0, 20.0), words, 3.5, weight=weight),), "two scripts")
    with pdfplumber.open(io.BytesIO(pages.pdf(sheet))) as document:
        chars = document.pages[0].chars
    drawn = (max(c["x1"] for c in chars) - min(c["x0"] for c in chars)) / PT_PER_MM
    assert drawn == pytest.approx(fonts.width_mm(words, 3.5, weight), rel=0.01)
    fonts_of = {("Hebrew" if "\u05d0" <= c["text"] <= "\u05ea" else "Latin"): c["fontname"] for c in chars}
    assert fonts_of["Hebrew"].endswith(f"NotoSansHebrew-{named}")
    assert fonts_of["Latin"].endswith(f"SourceSans3-{named}")
