"""The drawing of a panel: to scale, complete, nothing off the sheet, the same each time."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from loomwright import demo
from loomwright.drawing import board, fonts, svg
from loomwright.drawing.lead_lines import on_line, spread
from loomwright.drawing.lead_names import meet, words
from loomwright.drawing.marks import Arc, Circle, Group, Mark, Path, Sheet, Text
from loomwright.drawing.recorder import meets, record
from loomwright.panel.results import PanelLayout
from loomwright.rig.file import parse
from loomwright.study import Study


def layout(name: str) -> PanelLayout:
    return Study(parse(demo.text(name), name)).panels.layouts[0]


def groups(marks: tuple[Mark, ...], kind: str) -> list[Group]:
    return [m for m in marks if isinstance(m, Group) and m.kind == kind]


@pytest.mark.parametrize("name", ["canal_launch", "carnival_trike_planned"])
@pytest.mark.parametrize("size", ["A3", "A4", "Letter", "Tabloid"])
def test_everything_is_on_the_sheet_and_to_scale(name: str, size: str) -> None:
    found = layout(name)
    sheet = board.draw(found, "Title", size)  # type: ignore[arg-type]
    assert record(sheet).outside() == ()
    drawn = {g.ref: g for g in groups(sheet.marks, "item")}
    assert set(drawn) == {i.id for i in found.items}
    scales = []
    for item in found.items:
        body = next(m for m in drawn[item.id].marks if isinstance(m, Path))
        width = max(x for x, _ in body.points) - min(x for x, _ in body.points)
        scales.append(item.size_mm[0] / width)
    assert max(scales) - min(scales) < 1e-6
    assert round(scales[0], 6) in board.SCALES
    assert f"1:{scales[0]:g}" in record(sheet).words()[0] or any(f"1:{scales[0]:g}" in w for w in record(sheet).words())


def test_every_hole_has_its_mark_and_every_lead_its_line() -> None:
    found = layout("canal_launch")
    sheet = board.draw(found, "Title")
    holes = groups(sheet.marks, "drill")
    assert len(holes) == len(found.drills)
    assert all(isinstance(h.marks[0], Circle) for h in holes)
    assert {g.ref for g in groups(sheet.marks, "lead")} == {lead.id for lead in found.leads}
    assert svg.render(sheet) == svg.render(board.draw(layout("canal_launch"), "Title"))


@pytest.mark.parametrize("name", ["canal_launch", "carnival_trike_planned", "harvest_buggy"])
def test_leads_of_one_lane_are_drawn_apart_and_nearly_every_one_is_named(name: str) -> None:
    """Names meet no line, no body and no other name; what keeps its place at a terminal may lie on another's end."""
    found = layout(name)
    sheet = board.draw(found, "Title")
    scale = next(float(w.partition("1:")[2]) for w in record(sheet).words() if "Panel, face, 1:" in w)
    bodies = [tuple(v / scale for v in i.box_mm) for i in found.items]
    rows = spread(found.leads, scale, bodies)
    begins = [tuple(v / scale for v in lead.points_mm[0]) for lead in found.leads]
    assert [row[0] for row in rows] == begins
    free = [(n, a, b) for n, row in enumerate(rows) for a, b in list(pairwise(row))[1:-1]]
    for n, a, b in free:
        for m, c, d in free:
            if n < m and a[0] == b[0] == c[0] == d[0]:
                assert min(max(a[1], b[1]), max(c[1], d[1])) <= max(min(a[1], b[1]), min(c[1], d[1])), (n, m)
    texts = [m for m in sheet.marks if isinstance(m, Text)]
    named = {words(lead): lead for lead in found.leads}
    shown = [t for t in texts if t.text in named]
    assert len({t.text for t in shown}) >= 0.85 * len(named)
    boxes = [fonts.box(t) for t in texts]
    meeting = [
        (s.text, t.text) for s, a in zip(texts, boxes, strict=True) for t, b in zip(texts, boxes, strict=True)
        if s is not t and s in shown and a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]  # fmt: skip
    assert not meeting


def test_a_tie_is_drawn_on_its_lead() -> None:
    assert on_line((5.0, 3.0), ((0.0, 0.0), (10.0, 0.0), (10.0, 8.0))) == (5.0, 0.0)
    assert on_line((12.0, 9.0), ((0.0, 0.0), (10.0, 0.0), (10.0, 8.0))) == (10.0, 8.0)


def plate(sheet: Sheet) -> tuple[tuple[float, float], ...]:
    """The corners of the board: the thick outline that is no frame."""
    raised = [m.points for m in sheet.marks if isinstance(m, Path) and m.closed and m.fill == "raised" and m.stroke]
    return max(raised, key=lambda points: max(x for x, _ in points) - min(x for x, _ in points))


def within(box: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    return box[0] > other[0] and box[1] > other[1] and box[2] < other[2] and box[3] < other[3]


@pytest.mark.parametrize("name", ["canal_launch", "carnival_trike_planned", "harvest_buggy"])
@pytest.mark.parametrize("where", ["screen", "paper"])
def test_no_word_on_a_board_stands_on_a_lead_a_rim_or_another_word(name: str, where: str) -> None:
    """Leads as they are drawn, bends and all; the words are those of items, leads and the cable entry."""
    found = layout(name)
    sheet = board.face(found)[0] if where == "screen" else board.draw(found, "Title")
    leads = groups(sheet.marks, "lead")
    lines = [m.points for g in leads for m in g.marks if isinstance(m, Path)]
    for arc in (m for g in leads for m in g.marks if isinstance(m, Arc)):
        turns = [math.radians(arc.start_deg + (arc.end_deg - arc.start_deg) * k / 30) for k in range(31)]
        (x, y), r = arc.centre, arc.radius_mm
        lines.append(tuple((x + r * math.cos(t), y + r * math.sin(t)) for t in turns))
    rim = plate(sheet)
    lines.append((*rim, rim[0]))
    beside = [m for m in sheet.marks if isinstance(m, Text)]
    if where == "paper":
        known = {words(lead) for lead in found.leads} | {i.id for i in found.items}
        across = max(x for x, _ in rim)
        beside = [t for t in beside if t.text in known and t.at[0] < across]
    inside = [m for g in groups(sheet.marks, "item") for m in g.marks if isinstance(m, Text)]
    for text in beside:
        box = fonts.box(text)
        assert not [line for line in lines if any(meets(a, b, box) for a, b in pairwise(line))], text.text
    boxes = [fonts.box(t) for t in (*beside, *inside)]
    assert not [(a, b) for n, a in enumerate(boxes) for b in boxes[:n] if meet(a, b)]
    assert {i.id for i in found.items} <= {t.text for t in (*beside, *inside)}


def test_a_name_stands_in_its_body_on_a_screen_where_only_screws_that_are_not_drawn_are_in_its_way() -> None:
    drawn = {g.ref: g for g in groups(board.face(layout("canal_launch"))[0].marks, "item")}
    body = next(m for m in drawn["fore_block"].marks if isinstance(m, Path))
    name = next(m for m in drawn["fore_block"].marks if isinstance(m, Text))
    assert name.text == "fore_block"
    xs, ys = [x for x, _ in body.points], [y for _, y in body.points]
    assert within(fonts.box(name), (min(xs), min(ys), max(xs), max(ys)))


def test_a_board_of_a_metre_fills_most_of_its_sheet() -> None:
    """1:2.5 just misses there: a scale in between is taken, not the next of ISO 5455."""
    sheet = board.draw(layout("harvest_buggy"), "Title")
    xs = [x for x, _ in plate(sheet)]
    assert max(xs) - min(xs) > 0.55 * sheet.width_mm
