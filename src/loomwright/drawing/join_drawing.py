"""How the drivers of one channel are joined: each driver at its place, every lead from terminal to terminal."""

from __future__ import annotations

from loomwright.drawing import figures, fonts
from loomwright.drawing.marks import Circle, Group, Mark, Point, Sheet, Stroke, Text, line, rectangle
from loomwright.drawing.plot import TEXT_MM, TITLE_MM
from loomwright.sound.wiring_results import Arrangement, Joined, Lead

_BOX_MM = (26.0, 9.0)
_COLUMN_MM = 38.0
_ROW_MM = 15.0
_AMP_MM = 28.0
_TOP_MM = 9.0
_WIRE = Stroke(0.35)


def draw(arrangement: Arrangement, width_mm: float = 0.0) -> Sheet:
    """The channels that an arrangement uses, one under the other; at least ``width_mm`` wide."""
    marks: list[Mark] = []
    y = 0.0
    wide = width_mm
    for joined in (c for c in arrangement.channels if c.placed):
        made = _channel(joined, y)
        marks.append(Group(made[0], "channel"))
        wide, y = max(wide, made[1]), made[2]
    return Sheet(wide, y, tuple(marks), arrangement.words)


def _channel(joined: Joined, top: float) -> tuple[tuple[Mark, ...], float, float]:
    """Marks, width and lower edge of one channel.

    Currents run from left to right. The plus lead comes in from the left, the minus lead goes back under everything.
    """
    columns = max((p.column + 1 for p in joined.placed), default=1)
    rows = max((p.row + 1 for p in joined.placed), default=1)
    ohm = "" if joined.nominal_ohm is None else f", {figures.unit(figures.three(joined.nominal_ohm), 'Ω')} nominal"
    title = f"{joined.channel}{ohm}"
    marks: list[Mark] = [Text((0.0, top + TITLE_MM + 0.4), title, TITLE_MM, weight="semibold")]
    y0 = top + _TOP_MM
    high = rows * _ROW_MM
    wide = _AMP_MM + columns * _COLUMN_MM + 14.0
    back = y0 + high + 1.0
    own = {f"{p.driver}.{s}" for p in joined.placed for s in "+-"}
    ends = [t for lead in joined.leads for t in (lead.start, lead.end) if t not in own]
    plus, minus = ends[0], ends[-1]
    at: dict[str, Point] = {plus: (_AMP_MM - 4.0, y0 + _ROW_MM / 2 - 2.0), minus: (_AMP_MM - 4.0, back)}
    boxes: list[Mark] = [rectangle(0.0, y0, _AMP_MM - 4.0, high + 4.0, Stroke(0.35), "raised")]
    boxes += [
        Text((_AMP_MM - 5.2, at[plus][1] + TEXT_MM / 2), _pin(plus), TEXT_MM, "end", "semibold"),
        Text((_AMP_MM - 5.2, at[minus][1] + TEXT_MM / 2), _pin(minus), TEXT_MM, "end", "semibold"),
    ]
    for p in joined.placed:
        x = _AMP_MM + 8.0 + p.column * _COLUMN_MM
        y = y0 + p.row * _ROW_MM + (_ROW_MM - _BOX_MM[1]) / 2 - 2.0
        boxes += _driver(p.driver, x, y)
        at[f"{p.driver}.+"] = (x, y + _BOX_MM[1] / 2)
        at[f"{p.driver}.-"] = (x + _BOX_MM[0], y + _BOX_MM[1] / 2)
    wires = [mark for terminals in _conductors(joined.leads) for mark in _conductor(terminals, at, (plus, minus))]
    dots: list[Mark] = [Circle(at[t], 0.7, None, "ink") for t in sorted(at)]
    return (*marks, *wires, *boxes, *dots), max(wide, fonts.width_mm(title, TITLE_MM, "semibold")), back + 6.0


def _pin(terminal: str) -> str:
    return terminal.partition(".")[2].replace("-", figures.MINUS)


def _driver(name: str, x: float, y: float) -> list[Mark]:
    wide, high = _BOX_MM
    return [
        rectangle(x, y, wide, high, Stroke(0.35), "raised"),
        Text((x + wide / 2, y + high / 2 + TEXT_MM / 2), fonts.shortened(name, wide - 8.0, TEXT_MM, "semibold"),
             TEXT_MM, "middle", "semibold"),
        Text((x + 1.2, y + high / 2 + TEXT_MM / 2), "+", TEXT_MM),
        Text((x + wide - 1.2, y + high / 2 + TEXT_MM / 2), figures.MINUS, TEXT_MM, "end"),
    ]  # fmt: skip


def _conductor(terminals: list[str], at: dict[str, Point], outputs: tuple[str, str]) -> list[Mark]:
    """One conductor: an upright between the boxes, and a stub to each terminal."""
    own = [t for t in terminals if t not in outputs]
    leaving = [at[t][0] for t in own if t.endswith("-")]
    x = max(leaving) + 4.0 if leaving else min(at[t][0] for t in own) - 4.0
    heights = sorted(at[t][1] for t in terminals)
    marks: list[Mark] = [line(*at[t], x, at[t][1], _WIRE) for t in terminals]
    if heights[-1] > heights[0]:
        marks.append(line(x, heights[0], x, heights[-1], _WIRE))
    joints = {at[t][1] for t in own}
    return marks + [Circle((x, y), 0.5, None, "ink") for y in sorted(joints) if len(terminals) > 2]


def _conductors(leads: tuple[Lead, ...]) -> list[list[str]]:
    """Terminals that lie on one conductor, in the order in which they are wired."""
    found: list[list[str]] = []
    for lead in leads:
        if found and found[-1][-1] == lead.start:
            found[-1].append(lead.end)
        else:
            found.append([lead.start, lead.end])
    return found
