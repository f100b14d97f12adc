"""Holes as they are cut: round, or a slot with square, rounded or round ends. Tried before any other shape."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from loomwright.trace.camera import Array
from loomwright.trace.shape import Piece, circle_through

NEAR_MM, MOST_OFF_MM = 0.15, 0.45
KEPT = 60.0
"""This part of a ring [%] keeps to its shape; what is seen along the shape decides."""
ASTRAY = 6.0
"""A ring so many times farther off than a round one is still measured as one."""
LEAST_POINTS = 4
SHARP_MM = 3.5
"""Corners rounded by less are taken for square."""


@dataclass(frozen=True, slots=True)
class Plain:
    """A plain hole: points of the rim moved onto it, and its pieces."""

    points_mm: Array
    pieces: tuple[Piece, ...]


def plain(points: Array, known: npt.NDArray[np.bool_]) -> Iterator[Plain]:
    """Plain holes that a ring may keep to, a few stretches that went astray left out: round, slot, slot with any round.

    A ring that is round but for its first look may be a round hole too: to be measured, and believed where that fits.
    """
    if not known.mean() > 0.7:
        return
    for loose in (1.0, ASTRAY):
        made = _round(points, known, loose)
        if made is not None:
            yield made
            break
    for state in _slots(points, known):
        if _good(_off(state, points), known, 2.0 * float(max(state[3], state[4]))):
            made = _cut(state, points)
            if made is not None:
                yield made


def _good(off: Array, known: npt.NDArray[np.bool_], size_mm: float, times: float = 1.0) -> bool:
    away = np.abs(off[known])
    loose = times * max(1.0, size_mm / 60.0)
    return float(np.median(away)) < NEAR_MM * loose and float(np.percentile(away, KEPT)) < MOST_OFF_MM * loose


def _round(points: Array, known: npt.NDArray[np.bool_], loose: float) -> Plain | None:
    weights = known.astype(float)
    made = None
    for _ in range(8):
        made = circle_through(points, weights)
        if made is None or made.radius_mm > 400.0:
            return None
        off = np.linalg.norm(points - made.centre, axis=1) - made.radius_mm
        scale = max(1.5 * float(np.median(np.abs(off))), 0.05)
        weights = known / (1.0 + (off / (2.0 * scale)) ** 2)
    assert made is not None
    if not _good(off, known, 2.0 * made.radius_mm, loose):
        return None
    on = points - off[:, None] * (points - made.centre) / (made.radius_mm + off)[:, None]
    return Plain(on, (Piece(0, len(points), "arc"),))


def _off(state: Array, points: Array) -> Array:
    """Distance of points to a rectangle with rounded corners, negative inside."""
    x, y, turn, half_w, half_h, r = state
    c, s = math.cos(turn), math.sin(turn)
    p = points - [x, y]
    local = np.abs(np.column_stack([c * p[:, 0] + s * p[:, 1], c * p[:, 1] - s * p[:, 0]]))
    q = local - [half_w - r, half_h - r]
    out: Array = np.linalg.norm(np.maximum(q, 0.0), axis=1) + np.minimum(q.max(axis=1), 0.0) - r
    return out


def _slots(points: Array, known: npt.NDArray[np.bool_]) -> Iterator[Array]:
    """The slot of least distances, where its corners are rounded by much; and one with square corners."""
    import cv2

    (x, y), (w, h), angle = cv2.minAreaRect(points[known].astype(np.float32))
    if min(w, h) < 4.0:
        return
    small = min(w, h) / 2.0
    on = points[known]
    tries = list[tuple[float, Array]]()
    for r, free, price in ((0.0, [0, 1, 2, 3, 4], 1.0), (small, [0, 1, 2, 3, 4], 1.0), (0.5 * small, None, 1.2)):
        state = np.array([x, y, math.radians(angle), w / 2.0, h / 2.0, r])
        made = _fitted(state, on, free, round_ends=r == small)
        tries.append((price * float(np.minimum(np.abs(_off(made, on)), 1.0).sum()), made))
    state = min(tries, key=lambda t: t[0])[1]
    square, least = tries[0][1], 0.85 * float(min(state[3], state[4]))
    if state[5] >= min(SHARP_MM, least):
        yield state
    if state[5] < least:
        yield square


def _fitted(state: Array, points: Array, free: list[int] | None = None, round_ends: bool = False) -> Array:
    """Gauss-Newton on distances, those far off held down."""
    use = list(range(6)) if free is None else free

    def bounded(s: Array) -> Array:
        s = s.copy()
        s[3:5] = np.maximum(s[3:5], 1.0)
        s[5] = min(s[3], s[4]) if round_ends else min(max(s[5], 0.0), s[3], s[4])
        return s

    state = bounded(state)
    for _ in range(14):
        off = _off(state, points)
        scale = max(1.5 * float(np.median(np.abs(off))), 0.05)
        weights = 1.0 / (1.0 + (off / (2.0 * scale)) ** 2)
        columns = []
        for k in use:
            step = np.zeros(6)
            step[k] = 1e-4
            columns.append((_off(bounded(state + step), points) - _off(bounded(state - step), points)) / 2e-4)
        j = np.column_stack(columns)
        normal = (j.T * weights) @ j + 1e-3 * np.eye(len(use))
        move = -np.linalg.solve(normal, (j.T * weights) @ off)
        full = np.zeros(6)
        full[use] = np.clip(move, -3.0, 3.0)
        full[2] = float(np.clip(full[2], -0.1, 0.1))
        state = bounded(state + full)
        if float(np.abs(full).max()) < 1e-4:
            break
    return state


def _cut(state: Array, points: Array) -> Plain | None:
    """Points moved onto the slot, and where its pieces start among them."""
    x, y, turn, a, b, r = (float(v) for v in state)
    if a < b:
        a, b, turn = b, a, turn + math.pi / 2.0
    state = np.array([x, y, turn, a, b, r])
    c, s = math.cos(turn), math.sin(turn)
    h = 1e-4
    off = _off(state, points)
    slope = [(_off(state, points + d) - _off(state, points - d)) / (2.0 * h) for d in h * np.eye(2)]
    on = points - off[:, None] * np.column_stack(slope)
    corners, kinds = _joints(a, b, r)
    corners = corners @ np.array([[c, s], [-s, c]]) + [x, y]
    area = float((points[:, 0] * np.roll(points[:, 1], -1) - np.roll(points[:, 0], -1) * points[:, 1]).sum())
    if area < 0.0:  # the ring runs the other way
        corners, kinds = corners[::-1], [*kinds[-2::-1], kinds[-1]]
    n = len(points)
    at = [int(np.linalg.norm(on - p, axis=1).argmin()) for p in corners]
    first = at[0]
    run = [*((k - first) % n for k in at), n]
    if any(run[k + 1] - run[k] < LEAST_POINTS for k in range(len(kinds))):
        return None
    return Plain(on, tuple(Piece(first + run[k], first + run[k + 1], kind) for k, kind in enumerate(kinds)))


def _joints(a: float, b: float, r: float) -> tuple[Array, list[Literal["line", "arc"]]]:
    """Where the pieces of a slot start, clockwise in x right, y down from the upper right, and their kinds."""
    if r <= 0.0:
        return np.array([[a, -b], [a, b], [-a, b], [-a, -b]]), ["line"] * 4
    if r >= b:
        return np.array([[a - r, -b], [a - r, b], [r - a, b], [r - a, -b]]), ["arc", "line", "arc", "line"]
    right = [[a - r, -b], [a, r - b], [a, b - r], [a - r, b]]
    return np.array([*right, *([-u, -v] for u, v in right)]), ["arc", "line"] * 4
