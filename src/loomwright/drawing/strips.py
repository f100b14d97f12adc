"""Free terminals: a strip of rings with their names under a box, each a place where a wire may begin or end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from loomwright.drawing import fonts
from loomwright.drawing.boxes import LINE_MM, TEXT_MM, Shape, lines, widest
from loomwright.drawing.marks import Circle, Group, Mark, Stroke, Text, rectangle
from loomwright.rig.model import Item

ROW_MM = 6.8
_RING_MM = 0.9
_RING = Stroke(0.35)
_CASE = Stroke(0.25, "ink", "chain")
_NAME_MM = 3.4  # from the edge of a cell to its name
_WORDS_MM = 44.0


def cell_mm(terminal: str) -> float:
    """Width of a ring with its name [mm]."""
    return _NAME_MM + fonts.width_mm(terminal, TEXT_MM) + 2.4


def with_strip(shape: Shape, item: Item, terminals: Sequence[str]) -> Shape:
    """The box with the strip of these terminals under it."""
    if not terminals:
        return shape
    cells, height = _cells(item, terminals, 0.0, shape.height_mm + 0.6, shape.width_mm)
    return replace(shape, height_mm=height, ends=(*shape.ends, *cells))


def loose(item: Item, terminals: Sequence[str]) -> Shape:
    """A box for an item that no wire reaches yet: its name and its terminals."""
    words = lines(item.id, item.part.title, (), _WORDS_MM, 2)
    row = sum(cell_mm(t) for t in terminals)
    core = max(widest(words) + 3.0, min(row, _WORDS_MM) + 2.0, *(cell_mm(t) + 2.0 for t in terminals))
    marks: list[Mark] = []
    y = 1.4
    for word in words:
        marks.append(Text((core / 2, y + TEXT_MM), word.text, TEXT_MM, "middle", word.weight, word.role))
        y += LINE_MM
    cells, height = _cells(item, terminals, 1.0, y - 0.4, core - 1.0)
    marks.insert(0, rectangle(0, 0, core, height + 0.6, _CASE))
    return Shape(core, height + 0.6, (), tuple(marks), tuple(cells))


def _cells(
    item: Item, terminals: Sequence[str], left: float, top: float, right: float
) -> tuple[list[Group], float]:
    """The cells in rows between ``left`` and ``right``, and the height under the last row."""
    out: list[Group] = []
    x, y = left, top + ROW_MM / 2
    for terminal in terminals:
        width = cell_mm(terminal)
        if x > left and x + width > right + 1e-6:
            x, y = left, y + ROW_MM
        ref = f"{item.id}.{terminal}"
        name = Text((x + _NAME_MM, y + TEXT_MM / 2), terminal, TEXT_MM, role="pencil")
        ring = Circle((x + _RING_MM + 0.3, y), _RING_MM, _RING, "raised")
        out.append(Group((ring, name), "terminal", ref, f"{ref}, free"))
        x += width
    return out, round(y + ROW_MM / 2, 2)
