"""Areas that must read in black: polygons cut to a window and filled with slanting lines."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from loomwright.drawing.marks import Path, Point, Stroke

Window = tuple[float, float, float, float]  # left, top, right, bottom


def cut(points: Sequence[Point], window: Window) -> tuple[Point, ...]:
    """The part of a polygon inside a window (Sutherland and Hodgman, one side after the other)."""
    left, top, right, bottom = window
    out = list(points)
    for axis, limit, keep_low in ((0, left, False), (0, right, True), (1, top, False), (1, bottom, True)):
        before, out = out, []
        for k, b in enumerate(before):
            a = before[k - 1]
            a_in = a[axis] <= limit if keep_low else a[axis] >= limit
            b_in = b[axis] <= limit if keep_low else b[axis] >= limit
            if a_in != b_in:
                t = (limit - a[axis]) / (b[axis] - a[axis])
                out.append((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
            if b_in:
                out.append(b)
    return tuple(out)


def cut_line(points: Sequence[Point], window: Window) -> tuple[tuple[Point, ...], ...]:
    """The pieces of a line inside a window."""
    left, top, right, bottom = window
    pieces: list[list[Point]] = []
    for a, b in itertools.pairwise(points):
        low, high = 0.0, 1.0
        for start, delta, least, most in (
            (a[0], b[0] - a[0], left, right),
            (a[1], b[1] - a[1], top, bottom),
        ):
            if abs(delta) < 1e-12:
                if not least - 1e-9 <= start <= most + 1e-9:
                    low, high = 1.0, 0.0
                continue
            t1, t2 = (least - start) / delta, (most - start) / delta
            low, high = max(low, min(t1, t2)), min(high, max(t1, t2))
        if low >= high:
            continue
        p = (a[0] + low * (b[0] - a[0]), a[1] + low * (b[1] - a[1]))
        q = (a[0] + high * (b[0] - a[0]), a[1] + high * (b[1] - a[1]))
        if pieces and math.dist(pieces[-1][-1], p) < 1e-6:
            pieces[-1].append(q)
        else:
            pieces.append([p, q])
    return tuple(tuple(piece) for piece in pieces)


def hatched(polygon: Sequence[Point], angle_deg: float, pitch_mm: float, stroke: Stroke) -> tuple[Path, ...]:
    """Parallel lines that fill a polygon."""
    if len(polygon) < 3:
        return ()
    angle = math.radians(angle_deg)
    along, across = (math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))
    turned = [(p[0] * along[0] + p[1] * along[1], p[0] * across[0] + p[1] * across[1]) for p in polygon]
    first = math.ceil(min(v for _, v in turned) / pitch_mm)
    last = math.floor(max(v for _, v in turned) / pitch_mm)
    out = []
    for k in range(first, last + 1):
        level = k * pitch_mm + 1e-7
        hits = []
        for i, b in enumerate(turned):
            a = turned[i - 1]
            if (a[1] <= level) != (b[1] <= level):
                hits.append(a[0] + (level - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
        hits.sort()
        for u1, u2 in zip(hits[::2], hits[1::2], strict=False):
            ends = tuple((u * along[0] + level * across[0], u * along[1] + level * across[1]) for u in (u1, u2))
            out.append(Path(ends, stroke))
    return tuple(out)
