"""A back end that only remembers: what was drawn, and where words and lines are in each other's way."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from loomwright.drawing import fonts
from loomwright.drawing.marks import Arc, Circle, Path, Point, Sheet, Text, arc_points, flat

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Segment:
    """One straight piece of a stroke."""

    start: Point
    end: Point
    width_mm: float


@dataclass(frozen=True, slots=True)
class Record:
    """Every call of a sheet, in order, with words and strokes taken apart."""

    sheet: Sheet
    calls: tuple[Path | Circle | Arc | Text, ...]
    texts: tuple[Text, ...]
    segments: tuple[Segment, ...]

    def words(self) -> tuple[str, ...]:
        """All texts, in drawing order."""
        return tuple(t.text for t in self.texts)

    def text_overlaps(self, gap_mm: float = 0.0) -> tuple[tuple[str, str], ...]:
        """Pairs of texts whose boxes overlap by more than ``-gap_mm``."""
        boxes = [(t.text, fonts.box(t)) for t in self.texts if t.text.strip()]
        found = []
        for k, (text, a) in enumerate(boxes):
            for other, b in boxes[k + 1 :]:
                if (
                    a[0] < b[2] + gap_mm and b[0] < a[2] + gap_mm
                    and a[1] < b[3] + gap_mm and b[1] < a[3] + gap_mm
                ):  # fmt: skip
                    found.append((text, other))
        return tuple(found)

    def crossed_texts(self) -> tuple[tuple[str, Segment], ...]:
        """Texts with a stroke through their box (half the stroke's width counts)."""
        found = []
        for text in self.texts:
            if not text.text.strip():
                continue
            box = fonts.box(text)
            for segment in self.segments:
                half = segment.width_mm / 2
                grown = (box[0] - half, box[1] - half, box[2] + half, box[3] + half)
                if meets(segment.start, segment.end, grown):
                    found.append((text.text, segment))
        return tuple(found)

    def outside(self) -> tuple[str, ...]:
        """Texts that reach past the edge of the sheet."""
        out = []
        for text in self.texts:
            left, top, right, bottom = fonts.box(text)
            if left < 0 or top < 0 or right > self.sheet.width_mm or bottom > self.sheet.height_mm:
                out.append(text.text)
        return tuple(out)


def record(sheet: Sheet) -> Record:
    """Play a sheet into the recorder."""
    calls = flat(sheet.marks)
    segments: list[Segment] = []
    for call in calls:
        points: tuple[Point, ...]
        if isinstance(call, Text):
            continue
        if isinstance(call, Path):
            if call.stroke is None:
                continue
            points = (*call.points, call.points[0]) if call.closed and call.points else call.points
            width = call.stroke.width_mm
        elif isinstance(call, Circle):
            if call.stroke is None:
                continue
            points = arc_points(call.centre, call.radius_mm, 0.0, 360.0)
            width = call.stroke.width_mm
        else:
            points = arc_points(call.centre, call.radius_mm, call.start_deg, call.end_deg)
            width = call.stroke.width_mm
        segments += [Segment(a, b, width) for a, b in itertools.pairwise(points)]
    return Record(sheet, calls, tuple(c for c in calls if isinstance(c, Text)), tuple(segments))


def meets(a: Point, b: Point, box: Box) -> bool:
    """True if the segment from a to b has a point strictly inside the box (clip by each side)."""
    low, high = 0.0, 1.0
    for start, delta, least, most in (
        (a[0], b[0] - a[0], box[0], box[2]),
        (a[1], b[1] - a[1], box[1], box[3]),
    ):
        if abs(delta) < 1e-12:
            if not least < start < most:
                return False
            continue
        t1, t2 = (least - start) / delta, (most - start) / delta
        low, high = max(low, min(t1, t2)), min(high, max(t1, t2))
    return low < high
