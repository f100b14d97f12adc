"""Volts at the amplifiers at a glance: for each engine state a bar from full output to quiet, a mark at loud."""

from __future__ import annotations

import math

from loomwright.drawing import figures, fonts, scales
from loomwright.drawing.marks import Mark, Sheet, Stroke, Text, line, rectangle
from loomwright.drawing.plot import TEXT_MM, TITLE_MM
from loomwright.rig.model import ENGINE_STATES, AmplifierSpec, EngineState
from loomwright.study import Study

_ROW_MM = 4.0
_GAP_MM = 2.0
_NAME_MM = 30.0
_ENGINE_MM = 12.0
_RIGHT_MM = 40.0
MOST = 6


def draw(study: Study, width_mm: float = 174.0, *, every_state: bool = True) -> Sheet | None:
    """The chart, or None where the rig has no amplifier.

    With more than six amplifiers, or without ``every_state``, only the engine state of the session is shown; without
    a charger only the engine off, since the others are the same.
    """
    amplifiers = [i for i in study.rig.family("amplifier") if any(i.id in c.items for c in study.power.cases.values())]
    if not amplifiers:
        return None
    engines: tuple[EngineState, ...] = (study.rig.limits.session_engine,)
    if not study.rig.family("charger"):
        engines = ("off",)
    elif every_state and len(amplifiers) <= MOST:
        engines = ENGINE_STATES
    rows: list[tuple[str, str, float, float, float]] = []
    for item in amplifiers:
        for engine in engines:
            found = [study.power.cases[engine, p].items[item.id].volts_v for p in ("sine", "loud", "quiet")]
            rows.append((item.id, engine, *found))  # type: ignore[arg-type]
    least = {i.id: i.part.spec.min_v for i in amplifiers if isinstance(i.part.spec, AmplifierSpec)}
    low = min(*(v for r in rows for v in r[2:]), *least.values())
    high = max(v for r in rows for v in r[2:])
    top = TITLE_MM + 4.0
    bottom = top + len(rows) * _ROW_MM + (len(amplifiers) + 1) * _GAP_MM
    start = _NAME_MM + _ENGINE_MM
    scale = scales.Scale(math.floor(low - 0.2), math.ceil(high + 0.2), start, width_mm - _RIGHT_MM)
    title = "Volts at the amplifiers: from full output to quiet, the mark is loud"
    marks: list[Mark] = [Text((0.0, TITLE_MM + 0.2), title, TITLE_MM, weight="semibold")]
    for value, text in scales.ticks(scale, 8):
        x = scale.at(value)
        marks += [line(x, top, x, bottom, Stroke(0.13, "rule")), Text((x, bottom + 3.2), text, TEXT_MM, "middle")]
    marks.append(Text((scale.end_mm + 5.0, bottom + 3.2), "V", TEXT_MM, weight="semibold"))
    y = top
    previous = ""
    for name, state, sine, loud, quiet in rows:
        if name != previous:
            y += _GAP_MM
            words = fonts.shortened(name, _NAME_MM - 2.0, TEXT_MM, "semibold")
            marks.append(Text((0.0, y + _ROW_MM / 2 + TEXT_MM / 2), words, TEXT_MM, weight="semibold"))
            x = scale.at(least[name])
            marks.append(line(x, y, x, y + _ROW_MM * len(engines), Stroke(0.7, "stop")))
            previous = name
        middle = y + _ROW_MM / 2
        a, b = sorted((scale.at(sine), scale.at(quiet)))
        marks += [
            Text((_NAME_MM, middle + TEXT_MM / 2), state, TEXT_MM, role="pencil"),
            rectangle(a, middle - 1.1, max(b - a, 0.3), 2.2, Stroke(0.25), "rule"),
            line(scale.at(loud), middle - 1.5, scale.at(loud), middle + 1.5, Stroke(0.7)),
            Text((scale.end_mm + 3.0, middle + TEXT_MM / 2), f"{figures.fixed(sine, 1)} to {figures.volts(quiet)}"
                 f", loud {figures.fixed(loud, 1)}", TEXT_MM),
        ]  # fmt: skip
        y += _ROW_MM
    marks.append(line(start, bottom, scale.end_mm, bottom, Stroke(0.35)))
    marks.append(Text((0.0, bottom + 3.2), "Red line: shuts down below", TEXT_MM, role="stop"))
    return Sheet(width_mm, bottom + 4.4, tuple(marks), title)
