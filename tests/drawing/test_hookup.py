"""The diagram to work on: nothing missing, nothing in the way of anything, and still when only figures change."""

from functools import cache

import pytest

from loomwright import demo as rigs
from loomwright.drawing import hookup, layout, recorder
from loomwright.drawing.marks import Group, Mark, Sheet
from loomwright.rig import edit
from loomwright.rig.file import parse
from loomwright.study import Study
from tests.drawing import demo

each = pytest.mark.parametrize("name", demo.NAMES)
view = pytest.mark.parametrize("view", hookup.VIEWS)
TRIKE = rigs.text("carnival_trike_planned")


@cache
def drawn(name: str, view: hookup.View) -> Sheet:
    study = demo.study(name)
    sheet = hookup.draw(study.rig, view, study)
    assert sheet is not None
    return sheet


def refs(sheet: Sheet, kind: str) -> list[str]:
    def walk(marks: tuple[Mark, ...]) -> list[str]:
        groups = [m for m in marks if isinstance(m, Group)]
        return [r for g in groups for r in ([g.ref] if g.kind == kind else walk(g.marks))]

    return walk(sheet.marks)


@each
@view
def test_no_words_on_words_no_line_through_words_nothing_off_the_sheet(name: str, view: hookup.View) -> None:
    record = recorder.record(drawn(name, view))
    assert record.text_overlaps() == ()
    assert record.crossed_texts() == ()
    assert record.outside() == ()


@each
def test_every_wire_is_on_one_view_with_a_joint_at_both_ends(name: str) -> None:
    rig = demo.study(name).rig
    power, signals = (drawn(name, v) for v in hookup.VIEWS)
    assert sorted(refs(power, "wire") + refs(signals, "wire")) == sorted(w.id for w in rig.wires)
    joints = refs(power, "joint") + refs(signals, "joint")
    assert sorted(joints) == sorted(f"{w.id}@{end}" for w in rig.wires for end in (w.start, w.end))


@each
def test_every_terminal_with_room_can_be_pressed(name: str) -> None:
    rig = demo.study(name).rig
    shown = {r for v in hookup.VIEWS for r in refs(drawn(name, v), "terminal")}
    shown |= {r.partition("@")[2] for v in hookup.VIEWS for r in refs(drawn(name, v), "joint")}
    for item in rig.items.values():
        for terminal in item.part.terminals:
            ref = f"{item.id}.{terminal.name}"
            assert ref in shown or len(rig.wires_at(ref)) >= terminal.max_wires


@each
@view
def test_no_terminal_is_drawn_twice_as_free(name: str, view: hookup.View) -> None:
    free = refs(drawn(name, view), "terminal")
    assert len(free) == len(set(free))
    assert not set(free) & {r.partition("@")[2] for r in refs(drawn(name, view), "joint")}


def test_a_part_that_no_wire_reaches_stands_with_its_terminals() -> None:
    rig = parse(edit.add_item(TRIKE, "spare", "driver_6_5in", "top_case"), "x")
    sheet = hookup.draw(rig, "signals")
    assert sheet is not None
    assert {"spare.+", "spare.-"} <= set(refs(sheet, "terminal"))
    assert "spare" in refs(sheet, "item")


def places(study: Study) -> tuple[float, float, dict[str, str]]:
    """Size of the drawing, and where the lines of each wire run."""
    sheet = hookup.draw(study.rig, "power", study)
    assert sheet is not None
    lines = {}
    for group in sheet.marks[0].marks:  # type: ignore[union-attr]
        if isinstance(group, Group) and group.kind == "wire":
            lines[group.ref] = str([m.points for m in group.marks if hasattr(m, "points")])
    return sheet.width_mm, sheet.height_mm, lines


@pytest.mark.parametrize("keys", [{"size": "2/0 AWG"}, {"size": "16 mm2"}, {"length_mm": 60}, {"length_mm": 4321}])
def test_an_edit_of_size_or_length_moves_nothing_and_costs_no_layout(keys: dict[str, str | int]) -> None:
    before = places(Study(parse(TRIKE, "x")))
    count = layout._placed.cache_info().misses
    assert places(Study(parse(edit.set_wire(TRIKE, "P2", **keys), "x"))) == before  # type: ignore[arg-type]
    assert layout._placed.cache_info().misses == count


def test_layouts_kept_are_bounded_and_the_same_as_made_anew() -> None:
    one = layout.Box("a", 10.0, 10.0, (layout.Port("p", "EAST", 5.0),))
    two = layout.Box("b", 10.0, 10.0, (layout.Port("q", "WEST", 5.0),))
    graph = layout.Graph((one, two), (layout.Link("w", "p", "q"),))
    kept = layout.layout(graph)
    layout._placed.cache_clear()
    assert layout.layout(graph) == kept
    assert layout._placed.cache_info().maxsize == layout.KEPT
