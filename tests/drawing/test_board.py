"""The drawing of a panel: to scale, complete, nothing off the sheet, the same each time."""

from __future__ import annotations

import pytest

from loomwright import demo
from loomwright.drawing import board, svg
from loomwright.drawing.marks import Circle, Group, Mark, Path
from loomwright.drawing.recorder import record
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
