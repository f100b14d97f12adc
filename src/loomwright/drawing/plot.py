"""A small chart maker: an area with two axes, lines, bands and words that stand beside what they name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from loomwright.drawing import fonts, scales
from loomwright.drawing.hatch import Window, cut, cut_line, hatched
from loomwright.drawing.marks import (
    Circle,
    Group,
    Mark,
    Path,
    Point,
    Role,
    Sheet,
    Stroke,
    Text,
    Weight,
    line,
    rectangle,
)
from loomwright.drawing.scales import Scale

TEXT_MM = 1.8
TITLE_MM = 2.5
LINE_MM = 3.3
_GRID = Stroke(0.13, "rule")
_FINE = Stroke(0.13, "rule", "dotted")
_AXIS = Stroke(0.35)
_LEADER = Stroke(0.18, "pencil")


@dataclass(frozen=True, slots=True)
class Tag:
    """Words that name what lies at a place on the edge of the plot."""

    at_mm: float
    text: str
    role: Role = "ink"
    weight: Weight = "regular"


@dataclass(slots=True)
class Plot:
    """A plot being drawn. ``x`` and ``y`` carry its place on the sheet."""

    x: Scale
    y: Scale
    marks: list[Mark] = field(default_factory=list)
    above: list[Mark] = field(default_factory=list)

    @property
    def window(self) -> Window:
        return (self.x.start_mm, self.y.end_mm, self.x.end_mm, self.y.start_mm)

    def axes(self, x_title: str, y_title: str) -> None:
        """Grid, ticks, and a title with its unit for each axis."""
        left, top, right, bottom = self.window
        for value in scales.minor(self.x):
            self.marks.append(line(self.x.at(value), top, self.x.at(value), bottom, _FINE))
        for value, text in scales.ticks(self.x):
            x = self.x.at(value)
            self.marks.append(line(x, top, x, bottom, _GRID))
            self.above += [line(x, bottom, x, bottom + 1.0, _AXIS), Text((x, bottom + 3.6), text, TEXT_MM, "middle")]
        for value, text in scales.ticks(self.y):
            y = self.y.at(value)
            self.marks.append(line(left, y, right, y, _GRID))
            self.above += [
                line(left - 1.0, y, left, y, _AXIS),
                Text((left - 1.8, y + TEXT_MM / 2), text, TEXT_MM, "end"),
            ]
        widest = max(fonts.width_mm(t, TEXT_MM) for _, t in scales.ticks(self.y))
        self.above.append(rectangle(left, top, right - left, bottom - top, _AXIS))
        self.above.append(Text(((left + right) / 2, bottom + 7.6), x_title, TEXT_MM, "middle", "semibold"))
        self.above.append(
            Text((left - 3.4 - widest, (top + bottom) / 2), y_title, TEXT_MM, "middle", "semibold", turn_deg=-90)
        )

    def points(self, values: Iterable[tuple[float, float]]) -> tuple[Point, ...]:
        """Places of pairs of values."""
        return tuple((self.x.at(a), self.y.at(b)) for a, b in values)

    def line(self, values: Iterable[tuple[float, float]], stroke: Stroke) -> tuple[tuple[Point, ...], ...]:
        """A line through values, cut at the edge of the plot; returns the pieces that show."""
        pieces = cut_line(self.points(values), self.window)
        self.marks += [Path(piece, stroke) for piece in pieces]
        return pieces

    def band(self, values: Iterable[tuple[float, float]], angle_deg: float, pitch_mm: float) -> tuple[Point, ...]:
        """An area between values, hatched; returns its outline."""
        outline = cut(self.points(values), self.window)
        self.marks += hatched(outline, angle_deg, pitch_mm, Stroke(0.13, "pencil"))
        return outline

    def upright(self, value: float, stroke: Stroke) -> float:
        """A line across the plot at a value of x; returns its place."""
        x = self.x.at(value)
        self.marks.append(line(x, self.window[1], x, self.window[3], stroke))
        return x

    def level(self, value: float, stroke: Stroke) -> float:
        """A line across the plot at a value of y; returns its place."""
        y = self.y.at(value)
        self.marks.append(line(self.window[0], y, self.window[2], y, stroke))
        return y

    def tags_above(self, tags: Iterable[Tag], room_mm: float) -> None:
        """Names over the top edge, each on its own row with a fine line down to what it names.

        The leftmost stands highest, so that no line runs through a name.
        """
        ordered = sorted(tags, key=lambda t: (t.at_mm, t.text))
        top = self.window[1]
        for k, tag in enumerate(ordered):
            y = top - 2.2 - LINE_MM * (len(ordered) - 1 - k)
            limit = room_mm - tag.at_mm - 1.0
            text = fonts.shortened(tag.text, limit, TEXT_MM, tag.weight)
            self.above.append(Text((tag.at_mm + 0.9, y), text, TEXT_MM, "start", tag.weight, tag.role))
            self.above.append(line(tag.at_mm, y - TEXT_MM, tag.at_mm, top, _LEADER))

    def tags_right(self, tags: Iterable[Tag], limit_mm: float) -> None:
        """Names beside the right edge, pushed apart where they would touch, with fine lines to what they name."""
        ordered = sorted(tags, key=lambda t: (t.at_mm, t.text))
        right = self.window[2]
        places = spread([t.at_mm for t in ordered], LINE_MM, self.window[1], self.window[3])
        for tag, y in zip(ordered, places, strict=True):
            bend = ((right, tag.at_mm), (right + 1.6, tag.at_mm), (right + 3.4, y), (right + 4.2, y))
            self.above.append(Path(bend, _LEADER))
            text = fonts.shortened(tag.text, limit_mm - 5.0, TEXT_MM, tag.weight)
            self.above.append(Text((right + 4.8, y + TEXT_MM / 2), text, TEXT_MM, "start", tag.weight, tag.role))

    def dot(self, x: float, y: float, radius_mm: float = 0.8) -> None:
        """A single value."""
        self.marks.append(Circle((self.x.at(x), self.y.at(y)), radius_mm, None, "ink"))

    def finish(self) -> tuple[Mark, ...]:
        """Everything, lines first and words last."""
        return (Group(tuple(self.marks), "plot"), Group(tuple(self.above), "axes"))


def spread(places: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places moved apart to at least ``gap``, kept in order and, as far as they fit, between low and high."""
    out = list(places)
    for k in range(1, len(out)):
        out[k] = max(out[k], out[k - 1] + gap)
    if out and out[-1] > high:
        out[-1] = max(high, low)
        for k in range(len(out) - 2, -1, -1):
            out[k] = min(out[k], out[k + 1] - gap)
    return out


def sheet(width_mm: float, height_mm: float, title: str, plot: Plot, under: str = "") -> Sheet:
    """A chart of exact size with its title at the top left and a line of words under it."""
    marks: list[Mark] = [Text((0.0, TITLE_MM + 0.4), fonts.shortened(title, width_mm, TITLE_MM, "semibold"), TITLE_MM,
                              "start", "semibold")]  # fmt: skip
    if under:
        marks.append(Text((0.0, TITLE_MM + 4.6), fonts.shortened(under, width_mm, TEXT_MM), TEXT_MM, role="pencil"))
    return Sheet(width_mm, height_mm, (*marks, *plot.finish()), title)
