"""Bows where one wire passes over another: what crosses without a bow or a dot does not exist on a diagram."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

from loomwright.drawing.marks import Point, arc_points

_RADIUS_MM = 2.0
_LEAST_MM = 0.45  # a bow smaller than this is not seen
_NEAR_MM = 1e-6

Pieces = Mapping[str, tuple[tuple[Point, ...], ...]]


def hopped(pieces: Pieces) -> dict[str, tuple[tuple[Point, ...], ...]]:
    """The same wires, each with a bow upward where its level part crosses an upright part of another wire."""
    uprights = [
        (wire, a[0], min(a[1], b[1]), max(a[1], b[1]))
        for wire, runs in sorted(pieces.items())
        for points in runs
        for a, b in itertools.pairwise(points)
        if abs(a[0] - b[0]) < _NEAR_MM
    ]
    return {
        wire: tuple(_bowed(points, [u[1:] for u in uprights if u[0] != wire]) for points in runs)
        for wire, runs in pieces.items()
    }


def _bowed(points: Sequence[Point], uprights: Sequence[tuple[float, float, float]]) -> tuple[Point, ...]:
    out = list(points[:1])
    for a, b in itertools.pairwise(points):
        if abs(a[1] - b[1]) < _NEAR_MM:
            left, right = sorted((a[0], b[0]))
            y = a[1]
            bows = _bows(sorted({x for x, top, low in uprights if left < x < right and top < y < low}), left, right)
            arcs = [arc_points((x, y), radius, 180.0, 360.0, 12) for x, radius in bows]
            if a[0] > b[0]:
                arcs = [arc[::-1] for arc in reversed(arcs)]
            for arc in arcs:
                out += arc
        out.append(b)
    return tuple(out)


def _bows(crossings: Sequence[float], left: float, right: float) -> list[tuple[float, float]]:
    """Middle and radius of each bow on a level line; bows never touch, nor reach past the ends of the line."""
    found = []
    for k, x in enumerate(crossings):
        before = (x - crossings[k - 1]) / 2 if k else x - left
        after = (crossings[k + 1] - x) / 2 if k + 1 < len(crossings) else right - x
        radius = min(_RADIUS_MM, before, after)
        if radius >= _LEAST_MM:
            found.append((x, radius))
    return found
