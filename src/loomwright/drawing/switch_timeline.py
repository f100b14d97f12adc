"""The order of switching: for each item a row that shows when it is awake, settled or unsettled, thumps marked."""

from __future__ import annotations

from math import isfinite

from loomwright.drawing import fonts, scales
from loomwright.drawing.hatch import hatched
from loomwright.drawing.marks import Group, Mark, Path, Sheet, Stroke, Text, line, rectangle
from loomwright.drawing.plot import TEXT_MM, TITLE_MM
from loomwright.sound.switching_results import Span, Thump, Timeline

_NAME_MM = 32.0
_RIGHT_MM = 6.0
_TOP_MM = 12.0
_ROW_MM = 7.4
_BAR_MM = 4.2
_PAST = 1.15
_BEFORE = 0.06
WORDS: dict[str, str] = {
    "remote": "asked",
    "awake": "awake",
    "settled": "settled",
    "unsettled": "unsettled",
    "closed": "closed",
}


def draw(timeline: Timeline, at_ms: float | None = None, width_mm: float = 174.0) -> Sheet | None:
    """The timeline of one turn of the key; None where nothing happens.

    ``at_ms`` draws an upright line at a moment. The chart ends a little after the last event.
    """
    if not timeline.events:
        return None
    items = list(dict.fromkeys(s.item for s in timeline.spans))
    x = _scale(timeline, width_mm)
    bottom = _TOP_MM + _ROW_MM * len(items)
    title = f"Switched {timeline.turn}"
    count = sum(len(_merged([t for t in timeline.thumps if t.amplifier == item])) for item in items)
    words = "No thump." if not count else "One thump." if count == 1 else f"{count} thumps."
    marks: list[Mark] = [Text((0.0, TITLE_MM + 0.4), title, TITLE_MM, weight="semibold"),
                         Text((0.0, TITLE_MM + 4.6), f"{words} Thin line: its remote line is live.", TEXT_MM,
                              role="pencil")]  # fmt: skip
    for value, text in scales.ticks(x):
        marks += _upright(x.at(value), len(items), Stroke(0.13, "rule"))
        marks.append(Text((x.at(value), bottom + 3.6), text, TEXT_MM, "middle"))
    marks.append(Text(((x.start_mm + x.end_mm) / 2, bottom + 7.6), "Time after the key [ms]", TEXT_MM, "middle",
                      "semibold"))  # fmt: skip
    if at_ms is not None:
        marks += _upright(x.at(at_ms), len(items), Stroke(0.7, "copper"))
    for k, item in enumerate(items):
        y = _TOP_MM + _ROW_MM * (k + 0.5)
        name = fonts.shortened(item, _NAME_MM - 2.0, TEXT_MM, "semibold")
        row: list[Mark] = [Text((0.0, y + TEXT_MM / 2), name, TEXT_MM, weight="semibold")]
        row.append(line(x.start_mm, y + _ROW_MM / 2, x.end_mm, y + _ROW_MM / 2, Stroke(0.13, "rule")))
        thumps = _merged([t for t in timeline.thumps if t.amplifier == item])
        for span in timeline.spans:
            if span.item == item:
                row += _span(span, thumps, x, y)
        for low, high in thumps:
            row += _thump(low, high, x, y)
        marks.append(Group(tuple(row), "row"))
    marks.append(line(x.start_mm, bottom, x.end_mm, bottom, Stroke(0.35)))
    return Sheet(width_mm, bottom + 9.5, tuple(marks), title)


def end_ms(timeline: Timeline) -> float:
    """Where the chart ends: a little after the last thing that happens [ms]."""
    last = [e.time_ms for e in timeline.events]
    last += [t for s in timeline.spans for t in (s.from_ms, s.to_ms) if isfinite(t)]
    return max(100.0, max(last) * _PAST)


def _scale(timeline: Timeline, width_mm: float) -> scales.Scale:
    end = end_ms(timeline)
    return scales.Scale(-_BEFORE * end, end, _NAME_MM, width_mm - _RIGHT_MM)


def window_mm(timeline: Timeline, width_mm: float = 174.0) -> tuple[float, float, float, float]:
    """Where the time axis lies: its start and end on the paper [mm], and the times there [ms]."""
    x = _scale(timeline, width_mm)
    return x.start_mm, x.end_mm, x.low, x.high


def _upright(x: float, rows: int, stroke: Stroke) -> list[Mark]:
    """A line down the chart at a place, left out where bars lie."""
    gap = (_ROW_MM - _BAR_MM) / 2 - 0.4
    ends = [_TOP_MM + _ROW_MM * k for k in range(rows + 1)]
    return [line(x, max(y - gap, _TOP_MM), x, min(y + gap, ends[-1]), stroke) for y in ends]


def _span(span: Span, thumps: list[tuple[float, float]], x: scales.Scale, y: float) -> list[Mark]:
    low, high = x.at(max(span.from_ms, x.low)), x.at(min(span.to_ms, x.high))
    if high <= low:
        return []
    if span.role == "remote":
        return [line(low, y + 2.9, high, y + 2.9, Stroke(0.35, "pencil"))]
    corners = ((low, y - _BAR_MM / 2), (high, y - _BAR_MM / 2), (high, y + _BAR_MM / 2), (low, y + _BAR_MM / 2))
    if span.role == "unsettled":
        return [
            Path(corners, Stroke(0.25), "raised", closed=True),
            *hatched(corners, 45.0, 1.3, Stroke(0.13, "pencil")),
        ]
    made: list[Mark] = [Path(corners, Stroke(0.25), "rule", closed=True)]
    word = WORDS[span.role]
    edges = [low, *(x.at(min(max(t, x.low), x.high)) for pair in thumps for t in pair), high]
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        if span.role != "awake":
            start, end = low, high
        if fonts.width_mm(word, TEXT_MM) <= end - start - 2.0:
            made.append(Text((start + 1.0, y + TEXT_MM / 2), word, TEXT_MM))
            break
    return made


def _merged(thumps: list[Thump]) -> list[tuple[float, float]]:
    """The stretches of an amplifier's thumps, overlapping ones as one."""
    found: list[tuple[float, float]] = []
    for low, high in sorted((t.from_ms, t.to_ms) for t in thumps):
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found


def _thump(from_ms: float, to_ms: float, x: scales.Scale, y: float) -> list[Mark]:
    low, high = x.at(max(from_ms, x.low)), x.at(min(to_ms, x.high))
    return [
        rectangle(low, y - _BAR_MM / 2, max(high - low, 0.6), _BAR_MM, Stroke(0.7, "stop"), "raised"),
        Text((low + 0.8, y + TEXT_MM / 2), "thump" if high - low > 9.0 else "", TEXT_MM, weight="semibold",
             role="stop"),
    ]  # fmt: skip


