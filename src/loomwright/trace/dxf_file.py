"""Outlines to DXF (R2010, layer ``cut``), and from DXF: closed polylines, circles, and lines with arcs end to end."""

from __future__ import annotations

import io
import math
from itertools import pairwise
from typing import Any

from loomwright.errors import InputError, Problem
from loomwright.trace.checks import checked
from loomwright.trace.outline import Outline, Point, Ring, placed, ring_of
from loomwright.trace.typed import INCH_MM, rings_sorted

MAX_BYTES = 20_000_000
WITHIN_MM = 0.02
_GAP_MM = 0.02
_UNITS_MM = {1: INCH_MM, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}


def content(outline: Outline) -> bytes:
    """The outline as DXF, y up, the same bytes for the same outline."""
    from ezdxf import units
    from ezdxf._options import options
    from ezdxf.document import Drawing

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        document = Drawing.new("R2010")
        document.units = units.MM
        document.layers.add("cut", color=7)
        space = document.modelspace()
        height = outline.size_mm[1]
        for ring in outline.rings():
            corners = [(s.start_mm[0], height - s.start_mm[1], -s.bulge) for s in ring.sides]
            space.add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"layer": "cut"})
        stream = io.StringIO()
        document.write(stream)
    finally:
        options.write_fixed_meta_data_for_testing = before
    return stream.getvalue().encode("utf-8")


def read(data: bytes, file: str = "outline.dxf", unit_mm: float | None = None) -> Outline:
    """The closed rings of a DXF: the largest is the board, the others are its holes.

    The unit is the file's own, else ``unit_mm``, else the millimetre.

    Raises
    ------
    InputError
        Where it is no DXF, or has no closed ring.
    """
    if len(data) > MAX_BYTES:
        raise _problem(
            file, f"at most {MAX_BYTES / 1e6:.0f} MB", f"{len(data) / 1e6:.0f} MB", "Save the outline alone."
        )
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    try:
        document, _ = recover.read(io.BytesIO(data))
    except (OSError, DXFError, ValueError, IndexError, KeyError):
        raise _problem(file, "a DXF drawing", "something else", "Save the outline as DXF.") from None
    stated = _UNITS_MM.get(int(document.header.get("$INSUNITS", 0)))
    unit = stated or unit_mm or 1.0
    rings: list[Ring] = []
    loose: list[tuple[Point, Point, float]] = []
    for entity in document.modelspace():
        _take(entity, unit, rings, loose)
    rings += _chained(loose)
    outer, holes = rings_sorted(rings, file)
    return checked(placed(Outline(outer, holes, "dxf")), file)


def _take(entity: Any, unit: float, rings: list[Ring], loose: list[tuple[Point, Point, float]]) -> None:
    """Put an entity among the rings or the loose pieces; y turns down."""
    kind = entity.dxftype()
    if kind in ("LWPOLYLINE", "POLYLINE"):
        if kind == "LWPOLYLINE":
            corners = [((x * unit, -y * unit), -b) for x, y, b in entity.get_points("xyb")]
        else:
            corners = [((v.dxf.location.x * unit, -v.dxf.location.y * unit), -v.dxf.bulge) for v in entity.vertices]
        if len(corners) > 2 and math.dist(corners[0][0], corners[-1][0]) < _GAP_MM:
            corners.pop()
        elif not (entity.closed if kind == "LWPOLYLINE" else entity.is_closed):
            loose.extend((a, b, k) for (a, k), (b, _) in pairwise(corners))
            return
        if len(corners) >= 2:
            rings.append(ring_of([p for p, _ in corners], [b for _, b in corners]))
    elif kind == "CIRCLE":
        x, y, r = entity.dxf.center.x * unit, -entity.dxf.center.y * unit, entity.dxf.radius * unit
        rings.append(ring_of([(x - r, y), (x + r, y)], [-1.0, -1.0]))
    elif kind == "LINE":
        a, b = entity.dxf.start, entity.dxf.end
        loose.append(((a.x * unit, -a.y * unit), (b.x * unit, -b.y * unit), 0.0))
    elif kind == "ARC":
        a, b = entity.start_point, entity.end_point
        angle = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0)
        loose.append(((a.x * unit, -a.y * unit), (b.x * unit, -b.y * unit), -math.tan(angle / 4.0)))
    elif kind in ("SPLINE", "ELLIPSE"):
        points = [(p.x * unit, -p.y * unit) for p in entity.flattening(WITHIN_MM / unit)]
        loose.extend((a, b, 0.0) for a, b in pairwise(points))


def _chained(loose: list[tuple[Point, Point, float]]) -> list[Ring]:
    """Closed rings from pieces that meet end to end, in any order and sense."""
    left = [p for p in loose if math.dist(p[0], p[1]) > 1e-9]
    out: list[Ring] = []
    while left:
        first = left.pop(0)
        chain = [first]
        while math.dist(chain[-1][1], chain[0][0]) > _GAP_MM:
            end = chain[-1][1]
            for k, (a, b, bulge) in enumerate(left):
                if math.dist(a, end) <= _GAP_MM:
                    chain.append((a, b, bulge))
                elif math.dist(b, end) <= _GAP_MM:
                    chain.append((b, a, -bulge))
                else:
                    continue
                del left[k]
                break
            else:
                break
        if len(chain) >= 2 and math.dist(chain[-1][1], chain[0][0]) <= _GAP_MM:
            out.append(ring_of([c[0] for c in chain], [c[2] for c in chain]))
    return out


def _problem(file: str, expected: str, received: str, remedy: str) -> InputError:
    return InputError([Problem(file, "", expected, received, remedy)])
