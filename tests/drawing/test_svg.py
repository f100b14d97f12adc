import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.drawing import fonts, svg
from loomwright.drawing.marks import Arc, Circle, Group, Path, Sheet, Stroke, Text, line, rectangle
from tests.drawing import samples

NS = "{http://www.w3.org/2000/svg}"


def sheet(*marks: object, title: str = "") -> Sheet:
    return Sheet(100.0, 60.0, marks, title)  # type: ignore[arg-type]


@given(st.text(max_size=40))
def test_any_text_gives_a_well_formed_file_that_shows_it(text: str) -> None:
    drawn = svg.render(sheet(Group((Text((10, 10), text),), "item", text, text), title=text))
    root = ElementTree.fromstring(drawn)
    shown = [e.text or "" for e in root.iter(f"{NS}text")]
    assert shown == [fonts.printable(text)]


@pytest.mark.parametrize("text", samples.HOSTILE)
def test_markup_in_an_id_stays_text(text: str) -> None:
    root = ElementTree.fromstring(svg.render(sheet(Group((Text((1, 5), text),), "wire", text, text), title=text)))
    tags = {e.tag.removeprefix(NS) for e in root.iter()}
    assert tags <= {"svg", "title", "g", "text"}
    (group,) = root.iter(f"{NS}g")
    assert re.fullmatch(r"[A-Za-z0-9_.-]+", group.attrib["id"])


@given(st.text(max_size=12), st.text(max_size=12))
def test_no_two_ids_share_a_name(one: str, other: str) -> None:
    assert (svg.safe_id("wire", one) == svg.safe_id("wire", other)) == (one == other)


def test_two_groups_with_one_ref_have_different_ids() -> None:
    root = ElementTree.fromstring(svg.render(sheet(Group((), "flag", "P1"), Group((), "flag", "P1"))))
    assert len({g.attrib["id"] for g in root.iter(f"{NS}g")}) == 2


@given(st.floats(-1e6, 1e6))
def test_numbers_have_at_most_three_decimals_and_no_exponent(value: float) -> None:
    text = svg.number(value)
    assert re.fullmatch(r"-?\d+(\.\d{1,3})?", text)
    assert text != "-0"
    assert float(text) == pytest.approx(value, abs=5.1e-4)


def test_the_size_is_in_millimetres() -> None:
    root = ElementTree.fromstring(svg.render(sheet(rectangle(1, 1, 98, 58))))
    assert (root.attrib["width"], root.attrib["height"], root.attrib["viewBox"]) == ("100mm", "60mm", "0 0 100 60")


def test_black_only_uses_no_other_colour() -> None:
    marks = (
        line(0, 0, 9, 9, Stroke(0.5, "copper", "dashed")),
        Circle((5, 5), 3, Stroke(), "fix"),
        Text((1, 9), "x", role="stop"),
        Path(((1, 1), (2, 2), (3, 1)), Stroke(), "BU", closed=True),
        Arc((5, 5), 2, 0, 90),
    )
    colours = set(re.findall(r"#[0-9A-Fa-f]{6}", svg.render(sheet(*marks), "black")))
    assert colours <= {"#000000", "#FFFFFF"}


def test_a_page_may_set_the_colours() -> None:
    drawn = svg.render(sheet(line(0, 0, 9, 9, Stroke(role="copper"))), css_colours=True)
    assert "var(--copper, #9A4A16)" in drawn


def test_a_font_put_into_the_file_holds_the_letters_used() -> None:
    import base64
    import io

    from fontTools.ttLib import TTFont

    drawn = svg.render(sheet(Text((1, 9), "13.2 Ω − µ →")), embed_font=True)
    (data,) = re.findall(r"base64,([A-Za-z0-9+/=]+)", drawn)
    letters = TTFont(io.BytesIO(base64.b64decode(data))).getBestCmap()
    assert {ord(c) for c in "13.2Ω−µ→"} <= set(letters)
    assert len(drawn) < 15_000
    assert drawn == svg.render(sheet(Text((1, 9), "13.2 Ω − µ →")), embed_font=True)
