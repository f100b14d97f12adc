"""A template true to size, page by page: the line to saw, holes with their sizes, marks that lie on two pages each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

import shapely  # type: ignore[import-untyped]

from loomwright.drawing import fonts
from loomwright.drawing.marks import Circle, Group, Mark, Path, Point, Sheet, Stroke, Text, line, placed, rectangle
from loomwright.drawing.template_words import CROSS_MM, words
from loomwright.template.model import Hole, Template
from loomwright.template.tiles import BAR_MM, EDGE_MM, PAPERS_MM, PaperName, Tile, Tiling

CUT = Stroke(0.35, "BK")
THIN = Stroke(0.18, "BK")
HAIR = Stroke(0.13, "BK")
BODY = Stroke(0.18, "BK", "dashed")
TICK_MM = 3.0
SMALL_MM = 2.0
WITHIN_MM = 0.005
"""Arcs are drawn as straight pieces that keep so near to them."""


def pages(template: Template, tiling: Tiling) -> tuple[Sheet, ...]:
    """One sheet for each page of the tiling, in order."""
    names, sizes = words(template, tiling)
    return tuple(_page(template, tiling, t, names, sizes) for t in tiling.tiles)


def _page(
    template: Template, tiling: Tiling, tile: Tile, names: Sequence[Text], sizes: Sequence[tuple[Hole, Text]]
) -> Sheet:
    width, height = tiling.page_mm
    window = shapely.box(*tile.box_mm)
    dx, dy = EDGE_MM - tile.left_mm, EDGE_MM - tile.top_mm
    board: list[Mark] = []
    for note in template.notes:
        points = [*note.points_mm, note.points_mm[0]] if note.closed else note.points_mm
        board += _clipped(points, window, BODY)
    cut: list[Mark] = []
    for ring in template.outline.rings():
        points = ring.points(WITHIN_MM)
        cut += _clipped([*points, points[0]], window, CUT)
    board.append(Group(tuple(cut), "cut"))
    for hole in template.holes:
        board += _drill(hole, window)
    for at in tiling.marks_mm:
        if window.covers(shapely.Point(at)):
            board.append(_register(at))
    board += [t for t in (*names, *(t for _, t in sizes)) if window.covers(shapely.box(*fonts.box(t)))]
    marks = [*placed(board, dx, dy), *_around(template, tiling, tile)]
    return Sheet(width, height, tuple(marks), f"{template.title}, {template.side}, page {tile.name}")


def _clipped(points: Sequence[Point], window: Any, stroke: Stroke) -> Iterator[Mark]:
    """What of a line lies in the window."""
    whole = shapely.LineString(points)
    if window.covers(whole):
        yield Path(tuple(points), stroke)
        return
    kept = shapely.line_merge(whole.intersection(window))
    for part in getattr(kept, "geoms", [kept]):
        if part.geom_type == "LineString" and not part.is_empty:
            yield Path(tuple((float(x), float(y)) for x, y in part.coords), stroke)


def _drill(hole: Hole, window: Any) -> Iterator[Mark]:
    """A hole true to size, with a cross through its centre; what lies beyond the window is left out."""
    (x, y), radius = hole.at_mm, hole.hole_mm / 2.0
    rim = shapely.Point(x, y).buffer(radius)
    if not window.intersects(rim):
        return
    reach = radius + CROSS_MM
    marks: list[Mark] = []
    for a, b in (((x - reach, y), (x + reach, y)), ((x, y - reach), (x, y + reach))):
        marks += _clipped([a, b], window, THIN)
    if window.covers(rim):
        marks.append(Circle(hole.at_mm, radius, THIN))
    else:
        marks += _clipped(list(rim.exterior.coords), window, THIN)
    yield Group(tuple(marks), "drill", hole.label)


def _register(at: Point) -> Mark:
    """A registration mark: a cross in a circle."""
    x, y = at
    return Group(
        (line(x - 4.0, y, x + 4.0, y, HAIR), line(x, y - 4.0, x, y + 4.0, HAIR), Circle(at, 2.5, HAIR)), "register"
    )


def _around(template: Template, tiling: Tiling, tile: Tile) -> Iterator[Mark]:
    """The window's frame, both check bars, and what the page is."""
    right, below = EDGE_MM + tile.width_mm, EDGE_MM + tile.height_mm
    yield rectangle(EDGE_MM, EDGE_MM, tile.width_mm, tile.height_mm, HAIR)
    yield from _bar((EDGE_MM, below + 5.0), across=True)
    yield Text((EDGE_MM + BAR_MM + 4.0, below + 6.0), "100 mm: measure both bars.", SMALL_MM, role="BK")
    yield from _bar((right + 5.0, below - BAR_MM), across=False)
    yield Text((right + 9.5, below - BAR_MM / 2.0), "100 mm", SMALL_MM, "middle", role="BK", turn_deg=-90.0)
    room = tiling.page_mm[0] - 2.0 * EDGE_MM
    name = fonts.shortened(f"{template.title}, seen from its {template.side}", room - 55.0, 2.5, "bold")
    yield Text((EDGE_MM, below + 12.5), name, 2.5, weight="bold", role="BK")
    said = f"page {tile.name}" if len(tiling.tiles) > 1 else "one page"
    yield Text((EDGE_MM + room, below + 12.5), said, 2.5, "end", "bold", "BK")
    joins = [f"{side} {other.name}" for side, other in tiling.neighbours(tile)]
    say = "Print at 100 %, not fitted to the page."
    if joins:
        say += f" Joins {', '.join(joins)}: lay crosses on crosses."
    yield Text((EDGE_MM, below + 17.0), fonts.shortened(say, room, SMALL_MM), SMALL_MM, role="BK")


def _bar(at: Point, *, across: bool) -> Iterator[Mark]:
    (x, y), half = at, TICK_MM / 2.0
    x2, y2 = (x + BAR_MM, y) if across else (x, y + BAR_MM)
    marks = [line(x, y, x2, y2, THIN)]
    for a, b in ((x, y), (x2, y2)):
        marks.append(line(a, b - half, a, b + half, THIN) if across else line(a - half, b, a + half, b, THIN))
    yield Group(tuple(marks), "bar")


def map_page(template: Template, tiling: Tiling, paper: PaperName) -> Sheet:
    """Which page goes where, what to drill, what to mind."""
    width, height = PAPERS_MM[paper]
    room = width - 30.0
    marks: list[Mark] = [
        Text((15.0, 20.0), fonts.shortened(f"Template: {template.title}", room, 5.0, "bold"), 5.0, weight="bold"),
        Text((15.0, 27.0), fonts.shortened(_what(template), room, 2.5), 2.5),
    ]
    y = 35.0
    for said in (
        "Print at 100 %, not fitted to the page, and measure both 100 mm bars of a page before cutting.",
        f"{len(tiling.tiles)} pages as on the map. Cut each along its frame where it joins; crosses on crosses; tape.",
        *template.words,
        "Clamp the board. Eye, ear and dust protection at saw and drill. Back the board where the drill comes out.",
        "Never laser or burn anything that holds PVC: the smoke is hydrogen chloride. Keep dust out of your lungs.",
        "Look behind before drilling in the vehicle: tanks, wires, pipes.",
    ):
        for row in fonts.wrapped(said, room, 2.5, 3):
            marks.append(Text((15.0, y), row, 2.5))
            y += 4.2
        y += 1.2
    y += 4.0
    table = list(_table(template, room))
    free = height - 15.0 - y - (len(table) // 3 + 3) * 4.0
    marks += _map(template, tiling, 15.0, y, room, max(min(free, 110.0), 60.0))
    y += max(min(free, 110.0), 60.0) + 8.0
    marks += _rows(table, 15.0, y, room, height - 12.0)
    return Sheet(width, height, tuple(marks), f"{template.title}, map of the pages")


def _what(template: Template) -> str:
    w, h = template.outline.size_mm
    return f"Seen from its {template.side}. {w:.1f} x {h:.1f} mm. {template.stock}".rstrip()


def _map(template: Template, tiling: Tiling, x: float, y: float, wide: float, high: float) -> Iterator[Mark]:
    left = min(t.left_mm for t in tiling.tiles)
    top = min(t.top_mm for t in tiling.tiles)
    right = max(t.box_mm[2] for t in tiling.tiles)
    bottom = max(t.box_mm[3] for t in tiling.tiles)
    scale = min(wide / (right - left), high / (bottom - top))
    inside: list[Mark] = [
        Path(tuple(ring.points(0.5)), Stroke(0.5 / scale), "raised" if n == 0 else "paper", closed=True)
        for n, ring in enumerate(template.outline.rings())
    ]
    inside += [Circle(h.at_mm, max(h.hole_mm / 2.0, 0.5 / scale), None, "ink") for h in template.holes]
    for t in tiling.tiles:
        inside.append(rectangle(t.left_mm, t.top_mm, t.width_mm, t.height_mm, Stroke(0.18 / scale)))
    yield from placed(inside, x - left * scale, y - top * scale, scale)
    lines = shapely.transform(
        shapely.union_all([
            *(shapely.LinearRing(r.points(0.5)) for r in template.outline.rings()),
            *(shapely.Point(h.at_mm).buffer(max(h.hole_mm / 2.0, 0.5 / scale)) for h in template.holes),
            *(shapely.LinearRing(shapely.box(*t.box_mm).exterior.coords) for t in tiling.tiles),
        ]),
        lambda c: (c - (left, top)) * scale + (x, y),
    )  # fmt: skip
    for t in tiling.tiles:
        size = max(min(4.0, t.height_mm * scale / 6.0), 2.2)
        spots = (
            Text((x + (t.left_mm - left + t.width_mm * across) * scale,
                  y + (t.top_mm - top + t.height_mm * down) * scale + size / 2.0), t.name, size, "middle", "bold")
            for down in (0.5, 0.35, 0.65, 0.2, 0.8) for across in (0.5, 0.3, 0.7)
        )  # fmt: skip
        clear = (s for s in spots if not shapely.box(*fonts.box(s)).buffer(0.4).intersects(lines))
        yield next(clear, Text((x + (t.left_mm - left) * scale + 2.0, y + (t.top_mm - top) * scale + size + 1.0),
                               t.name, size, "start", "bold"))  # fmt: skip


def _table(template: Template, room: float) -> Iterator[tuple[str, ...]]:
    holes = sorted(template.holes, key=lambda h: (h.label, h.at_mm[1], h.at_mm[0]))
    for label, some in groupby(holes, key=lambda h: h.label):
        for h in some:
            yield (label, f"{h.at_mm[0]:.1f}", f"{h.at_mm[1]:.1f}", f"{h.hole_mm:g}")


def _rows(table: Sequence[tuple[str, ...]], x: float, y: float, room: float, last: float) -> Iterator[Mark]:
    """The holes in three columns."""
    if not table:
        return
    yield Text((x, y), "Holes: for, across, down from the upper left corner of the board, size, in mm", 2.5,
               weight="semibold")  # fmt: skip
    wide, step = room / 3.0, 4.0
    each = -(-len(table) // 3)
    most = max(1, int((last - y - 5.0) // step))
    for n, cells in enumerate(table):
        column, row = divmod(n, each)
        if row >= most or (row == most - 1 and each > most):
            if column == 0 and row == most - 1:
                yield Text((x, y + 5.0 + row * step), f"and more: {len(table)} holes in all, in the drawing", SMALL_MM)
            continue
        at = x + column * wide, y + 5.0 + row * step
        yield Text(at, fonts.shortened(cells[0], wide - 36.0, SMALL_MM), SMALL_MM)
        for k, cell in enumerate(cells[1:]):
            yield Text((at[0] + wide - 28.0 + k * 12.0, at[1]), cell, SMALL_MM, "end")
