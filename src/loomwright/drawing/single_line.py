"""The power diagram of a rig: sources left, loads right, feed above return, figures of one case on every wire."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

from loomwright.drawing import boxes, captions, figures, flow, fonts, frame, hops, shapes, tiers
from loomwright.drawing.boxes import LINE_MM, TEXT_MM, End
from loomwright.drawing.captions import LABEL_GAP_MM, Label
from loomwright.drawing.flow import Drawn
from loomwright.drawing.layout import Box, Graph, Link
from loomwright.drawing.marks import Group, Mark, Path, Point, Sheet, Text, line, placed
from loomwright.drawing.tiers import Arrangement, Flag
from loomwright.errors import LoomwrightError
from loomwright.power.results import CaseResult
from loomwright.rig.model import EngineState, Item, Programme
from loomwright.study import Study

MOST_BOXES = 150
_LARGEST = 1.4  # 2.5 mm capitals become 3.5 mm, the next size up
_SMALLEST = 0.66  # 2.5 mm capitals become 1.65 mm: read at arm's length
_ID_MM = 30.0  # ids longer than this are cut on wires


class TooLarge(LoomwrightError, ValueError):
    """The rig has more items than one sheet can show."""


def draw(
    study: Study, engine: EngineState = "cruise", programme: Programme = "music", size: frame.SheetSize | None = None
) -> Sheet:
    """The power single-line diagram with the volts and amperes of one case.

    Without a ``size`` the smallest of A4, A3, A2.. is taken on which it reads. A diagram too wide for A3 is folded
    into two rows.

    Raises
    ------
    TooLarge
        More than ``MOST_BOXES`` items have power wires.
    """
    rig = study.rig
    wires, heights = flow.drawn_wires(rig)
    if len(heights) > MOST_BOXES:
        raise TooLarge(f"a sheet shows {MOST_BOXES} items with power wires at most; this rig has {len(heights)}")
    case = study.power.cases.get((engine, programme))
    items = sorted(heights, key=lambda i: (-round(heights[i], 6), list(rig.items).index(i)))
    made = {i: _shape(study, rig.items[i], wires, case) for i in items}
    labels = {d.wire.id: captions.label(d, case) for d in wires}
    graph = Graph(
        tuple(Box(i, made[i].width_mm, made[i].height_mm, made[i].ports) for i in items),
        tuple(
            Link(d.wire.id, f"{d.wire.id}|left", f"{d.wire.id}|right", (label.width_mm, label.height_mm))
            for d, label in ((d, labels[d.wire.id]) for d in wires)
        ),
    )
    id_mm = {d.wire.id: fonts.width_mm(_name(d), TEXT_MM, "semibold") + 2.4 for d in wires}
    places = tiers.arrange(graph, id_mm, lambda w, h: _scale("A3", w, h) >= _SMALLEST)
    by_id = {d.wire.id: d for d in wires}
    bowed = hops.hopped(places.pieces)
    marks: list[Mark] = [_wire_group(d, places, bowed[d.wire.id], labels[d.wire.id]) for d in wires]
    marks += [_flag(f, by_id[f.wire], id_mm[f.wire]) for f in places.flags]
    for i in items:
        item = rig.items[i]
        marks.append(Group(placed(made[i].marks, *places.boxes[i]), "item", i, f"{i}: {item.part.title}"))
    return _on_sheet(study, marks, places, case, engine, programme, size)


def _name(d: Drawn) -> str:
    return fonts.shortened(d.wire.id, _ID_MM, TEXT_MM, "semibold")


def _shape(study: Study, item: Item, wires: Iterable[Drawn], case: CaseResult | None) -> boxes.Shape:
    west: list[End] = []
    east: list[End] = []
    for d in wires:
        for ref, west_side in ((d.right, True), (d.left, False)):
            owner, _, terminal = ref.partition(".")
            if owner != item.id:
                continue
            if west_side:
                west.append(End(f"{d.wire.id}|right", terminal, "WEST", _name(d), captions.stroke(d.wire)))
            else:
                east.append(End(f"{d.wire.id}|left", terminal, "EAST", _name(d), captions.stroke(d.wire)))
    content = captions.content(study, item, case, [e.terminal for e in (*east, *west)])
    return shapes.shape(content, west, east)


def _wire_group(d: Drawn, places: Arrangement, bowed: Sequence[tuple[Point, ...]], label: Label) -> Group:
    stroke = captions.stroke(d.wire)
    pieces = places.pieces[d.wire.id]
    x, y = places.labels[d.wire.id]
    centre_x = x + label.width_mm / 2
    centre_y = _height_at(pieces, centre_x, y + label.height_mm / 2)
    half = stroke.width_mm / 2
    marks: list[Mark] = [Path(points, stroke) for points in bowed]
    for k, text in enumerate(reversed(label.above)):
        marks.append(Text((centre_x, centre_y - half - LABEL_GAP_MM - k * LINE_MM), text, TEXT_MM, "middle"))
    if label.below:
        marks.append(Text((centre_x, centre_y + half + 1.0 + TEXT_MM), label.below, TEXT_MM, "middle"))
    wire = d.wire
    return Group(tuple(marks), "wire", wire.id, f"{wire.id}: {wire.start} to {wire.end}, {', '.join(label.above)}")


def _height_at(pieces: Sequence[Sequence[Point]], x: float, near: float) -> float:
    """The height of the level part of a wire at x that lies nearest to ``near``."""
    levels = [
        a[1]
        for points in pieces
        for a, b in itertools.pairwise(points)
        if abs(a[1] - b[1]) < 1e-6 and min(a[0], b[0]) <= x <= max(a[0], b[0])
    ]
    return min(levels, key=lambda v: abs(v - near), default=near)


def _flag(flag: Flag, d: Drawn, id_mm: float) -> Group:
    """Where a wire goes on in the other row: its id on a stub, and an arrow that names the row."""
    stroke = captions.stroke(d.wire)
    x, y = flag.at
    y += tiers.FLAG_PORT_MM
    arrow_x = x + id_mm if flag.side == "EAST" else x
    stub_x = x if flag.side == "EAST" else x + tiers.FLAG_MM
    end_x = arrow_x + tiers.FLAG_MM
    half, tip = 2.7, 2.4
    outline = ((arrow_x, y - half), (end_x - tip, y - half), (end_x, y), (end_x - tip, y + half), (arrow_x, y + half))
    marks: tuple[Mark, ...] = (
        line(stub_x, y, stub_x + id_mm, y, stroke),
        Text((stub_x + id_mm / 2, y - stroke.width_mm / 2 - LABEL_GAP_MM), _name(d), TEXT_MM, "middle", "semibold"),
        Path(outline, boxes.THIN, "raised", closed=True),
        Text((arrow_x + 1.2, y + TEXT_MM / 2), f"row {flag.other_row}", TEXT_MM),
    )
    return Group(marks, "flag", d.wire.id, f"{d.wire.id} goes on in row {flag.other_row}")


def _on_sheet(
    study: Study, marks: list[Mark], places: Arrangement, case: CaseResult | None,
    engine: EngineState, programme: Programme, size: frame.SheetSize | None,
) -> Sheet:  # fmt: skip
    """Choose the sheet, centre the drawing on it, write frame, title block and notes."""
    chosen, scale = _fit(places, size)
    room = frame.room(chosen)
    dx = room.x + (room.width_mm - places.width_mm * scale) / 2
    dy = room.y + (room.height_mm - places.height_mm * scale) / 2
    width, height = frame.SIZES_MM[chosen]
    rig = study.rig
    case_words = f"engine {engine}, {programme}"
    title = frame.Title(
        rig.title, "Power single-line diagram", rig.file.rpartition("/")[2], rig.stage, case_words, "1 / 1"
    )
    notes = _notes(study, case, bool(places.flags))
    free = frame.notes_room(chosen)
    words: list[Mark] = []
    y = free.y + 3.0
    for note in notes:
        for text in fonts.wrapped(note, free.width_mm, 1.8, 3):
            if y <= free.y + free.height_mm - 1.0:
                words.append(Text((free.x, y), text, 1.8, role="pencil"))
                y += 3.1
    return Sheet(
        width, height,
        (
            Group(frame.frame(chosen, title), "frame"),
            Group(placed(marks, dx, dy, scale), "diagram"),
            Group(tuple(words), "notes"),
        ),
        f"{rig.title}: power single-line diagram",
    )  # fmt: skip


def _scale(size: frame.SheetSize, width_mm: float, height_mm: float) -> float:
    room = frame.room(size)
    return min(_LARGEST, room.width_mm / width_mm, room.height_mm / height_mm)


def _fit(places: Arrangement, size: frame.SheetSize | None) -> tuple[frame.SheetSize, float]:
    sizes: tuple[frame.SheetSize, ...] = (size,) if size else ("A4", "A3", "A2", "A1", "A0")
    for candidate in sizes:
        scale = _scale(candidate, places.width_mm, places.height_mm)
        if scale >= (1.0 if candidate == "A4" and not size else _SMALLEST):
            return candidate, scale
    return sizes[-1], _scale(sizes[-1], places.width_mm, places.height_mm)


def _notes(study: Study, case: CaseResult | None, folded: bool) -> list[str]:
    notes = [
        "Full lines feed, broken lines return; in a bow they cross and do not join. Thicker: more metal.",
        "Volts against the minus post of the reference battery. → way of the current.",
        "Remote, line and speaker wires are not on this sheet.",
    ]
    if folded:
        notes.append("Arrows: the wire goes on in the row named.")
    if case is not None and not case.solved:
        notes.insert(0, f"This case has no operating point: shown at {figures.three(case.load_factor)} of it.")
    if any(p.provisional for p in study.protection.devices.values()):
        notes.append("Some time-current gates rest on memory: provisional.")
    return notes
