"""The diagram as a screen shows it: the drawing alone, without the frame of a sheet of paper."""

from __future__ import annotations

from loomwright.drawing import svg
from loomwright.drawing.marks import Circle, Group, Mark, Path, Sheet, Text, flat, placed
from loomwright.drawing.single_line import TooLarge, draw
from loomwright.rig.model import EngineState, Programme
from loomwright.study import Study

_EDGE_MM = 6.0


def diagram(study: Study, engine: EngineState, programme: Programme) -> str:
    """The single-line diagram of a case as an ``svg`` element; empty where there is none to draw."""
    if not study.rig.wires:
        return ""
    try:
        sheet = draw(study, engine, programme)
    except TooLarge:
        return ""
    return svg.render(bare(sheet), css_colours=True).partition("\n")[2]


def bare(sheet: Sheet) -> Sheet:
    """The drawing of a sheet without frame, title block and notes, with a narrow edge: what a screen shows."""
    drawing = [m for m in sheet.marks if isinstance(m, Group) and m.kind == "diagram"]
    points = [p for m in flat(drawing) for p in _corners(m)]
    if not points:
        return sheet
    left, top = min(x for x, _ in points) - _EDGE_MM, min(y for _, y in points) - _EDGE_MM
    width = max(x for x, _ in points) - left + _EDGE_MM
    height = max(y for _, y in points) - top + _EDGE_MM
    return Sheet(width, height, placed(drawing, -left, -top), sheet.title)


def _corners(mark: Mark) -> tuple[tuple[float, float], ...]:
    if isinstance(mark, Path):
        return mark.points
    if isinstance(mark, Circle):
        (x, y), r = mark.centre, mark.radius_mm
        return ((x - r, y - r), (x + r, y + r))
    return (mark.at,) if isinstance(mark, Text) else ()
