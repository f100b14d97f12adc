"""Widths of words against fontTools, which reads the same tables on its own account."""

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from loomwright.drawing import assets, fonts
from loomwright.drawing.marks import Text, Weight

WEIGHTS: tuple[Weight, ...] = ("regular", "semibold", "bold")


@pytest.mark.parametrize("weight", WEIGHTS)
def test_every_width_agrees_with_fonttools(weight: Weight) -> None:
    with TTFont(assets.font_path(weight)) as font:
        em = font["head"].unitsPerEm
        theirs = {code: font["hmtx"][glyph][0] / em for code, glyph in font.getBestCmap().items()}
        capital = font["OS/2"].sCapHeight / em
    assert fonts.face(weight).widths == pytest.approx(theirs)
    assert fonts.face(weight).cap_height == pytest.approx(capital)


@pytest.mark.parametrize("weight", WEIGHTS)
def test_digits_are_tabular_and_signs_are_there(weight: Weight) -> None:
    widths = fonts.face(weight).widths
    assert len({widths[ord(d)] for d in "0123456789"}) == 1
    assert all(ord(c) in widths for c in "Ωµ−×²°→←≥∞·\u2009")


def test_height_of_a_capital_is_the_size_asked_for() -> None:
    left, top, right, _ = fonts.box(Text((10.0, 20.0), "H", 2.5))
    assert (left, top) == (10.0, 17.5)
    assert right - left == pytest.approx(fonts.width_mm("H", 2.5))


@given(st.text(max_size=60), st.floats(3.0, 60.0))
def test_a_shortened_text_fits(text: str, limit: float) -> None:
    short = fonts.shortened(text, limit, 2.5)
    assert fonts.width_mm(short, 2.5) <= limit or short == "…"


@given(st.text(max_size=30))
def test_every_letter_shown_is_one_the_font_has(text: str) -> None:
    for weight in ("regular", "semibold", "bold"):
        shown = set(fonts.printable(text))
        assert {ord(c) for c in shown if fonts.script_of(c) is None} <= set(fonts.face(weight).widths)
        for script in assets.SCRIPTS:
            with TTFont(assets.script_path(script, weight)) as font:
                assert {ord(c) for c in shown if fonts.script_of(c) == script} <= set(font.getBestCmap())


def test_names_in_hebrew_and_arabic_are_written_in_their_letters() -> None:
    for name in ("\u05de\u05d2\u05d1\u05e8_1", "\u0645\u0636\u062e\u0645_2"):
        assert fonts.printable(name) == name
        assert fonts.width_mm(name, 2.5) > 0


def test_marks_that_turn_the_direction_of_words_are_shown_as_codes() -> None:
    for mark in ("\u200f", "\u202e", "\u2067", "\u061c"):
        assert fonts.printable(f"P{mark}1") == f"P[U+{ord(mark):04X}]1"


def test_letters_that_the_font_lacks_become_codes_and_names_stay_distinct() -> None:
    assert fonts.printable("\u7dda2") == "[U+7DDA]2"
    assert len({fonts.printable(name) for name in ("\u03a9\u7dda2", "\u03a9\u7db22", "\u03a92")}) == 3
    assert fonts.printable("\u03a92 \u00b5") == "\u03a92 \u00b5"


def test_a_number_stays_with_its_unit() -> None:
    lines = fonts.wrapped("Battery switch, 300 A", 26.0, 2.5, 3)
    assert [line.replace("\u00a0", " ") for line in lines] == ["Battery switch,", "300 A"]


def test_a_long_word_breaks_at_its_hyphen() -> None:
    assert fonts.wrapped("Permanent-magnet stator", 26.0, 2.5, 3)[0] == "Permanent-"


@given(st.text(max_size=64), st.floats(8.0, 60.0))
def test_an_id_that_was_cut_fits(text: str, limit: float) -> None:
    short = fonts.named(text, limit, 2.5)
    assert fonts.width_mm(short, 2.5) <= limit or short == "…"


def test_long_ids_that_differ_at_their_ends_stay_apart() -> None:
    ends = ("left_plus", "left_minus", "right_plus", "right_minus")
    ids = [f"speaker_lead_of_the_upper_rear_case_{end}" for end in ends]
    assert len({fonts.named(i, 30.0, 2.5, "semibold") for i in ids}) == len(ids)
    assert fonts.named("P3", 30.0, 2.5) == "P3"
