"""Names of the leads on a board, each beside a straight piece of its own lead and clear of everything else."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from loomwright.drawing import fonts
from loomwright.drawing.marks import Point, Text
from loomwright.drawing.recorder import meets
from loomwright.panel.results import Lead, PanelLayout

SIZE_MM = 2.2
BESIDE_MM = 0.9
"""Between a line and the name beside it."""
INK_MM = 0.2
"""A line is so much wider than its middle, at least, on either side."""
SHARES = (0.5, 0.25, 0.75, 0.1, 0.9)
MOST_WORDS = 3

Box = tuple[float, float, float, float]


def names(
    layout: PanelLayout, rows: Sequence[Sequence[Point]], lines: Sequence[Sequence[Point]], scale: float,
    taken: Sequence[Box],
) -> Iterator[Text]:  # fmt: skip
    """One name for each lead that has room for one.

    ``rows`` are the corners of the leads as drawn, ``lines`` all lines that a name keeps clear of, ``taken`` boxes of
    other marks, in millimetres of the paper.
    """
    boxes = [*taken, *(scaled(i.box_mm, scale) for i in layout.items)]
    order = sorted(range(len(layout.leads)), key=lambda n: (len(rows[n]), layout.leads[n].id))
    for n in order:
        for text in _places(words(layout.leads[n]), rows[n]):
            box = fonts.box(text)
            if clear(box, boxes, lines):
                boxes.append(box)
                yield text
                break


def clear(box: Box, boxes: Sequence[Box], lines: Sequence[Sequence[Point]]) -> bool:
    """Whether a box meets no other box and no line."""
    if any(meet(box, b) for b in boxes):
        return False
    return not any(meets(a, b, _wider(box)) for row in lines for a, b in pairwise(row))


def in_the_way(box: Box, boxes: Sequence[Box], lines: Sequence[Sequence[Point]]) -> int:
    """How many other boxes and lines a box meets."""
    crossed = sum(any(meets(a, b, _wider(box)) for a, b in pairwise(row)) for row in lines)
    return crossed + sum(meet(box, b) for b in boxes)


def _wider(box: Box) -> Box:
    """A box with the ink of a line's own width round it."""
    return box[0] - INK_MM, box[1] - INK_MM, box[2] + INK_MM, box[3] + INK_MM


def words(lead: Lead) -> str:
    """The wires of a lead, the first few where there are many."""
    shown = ", ".join(lead.wires[:MOST_WORDS])
    return shown if len(lead.wires) <= MOST_WORDS else f"{shown} +{len(lead.wires) - MOST_WORDS}"


def _places(said: str, row: Sequence[Point]) -> Iterator[Text]:
    """Where a name may stand: beside the straight pieces, the longest first, on either side, in the middle first."""
    square = [(a, b) for a, b in pairwise(row) if (a[0] == b[0]) != (a[1] == b[1])]
    for a, b in sorted(square, key=lambda s: -math.dist(*s)):
        for share in SHARES:
            x, y = a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])
            if a[1] == b[1]:
                yield Text((x, y - BESIDE_MM), said, SIZE_MM, "middle")
                yield Text((x, y + BESIDE_MM + 0.75 * SIZE_MM), said, SIZE_MM, "middle")
            else:
                yield Text((x + BESIDE_MM, y + 0.35 * SIZE_MM), said, SIZE_MM, "start")
                yield Text((x - BESIDE_MM, y + 0.35 * SIZE_MM), said, SIZE_MM, "end")
                yield Text((x - BESIDE_MM, y), said, SIZE_MM, "middle", turn_deg=-90.0)
                yield Text((x + BESIDE_MM + 0.75 * SIZE_MM, y), said, SIZE_MM, "middle", turn_deg=-90.0)


def scaled(box: Box, scale: float) -> Box:
    """A box of the board, on the paper."""
    left, top, right, bottom = box
    return left / scale, top / scale, right / scale, bottom / scale


def meet(a: Box, b: Box) -> bool:
    """Whether two boxes share any room."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
