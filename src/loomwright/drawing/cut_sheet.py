"""A sheet with the boards on it, to scale: cuts numbered in their order, with the fence for each; jigsaw last."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely  # type: ignore[import-untyped]

from loomwright.drawing import fonts, frame
from loomwright.drawing.marks import Group, Mark, Path, Sheet, Stroke, Text, line, placed, rectangle
from loomwright.nesting.model import Cut, CutSheet, Laid, SheetCuts

TEXT_MM = 2.5
SMALL_MM = 2.2
SCALES = (1.0, 2.0, 2.5, 5.0, 10.0, 15.0, 20.0, 25.0)
ROW_MM = 4.2
_TABLE_MM = 98.0
_LABELS_MM = 14.0
"""Room above and to the left of the sheet for the numbers of the cuts."""


def draw(
    sheet: CutSheet, plan: SheetCuts, title: str, stock: str, kerf_mm: float, size: frame.SheetSize = "A3",
    stage: str = "", count: str = "1 / 1",
) -> Sheet:  # fmt: skip
    """One sheet of stock with its cuts, at the largest usual scale that fits."""
    free = frame.room(size)
    wide, high = free.width_mm - _TABLE_MM - _LABELS_MM, free.height_mm - _LABELS_MM
    whole = sheet.stock.width_mm, sheet.stock.height_mm
    scale = next((s for s in SCALES if whole[0] / s <= wide and whole[1] / s <= high), 40.0)
    name = f"{title}: sheet {sheet.number}"
    marks: list[Mark] = list(frame.frame(size, frame.Title(
        name, f"Sheet to cut, 1:{scale:g}", sheet.stock.id, stage, sheet=count,
    )))  # fmt: skip
    marks += placed(_sheet(sheet, plan, scale), free.x + _LABELS_MM, free.y + _LABELS_MM)
    table = free.x + free.width_mm - _TABLE_MM + 4.0
    marks += placed(_cuts(sheet, plan, free.height_mm), table, free.y)
    notes = frame.notes_room(size)
    marks += placed(_notes(sheet, stock, kerf_mm, notes.width_mm), notes.x, notes.y)
    paper = frame.SIZES_MM[size]
    return Sheet(paper[0], paper[1], tuple(marks), name)


def _sheet(sheet: CutSheet, plan: SheetCuts, scale: float) -> Iterator[Mark]:
    width, height = sheet.stock.width_mm / scale, sheet.stock.height_mm / scale
    yield rectangle(0.0, 0.0, width, height, Stroke(0.5), "raised")
    for ring in sheet.stock.missing:
        yield Path(tuple((x / scale, y / scale) for x, y in ring), Stroke(0.25, dash="dashed"), "paper", closed=True)
    for one in sheet.laid:
        marks: list[Mark] = [Path(_scaled(one.outer, scale), Stroke(0.35), "paper", closed=True)]
        marks += [Path(_scaled(h, scale), Stroke(0.35), "raised", closed=True) for h in one.holes]
        marks += _names(one, scale)
        yield Group(tuple(marks), "board", one.piece, one.piece)
    for cut in plan.cuts:
        (xa, ya), (xb, yb) = cut.start_mm, cut.end_mm
        yield Group((line(xa / scale, ya / scale, xb / scale, yb / scale, Stroke(0.25, dash="chain")),), "cut",
                    f"{cut.number}")  # fmt: skip
    yield from _numbers(plan.cuts, scale)


def _names(one: Laid, scale: float) -> Iterator[Mark]:
    """Name and size of a board, in its widest part, as far as they have room."""
    shape = shapely.Polygon(_scaled(one.outer, scale), [_scaled(h, scale) for h in one.holes])
    x, y = shapely.maximum_inscribed_circle(shape, tolerance=0.5).coords[0]
    left, top, right, bottom = one.box_mm
    lines = ((one.piece, TEXT_MM), (f"{right - left:g} x {bottom - top:g}", SMALL_MM))
    for n, (words, size) in enumerate(lines):
        base = y + n * 3.8 - 0.6
        band = shapely.box(x - 500.0, base - size - 0.4, x + 500.0, base + 0.9) & shape
        tall = band.bounds[3] - band.bounds[1] if not band.is_empty else 0.0
        rows = [shapely.LineString([(x - 500.0, v), (x + 500.0, v)]) & shape for v in (base - size, base)]
        parts = [p for r in rows for p in getattr(r, "geoms", [r]) if p.length and p.bounds[0] <= x <= p.bounds[2]]
        if len(parts) < 2 or tall < size + 1.2:
            continue
        room = 2.0 * min(min(x - p.bounds[0], p.bounds[2] - x) for p in parts) - 1.0
        shown = fonts.shortened(words, room, size)
        if shown == words or len(shown) > 4:
            yield Text((x, base), shown, size, "middle")


def _scaled(ring: Sequence[tuple[float, float]], scale: float) -> tuple[tuple[float, float], ...]:
    return tuple((x / scale, y / scale) for x, y in ring)


def _numbers(cuts: Sequence[Cut], scale: float) -> Iterator[Mark]:
    """Numbers of the cuts above and to the left of the sheet; those on one line together, close ones spread."""
    for along in ("y", "x"):
        lines: dict[float, list[int]] = {}
        for c in cuts:
            if c.along == along:
                at = (c.start_mm[0] if along == "y" else c.start_mm[1]) / scale
                near = next((k for k in lines if abs(k - at) < 0.8), at)
                lines.setdefault(near, []).append(c.number)
        end = -99.0
        for at, numbers in sorted(lines.items()):
            words = fonts.shortened(", ".join(map(str, numbers)), _LABELS_MM - 4.0, SMALL_MM)
            half = (fonts.width_mm(words, SMALL_MM) if along == "y" else SMALL_MM) / 2.0
            here = max(at, end + half + 1.2)
            end = here + half
            if along == "y":
                yield line(at, -0.6, here, -2.6, Stroke(0.13))
                yield Text((here, -4.0), words, SMALL_MM, "middle")
            else:
                yield line(-0.6, at, -2.6, here, Stroke(0.13))
                yield Text((-3.4, here + SMALL_MM / 2.0), words, SMALL_MM, "end")


def _cuts(sheet: CutSheet, plan: SheetCuts, high: float) -> Iterator[Mark]:
    """The cuts in order: where the fence stands, against which edge, what comes off."""
    y = 3.0
    yield Text((0.0, y), "Table saw, in this order: fence, mm, and the edge at it", TEXT_MM,
               weight="semibold")  # fmt: skip
    y += 5.0
    room = _TABLE_MM - 8.0
    rest = int((high - y - 26.0) // ROW_MM)
    for n, cut in enumerate(plan.cuts):
        if n == rest - 1 and len(plan.cuts) > rest:
            yield Text((0.0, y), f"and {len(plan.cuts) - n} more in the list", SMALL_MM)
            y += ROW_MM
            break
        yield Text((5.0, y), f"{cut.number}", SMALL_MM, "end")
        yield Text((21.0, y), f"{cut.fence_mm:.1f}", SMALL_MM, "end")
        yield Text((24.0, y), cut.against, SMALL_MM)
        yield Text((38.0, y), fonts.shortened(what(cut), room - 38.0, SMALL_MM), SMALL_MM)
        y += ROW_MM
    y += 2.0
    said = []
    if plan.together:
        said.append("Jigsaw, parted by no straight cut: " + "; ".join(" with ".join(g) for g in plan.together) + ".")
    one = [p for p in plan.jigsaw if not any(p in g for g in plan.together)]
    if one:
        said.append(f"Jigsaw, rim or holes: {', '.join(one)}.")
    if plan.done:
        said.append(f"Finished on the table saw: {', '.join(plan.done)}.")
    for words in said:
        for row in fonts.wrapped(words, room, SMALL_MM, 3):
            yield Text((0.0, y), row, SMALL_MM)
            y += 3.8


def what(cut: Cut) -> str:
    """What a cut does, in words."""
    if cut.keeps and cut.frees:
        return f"{', '.join(cut.keeps)} | {', '.join(cut.frees)}"
    return "takes off what is left over" if len(cut.keeps) > 1 else f"trims {', '.join(cut.keeps)}"


def _notes(sheet: CutSheet, stock: str, kerf_mm: float, room: float) -> Iterator[Mark]:
    used = f"Kerf {kerf_mm:g} mm. {100.0 * sheet.used_share:.0f} % used."
    y = 4.0
    for words, weight in (
        (f"{stock}, {sheet.stock.width_mm:g} x {sheet.stock.height_mm:g} mm. {used}", "regular"),
        ("Chain lines: straight cuts, right through the board in hand.", "regular"),
        ("Guard, riving knife, push stick; eye, ear and dust protection. Never laser PVC.", "semibold"),
    ):  # fmt: skip
        for row in fonts.wrapped(words, room, SMALL_MM, 2):
            yield Text((0.0, y), row, SMALL_MM, weight=weight)  # type: ignore[arg-type]
            y += 4.0
