"""The rim of the board, first pass: the innermost edge beside the face, followed along the whole contour at once.

Beyond the rim come the wall of the card, its shadow and the floor. An edge counts by its strength and by how much
what lies just inside it looks like the face; so the far edges of wall and shadow lose.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
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
AGAIN_MM, ALONG_MM = 5.0, (5.0, 20.0)
FACET_MM, STRAIGHT_MM = 2.5, 60.0
CLEAR = 8.0
"""An edge so many times what texture makes is clear; a far stronger one is hardly better: it may be a shadow's."""
STEP_MM = 0.3
FACE_DEEP_MM = 12.0
UNDER_MM = 2.0
PASSED_MM = 0.5
"""An edge loses most of its weight where so much that is not face lies inside of it."""
SOFT = 2.0
"""How much softer the colours of a JPEG may be than its brightness."""
BEYOND = 0.15
_CELLS = 3
_FACE_CELLS = 3
"""The face is looked at in every so many cells of the plan."""
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
    known : array of bool
        False where a sheet lies over it.
    """

    points_mm: Array
    normals: Array
    strength: Array
    hole: bool
    known: npt.NDArray[np.bool_]

    def support(self) -> float:
        """Part of the rim that stands out clearly, 0 to 1."""
        if self.known.mean() < 0.3:
            return 0.0
        sure = self.strength[self.known]
        return float((sure > max(2.5, 0.35 * float(np.median(sure)))).mean())


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
    first = _once(views, scene, face, ring, hole, z_mm, STATION_MM, REACH_MM, max(1.4 * step, 3.0), ())
    if first is None:
        return None
    closed = np.vstack([first.points_mm, first.points_mm[:1]])
    round_mm = float(np.linalg.norm(np.diff(closed, axis=0), axis=1).sum())
    if round_mm > SMALL_RING_MM:
        ring = _straightened(first.points_mm)
        return _once(views, scene, face, ring, hole, z_mm, STATION_MM, AGAIN_MM, 1.5, ALONG_MM) or first
    station = max(0.4, round_mm / 260.0)
    again = _once(views, scene, face, first.points_mm, hole, z_mm, station, 1.8, 1.2, (1.0,))
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
    along_mm: tuple[float, ...],
) -> Rim | None:
    smooth = _resampled(ring, station, smooth_mm)
    if len(smooth) < 10:
        return None
    points, normals = _normals(smooth, hole)
    step = min(STEP_MM, 0.5 * station)
    offsets = np.arange(-reach - 6.0 * step, reach + 6.5 * step, step)
    x, y = across(points, normals, offsets)
    light = np.ascontiguousarray(look(views, scene, x, y, z_mm).transpose(0, 2, 1))
    paper = face.paper(x, y)
    energy = np.zeros(paper.shape)
    soft = SOFT * _blur_mm(views, scene, points, normals, z_mm) / step
    widths = sorted({_CELLS, max(_CELLS, round(2.2 * soft))})
    shift = max(_CELLS, math.ceil(1.5 * soft))
    colours = face.near(points).astype(np.float32)
    for long in (station, *along_mm):
        row = averaged(light, long / station)
        off_face, texture = _off_face(row, colours, face.texture, step)
        for cells in widths:
            found, noise = _energy(row, paper, off_face, texture, step, cells, shift, soft * step)
            clear = found / (CLEAR * noise)
            weight = CLEAR * max(1.0, long / 10.0) / len(widths)
            energy += weight * np.where(clear < 1.0, clear, 1.0 + 0.3 * np.log(np.maximum(clear, 1.0)))
    energy *= np.exp(-0.5 * (offsets / (0.67 * reach)) ** 2)
    path = closed_path(energy)
    rows = np.arange(len(path))
    strength = energy[rows, path] / (1.0 + sum(max(1.0, long / 10.0) for long in along_mm))
    made = points + between(energy, path, offsets)[:, None] * normals
    return Rim(made, normals, strength, hole, ~face.paper(*(made - UNDER_MM * normals).T))


def across(points: Array, normals: Array, offsets: Array) -> tuple[Any, Any]:
    """Places across a rim, x and y, each of shape (points, offsets): as fine as a picture needs them."""
    x, y = (
        points[:, c, None].astype(np.float32) + offsets.astype(np.float32) * normals[:, c, None].astype(np.float32)
        for c in (0, 1)
    )
    return x, y


def between(energy: Array, path: npt.NDArray[np.int64], offsets: Array) -> Array:
    """The top of a parabola through three places of each row."""
    k = np.clip(path, 1, len(offsets) - 2)
    rows = np.arange(len(path))
    low, mid, high = energy[rows, k - 1], energy[rows, k], energy[rows, k + 1]
    curve = low - 2.0 * mid + high
    shift = np.where(curve < -1e-9, 0.5 * (low - high) / np.where(curve < -1e-9, curve, 1.0), 0.0)
    out: Array = offsets[k] + np.clip(shift, -0.5, 0.5) * (offsets[1] - offsets[0])
    return out


def look(views: Sequence[View], scene: Scene, x: Array, y: Array, z_mm: float) -> npt.NDArray[np.float32]:
    """Colours as in the file, shape (..., 3), at places of a plane.

    Each comes from the photograph that shows the place farthest from its border.
    """
    got = np.zeros((*x.shape, 3), np.float32)
    for view, mine, column, row in _shown(views, scene, x, y, z_mm):
        got[mine] = _colours(view, column, row)
    return got


def look_close(
    views: Sequence[View], scene: Scene, x: Array, y: Array, z_mm: float
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """Brightness in linear light, of the shape of ``x``, and the colours of :func:`look`."""
    light, got = np.zeros(x.shape, np.float32), np.zeros((*x.shape, 3), np.float32)
    for view, mine, column, row in _shown(views, scene, x, y, z_mm):
        light[mine] = profiles.samples(view.photo.light, column, row)
        got[mine] = _colours(view, column, row)
    return light, got


def _colours(view: View, column: Array, row: Array) -> npt.NDArray[np.float32]:
    coarse = view.photo.coarse
    if coarse == 1:
        return profiles.samples(view.photo.rgb, column, row)
    return profiles.samples(view.photo.rgb, (column + 0.5) / coarse - 0.5, (row + 0.5) / coarse - 0.5)


def _shown(
    views: Sequence[View], scene: Scene, x: Array, y: Array, z_mm: float
) -> Iterator[tuple[View, Any, Array, Array]]:
    """For each photograph the places that it shows best, and where they are in it."""
    if len(views) == 1:
        yield views[0], ..., *scene.cameras[0].seen(x, y, z_mm)
        return
    flat = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, z_mm)])
    which = nearest_view(views, scene, flat).reshape(x.shape)
    for k, view in enumerate(views):
        mine = which == k
        if mine.any():
            yield view, mine, *scene.cameras[k].seen(x[mine], y[mine], z_mm)


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


def _straightened(ring: Array) -> Array:
    """A ring with its long straight sides drawn straight: along these neighbours can be averaged far."""
    import cv2

    corners = cv2.approxPolyDP(ring.astype(np.float32).reshape(-1, 1, 2), FACET_MM, True).reshape(-1, 2)
    at = [int(np.linalg.norm(ring - c, axis=1).argmin()) for c in corners]
    if len(at) < 3:
        return ring
    parts = []
    for a, b in zip(at, [*at[1:], at[0]], strict=True):
        run = np.arange(a, b if b > a else b + len(ring)) % len(ring)
        straight = float(np.linalg.norm(ring[b] - ring[a])) > STRAIGHT_MM
        parts.append(ring[run[:1]] if straight else ring[run])
    return np.vstack(parts)


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
        cells = np.round(self.plan.cells(points) / _FACE_CELLS).astype(int)
        cells = np.clip(cells, 0, np.array(self.colour.shape[1::-1]) - 1)
        out: Array = self.colour[cells[:, 1], cells[:, 0]].astype(float)
        return out

    def paper(self, x: Array, y: Array) -> npt.NDArray[np.bool_]:
        """Whether a sheet is seen at places of the world."""
        seen = self.plan.paper
        column, row = (
            np.clip(np.rint((v - low) * (1.0 / self.plan.step_mm)), 0, many - 1).astype(np.int32)
            for v, low, many in zip((x, y), self.plan.corner_mm, seen.shape[::-1], strict=True)
        )
        row *= seen.shape[1]
        row += column
        return np.asarray(seen.ravel()[row], np.bool_)


def face_of(plan: Plan, mask: npt.NDArray[np.bool_]) -> Face:
    """Look at the face well inside of its rim, and carry what is seen there outward."""
    import cv2

    step = _FACE_CELLS * plan.step_mm
    solid = (mask & ~plan.paper)[::_FACE_CELLS, ::_FACE_CELLS].astype(np.uint8)
    file = plan.rgb[::_FACE_CELLS, ::_FACE_CELLS].astype(np.float32) / np.float32(255.0)
    core: npt.NDArray[Any] = solid
    for deep in (FACE_DEEP_MM, FACE_DEEP_MM / 3.0, 0.0):
        n = round(deep / step)
        core = cv2.erode(solid, np.ones((2 * n + 1, 2 * n + 1), np.uint8)) if n else solid
        if core.sum() > 0.15 * solid.sum():
            break
    width = max(3, round(60.0 / step)) | 1
    total = cv2.blur(core.astype(np.float32), (width, width))
    mean = cv2.blur(file * core[:, :, None], (width, width)) / np.maximum(total, 1e-6)[:, :, None]
    wide = total > 0.02
    _, labels = cv2.distanceTransformWithLabels(
        (~wide).astype(np.uint8), cv2.DIST_L2, 3, labelType=cv2.DIST_LABEL_PIXEL
    )
    table = np.zeros((int(labels.max()) + 1, 3), np.float32)
    table[labels[wide]] = mean[wide]
    inside = core > 0
    texture = float(np.median(np.linalg.norm(file[inside] - mean[inside], axis=1))) if inside.any() else 0.05
    return Face(table[labels], texture, plan)


def averaged(rows: npt.NDArray[np.float32], stations: float) -> npt.NDArray[np.float32]:
    """Each row with its neighbours, by a Gaussian of so many stations, round and round."""
    import cv2

    reach = min(max(1, math.ceil(2.0 * stations)), len(rows) - 1)
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / stations) ** 2)
    flat = np.concatenate([rows[-reach:], rows, rows[:reach]]).reshape(len(rows) + 2 * reach, -1)
    out = cv2.sepFilter2D(flat, cv2.CV_32F, np.ones(1), weights / weights.sum())
    return np.asarray(out, np.float32)[reach:-reach].reshape(rows.shape)


def _blur_mm(views: Sequence[View], scene: Scene, points: Array, normals: Array, z_mm: float) -> float:
    """How far the picture is blurred across a rim: the sigma of a Gaussian, as of its brightness."""
    few = np.linspace(0, len(points) - 1, 9).round().astype(int)
    ends = [np.column_stack([points[few] + away * normals[few], np.full(9, z_mm)]) for away in (0.0, 1.0)]
    which = nearest_view(views, scene, ends[0])
    seen = [[scene.cameras[k].project(e[i : i + 1])[0] for i, k in enumerate(which)] for e in ends]
    per_mm = np.linalg.norm(np.array(seen[1]) - seen[0], axis=1)
    return scene.blur_px / max(float(np.median(per_mm)), 1e-6)


def _off_face(
    light: npt.NDArray[np.float32], face: npt.NDArray[np.float32], texture: float, step: float
) -> tuple[npt.NDArray[np.float32], float]:
    """How far each place is from the colour of the face, in any light; and what texture alone makes."""
    import cv2

    flat = light.reshape(-1, light.shape[2])
    here = cv2.blur(flat, (3, 1), anchor=(2, 0), borderType=cv2.BORDER_REPLICATE).reshape(light.shape)
    deep = _deep(light, face, max(4, round(3.0 / step)))
    off = np.minimum(_long(here - face[:, :, None]), _long(here - deep[:, :, None]))
    return off, min(texture, float(np.median(off[:, : off.shape[1] // 4])))


def _energy(
    light: npt.NDArray[np.float32],
    paper: npt.NDArray[np.bool_],
    off_face: npt.NDArray[np.float32],
    texture: float,
    step: float,
    cells: int,
    shift: int,
    soft: float,
) -> tuple[npt.NDArray[np.float32], float]:
    """Strength of an edge at each place with nothing but face or a sheet inside of it; and what texture alone makes.

    The edge is looked for between ``cells`` on either side; what lies less than ``shift`` cells inside of it may be the
    blur of the edge itself.
    """
    n = light.shape[2]
    near = _step(light, cells)
    beyond = float(np.median(off_face[:, -max(n // 4, 1) :]))
    wide = max(3.0 * texture, 0.08 * float(np.median(near.max(axis=1))), BEYOND * min(soft, 1.0) ** 2 * beyond, 0.010)
    noise = max(float(np.median(near[:, : n // 4])), 0.004)
    near[:, _CELLS:][paper[:, :-_CELLS]] *= 0.1  # the edge of a sheet
    passed = np.cumsum(np.clip(off_face / wide - 1.0, 0.0, 1.5) * ~paper, axis=1) * (step / PASSED_MM)
    near[:, shift:] *= np.exp(-np.minimum(passed[:, :-shift], 4.0))
    return near, noise


def _step(light: npt.NDArray[np.float32], cells: int) -> npt.NDArray[np.float32]:
    """How far the means of so many cells before and behind each place are apart; the ends of a row go on."""
    import cv2

    rows, colours, n = light.shape
    flat = cv2.copyMakeBorder(light.reshape(-1, n), 0, 0, cells, cells + 1, cv2.BORDER_REPLICATE)
    means = cv2.blur(flat, (cells, 1), anchor=(0, 0), borderType=cv2.BORDER_REPLICATE).reshape(rows, colours, -1)
    return _long(means[:, :, cells + 1 : cells + 1 + n] - means[:, :, :n])


def _long(colours: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Lengths along the middle axis, which has three places."""
    squares = colours * colours
    out: npt.NDArray[np.float32] = np.sqrt(squares[:, 0] + squares[:, 1] + squares[:, 2])
    return out


def _deep(
    light: npt.NDArray[np.float32], face: npt.NDArray[np.float32], cells: int
) -> npt.NDArray[np.float32]:
    """The colour deep inside of each station, where that is the face in another light; else the face again."""
    own = light[:, :, :cells].mean(axis=2)
    own = (np.roll(own, 1, axis=0) + own + np.roll(own, -1, axis=0)) / 3.0
    a, b = own**2.2, face**2.2
    shade = (a * b).sum(axis=1) / np.maximum((b * b).sum(axis=1), 1e-9)
    off = np.linalg.norm(a - shade[:, None] * b, axis=1) / np.maximum(np.linalg.norm(a, axis=1), 1e-9)
    alike = (off < 0.12) & (shade > 0.25) & (shade < 2.0)
    return np.asarray(np.where(alike[:, None], own, face), np.float32)


def closed_path(energy: Array) -> npt.NDArray[np.int64]:
    """One place for each station, strong and smooth, closed to itself."""
    scale = float(np.percentile(energy.max(axis=1), 50)) + 1e-9
    cost = 1.0 - np.minimum(energy / scale, 1.5)
    n, k = len(cost), len(cost) // 8
    first = _open_path(np.vstack([cost, cost[: n // 4 + 1]]))
    if first[k] == first[n + k]:  # a part of the best path is the best between its ends
        return np.roll(first[k : n + k], k)
    turned = np.roll(cost, -k, axis=0)
    turned = np.vstack([turned, turned[:1]])
    turned[[0, -1]] += np.where(np.arange(cost.shape[1]) == first[k], 0.0, 1e6)
    return np.roll(_open_path(turned)[:-1], k)


def _open_path(cost: Array) -> npt.NDArray[np.int64]:
    n, m = cost.shape
    bend = 0.04 * np.abs(np.arange(-_SLOPE, _SLOPE + 1))
    totals = np.full((n, m + 2 * _SLOPE), np.inf)
    inner = totals[:, _SLOPE:-_SLOPE]
    inner[0] = cost[0]
    choices = np.lib.stride_tricks.sliding_window_view(totals, m, axis=1)
    priced, column = np.empty((len(bend), m)), bend[:, None]
    for i in range(1, n):
        np.add(choices[i - 1], column, out=priced)
        np.minimum.reduce(priced, axis=0, out=inner[i])
        inner[i] += cost[i]
    path = np.zeros(n, np.int64)
    path[-1] = k = int(inner[-1].argmin())
    for i in range(n - 1, 0, -1):
        k += int((totals[i - 1, k : k + len(bend)] + bend).argmin()) - _SLOPE
        path[i - 1] = k
    return path
