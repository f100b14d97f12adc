"""A font with some letters only, as fontTools reads it and as a browser would."""

from __future__ import annotations

import io

import pytest
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont

from loomwright.drawing import assets, fonts
from loomwright.drawing.letters import with_letters
from loomwright.drawing.marks import Weight

WORDS = "Amp 13.2 V, Ω − µ → żółć ÄÖÜ ½ ffi é 𝟘"


def made(weight: Weight, words: str) -> bytes:
    glyphs = fonts.face(weight).glyphs
    letters = {ord(c): glyphs[ord(c)] for c in words if ord(c) in glyphs}
    return with_letters(assets.font_path(weight).read_bytes(), letters)


@pytest.mark.parametrize("weight", ["regular", "semibold", "bold"])
def test_every_letter_has_its_outline_and_width_and_no_other_letter_is_in_it(weight: Weight) -> None:
    cut, whole = TTFont(io.BytesIO(made(weight, WORDS)), checkChecksums=2), TTFont(assets.font_path(weight))
    letters = {c for c in map(ord, WORDS) if c in whole.getBestCmap()}
    assert set(cut.getBestCmap()) == letters
    for code in letters:
        mine, theirs = cut.getBestCmap()[code], whole.getBestCmap()[code]
        assert cut["hmtx"][mine] == whole["hmtx"][theirs]
        one, two = DecomposingRecordingPen(cut.getGlyphSet()), DecomposingRecordingPen(whole.getGlyphSet())
        cut.getGlyphSet()[mine].draw(one)
        whole.getGlyphSet()[theirs].draw(two)
        assert one.value == two.value
    assert len(made(weight, WORDS)) < 20_000


def test_the_first_glyph_is_that_for_what_is_missing() -> None:
    cut = TTFont(io.BytesIO(made("regular", "x")))
    assert cut.getGlyphOrder()[0] == ".notdef"
    assert cut["glyf"][".notdef"].numberOfContours > 0
    assert cut["name"].getDebugName(1) == TTFont(assets.font_path("regular"))["name"].getDebugName(1)


def test_a_letter_beyond_the_first_plane_is_found() -> None:
    """Where the font has none, any glyph stands for it: the map is what is tried."""
    glyph = fonts.face("regular").glyphs[ord("x")]
    cut = TTFont(io.BytesIO(with_letters(assets.font_path("regular").read_bytes(), {0x61: glyph, 0x1D7D8: glyph})))
    assert set(cut.getBestCmap()) == {0x61, 0x1D7D8}


def test_no_letters_at_all_make_a_font_too() -> None:
    assert not TTFont(io.BytesIO(made("bold", ""))).getBestCmap()
