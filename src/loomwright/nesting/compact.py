"""The last fraction of a step: pieces pushed to the left, then up, off the grid, exactly."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np
import shapely  # type: ignore[import-untyped]

from loomwright.nesting.nofit import NoFit
from loomwright.nesting.shapes import Variant

Placed = tuple[Variant, float, float]
Box = tuple[float, float, float, float]
SWEEPS = 4
REACH = 3.0
LEAST_MM = 1e-3
EXACT_MM = 1e-6


def compacted(
    placed: Sequence[Placed], nofit: NoFit, room: Box, missing: Sequence[Placed] = (), sweeps: int = SWEEPS
) -> list[Placed]:
    """The same pieces, each moved to the leftmost, then up, as far as is free near it."""
    out = list(placed)
    for _ in range(sweeps):
        moved = False
        for across in (True, False):
            for k in sorted(range(len(out)), key=lambda k: (out[k][1], out[k][2], k)):
                new = _pushed(out, k, nofit, room, missing, across)
                if new is not None:
                    out[k] = new
                    moved = True
        if not moved:
            break
    return out


def _pushed(
    placed: Sequence[Placed], k: int, nofit: NoFit, room: Box, missing: Sequence[Placed], across: bool
) -> Placed | None:
    v, x, y = placed[k]
    reach = REACH * nofit.step_mm
    taken = shapely.union_all([
        shapely.transform(nofit.polygon(o, v), partial(np.add, (ox, oy)))
        for n, (o, ox, oy) in enumerate([*placed, *missing])
        if n != k and _near(v, x, y, o, ox, oy, reach)
    ])  # fmt: skip
    top = max(y - reach, room[1])
    if not across:
        if y - top < LEAST_MM:
            return None
        free = shapely.LineString([(x, top), (x, y)]).difference(taken.buffer(-EXACT_MM))
        ny = min((float(b) for _, b in shapely.get_coordinates(free)), default=y)
        return (v, x, ny) if ny < y - LEAST_MM else None
    left, below = max(x - reach, room[0]), min(y + reach, room[3] - v.height_mm)
    if x - left < LEAST_MM or below < top:
        return None
    points = [(float(a), float(b)) for a, b in shapely.get_coordinates(shapely.box(left, top, x, below) - taken)]
    if not points:
        return None
    nx, ny = min(points, key=lambda p: (round(p[0], 6), abs(p[1] - y), p[1]))
    return (v, nx, ny) if nx < x - LEAST_MM else None


def _near(v: Variant, x: float, y: float, o: Variant, ox: float, oy: float, reach: float) -> bool:
    return (
        ox < x + v.width_mm + reach and x - reach < ox + o.width_mm
        and oy < y + v.height_mm + reach and y - reach < oy + o.height_mm
    )  # fmt: skip
