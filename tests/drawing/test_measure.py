"""The measuring of drawings finds each fault it is there for, in drawings made wrong on purpose."""

from loomwright.drawing import measure, svg
from loomwright.drawing.marks import Group, Mark, Path, Sheet, Stroke, Text, line, rectangle
from loomwright.drawing.measure import Measured

BOX = Group((rectangle(40, 40, 30, 20),), "item", "amp")


def wire(name: str, *points: tuple[float, float], width_mm: float = 0.5) -> Group:
    return Group((Path(points, Stroke(width_mm)),), "wire", name)


def measured(*marks: Mark) -> Measured:
    return measure.measure(svg.render(Sheet(200, 100, marks)))


def faults(m: Measured) -> tuple[object, ...]:
    return (*m.through_boxes, *m.text_on_text, *m.text_on_line, *m.merged, *m.off_sheet)


def test_a_good_drawing_has_no_faults() -> None:
    good = measured(
        BOX, wire("P1", (10, 50), (40, 50)), wire("P2", (10, 54), (40, 54)), Text((12, 48), "P1"), Text((42, 50), "in")
    )
    assert faults(good) == ()
    assert good.wires == {"P1", "P2"}
    assert (good.bends, good.crossings) == (0, 0)


def test_a_wire_through_a_box_is_found_and_one_along_its_edge_is_not() -> None:
    assert measured(BOX, wire("P1", (10, 50), (90, 50))).through_boxes == (("P1", "item-amp"),)
    assert measured(BOX, wire("P1", (55, 10), (55, 90))).through_boxes == (("P1", "item-amp"),)
    assert measured(BOX, wire("P1", (10, 39), (90, 39))).through_boxes == ()


def test_words_on_words_and_words_on_lines_are_found() -> None:
    assert measured(Text((10, 20), "battery"), Text((14, 21), "main")).text_on_text == (("battery", "main"),)
    assert measured(Text((10, 20), "battery"), line(0, 19, 50, 19)).text_on_line == ("battery",)
    assert measured(Text((10, 20), "battery"), line(5, 30, 25, 10)).text_on_line == ("battery",)
    assert measured(Text((10, 20), "battery"), line(0, 25, 50, 25)).text_on_line == ()


def test_wires_that_merge_are_found() -> None:
    beside = measured(wire("A", (10, 20), (60, 20)), wire("B", (30, 20.9), (90, 20.9)))
    assert beside.merged == (("A", "B"),)
    on_end = measured(wire("A", (10, 20), (60, 20)), wire("B", (60, 20), (90, 20)))
    assert on_end.merged == (("A", "B"),)
    corner = measured(wire("A", (10, 20), (60, 20)), wire("B", (30, 50), (30, 20), (90, 20)))
    assert corner.merged == (("A", "B"),)


def test_a_crossing_at_right_angles_is_counted_and_is_no_fault() -> None:
    crossed = measured(wire("A", (10, 20), (60, 20)), wire("B", (30, 10), (30, 40), (50, 40)))
    assert (crossed.crossings, crossed.bends) == (1, 1)
    assert faults(crossed) == ()


def test_what_leaves_the_sheet_is_found() -> None:
    assert measured(Text((195, 50), "battery")).off_sheet == ("battery",)
    assert measured(wire("P1", (10, 50), (210, 50))).off_sheet == ("P1",)


def test_the_smallest_capitals_are_told_in_millimetres() -> None:
    assert abs(measured(Text((10, 10), "A", 3.5), Text((10, 30), "B", 2.2, weight="bold")).smallest_mm - 2.2) < 0.01
