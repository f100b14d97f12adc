"""Outlines to SVG in millimetres, and from SVG (one user unit is a millimetre unless the file says otherwise)."""

from __future__ import annotations

import io
import math
from typing import Any

from loomwright.errors import InputError, Problem
from loomwright.trace.checks import checked
from loomwright.trace.outline import Outline, Point, Ring, placed, ring_of
from loomwright.trace.typed import rings_sorted

MAX_BYTES = 5_000_000
WITHIN_MM = 0.02
_CLOSE_MM = 0.05


def text(outline: Outline) -> str:
    """The outline as SVG, true to size, arcs as arcs."""
    width, height = outline.size_mm
    margin = 5.0
    paths = "".join(f'  <path d="{path(ring, margin)}"/>\n' for ring in outline.rings())
    w, h = number(width + 2 * margin), number(height + 2 * margin)
    side = "back" if outline.back else "face"
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}">\n'
        f" <title>Board {width:.1f} x {height:.1f} mm, seen from its {side}</title>\n"
        f' <g fill="none" stroke="#000000" stroke-width="0.2">\n{paths} </g>\n</svg>\n'
    )


def path(ring: Ring, margin: float) -> str:
    """A ring as the data of a path, moved by a margin."""

    def at(p: Point) -> str:
        return f"{number(p[0] + margin)} {number(p[1] + margin)}"

    parts = [f"M{at(ring.sides[0].start_mm)}"]
    for s in ring.sides:
        if s.bulge:
            large, sweep, r = int(abs(s.angle_rad) > math.pi), int(s.bulge > 0.0), number(s.radius_mm)
            parts.append(f"A{r} {r} 0 {large} {sweep} {at(s.end_mm)}")
        else:
            parts.append(f"L{at(s.end_mm)}")
    return "".join(parts) + "Z"


def number(value: float) -> str:
    """A length with at most six decimals."""
    made = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if made == "-0" else made


def read(data: bytes, file: str = "outline.svg", unit_mm: float = 1.0) -> Outline:
    """The closed rings of an SVG: the largest is the board, the others are its holes.

    Raises
    ------
    InputError
        Where it is no SVG, or has no closed ring.
    """
    if len(data) > MAX_BYTES:
        raise _problem(
            file, f"at most {MAX_BYTES / 1e6:.0f} MB", f"{len(data) / 1e6:.0f} MB", "Save the outline alone."
        )
    if b"<!ENTITY" in data:
        raise _problem(file, "an SVG without entities", "one that defines some", "Save it as plain SVG.")
    from svgelements import SVG, Path, Shape  # type: ignore[import-untyped]

    try:
        document = SVG.parse(io.StringIO(data.decode("utf-8")), ppi=25.4)
        shapes = [Path(e) for e in document.elements() if isinstance(e, Shape)]
    except Exception:
        raise _problem(file, "an SVG drawing", "something else", "Save the outline as SVG with paths.") from None
    rings = []
    for shape in shapes:
        shape.reify()
        for part in shape.as_subpaths():
            ring = _ring(Path(part), unit_mm)
            if ring is not None:
                rings.append(ring)
    outer, holes = rings_sorted(rings, file)
    return checked(placed(Outline(outer, holes, "svg")), file)


def _ring(path: Any, unit: float) -> Ring | None:
    from svgelements import Arc, Close, Line, Move

    corners: list[Point] = []
    bulges: list[float] = []

    def add(point: Any, bulge: float) -> None:
        at = (float(point.x) * unit, float(point.y) * unit)
        if bulge == 0.0 and corners and math.dist(corners[-1], at) < 1e-6:
            return
        corners.append(at)
        bulges.append(bulge)

    end: Any = None
    for piece in path:
        if isinstance(piece, Move) or piece.start is None:
            end = piece.end
            continue
        if isinstance(piece, (Line, Close)):
            if piece.end is not None and abs(piece.end - piece.start) > 1e-9:
                add(piece.start, 0.0)
        elif isinstance(piece, Arc) and abs(piece.rx - piece.ry) < 1e-6 * max(piece.rx, 1e-9):
            sweep = float(piece.sweep)
            half = abs(sweep) > math.pi * 1.5
            for k in range(2 if half else 1):
                add(piece.point(k / 2.0) if half else piece.start, math.tan(sweep / (8.0 if half else 4.0)))
        else:
            count = max(4, math.ceil(float(piece.length(error=1e-4)) * unit / 0.8))
            for k in range(count):
                add(piece.point(k / count), 0.0)
        end = piece.end
    if len(corners) < 2 or end is None or math.dist(corners[0], (float(end.x) * unit, float(end.y) * unit)) > _CLOSE_MM:
        return None
    if len(corners) > 1 and math.dist(corners[0], corners[-1]) < 1e-6 and not bulges[-1]:
        corners.pop()
        bulges.pop()
    made = ring_of(corners, bulges)
    return made if abs(made.area_mm2()) > 1e-6 else None


def _problem(file: str, expected: str, received: str, remedy: str) -> InputError:
    return InputError([Problem(file, "", expected, received, remedy)])
