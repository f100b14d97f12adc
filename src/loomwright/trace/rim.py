"""The rim of the board, first pass: the innermost edge beside the face, followed along the whole contour at once.

Beyond the rim come the wall of the card, its shadow and the floor. An edge counts by its strength and by how much
what lies just inside it looks like the face; so the far edges of wall and shadow lose.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from loomwright.trace import profiles
from loomwright.trace.camera import Array
from loomwright.trace.fit import Scene, View
from loomwright.trace.plan import Plan

STATION_MM = 1.5
SMALL_RING_MM = 420.0
REACH_MM = 9.0
STEP_MM = 0.3
FACE_DEEP_MM = 12.0
_SLOPE = 2
"""Steps that the rim may move from one station to the next."""


@dataclass(frozen=True, slots=True)
class Rim:
    """The rim as points in order, closed.

    Attributes
    ----------
    points_mm : Array
        Shape (n, 2), world.
    normals : Array
        Away from the board, shape (n, 2).
    strength : Array
        Contrast across the rim over the contrast that texture makes, for each point.
    hole : bool
        True where it bounds a hole.
    """

    points_mm: Array
    normals: Array
    strength: Array
    hole: bool

    def support(self) -> float:
        """Part of the rim that stands out clearly, 0 to 1."""
        return float((self.strength > 2.5).mean())


def contours(mask: npt.NDArray[np.bool_], plan: Plan) -> list[tuple[Array, bool]]:
    """Outer ring first, then holes: points in the world, and whether it is a hole."""
    import cv2

    found, tree = cv2.findContours(mask.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    out = []
    for ring, (_, _, _, parent) in zip(found, tree[0], strict=True):
        if len(ring) >= 8:
            out.append((plan.world(ring.reshape(-1, 2).astype(float)), bool(parent >= 0)))
    return sorted(out, key=lambda r: (r[1], -len(r[0])))


def follow(views: Sequence[View], scene: Scene, face: Face, ring: Array, hole: bool, z_mm: float) -> Rim | None:
    """The rim near a contour, or None where the contour is too short to follow.

    A small ring is followed once more, at stations closer together, from where the first time put it.
    """
    step = face.plan.step_mm
    first = _once(views, scene, face, ring, hole, z_mm, STATION_MM, REACH_MM, max(1.4 * step, 3.0))
    if first is None:
        return None
    closed = np.vstack([first.points_mm, first.points_mm[:1]])
    round_mm = float(np.linalg.norm(np.diff(closed, axis=0), axis=1).sum())
    if round_mm > SMALL_RING_MM:
        return first
    station = max(0.4, round_mm / 260.0)
    again = _once(views, scene, face, first.points_mm, hole, z_mm, station, 1.8, 1.2)
    return again or first


def _once(
    views: Sequence[View],
    scene: Scene,
    face: Face,
    ring: Array,
    hole: bool,
    z_mm: float,
    station: float,
    reach: float,
    smooth_mm: float,
) -> Rim | None:
    smooth = _resampled(ring, station, smooth_mm)
    if len(smooth) < 10:
        return None
    points, normals = _normals(smooth, hole)
    step = min(STEP_MM, 0.5 * station)
    offsets = np.arange(-reach - 6.0 * step, reach + 6.5 * step, step)
    light = look(views, scene, points[:, None, :] + offsets[:, None] * normals[:, None, :], z_mm)
    light = (np.roll(light, 1, axis=0) + light + np.roll(light, -1, axis=0)) / np.float32(3.0)
    energy, noise = _energy(light.astype(float), face.near(points), face.texture)
    energy *= np.exp(-0.5 * (offsets / (0.67 * reach)) ** 2)
    path = _path(energy)
    rows = np.arange(len(path))
    strength = energy[rows, path] / noise
    return Rim(points + _between(energy, path, offsets)[:, None] * normals, normals, strength, hole)


def _between(energy: Array, path: npt.NDArray[np.int64], offsets: Array) -> Array:
    """The top of a parabola through three places of each row."""
    k = np.clip(path, 1, len(offsets) - 2)
    rows = np.arange(len(path))
    low, mid, high = energy[rows, k - 1], energy[rows, k], energy[rows, k + 1]
    curve = low - 2.0 * mid + high
    shift = np.where(curve < -1e-9, 0.5 * (low - high) / np.where(curve < -1e-9, curve, 1.0), 0.0)
    out: Array = offsets[k] + np.clip(shift, -0.5, 0.5) * (offsets[1] - offsets[0])
    return out


def look(
    views: Sequence[View], scene: Scene, places: Array, z_mm: float, brightness: bool = False
) -> npt.NDArray[np.float32]:
    """Colours as in the file, shape (..., 3), or brightness in linear light, shape (...), at places of a plane.

    Each comes from the photograph that shows the place farthest from its border.
    """
    flat = np.column_stack([places.reshape(-1, 2), np.full(places.size // 2, z_mm)])
    which = nearest_view(views, scene, flat)
    got = np.zeros(len(flat) if brightness else (len(flat), 3), np.float32)
    for k, view in enumerate(views):
        mine = which == k
        if not mine.any():
            continue
        picture = view.photo.light if brightness else view.photo.rgb
        got[mine] = profiles.samples(picture, scene.cameras[k].project(flat[mine]))
    return got.reshape(*places.shape[:-1], *got.shape[1:])


def nearest_view(views: Sequence[View], scene: Scene, points: Array) -> npt.NDArray[np.int64]:
    """For each point the photograph in which it lies farthest from the border."""
    if len(views) == 1:
        return np.zeros(len(points), np.int64)
    room = []
    for k, view in enumerate(views):
        px = scene.cameras[k].project(points)
        size = np.array(view.photo.size_px)
        room.append(np.minimum(px, size - 1 - px).min(axis=1) / size.max())
    best: npt.NDArray[np.int64] = np.argmax(np.array(room), axis=0)
    return best


def _resampled(ring: Array, step: float, smooth_mm: float) -> Array:
    """Evenly spaced and smoothed a little, by a Gaussian of so many millimetres."""
    closed = np.vstack([ring, ring[:1]])
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    n = max(int(run[-1] / step), 8)
    at = np.arange(n) * run[-1] / n
    even = np.column_stack([np.interp(at, run, closed[:, k]) for k in (0, 1)])
    sigma = min(smooth_mm * n / run[-1], n / 16.0)
    reach = int(4 * sigma) + 1
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    weights /= weights.sum()
    out = np.zeros_like(even)
    for k, w in enumerate(weights):
        out += w * np.roll(even, reach - k, axis=0)
    return out


def _normals(points: Array, hole: bool) -> tuple[Array, Array]:
    """Points with unit normals that lead away from the board; outer rings run one way, holes the other."""
    x, y = points[:, 0], points[:, 1]
    area = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
    if (area > 0.0) == hole:
        points = points[::-1]
    ahead = np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0)
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1, keepdims=True), 1e-9)
    return points, np.column_stack([ahead[:, 1], -ahead[:, 0]])


@dataclass(frozen=True, slots=True)
class Face:
    """The usual colour of the board's face near each place, as in the file, and its texture."""

    colour: npt.NDArray[np.float32]
    texture: float
    plan: Plan

    def near(self, points: Array) -> Array:
        """The colour near points of the world, shape (n, 3)."""
        cells = np.round(self.plan.cells(points) / 2.0).astype(int)
        cells = np.clip(cells, 0, np.array(self.colour.shape[1::-1]) - 1)
        out: Array = self.colour[cells[:, 1], cells[:, 0]].astype(float)
        return out


def face_of(plan: Plan, mask: npt.NDArray[np.bool_]) -> Face:
    """Look at the face well inside of its rim, and carry what is seen there outward."""
    import cv2

    step = 2.0 * plan.step_mm
    solid = (mask & ~plan.paper)[::2, ::2].astype(np.uint8)
    core: npt.NDArray[Any] = solid
    for deep in (FACE_DEEP_MM, FACE_DEEP_MM / 3.0, 0.0):
        n = round(deep / step)
        core = cv2.erode(solid, np.ones((2 * n + 1, 2 * n + 1), np.uint8)) if n else solid
        if core.sum() > 0.15 * solid.sum():
            break
    file = plan.rgb[::2, ::2].astype(np.float32) / np.float32(255.0)
    width = round(60.0 / step) | 1
    total = cv2.blur(core.astype(np.float32), (width, width))
    mean = cv2.blur(file * (core > 0)[:, :, None], (width, width)) / np.maximum(total, 1e-6)[:, :, None]
    wide = total > 0.02
    _, labels = cv2.distanceTransformWithLabels(
        (~wide).astype(np.uint8), cv2.DIST_L2, 3, labelType=cv2.DIST_LABEL_PIXEL
    )
    table = np.zeros((int(labels.max()) + 1, 3), np.float32)
    table[labels[wide]] = mean[wide]
    inside = core > 0
    texture = float(np.median(np.linalg.norm(file[inside] - mean[inside], axis=1))) if inside.any() else 0.05
    return Face(table[labels], texture, plan)


def _energy(light: Array, face: Array, texture: float) -> tuple[Array, float]:
    """Strength of an edge at each place that has the face on its inner side; and what texture alone makes."""
    n = light.shape[1]
    sums = np.concatenate([np.zeros((len(light), 1, 3)), np.cumsum(light, axis=1, dtype=float)], axis=1)

    def mean(first: int, last: int) -> Array:
        """Mean over cells first..last-1 relative to each place, held inside the strip."""
        k = np.arange(n)
        a, b = np.clip(k + first, 0, n - 1), np.clip(k + last, 1, n)
        b = np.maximum(b, a + 1)
        out: Array = (sums[:, b] - sums[:, a]) / (b - a)[None, :, None]
        return out

    inner, outer = mean(-3, 0), mean(1, 4)
    near = np.linalg.norm(outer - inner, axis=2)
    off_face = np.linalg.norm(mean(-5, -1) - face[:, None, :], axis=2)
    contrast = float(np.median(near.max(axis=1)))
    wide = max(3.0 * texture, 0.3 * contrast, 0.02)
    noise = max(float(np.median(near[:, : n // 4])), 0.004)
    return near * np.exp(-0.5 * (off_face / wide) ** 2), noise


def _path(energy: Array) -> npt.NDArray[np.int64]:
    """One place for each station, strong and smooth, closed to itself."""
    scale = float(np.percentile(energy.max(axis=1), 50)) + 1e-9
    cost = 1.0 - np.minimum(energy / scale, 1.5)
    first = _open_path(np.vstack([cost, cost[: len(cost) // 4 + 1]]))
    k = len(cost) // 8
    turned = np.roll(cost, -k, axis=0)
    turned = np.vstack([turned, turned[:1]])
    turned[[0, -1]] += np.where(np.arange(cost.shape[1]) == first[k], 0.0, 1e6)
    return np.roll(_open_path(turned)[:-1], k)


def _open_path(cost: Array) -> npt.NDArray[np.int64]:
    n, m = cost.shape
    total = cost[0].copy()
    back = np.zeros((n, m), np.int64)
    shifts = range(-_SLOPE, _SLOPE + 1)
    for i in range(1, n):
        choices = np.full((len(shifts), m), np.inf)
        for row, s in enumerate(shifts):
            bend = 0.04 * abs(s)
            if s < 0:
                choices[row, :s] = total[-s:] + bend
            elif s > 0:
                choices[row, s:] = total[:-s] + bend
            else:
                choices[row] = total
        best = choices.argmin(axis=0)
        total = choices[best, np.arange(m)] + cost[i]
        back[i] = np.arange(m) - (best - _SLOPE)
    path = np.zeros(n, np.int64)
    path[-1] = int(total.argmin())
    for i in range(n - 1, 0, -1):
        path[i - 1] = back[i, path[i]]
    return path
