"""The scene from straight above, put together from every photograph, at the height of the board's face."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from loomwright.trace import layout
from loomwright.trace.camera import Array
from loomwright.trace.fit import Scene, View

LONG_PX, LEAST_STEP_MM = 800, 0.7
REACH_OF_HEIGHT = 1.5
"""Nothing is looked at that lies farther from the foot of the camera, in heights of the camera: too slanted."""
_REDUCED_PX = 2000
_PAPER_BRIGHT, _PAPER_HUE = 0.55, 0.16
LINEAR = ((np.arange(256) / 255.0) ** 2.2).astype(np.float32)
"""Light of a value in the file, about."""


@dataclass(frozen=True, slots=True)
class Plan:
    """The scene from above.

    Attributes
    ----------
    rgb : array
        Shape (rows, columns, 3), 0 to 255.
    seen : array of bool
        False where no photograph looks.
    paper : array of bool
        True where a marker sheet is seen.
    pages : dict
        For each sheet, True on its whole page, hidden or not.
    corner_mm : tuple
        World coordinates of the middle of the upper left cell.
    step_mm : float
        From cell to cell.
    """

    rgb: npt.NDArray[np.uint8]
    seen: npt.NDArray[np.bool_]
    paper: npt.NDArray[np.bool_]
    pages: dict[int, npt.NDArray[np.bool_]]
    corner_mm: tuple[float, float]
    step_mm: float

    def world(self, cells: Array) -> Array:
        """Column and row to world [mm]."""
        out: Array = np.asarray(self.corner_mm) + cells * self.step_mm
        return out

    def cells(self, world_mm: Array) -> Array:
        """World [mm] to column and row."""
        out: Array = (world_mm - np.asarray(self.corner_mm)) / self.step_mm
        return out


def draw(views: Sequence[View], scene: Scene, z_mm: float, box_mm: tuple[Array, Array] | None = None) -> Plan:
    """The scene from above at a height; all of it, or a box from its upper left to its lower right corner."""
    import cv2

    borders = [_border(view, scene, k, z_mm) for k, view in enumerate(views)]
    every = np.vstack(borders)
    low, high = every.min(axis=0), every.max(axis=0)
    if box_mm is not None:
        low, high = np.maximum(low, box_mm[0]), np.minimum(high, box_mm[1])
    step = max(float((high - low).max()) / LONG_PX, LEAST_STEP_MM)
    columns, rows = (int(n) for n in np.ceil((high - low) / step) + 1)
    rgb, seen = np.zeros((rows, columns, 3), np.uint8), np.zeros((rows, columns), np.uint8)
    best = np.zeros((rows, columns), np.float32) if len(views) > 1 else None
    net_x, net_y = np.arange(0, columns + 8, 8), np.arange(0, rows + 8, 8)
    grid = np.column_stack([g.ravel() for g in np.meshgrid(net_x, net_y)]).astype(float)
    points = np.column_stack([low + grid * step, np.full(len(grid), z_mm)])
    for k, view in enumerate(views):
        small, times = view.photo.smaller(_REDUCED_PX)
        at = ((scene.cameras[k].project(points) + 0.5) / times - 0.5).reshape(len(net_y), len(net_x), 2)
        wide = np.array([[8.0, 0.0, 0.0], [0.0, 8.0, 0.0]])
        x, y = cv2.split(cv2.warpAffine(np.asarray(at, np.float32), wide, (columns, rows), flags=cv2.INTER_LINEAR))
        inside = np.zeros((rows, columns), np.uint8)
        cv2.fillPoly(inside, [np.round((borders[k] - low) / step * 16.0).astype(np.int32)], 1, shift=4)
        if best is not None:  # each place from the photograph that shows it farthest from its border
            room = np.minimum(np.minimum(x, small.shape[1] - x), np.minimum(y, small.shape[0] - y))
            room = np.where(inside > 0, np.maximum(room, np.float32(0.01)), np.float32(0.0))
            inside = np.asarray(room > best, np.uint8)
            best = np.maximum(best, room)
        cv2.copyTo(cv2.remap(small, x, y, cv2.INTER_LINEAR), inside, rgb)
        seen |= inside
    pages = {key: _page(scene, key, low, step, (rows, columns)) for key in scene.keys}
    paper = np.zeros((rows, columns), bool)
    for key in scene.keys:
        paper |= _paper(rgb, pages[key], _marks(views, scene, key, low, step, (rows, columns)), step)
    return Plan(rgb, seen > 0, paper, pages, (float(low[0]), float(low[1])), step)


def _border(view: View, scene: Scene, k: int, z_mm: float) -> Array:
    """The border of a photograph on the plane, a little inside so that lens and rounding do no harm."""
    width, height = view.photo.size_px
    a, b = np.linspace(2, width - 3, 40), np.linspace(2, height - 3, 30)
    ring = np.vstack(
        [
            np.column_stack([a, np.full(40, 2.0)]),
            np.column_stack([np.full(30, width - 3.0), b]),
            np.column_stack([a[::-1], np.full(40, height - 3.0)]),
            np.column_stack([np.full(30, 2.0), b[::-1]]),
        ]
    )
    camera = scene.cameras[k]
    at = camera.on_plane(ring, z_mm)
    seen = np.vstack([np.linalg.norm(at - camera.eye_mm()[:2], axis=1)])
    reach = REACH_OF_HEIGHT * abs(float(camera.eye_mm()[2]))
    far = seen[0] > reach
    at[far] = camera.eye_mm()[:2] + (at[far] - camera.eye_mm()[:2]) * (reach / seen[0][far])[:, None]
    return at


def _filled(rings: list[Array], low: Array, step: float, shape: tuple[int, int]) -> npt.NDArray[np.bool_]:
    import cv2

    out = np.zeros(shape, np.uint8)
    cv2.fillPoly(out, [np.round((r - low) / step * 16.0).astype(np.int32) for r in rings], 1, shift=4)
    return out > 0


def _page(scene: Scene, key: int, low: Array, step: float, shape: tuple[int, int]) -> npt.NDArray[np.bool_]:
    made = layout.sheet_by_key(key)
    m = 2.5
    w, h = made.width_mm + m, made.height_mm + m
    ring = np.array([[-m, -m], [w, -m], [w, h], [-m, h]])
    return _filled([scene.places[key].world(ring)[:, :2]], low, step, shape)


def _marks(
    views: Sequence[View], scene: Scene, key: int, low: Array, step: float, shape: tuple[int, int]
) -> npt.NDArray[np.bool_]:
    """Markers that were seen, with the white round them."""
    ids = {i for v in views for s in v.seen if s.key == key for i in s.ids}
    rings = []
    for m in layout.sheet_by_key(key).markers:
        if m.id in ids:
            x, y, a, g = m.x_mm, m.y_mm, layout.MARKER_MM, 0.8 * layout.CELL_MM
            ring = np.array([[x - g, y - g], [x + a + g, y - g], [x + a + g, y + a + g], [x - g, y + a + g]])
            rings.append(scene.places[key].world(ring)[:, :2])
    return _filled(rings, low, step, shape)


def _paper(
    rgb: npt.NDArray[np.uint8], page: npt.NDArray[np.bool_], marks: npt.NDArray[np.bool_], step: float
) -> npt.NDArray[np.bool_]:
    """Where the sheet itself is seen: its markers, and what is as white as the white about them."""
    import cv2

    if not (marks & page).any():
        return page
    rows, columns = np.flatnonzero(page.any(axis=1)), np.flatnonzero(page.any(axis=0))
    box = (slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1))
    out = np.zeros(page.shape, bool)
    page, marks = page[box], marks[box]
    light = LINEAR[rgb[box]]
    inside = light[marks]
    bright = inside[inside.sum(axis=1) >= np.percentile(inside.sum(axis=1), 70)]
    white = np.median(bright, axis=0)
    ratio = light / np.maximum(white, 1e-3)
    level = ratio.mean(axis=2)
    hue = ratio.max(axis=2) - ratio.min(axis=2)
    like = page & (level > _PAPER_BRIGHT * 0.8) & (hue < _PAPER_HUE * np.maximum(level, 0.3)) | marks
    size = max(3, 2 * math.ceil(3.0 / step) + 1)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    closed = cv2.morphologyEx(like.astype(np.uint8), cv2.MORPH_CLOSE, kernel)
    grown = cv2.dilate(closed, np.ones((3, 3), np.uint8))
    out[box] = (grown > 0) & page
    return out
