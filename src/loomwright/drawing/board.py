"""The finished panel, to scale: what lies where, its terminals, adjusters and leads, what to drill, dimensions."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from loomwright.drawing import figures, fonts, frame, lead_marks, lead_names
from loomwright.drawing.lead_lines import on_line, spread
from loomwright.drawing.marks import (
    Anchor,
    Circle,
    Group,
    Mark,
    Path,
    Point,
    Sheet,
    Stroke,
    Text,
    Weight,
    line,
    placed,
    rectangle,
)
from loomwright.panel.results import Drill, Laid, LaidItem, PanelLayout
from loomwright.rig.plan import SideName

TEXT_MM = 2.5
SMALL_MM = 2.2
SCALES = (1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 8.0, 10.0)
FACE_MM = 150.0
"""Longer side of a board on a screen."""
FACE_EDGE_MM = 6.0
MOST_NAME_MM = 30.0
"""What the name of a small body may take beside it."""
_TABLE_MM = 74.0
_DIMENSION_MM = 13.0
_ROW_MM = 4.0
_OUT: Mapping[SideName, Point] = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "top": (0.0, -1.0), "bottom": (0.0, 1.0)}


def draw(layout: PanelLayout, title: str, size: frame.SheetSize = "A3", stage: str = "", sheet: str = "1 / 1") -> Sheet:
    """One panel on one sheet, at the largest usual scale that fits."""
    width, height = layout.panel.size_mm
    free = frame.room(size)
    wide, high = free.width_mm - _TABLE_MM - _DIMENSION_MM, free.height_mm - _DIMENSION_MM
    scale = next((s for s in SCALES if width / s <= wide and height / s <= high), 20.0)
    x, y = free.x + _DIMENSION_MM, free.y + _DIMENSION_MM
    marks: list[Mark] = list(frame.frame(size, frame.Title(
        f"{title}: panel {layout.panel.id}", f"Panel, face, 1:{scale:g}", layout.panel.id, stage, sheet=sheet,
    )))  # fmt: skip
    marks += placed(_board(layout, scale), x, y)
    marks += placed(_dimensions(width / scale, height / scale, width, height), x, y)
    marks += placed(_table(layout, free.height_mm), free.x + free.width_mm - _TABLE_MM + 4.0, free.y)
    notes = frame.notes_room(size)
    marks += placed(_legend(layout), notes.x, notes.y)
    paper = frame.SIZES_MM[size]
    return Sheet(paper[0], paper[1], tuple(marks), f"{title}: panel {layout.panel.id}")


def face(layout: Laid, chosen: str = "", layer: int = 0) -> tuple[Sheet, float]:
    """The board alone for a screen, and its scale: one unit of the sheet is so many millimetres of the board.

    The room that ``chosen`` needs round it is drawn too. ``layer`` shows one layer, and the other as bare outlines.
    """
    width, height = layout.panel.size_mm
    scale = max(width, height) / FACE_MM
    marks: list[Mark] = list(_plate(layout, scale))
    leads: list[Group] = []
    if isinstance(layout, PanelLayout):
        leads = [lead_marks.drawn(a, row, scale) for a, row in zip(layout.leads, _rows(layout, scale), strict=True)]
    marks += leads
    for item in sorted(layout.items, key=lambda i: (i.layer, i.id == chosen)):
        if layer in (0, item.layer):
            if item.id == chosen:
                marks += _rooms(item, scale)
            marks.append(_item(item, scale, ()))
        else:
            left, top, right, bottom = (v / scale for v in item.box_mm)
            marks.append(rectangle(left, top, right - left, bottom - top, Stroke(0.18, "pencil", "dotted")))
    entry = _entry(layout, scale)
    marks.append(entry)
    lines = [*lead_marks.lines(leads), *_rims(layout, scale)]
    shown = [i for i in layout.items if layer in (0, i.layer) and not _names(i, scale, ())]
    marks += _beside(layout, shown, lines, scale, _words_of(entry))
    sheet = Sheet(
        width / scale + 2 * FACE_EDGE_MM, height / scale + 2 * FACE_EDGE_MM,
        tuple(placed(marks, FACE_EDGE_MM, FACE_EDGE_MM)), f"Panel {layout.panel.id}",
    )  # fmt: skip
    return sheet, scale


def _rooms(item: LaidItem, scale: float) -> Iterator[Mark]:
    """What it needs free round its body, with the word for it."""
    for room in item.rooms:
        if room.what == "fuses" or room.depth_mm <= 0.0:
            continue
        left, top, right, bottom = (v / scale for v in room.box_mm)
        marks: list[Mark] = [rectangle(left, top, right - left, bottom - top, Stroke(0.25, "copper", "dashed"))]
        x, y = (left + right) / 2.0, (top + bottom) / 2.0
        upright = bottom - top > right - left
        if min(right - left, bottom - top) > SMALL_MM:
            at = (x + SMALL_MM / 2.0, y) if upright else (x, y + SMALL_MM / 2.0)
            turn = -90.0 if upright else 0.0
            marks.append(Text(at, room.what, SMALL_MM, "middle", role="copper", turn_deg=turn))
        yield Group(tuple(marks), "room", title=f"{item.id}: room for {room.what}, {room.depth_mm:.0f} mm")


def _board(layout: PanelLayout, scale: float) -> Iterator[Mark]:
    def at(p: Point) -> Point:
        return p[0] / scale, p[1] / scale

    yield from _plate(layout, scale)
    rows = _rows(layout, scale)
    leads = [lead_marks.drawn(lead, row, scale) for lead, row in zip(layout.leads, rows, strict=True)]
    yield from leads
    for item in sorted(layout.items, key=lambda i: i.layer):
        yield _item(item, scale, item.drills)
    for n, d in enumerate(layout.drills, 1):
        yield from _drill(at(d.at_mm), max(d.hole_mm / scale / 2.0, 0.5), str(n))
    ties = [on_line(at(t), row) for lead, row in zip(layout.leads, rows, strict=True) for t in lead.ties_mm]
    for tie in ties:
        yield Circle(tie, 0.55, None, "ink")
    entry = _entry(layout, scale)
    yield entry
    taken = [*_words_of(entry), *((x - 0.6, y - 0.6, x + 0.6, y + 0.6) for x, y in ties)]
    lines = [*lead_marks.lines(leads), *_rims(layout, scale)]
    small = [i for i in layout.items if not _names(i, scale, i.drills)]
    beside = list(_beside(layout, small, lines, scale, taken))
    yield from beside
    taken += [fonts.box(t) for t in beside]
    yield from lead_names.names(layout, rows, lines, scale, taken)


def _rims(layout: Laid, scale: float) -> Iterator[tuple[Point, ...]]:
    """The edges of the board and of its holes, on the paper."""
    for rim in (layout.panel.outer, *layout.panel.holes):
        yield tuple((x / scale, y / scale) for x, y in (*rim, rim[0]))


def _words_of(group: Group) -> list[lead_names.Box]:
    return [fonts.box(m) for m in group.marks if isinstance(m, Text)]


def _rows(layout: PanelLayout, scale: float) -> list[tuple[Point, ...]]:
    """The corners of the leads as drawn, clear of the bodies."""
    return spread(layout.leads, scale, [lead_names.scaled(i.box_mm, scale) for i in layout.items])


def _beside(
    layout: Laid, items: Sequence[LaidItem], lines: Sequence[Sequence[Point]], scale: float,
    taken: Sequence[lead_names.Box],
) -> Iterator[Text]:  # fmt: skip
    """The names of bodies that are too small for them: beside them, where the fewest things are in the way."""
    boxes = [*taken, *(lead_names.scaled(i.box_mm, scale) for i in layout.items)]
    for item in items:
        said = fonts.shortened(item.id, MOST_NAME_MM, SMALL_MM)
        places = _round(said, lead_names.scaled(item.box_mm, scale))
        text = min(places, key=lambda t: lead_names.in_the_way(fonts.box(t), boxes, lines))
        boxes.append(fonts.box(text))
        yield text


def _round(said: str, body: lead_names.Box) -> tuple[Text, ...]:
    """Where a name may stand beside a body: under, over, to the right, to the left; in the middle first."""
    left, top, right, bottom = body
    x, y = (left + right) / 2.0, (top + bottom + SMALL_MM) / 2.0
    under, over, low, high = bottom + SMALL_MM + 1.0, top - 1.4, bottom - 0.4, top + SMALL_MM
    places: list[tuple[Point, Anchor]] = [((x, under), "middle"), ((x, over), "middle")]
    places += [((right + 1.0, v), "start") for v in (y, high, low)]
    places += [((left - 1.0, v), "end") for v in (y, high, low)]
    for v in (under, over):
        places += [((left, v), "start"), ((right, v), "end"), ((x, v), "start"), ((x, v), "end")]
    return tuple(Text(at, said, SMALL_MM, anchor) for at, anchor in places)


def _plate(layout: Laid, scale: float) -> Iterator[Mark]:
    """The board with its holes and what must stay free on it."""

    def at(p: Point) -> Point:
        return p[0] / scale, p[1] / scale

    panel = layout.panel
    yield Path(tuple(at(p) for p in panel.outer), Stroke(0.7), "raised", closed=True)
    for hole in panel.holes:
        yield Path(tuple(at(p) for p in hole), Stroke(0.5), "paper", closed=True)
    for k in panel.keep_outs:
        (a, b), (w, h) = at(k.at_mm), (k.size_mm[0] / scale, k.size_mm[1] / scale)
        yield rectangle(a, b, w, h, Stroke(0.18, dash="dashed"))
        yield line(a, b, a + w, b + h, Stroke(0.13))
        yield line(a + w, b, a, b + h, Stroke(0.13))


def _entry(layout: Laid, scale: float) -> Group:
    x, y = (v / scale for v in layout.panel.entry_mm)
    words = Text((x + 3.2, y + 4.6), "cable entry", SMALL_MM)
    return Group((Circle((x, y), 2.2, Stroke(0.5), "paper"), words), "entry")


def _item(item: LaidItem, scale: float, screws: Sequence[Drill]) -> Group:
    x, y = item.at_mm[0] / scale, item.at_mm[1] / scale
    w, h = item.size_mm[0] / scale, item.size_mm[1] / scale
    over = item.layer == 2
    marks: list[Mark] = [
        rectangle(x, y, w, h, Stroke(0.5, dash="long" if over else "solid"), None if over else "paper")
    ]
    for t in item.terminals:
        tx, ty = t.at_mm[0] / scale, t.at_mm[1] / scale
        ox, oy = _OUT[t.side]
        marks.append(line(tx, ty, tx - 1.6 * ox, ty - 1.6 * oy, Stroke(0.35)))
    for room in item.rooms:
        if room.what == "screwdriver":
            marks += _arrow(room.box_mm, room.side, scale)
    marks += _names(item, scale, screws)
    return Group(tuple(marks), "item", item.id, f"{item.id}: {item.part}")


def _names(item: LaidItem, scale: float, screws: Sequence[Drill]) -> tuple[Text, ...]:
    """Name and size of an item, clear of its terminals and of the screws that are drawn.

    Less of them, or higher and lower, where it must; nothing where there is no room within.
    """
    x, y = item.at_mm[0] / scale, item.at_mm[1] / scale
    w, h = item.size_mm[0] / scale, item.size_mm[1] / scale
    turned = h > 1.6 * w
    long, across = (h, w) if turned else (w, h)
    lines: list[tuple[str, float, Weight]] = [
        (item.id, TEXT_MM, "semibold"),
        (f"{item.size_mm[0]:g} x {item.size_mm[1]:g} x {item.height_mm:g}", SMALL_MM, "regular"),
    ]
    if item.layer == 2:
        lines.append((f"on {item.foot_mm:g} mm spacers", SMALL_MM, "regular"))
    lines = lines[: max(1, int((across - 3.0) // 3.8))]
    taken = [_cross_box(d, scale) for d in screws]
    for t in item.terminals:
        tx, ty = t.at_mm[0] / scale, t.at_mm[1] / scale
        ox, oy = _OUT[t.side]
        ends = (tx, tx - 1.6 * ox), (ty, ty - 1.6 * oy)
        taken.append((min(ends[0]) - 0.3, min(ends[1]) - 0.3, max(ends[0]) + 0.3, max(ends[1]) + 0.3))

    def made(some: Sequence[tuple[str, float, Weight]], shift: float, limit: float) -> tuple[Text, ...]:
        out = []
        for k, (words, size, weight) in enumerate(some):
            if fonts.width_mm(words, size, weight) > limit:
                return ()
            off = shift + (k - (len(some) - 1) / 2.0) * 3.8 + size / 2.0
            at = (x + w / 2 + off, y + h / 2) if turned else (x + w / 2, y + h / 2 + off)
            out.append(Text(at, words, size, "middle", weight, turn_deg=-90.0 if turned else 0.0))
        return tuple(out)

    tries = [made(lines[:n], 0.0, max(long - 5.0, 8.0)) for n in range(len(lines), 0, -1)]
    tries += [
        made(lines[:1], share * across, limit)
        for limit in (long - 2.0, 0.7 * long, 0.5 * long) for share in (0.0, -0.25, 0.25, -0.33, 0.33)
    ]  # fmt: skip
    inner = x + 0.4, y + 0.4, x + w - 0.4, y + h - 0.4

    def clear(t: Text) -> bool:
        box = fonts.box(t)
        within = box[0] > inner[0] and box[1] > inner[1] and box[2] < inner[2] and box[3] < inner[3]
        return within and not any(lead_names.meet(box, b) for b in taken)

    return next((t for t in tries if t and all(map(clear, t))), ())


def _cross_box(drill: Drill, scale: float) -> tuple[float, float, float, float]:
    x, y = drill.at_mm[0] / scale, drill.at_mm[1] / scale
    reach = max(drill.hole_mm / scale / 2.0, 0.5) + 1.4
    return x - reach, y - reach, x + reach, y + reach


def _arrow(box: tuple[float, float, float, float], side: SideName, scale: float) -> Iterator[Mark]:
    """The way of the screwdriver: an arrow towards the adjusters."""
    left, top, right, bottom = (v / scale for v in box)
    ox, oy = _OUT[side]
    cx, cy = (left + right) / 2, (top + bottom) / 2
    tip = {"left": (right, cy), "right": (left, cy), "top": (cx, bottom), "bottom": (cx, top)}[side]
    tail = (tip[0] + 9.0 * ox, tip[1] + 9.0 * oy)
    stroke = Stroke(0.25)
    yield line(*tail, *tip, stroke)
    for turn in (-1.0, 1.0):
        yield line(*tip, tip[0] + 2.2 * ox + turn * 0.8 * oy, tip[1] + 2.2 * oy + turn * 0.8 * ox, stroke)


def _drill(at: Point, radius: float, number: str) -> Iterator[Mark]:
    x, y = at
    yield Group((
        Circle(at, radius, Stroke(0.25)), line(x - radius - 1.2, y, x + radius + 1.2, y, Stroke(0.13)),
        line(x, y - radius - 1.2, x, y + radius + 1.2, Stroke(0.13)),
    ), "drill", number)  # fmt: skip


def _dimensions(w: float, h: float, width: float, height: float) -> Iterator[Mark]:
    thin = Stroke(0.18)
    yield line(0, -2.0, 0, -9.0, thin)
    yield line(w, -2.0, w, -9.0, thin)
    yield line(0, -7.0, w, -7.0, thin)
    yield line(-2.0, 0, -9.0, 0, thin)
    yield line(-2.0, h, -9.0, h, thin)
    yield line(-7.0, 0, -7.0, h, thin)
    for x, y, dx, dy in ((0, -7.0, 1, 0), (w, -7.0, -1, 0), (-7.0, 0, 0, 1), (-7.0, h, 0, -1)):
        yield Path(
            (
                (x, y),
                (x + 2.5 * dx + 0.45 * dy, y + 2.5 * dy + 0.45 * dx),
                (x + 2.5 * dx - 0.45 * dy, y + 2.5 * dy - 0.45 * dx),
            ),
            None,
            "ink",
            closed=True,
        )
    yield Text((w / 2, -8.2), f"{width:g}", TEXT_MM, "middle")
    yield Text((-8.2, h / 2), f"{height:g}", TEXT_MM, "middle", turn_deg=-90.0)


def _table(layout: PanelLayout, high: float) -> Iterator[Mark]:
    """What to drill, from the upper left corner of the board; the items' places follow."""
    columns = (0.0, 33.0, 46.0, 59.0)
    y = 2.5
    yield Text((0.0, y), "Drill, from the upper left corner, mm", TEXT_MM, weight="semibold")
    y += 5.0
    rows = [(i, [d for d in layout.drills if d.item == i.id]) for i in layout.items]
    yield from _row(columns, y, ("for", "across", "down", "hole"), "semibold")
    shown = 0
    total = sum(len(d) for _, d in rows)
    for item, drills in rows:
        for d in drills:
            y += _ROW_MM
            if y > high - 2 * _ROW_MM and shown < total - 1:
                yield Text((0.0, y), f"and {total - shown} more in the tables", SMALL_MM)
                return
            name = fonts.shortened(item.id, 24.0, SMALL_MM)
            yield from _row(columns, y, (name, f"{d.at_mm[0]:.1f}", f"{d.at_mm[1]:.1f}", f"{d.hole_mm:g}"))
            shown += 1


def _row(columns: Sequence[float], y: float, cells: Sequence[str], weight: str = "regular") -> Iterator[Mark]:
    for n, (x, words) in enumerate(zip(columns, cells, strict=True)):
        if n:
            yield Text((x + 9.0, y), words, SMALL_MM, "end", weight)  # type: ignore[arg-type]
        else:
            yield Text((x, y), words, SMALL_MM, "start", weight)  # type: ignore[arg-type]


def _legend(layout: PanelLayout) -> Iterator[Mark]:
    x, y = 0.0, 4.0
    for kind in ("power", "speaker", "line", "remote"):
        if any(lead.kind == kind for lead in layout.leads):
            stroke = Stroke(0.7 if kind == "power" else 0.35, dash=lead_marks.DASHES[kind])
            yield line(x, y - 1.0, x + 10.0, y - 1.0, stroke)
            yield Text((x + 12.0, y), lead_marks.WORDS[kind], SMALL_MM)
            x += 46.0
    panel = layout.panel
    yield Text((0.0, y + 6.0), f"{panel.material} {panel.thickness_mm:g} mm, space above it {panel.space_mm:g} mm. "
               f"Comes out {panel.pull_out_mm:g} mm.", SMALL_MM)  # fmt: skip
    heavy = max((lead.least_radius_mm for lead in layout.leads), default=0.0)
    yield Text((0.0, y + 11.0), f"Dots: ties. Arrows: screwdriver. Broken outline: on spacers. Bends "
               f"{figures.three(heavy)} mm and less where thinner.", SMALL_MM)  # fmt: skip
    yield Text((0.0, y + 16.0), "Look behind the board before drilling: tanks, wires, pipes. Eye and hearing "
        "protection.",
               SMALL_MM, weight="semibold")  # fmt: skip
