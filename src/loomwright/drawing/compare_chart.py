"""Volts at the amplifiers of two or more rigs, at loud: one row for each amplifier and engine state, a mark for each
rig.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from loomwright.drawing import figures, fonts, scales
from loomwright.drawing.marks import Circle, Mark, Sheet, Stroke, Text, line, rectangle
from loomwright.drawing.plot import TEXT_MM, TITLE_MM

_ROW_MM = 4.4
_GAP_MM = 2.0
_NAME_MM = 30.0
_ENGINE_MM = 12.0
_RIGHT_MM = 42.0


@dataclass(frozen=True, slots=True)
class Row:
    """Volts of each rig at one amplifier in one engine state, None where a rig has none; volts it shuts down below."""

    amplifier: str
    engine: str
    volts_v: tuple[float | None, ...]
    least_v: float


def draw(rigs: Sequence[str], rows: Sequence[Row], width_mm: float = 174.0) -> Sheet | None:
    """The chart; None where there is nothing to compare. The first rig is a ring, the last a dot, others squares."""
    known = [v for r in rows for v in r.volts_v if v is not None and math.isfinite(v)]
    if not known:
        return None
    least = [r.least_v for r in rows]
    top = TITLE_MM + 4.0 + 4.0 * len(rigs)
    count = len({r.amplifier for r in rows})
    bottom = top + len(rows) * _ROW_MM + (count + 1) * _GAP_MM
    start = _NAME_MM + _ENGINE_MM
    low, high = math.floor(min(*known, *least) - 0.2), math.ceil(max(known) + 0.2)
    scale = scales.Scale(low, high, start, width_mm - _RIGHT_MM)
    title = "Volts at the amplifiers, loud"
    marks: list[Mark] = [Text((0.0, TITLE_MM + 0.2), title, TITLE_MM, weight="semibold")]
    for k, name in enumerate(rigs):
        y = TITLE_MM + 4.6 + 4.0 * k
        marks += [*_mark(2.0, y - TEXT_MM / 2, k, len(rigs)),
                  Text((5.0, y), fonts.shortened(name, width_mm - 6.0, TEXT_MM), TEXT_MM)]  # fmt: skip
    for value, text in scales.ticks(scale, 8):
        x = scale.at(value)
        marks += [line(x, top, x, bottom, Stroke(0.13, "rule")), Text((x, bottom + 3.2), text, TEXT_MM, "middle")]
    marks.append(Text((scale.end_mm + 5.0, bottom + 3.2), "V", TEXT_MM, weight="semibold"))
    y, previous = top, ""
    for row in rows:
        if row.amplifier != previous:
            y += _GAP_MM
            words = fonts.shortened(row.amplifier, _NAME_MM - 2.0, TEXT_MM, "semibold")
            marks.append(Text((0.0, y + _ROW_MM / 2 + TEXT_MM / 2), words, TEXT_MM, weight="semibold"))
            previous = row.amplifier
        middle = y + _ROW_MM / 2
        x = scale.at(row.least_v)
        marks += [Text((_NAME_MM, middle + TEXT_MM / 2), row.engine, TEXT_MM, role="pencil"),
                  line(x, y, x, y + _ROW_MM, Stroke(0.7, "stop"))]  # fmt: skip
        there = [(k, v) for k, v in enumerate(row.volts_v) if v is not None and math.isfinite(v)]
        if len(there) > 1:
            ends = [scale.at(v) for _, v in there]
            marks.append(line(min(ends), middle, max(ends), middle, Stroke(0.25, "pencil")))
        for k, v in there:
            marks += _mark(scale.at(v), middle, k, len(rigs))
        said = " → ".join(figures.fixed(v, 2) if v is not None else figures.NOTHING for v in row.volts_v)
        marks.append(Text((scale.end_mm + 3.0, middle + TEXT_MM / 2), said, TEXT_MM))
        y += _ROW_MM
    marks.append(line(start, bottom, scale.end_mm, bottom, Stroke(0.35)))
    marks.append(Text((0.0, bottom + 3.2), "Red line: shuts down below", TEXT_MM, role="stop"))
    return Sheet(width_mm, bottom + 4.4, tuple(marks), title)


def _mark(x: float, y: float, k: int, count: int) -> tuple[Mark, ...]:
    """The mark of one rig: told apart by shape, not by colour."""
    if k == 0:
        return (Circle((x, y), 1.1, Stroke(0.35), "paper"),)
    if k == count - 1:
        return (Circle((x, y), 1.1, None, "ink"),)
    side = 1.2 + 0.3 * k
    return (rectangle(x - side / 2, y - side / 2, side, side, Stroke(0.25), "rule"),)
