"""The template of a panel: the line to saw with its allowances, holes to drill, what stands where."""

from __future__ import annotations

import math
from dataclasses import replace

from loomwright.panel.results import Laid
from loomwright.rig.plan import Panel
from loomwright.rig.plan import Point as RigPoint
from loomwright.template.model import Hole, Note, Template
from loomwright.trace.allowances import Allowances, applied
from loomwright.trace.outline import Outline, Ring, placed, ring_of
from loomwright.trace.typed import circle

ROUND = 16
"""Corners of a round hole as the rig file makes it: outside of the circle, which touches its sides."""


def template(layout: Laid, title: str, allowances: Allowances | None = None) -> Template:
    """A panel's template, seen from its face.

    Raises
    ------
    InputError
        Where an allowance eats up a side.
    """
    panel, given = layout.panel, allowances or Allowances()
    whole = outline(panel)
    cut = applied(whole, given, f"panel {panel.id}")
    inset = given.inset_mm()
    left, top = _shift(whole, inset)

    def on_cut(p: RigPoint) -> RigPoint:
        return round(p[0] - left, 4), round(p[1] - top, 4)

    notes = [
        Note(tuple(on_cut(p) for p in _corners(i.box_mm)), i.id if i.layer == 1 else f"{i.id}, on spacers")
        for i in layout.items
    ]
    x, y = on_cut(panel.entry_mm)
    notes.append(Note(((x - 8.0, y - 8.0), (x + 8.0, y - 8.0), (x + 8.0, y + 8.0), (x - 8.0, y + 8.0)), "cable entry"))
    return Template(
        title=f"{title}: panel {panel.id}",
        outline=replace(cut, source="typed"),
        holes=tuple(Hole(on_cut(d.at_mm), d.hole_mm, d.item) for d in layout.drills),
        notes=tuple(notes),
        stock=f"{panel.material}, {panel.thickness_mm:g} mm",
        words=tuple(said(given)),
    )


def outline(panel: Panel) -> Outline:
    """The rim and the holes of a panel; its round holes round again."""
    rim = ring_of(panel.outer)
    return placed(Outline(rim.turned(True), tuple(_hole(h) for h in panel.holes)))


def said(given: Allowances) -> list[str]:
    """What was allowed for, in words."""
    out = []
    if given.covering_mm:
        out.append(f"The covering wraps the edge: {given.covering_mm:g} mm are left for it all round.")
    if given.clearance_mm:
        out.append(f"{given.clearance_mm:g} mm of air are left all round.")
    run = {
        "waste": "Keep the blade on the waste side: the line stays.",
        "middle": f"Run the blade along the line: half of its {given.kerf_mm:g} mm is allowed for.",
        "board": f"Keep the blade inside the line: its {given.kerf_mm:g} mm are allowed for.",
    }
    out.append(run[given.saw])
    return out


def _shift(whole: Outline, inset: float) -> RigPoint:
    """How far the box of the line to saw starts from that of the panel: the inset, for square rims."""
    if inset == 0.0:
        return 0.0, 0.0
    from loomwright.trace.allowances import offset

    left, top, _, _ = offset(whole.outer, -inset).box_mm()
    return left, top


def _hole(points: tuple[RigPoint, ...]) -> Ring:
    """A hole, as a circle where it was one."""
    n = len(points)
    if n == ROUND:
        x, y = sum(p[0] for p in points) / n, sum(p[1] for p in points) / n
        far = [math.dist(p, (x, y)) for p in points]
        start = math.atan2(points[0][1] - y, points[0][0] - x)
        if max(far) - min(far) < 1e-3 and abs(start - math.pi / ROUND) < 1e-3:
            return circle(2.0 * far[0] * math.cos(math.pi / ROUND), (x, y)).turned(False)
    return ring_of(points).turned(False)


def _corners(box: tuple[float, float, float, float]) -> tuple[RigPoint, ...]:
    left, top, right, bottom = box
    return (left, top), (right, top), (right, bottom), (left, bottom)
