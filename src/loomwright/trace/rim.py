"""The rim of the board, first pass: the innermost edge beside the face, followed along the whole contour at once.

Beyond the rim come the wall of the card, its shadow and the floor. An edge counts by its strength and by how much
what lies just inside it looks like the face; so the far edges of wall and shadow lose.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from loomwright.trace import profiles
from loomwright.trace.camera import Array
from loomwright.trace.fit import Scene, View
from loomwright.trace.plan import Plan

STATION_MM = 1.5
REACH_MM = 9.0
STEP_MM = 0.25
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


def follow(
    views: Sequence[View], scene: Scene, plan: Plan, mask: npt.NDArray[np.bool_], ring: Array, hole: bool, z_mm: float
) -> Rim | None:
    """The rim near a contour, or None where the contour is too short to follow."""
    smooth = _resampled(ring, STATION_MM)
    if len(smooth) < 10:
        return None
    points, normals = _normals(smooth, hole, mask, plan)
    offsets = np.arange(-REACH_MM, REACH_MM + STEP_MM / 2.0, STEP_MM)
    places = points[:, None, :] + offsets[:, None] * normals[:, None, :]
    light = look(views, scene, places, z_mm)
    light = (np.roll(light, 1, axis=0) + light + np.roll(light, -1, axis=0)) / 3.0
    face, texture = _face(plan, mask, points, normals)
    energy, noise = _energy(light, face, texture)
    energy *= np.exp(-0.5 * (offsets / 6.0) ** 2)
    path = _path(energy)
    rows = np.arange(len(path))
    at = points + offsets[path][:, None] * normals
    strength = energy[rows, path] / noise
    return Rim(at, normals, strength, hole)


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
        mine = slice(None) if len(views) == 1 else which == k
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
    return np.argmax(np.array(room), axis=0)


def _resampled(ring: Array, step: float) -> Array:
    """Evenly spaced and smoothed a little; corners lose about a step."""
    closed = np.vstack([ring, ring[:1]])
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    n = max(int(run[-1] / step), 8)
    at = np.arange(n) * run[-1] / n
    even = np.column_stack([np.interp(at, run, closed[:, k]) for k in (0, 1)])
    sigma = min(2.0, n / 16.0)
    reach = int(4 * sigma) + 1
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    weights /= weights.sum()
    out = np.zeros_like(even)
    for k, w in enumerate(weights):
        out += w * np.roll(even, reach - k, axis=0)
    return out


def _normals(points: Array, hole: bool, mask: npt.NDArray[np.bool_], plan: Plan) -> tuple[Array, Array]:
    """Points with unit normals that lead away from the board; outer rings run one way, holes the other."""
    x, y = points[:, 0], points[:, 1]
    area = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
    if (area > 0.0) == hole:
        points = points[::-1]
    ahead = np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0)
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1, keepdims=True), 1e-9)
    return points, np.column_stack([ahead[:, 1], -ahead[:, 0]])


def _face(plan: Plan, mask: npt.NDArray[np.bool_], points: Array, normals: Array) -> tuple[Array, float]:
    """The usual colour of the face near each station (as in the file), and its texture."""
    import cv2

    step = plan.step_mm
    for deep in (FACE_DEEP_MM, FACE_DEEP_MM / 3.0, 0.0):
        n = round(deep / step)
        solid = (mask & ~plan.paper).astype(np.uint8)
        core = cv2.erode(solid, np.ones((3, 3), np.uint8), iterations=n) if n else solid
        if core.sum() > 0.15 * mask.sum():
            break
    root = (plan.rgb.astype(np.float32) / np.float32(255.0)) * (core > 0)[:, :, None]
    width = round(60.0 / step) | 1
    total = cv2.blur(core.astype(np.float32), (width, width))
    mean = cv2.blur(root, (width, width)) / np.maximum(total, 1e-6)[:, :, None]
    wide = total > 0.02
    away, labels = cv2.distanceTransformWithLabels((~wide).astype(np.uint8), cv2.DIST_L2, 3, labelType=cv2.DIST_LABEL_PIXEL)
    del away
    table = np.zeros((int(labels.max()) + 1, 3), np.float32)
    table[labels[wide]] = mean[wide]
    cells = np.clip(np.round(plan.cells(points)).astype(int), 0, [mask.shape[1] - 1, mask.shape[0] - 1])
    inside = core > 0
    texture = float(np.median(np.linalg.norm(root - mean, axis=2)[inside])) if inside.any() else 0.05
    return table[labels[cells[:, 1], cells[:, 0]]].astype(float), texture


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

    inner, outer = mean(-4, 0), mean(1, 5)
    near = np.linalg.norm(outer - inner, axis=2)
    off_face = np.linalg.norm(mean(-6, -1) - face[:, None, :], axis=2)
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
