"""The leads of a board as they are drawn: straight pieces with their bends rounded to the radius they keep."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

from loomwright.drawing.marks import Arc, Dash, Group, Mark, Path, Point, Stroke, line
from loomwright.panel.results import Class, Lead

DASHES: Mapping[Class, Dash] = {"power": "solid", "speaker": "dashed", "line": "chain", "remote": "dotted"}
WORDS: Mapping[Class, str] = {
    "power": "feed and return", "speaker": "loudspeaker", "line": "line level", "remote": "remote",
}  # fmt: skip
_STEP_DEG = 15.0


def drawn(lead: Lead, points: Sequence[Point], scale: float) -> Group:
    """A lead along its corners, with its bends rounded to their radius."""
    stroke = Stroke(0.7 if lead.kind == "power" else 0.35, dash=DASHES[lead.kind] if lead.held else "dashed")
    marks: list[Mark] = []
    radius = lead.radius_mm / scale if lead.held else 0.0
    here = points[0]
    for n in range(1, len(points)):
        a, b = points[n - 1], points[n]
        long = math.dist(a, b)
        square = n + 1 < len(points) and _square(a, b, points[n + 1])
        cut = radius if square and long > radius and math.dist(b, points[n + 1]) > radius else 0.0
        stop = (b[0] - (b[0] - a[0]) * cut / long, b[1] - (b[1] - a[1]) * cut / long) if long else b
        marks.append(line(*here, *stop, stroke))
        here = stop
        if cut:
            c = points[n + 1]
            far = math.dist(b, c)
            go = (b[0] + (c[0] - b[0]) * cut / far, b[1] + (c[1] - b[1]) * cut / far)
            centre = (stop[0] + go[0] - b[0], stop[1] + go[1] - b[1])
            first, last = (math.degrees(math.atan2(p[1] - centre[1], p[0] - centre[0])) for p in (stop, go))
            turn = (last - first + 180.0) % 360.0 - 180.0
            marks.append(
                Arc(centre, cut, first, first + turn, stroke)
                if turn > 0
                else Arc(centre, cut, last, last - turn, stroke)
            )
            here = go
    return Group(tuple(marks), "lead", lead.id, f"{', '.join(lead.wires)}: {WORDS[lead.kind]}")


def lines(leads: Iterable[Group]) -> Iterator[tuple[Point, ...]]:
    """Every piece of the leads as a row of points, bends included: what words keep clear of."""
    for lead in leads:
        for mark in lead.marks:
            if isinstance(mark, Path):
                yield mark.points
            elif isinstance(mark, Arc):
                yield tuple(_bend(mark))


def _bend(arc: Arc) -> Iterator[Point]:
    steps = max(2, math.ceil((arc.end_deg - arc.start_deg) / _STEP_DEG))
    for k in range(steps + 1):
        turn = math.radians(arc.start_deg + (arc.end_deg - arc.start_deg) * k / steps)
        yield arc.centre[0] + arc.radius_mm * math.cos(turn), arc.centre[1] + arc.radius_mm * math.sin(turn)


def _square(a: Point, b: Point, c: Point) -> bool:
    return abs((b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1])) < 1e-6
