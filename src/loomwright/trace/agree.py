"""Whether photographs that are joined show one board: its rim must stand out in each of them, not only in the best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from loomwright.trace import rim
from loomwright.trace.camera import Array
from loomwright.trace.fit import Scene, View
from loomwright.trace.picture import refuse
from loomwright.trace.plan import Plan

INSIDE_MM, OUTSIDE_MM = 4.0, 7.0
ALONG = 7
"""Stations of the rim that are looked at together: what card and floor have of texture is then even."""
CLEAR = 0.04
"""A step from face to floor that can be told, of colours from 0 to 1."""
LOST = 0.35
"""Less of the step than this is left in a photograph: there is no rim there."""
MOST_LOST, LEAST_MM = 0.25, 60.0
BORDER = 0.02
"""So near to the border of a photograph, of its longer side, nothing is looked at."""


def check(
    views: Sequence[View], scene: Scene, outer: rim.Rim, face_z: float, floor_z: float, above: Plan, names: str
) -> None:
    """Look for the rim in every photograph that shows its place.

    Raises
    ------
    InputError
        Where a good part of the rim is missing in one: another board, or one that was moved.
    """
    if len(views) < 2:
        return
    inside = outer.points_mm - INSIDE_MM * outer.normals
    outside = outer.points_mm + OUTSIDE_MM * outer.normals
    bare = outer.known & ~_on_paper(above, inside) & ~_on_paper(above, outside)
    steps = []
    for k, view in enumerate(views):
        alone = replace(scene, cameras=(scene.cameras[k],))
        step = _even(_colours(view, alone, inside, face_z)) - _even(_colours(view, alone, outside, floor_z))
        shown = bare & _within(view, scene, k, inside, face_z) & _within(view, scene, k, outside, floor_z)
        steps.append(np.where(shown, np.linalg.norm(step, axis=1), np.nan))
    most = np.fmax.reduce(steps)
    for view, step in zip(views, steps, strict=True):
        told = ~np.isnan(step) & (most > CLEAR)
        lost = told & (step < LOST * most)
        if lost.sum() * rim.STATION_MM > LEAST_MM and lost.sum() > MOST_LOST * told.sum():
            raise refuse(
                names, view.photo.name, "photographs of one board that lies still",
                f"{100.0 * lost.sum() / told.sum():.0f} % of the rim that should be seen in it is not there",
                "Give photographs of one board together, and move neither board nor sheets between them. Trace another "
                "board by itself.",
            )  # fmt: skip


def _colours(view: View, scene: Scene, points: Array, z_mm: float) -> Array:
    got = rim.look((view,), scene, points[:, 0].astype(np.float32), points[:, 1].astype(np.float32), z_mm)
    return np.asarray(got, float)


def _even(rows: Array) -> Array:
    """Each station with its neighbours along the rim."""
    reach = ALONG // 2
    out: Array = np.mean([np.roll(rows, k, axis=0) for k in range(-reach, reach + 1)], axis=0)
    return out


def _within(view: View, scene: Scene, k: int, points: Array, z_mm: float) -> npt.NDArray[np.bool_]:
    px = scene.cameras[k].project(np.column_stack([points, np.full(len(points), z_mm)]))
    size = np.array(view.photo.size_px)
    edge = BORDER * size.max()
    return np.asarray(((px > edge) & (px < size - 1 - edge)).all(axis=1), np.bool_)


def _on_paper(above: Plan, points: Array) -> npt.NDArray[np.bool_]:
    cells = np.clip(np.round(above.cells(points)).astype(int), 0, np.array(above.seen.shape)[::-1] - 1)
    return np.asarray(above.paper[cells[:, 1], cells[:, 0]], np.bool_)
