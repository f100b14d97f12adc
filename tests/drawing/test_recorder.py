import pytest

from loomwright.drawing import recorder
from loomwright.drawing.marks import Arc, Circle, Group, Sheet, Text, arc_points, flat, line, placed, rectangle


def record(*marks: object) -> recorder.Record:
    return recorder.record(Sheet(100.0, 50.0, marks))  # type: ignore[arg-type]


def test_finds_words_on_words() -> None:
    assert record(Text((10, 10), "main"), Text((12, 11), "fuse")).text_overlaps() == (("main", "fuse"),)
    assert record(Text((10, 10), "main"), Text((10, 15), "fuse")).text_overlaps() == ()


@pytest.mark.parametrize(
    "mark", [line(0, 9, 90, 9), Circle((12, 9), 1.0), Arc((12, 12), 3, 180, 360), rectangle(12, 8, 40, 9)]
)
def test_finds_a_line_through_words(mark: object) -> None:
    assert record(Text((10, 10), "main"), mark).crossed_texts()


def test_a_line_beside_words_is_no_crossing() -> None:
    assert not record(Text((10, 10), "main"), line(0, 12, 90, 12), rectangle(5, 5, 40, 10)).crossed_texts()


def test_finds_words_off_the_sheet() -> None:
    assert record(Text((98, 10), "main")).outside() == ("main",)
    assert record(Text((98, 10), "main", anchor="end")).outside() == ()
    assert record(Text((10, 3), "upward", turn_deg=-90)).outside() == ("upward",)


def test_groups_are_opened_and_moved_whole() -> None:
    group = Group((Text((1, 2), "a"), Group((line(0, 0, 1, 1),))))
    moved = placed((group,), 10, 20, 2.0)
    text, stroke = flat(moved)
    assert isinstance(text, Text)
    assert (text.at, text.size_mm) == ((12, 24), 5.0)
    assert record(*moved).segments[0].end == (12, 22)
    assert stroke is not None


def test_an_arc_runs_clockwise_as_seen() -> None:
    first, last = arc_points((0, 0), 10, 0, 90, 1)
    assert first == pytest.approx((10, 0))
    assert last == pytest.approx((0, 10))  # y points down
