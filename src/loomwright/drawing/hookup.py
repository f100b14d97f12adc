"""The diagram to work on: every wire and every terminal of a rig, wired or free, on one of two views.

*Power* shows feeds and returns, with the figures of a case where there is a study; *signals* shows remote, line and
speaker wires. Contacts that may take any kind stand where their item has wires, and on both views while it has none.
A rig need not be whole.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Literal

from loomwright.drawing import captions, flow, panels, shapes, strips, wiring
from loomwright.drawing.boxes import Shape
from loomwright.drawing.flow import Drawn
from loomwright.drawing.marks import Group, Mark, Sheet
from loomwright.rig.joins import group_of
from loomwright.rig.model import EngineState, Item, Kind, Programme, Rig
from loomwright.study import Study

View = Literal["power", "signals"]
VIEWS: tuple[View, ...] = ("power", "signals")
POWER: tuple[Kind, ...] = ("power", "ground")
MOST_BOXES = 150
_EDGE_MM = 6.0
_GAP_MM = 6.0
_ROW_MM = 560.0  # a row wider than this is folded, as on paper
_LOOSE_MM = 300.0  # least width of the rows of items without wires


def view_of(kind: str) -> View:
    """The view that shows wires of a kind."""
    return "power" if kind in POWER else "signals"


def draw(
    rig: Rig, view: View, study: Study | None = None, engine: EngineState = "cruise", programme: Programme = "music"
) -> Sheet | None:
    """One view of a rig; with a study, the figures of one case. None where there is nothing to draw, or too much."""
    wires, heights = flow.drawn_wires(rig) if view == "power" else flow.drawn_signals(rig)
    free = _free(rig, view, wires)
    order = {i: k for k, i in enumerate(rig.items)}
    wired = sorted(heights, key=lambda i: (-round(heights[i], 6), order[i]))
    loose = [i for i in rig.items if i not in heights and free[i]]
    if (not wired and not loose) or len(wired) + len(loose) > MOST_BOXES:
        return None
    case = study.power.cases.get((engine, programme)) if study is not None else None
    made: dict[str, Shape] = {}
    found = wiring.ends(wires)
    for i in wired:
        item = rig.items[i]
        west, east = found[i]
        if view == "power":
            words = captions.content(study, item, case, [e.terminal for e in (*east, *west)])
            shape = shapes.shape(words, west, east)
        else:
            shape = panels.panel(item, west, east)
        made[i] = strips.with_strip(shape, item, free[i])
    labels = {d.wire.id: captions.label(d, case) for d in wires} if view == "power" else {}
    marks: list[Mark] = []
    width = height = 0.0
    if wired:
        marks, places = wiring.compose(rig, made, wires, labels, lambda w, _: w <= _ROW_MM, _EDGE_MM)
        width, height = places.width_mm, places.height_mm
    below, width, height = _loose(rig, {i: strips.loose(rig.items[i], free[i]) for i in loose}, width, height)
    drawing = Group((*marks, *below), "diagram")
    return Sheet(width + 2 * _EDGE_MM, height + 2 * _EDGE_MM, (drawing,), f"{rig.title}: {view}")


def _free(rig: Rig, view: View, wires: Iterable[Drawn]) -> Mapping[str, tuple[str, ...]]:
    """For each item, the terminals of a view that have room and show no wire on it."""
    count = Counter(ref for w in rig.wires for ref in (w.start, w.end))
    groups = {group_of(rig.items, ref) for ref in count}
    shown = {ref for d in wires for ref in (d.left, d.right)}
    used = {ref.partition(".")[0] for ref in count}
    here = {ref.partition(".")[0] for ref in shown}

    def belongs(item: Item, name: str, kind: Kind) -> bool:
        if item.part.family == "relay" and name in ("85", "86"):
            return True
        group = group_of(rig.items, f"{item.id}.{name}")
        if group is None or group in groups:
            return view_of(kind) == view
        return item.id in here or item.id not in used

    return {
        item.id: tuple(
            t.name for t in item.part.terminals
            if f"{item.id}.{t.name}" not in shown
            and count[f"{item.id}.{t.name}"] < t.max_wires
            and belongs(item, t.name, t.kind)
        )
        for item in rig.items.values()
    }  # fmt: skip


def _loose(rig: Rig, made: Mapping[str, Shape], width: float, height: float) -> tuple[list[Mark], float, float]:
    """Items without wires, in rows under the drawing; gives the size of all."""
    marks: list[Mark] = []
    limit = max(width, _LOOSE_MM)
    x, top, row = 0.0, height + (_GAP_MM if height else 0.0), 0.0
    for i, shape in made.items():
        if x and x + shape.width_mm > limit:
            x, top, row = 0.0, top + row + _GAP_MM, 0.0
        marks += wiring.item_marks(rig, i, shape, (x + _EDGE_MM, top + _EDGE_MM))
        x += shape.width_mm + _GAP_MM
        row = max(row, shape.height_mm)
        width = max(width, x - _GAP_MM)
    return marks, width, max(height, top + row)
