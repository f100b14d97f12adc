"""Boards made up at random: a few items with room between them, and leads from terminal to terminal."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import cast

from loomwright.panel.lanes import End, Lanes, Wanted
from loomwright.panel.links import Link
from loomwright.panel.results import Box, Class
from loomwright.panel.routing import _Laying, _Lead
from loomwright.panel.shapes import board as shape_of
from loomwright.rig.plan import SIDES, SideName
from tests.panel.rigs import board

WIDE, HIGH = 900.0, 700.0
ENTRY = (450.0, 700.0)
OUT_MM, ZONE_MM, BEND = 8.0, 52.0, 3.0
CELLS = ((100, 100), (520, 100), (100, 400), (520, 400))
KINDS: tuple[Class, ...] = ("power", "speaker", "line", "remote")
LINK = Link("a", (0, 0), "b", (0, 0), "power", 1, (), ())


@dataclass(frozen=True)
class Made:
    """Items and the leads between them."""

    boxes: tuple[tuple[str, Box], ...]
    wants: tuple[Wanted, ...]

    def rims(self) -> list[list[int]]:
        """The leads that end on each item, clockwise round its rim."""
        out = []
        for name, box in self.boxes:
            ends = [(_along(e, box), k) for k, w in enumerate(self.wants) for e in (w.start, w.to) if e.item == name]
            out.append([k for _, k in sorted(ends)])
        return out

    def laid(self) -> tuple[Lanes, list[tuple[tuple[float, float], ...] | None]]:
        """The leads as the router lays them; None for one that has no way."""
        blocks = tuple((name, self._with_leads(name, box)) for name, box in self.boxes)
        ends = [e for w in self.wants for e in (w.start, w.to)]
        lanes = Lanes(shape_of(board(WIDE, HIGH, ENTRY)), blocks, ENTRY, ZONE_MM, ends)
        todo = [_Lead(f"x.{k}", LINK, w, BEND * w.thick_mm, 1.0) for k, w in enumerate(self.wants)]
        found = _Laying(lanes, todo).best()
        return lanes, [found.get(t.id) for t in todo]

    def _with_leads(self, name: str, box: Box) -> Box:
        left, top, right, bottom = box
        used = {e.side for w in self.wants for e in (w.start, w.to) if e.item == name}
        m = {s: OUT_MM * (s in used) for s in SIDES}
        return left - m["left"], top - m["top"], right + m["right"], bottom + m["bottom"]


def made(seed: int) -> Made:
    """Two to four items and three to seven leads, one in four of which leaves the board."""
    rnd = random.Random(seed)
    items, leads = rnd.randint(2, 4), rnd.randint(3, 7)
    cells = list(CELLS)
    rnd.shuffle(cells)
    boxes = []
    for k in range(items):
        w, h = rnd.randrange(100, 200, 10), rnd.randrange(80, 160, 10)
        x, y = cells[k][0] + rnd.randrange(0, 60, 5), cells[k][1] + rnd.randrange(0, 30, 5)
        boxes.append((f"i{k}", (float(x), float(y), float(x + w), float(y + h))))
    pins = [pin for name, box in boxes for pin in _pins(name, box)]
    wants: list[Wanted] = []
    used: set[End] = set()
    while len(wants) < leads:
        start = rnd.choice(pins)
        if start in used:
            continue
        to = End(ENTRY, None, None) if rnd.random() < 0.25 else rnd.choice(pins)
        if to.item == start.item or to in used:
            continue
        used |= {start, to} if to.side is not None else {start}
        thick, kind = rnd.choice((3.0, 4.0, 6.0)), rnd.choice(KINDS)
        wants.append(Wanted(start, to, kind, thick, thick, BEND * thick + thick / 2.0, OUT_MM))
    return Made(tuple(boxes), tuple(wants))


def _pins(name: str, box: Box) -> list[End]:
    left, top, right, bottom = box
    out = []
    for side in SIDES:
        long = right - left if side in ("top", "bottom") else bottom - top
        for along in range(15, int(long) - 9, 25):
            at = {"left": (left, top + along), "right": (right, top + along),
                  "top": (left + along, top), "bottom": (left + along, bottom)}[side]  # fmt: skip
            out.append(End(at, cast(SideName, side), name))
    return out


def _along(end: End, box: Box) -> float:
    """How far along the rim of its item a terminal lies, clockwise from the upper left corner."""
    (x, y), (left, top, right, bottom) = end.at_mm, box
    w, h = right - left, bottom - top
    return {"top": x - left, "right": w + y - top, "bottom": w + h + right - x, "left": 2 * w + h + bottom - y}[
        str(end.side)
    ]
