"""Marker sheets to print at 100 %: our own layout, drawn with the project's own primitives, exact to the millimetre."""

from __future__ import annotations

from functools import partial

from loomwright.drawing import pages, svg
from loomwright.drawing.marks import Mark, Path, Sheet, Stroke, Text, line
from loomwright.trace import layout
from loomwright.trace.layout import Bar, PaperName

_HAIR = Stroke(0.25, "BK")
_TICK_MM = 3.0


def drawing(paper: PaperName, number: int) -> Sheet:
    """One marker sheet."""
    made = layout.sheet(paper, number)
    marks: list[Mark] = []
    for marker in made.markers:
        marks += _cells(marker.id, marker.x_mm, marker.y_mm)
    marks += _bar(made.across, f"This bar must be {made.across.length_mm:g} mm long. Measure it.")
    marks += _bar(made.down, f"This bar must be {made.down.length_mm:g} mm long. Measure it.")
    left, below = made.markers[0].x_mm, made.across.start_mm[1] + 7.0
    marks += [
        Text(
            (left, below),
            f"Marker sheet {number}, {'A4' if paper == 'a4' else 'Letter'}",
            2.5,
            weight="bold",
            role="BK",
        ),
        Text(
            (left, below + 4.6),
            "Print at 100 %, not fitted to the page. Lay it flat beside the board or on it, wholly in the picture.",
            2.0,
            role="BK",
        ),
        Text(
            (left, below + 8.4),
            "Two sheets with different numbers on opposite sides of the board are best. "
            "Hold the camera above its middle.",
            2.0,
            role="BK",
        ),
    ]
    return Sheet(made.width_mm, made.height_mm, tuple(marks), f"Marker sheet {number}")


def pdf(paper: PaperName) -> bytes:
    """All sheets of a paper size, one to a page.

    Raises
    ------
    EngineMissing
        Where the typesetter or the fonts are not installed.
    """
    width, height = layout.PAPERS_MM[paper]
    files, body = (
        {},
        [
            '#set document(title: "Marker sheets", date: none)',
            f"#set page(width: {svg.number(width)}mm, height: {svg.number(height)}mm, margin: 0mm)",
        ],
    )
    for number in range(1, layout.SHEETS + 1):
        name = f"sheet{number}.svg"
        files[name] = svg.render(drawing(paper, number), "black").encode()
        size = f"width: {svg.number(width)}mm, height: {svg.number(height)}mm"
        body.append(f'#image("{name}", {size}, alt: "Marker sheet {number}")')
    return pages.typeset({"main.typ": "\n".join(body).encode(), **files}, "pdf")


def _cells(marker_id: int, x: float, y: float) -> list[Mark]:
    """The black of a marker as one area, so that no hairlines of white show between its cells."""
    black = layout.cells(marker_id)
    size = layout.CELL_MM
    edges: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for r in range(layout.CELLS):
        for c in range(layout.CELLS):
            if not black[r][c]:
                continue
            for (dr, dc), a, b in (
                ((-1, 0), (c, r), (c + 1, r)),
                ((0, 1), (c + 1, r), (c + 1, r + 1)),
                ((1, 0), (c + 1, r + 1), (c, r + 1)),
                ((0, -1), (c, r + 1), (c, r)),
            ):
                i, j = r + dr, c + dc
                if not (0 <= i < layout.CELLS and 0 <= j < layout.CELLS and black[i][j]):
                    edges.setdefault(a, []).append(b)
    marks: list[Mark] = []
    rings = []
    while edges:
        start = min(edges)
        at, ring = start, []
        before = (0, 0)
        while True:
            ring.append(at)
            choices = edges[at]
            # where two rings touch at a corner, turn towards the black: the ring stays simple
            ahead = min(choices, key=partial(_turn, before, at))
            choices.remove(ahead)
            if not choices:
                del edges[at]
            before = (ahead[0] - at[0], ahead[1] - at[1])
            at = ahead
            if at == start:
                break
        rings.append(ring)
    for ring in rings:
        points = tuple((x + size * c, y + size * r) for c, r in ring)
        twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, (*points[1:], points[0]), strict=True))
        marks.append(Path(points, None, "BK" if twice > 0.0 else "WH", closed=True))
    return sorted(marks, key=lambda m: isinstance(m, Path) and m.fill == "WH")


def _turn(before: tuple[int, int], at: tuple[int, int], to: tuple[int, int]) -> int:
    """Right turns first, for a ring that has the black on its right."""
    return before[1] * (to[0] - at[0]) - before[0] * (to[1] - at[1])


def _bar(bar: Bar, words: str) -> list[Mark]:
    (x1, y1), (x2, y2) = bar.start_mm, bar.end_mm
    half = _TICK_MM / 2.0
    out: list[Mark] = [line(x1, y1, x2, y2, _HAIR)]
    if y1 == y2:
        out += [line(x, y1 - half, x, y1 + half, _HAIR) for x in (x1, x2)]
        out.append(Text(((x1 + x2) / 2.0, y1 - 2.0), words, 2.0, "middle", role="BK"))
    else:
        out += [line(x1 - half, y, x1 + half, y, _HAIR) for y in (y1, y2)]
        out.append(Text((x1 - 1.6, (y1 + y2) / 2.0), words, 2.0, "middle", role="BK", turn_deg=-90.0))
    return out
