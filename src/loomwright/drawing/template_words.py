"""Where the words of a template go: beside each hole, inside each marked body, clear of every line, whole on a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import shapely  # type: ignore[import-untyped]

from loomwright.drawing import fonts
from loomwright.drawing.marks import Text
from loomwright.template.model import Hole, Template
from loomwright.template.tiles import Tiling

SIZE_MM = 2.5
CLEAR_MM = 0.8
CROSS_MM = 3.0
"""How far the cross of a hole reaches beyond its rim."""
REGISTER_MM = 4.0
"""Radius of a registration mark, its cross included."""
STEPS_MM = (1.5, 5.0, 10.0, 16.0, 24.0)


@dataclass(slots=True)
class _Room:
    """What is taken already, on the board."""

    windows: Sequence[Any]
    taken: list[Any] = field(default_factory=list)

    def free(self, text: Text) -> bool:
        box = shapely.box(*fonts.box(text)).buffer(CLEAR_MM, join_style="mitre")
        return any(w.covers(box) for w in self.windows) and not shapely.intersects(box, self.taken).any()

    def take(self, text: Text) -> Text:
        self.taken.append(shapely.box(*fonts.box(text)))
        return text


def words(template: Template, tiling: Tiling) -> tuple[tuple[Text, ...], tuple[tuple[Hole, Text], ...]]:
    """Names of what is marked, and the size of each hole beside it; a size that has no room near stands farther off."""
    windows = [shapely.box(*t.box_mm) for t in tiling.tiles]
    room = _Room(windows, list(_lines(template, tiling)))
    sizes = []
    for hole in template.holes:
        said = next((t for t in _beside(hole) if room.free(t)), None)
        if said is not None:
            sizes.append((hole, room.take(said)))
    names = []
    for note in template.notes:
        if not note.words:
            continue
        x, y = note.middle_mm
        wide = max(p[0] for p in note.points_mm) - min(p[0] for p in note.points_mm)
        shown = fonts.shortened(note.words, max(wide - 3.0, 12.0), SIZE_MM)
        tries = [Text((x + dx, y + dy), shown, SIZE_MM, "middle") for dy in (0.9, -6.0, 8.0, -14.0, 16.0)
                 for dx in (0.0, -20.0, 20.0)]  # fmt: skip
        said = next((t for t in tries if room.free(t)), None)
        if said is not None:
            names.append(room.take(said))
    return tuple(names), tuple(sizes)


def _beside(hole: Hole) -> Iterator[Text]:
    (x, y), text = hole.at_mm, f"{hole.hole_mm:g} mm"
    for step in STEPS_MM:
        r = hole.hole_mm / 2.0 + CROSS_MM + step - 1.5
        for dx, dy, anchor in ((1, -1, "start"), (1, 1, "start"), (-1, -1, "end"), (-1, 1, "end")):
            at = x + dx * (r * 0.5 + 1.0), y + (dy * (r * 0.5 + 1.0) if dy < 0 else r * 0.5 + 1.0 + SIZE_MM)
            yield Text(at, text, SIZE_MM, "start" if anchor == "start" else "end")
        yield Text((x, y - r - 2.0), text, SIZE_MM, "middle")
        yield Text((x, y + r + SIZE_MM + 2.0), text, SIZE_MM, "middle")


def _lines(template: Template, tiling: Tiling) -> Iterator[Any]:
    for ring in template.outline.rings():
        yield shapely.LinearRing(ring.points(0.1)).buffer(0.4)
    for hole in template.holes:
        yield shapely.Point(hole.at_mm).buffer(hole.hole_mm / 2.0)
        reach = hole.hole_mm / 2.0 + CROSS_MM
        x, y = hole.at_mm
        yield shapely.MultiLineString([[(x - reach, y), (x + reach, y)], [(x, y - reach), (x, y + reach)]]).buffer(0.1)
    for note in template.notes:
        points = [*note.points_mm, note.points_mm[0]] if note.closed else note.points_mm
        yield shapely.LineString(points).buffer(0.2)
    for at in tiling.marks_mm:
        yield shapely.Point(at).buffer(REGISTER_MM)
