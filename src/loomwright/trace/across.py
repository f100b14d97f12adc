"""Light across a rim: face, wall of the card and floor are two steps a known way apart, blurred alike, and a
shadow that fades on the floor. What this leaves unexplained, for a rim at each place that may be it, tells where it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from loomwright.trace import rim as first_pass
from loomwright.trace.camera import Array
from loomwright.trace.fit import Scene, View

HUES = np.array([[0.5, -0.4187, -0.0813], [-0.1687, -0.3313, 0.5]])
"""Cr and Cb of JPEG (ITU-T T.871), from red, green and blue."""
MOST_WALL_MM = 20.0
LIGHT_TRUST, HUE_TRUST, HUE_BLUR = 0.012, 0.05, 1.6
"""Part of the contrast to which blur and colours can be modelled; how much softer the colours of a JPEG are."""
_WIDE, _FINE = 6.0, 1000.0
_NORMAL = np.array([0.5 * (1.0 + math.erf(k / _FINE / math.sqrt(2.0))) for k in range(-6000, 6001)])


def phi(x: Array) -> Array:
    """The normal distribution, from a table."""
    out: Array = _NORMAL[((np.clip(x, -_WIDE, _WIDE) + _WIDE) * _FINE + 0.5).astype(np.int32)]
    return out


def basis(offsets: Array, t: Array, wide: Array, sigma: float) -> Array:
    """Face, step at the rim ``t``, step at the foot so far outside of it, shadow: shape (places, offsets, 4)."""
    u = (offsets[None, :] - t[:, None]) / sigma
    v = u - wide[:, None] / sigma
    foot = phi(v)
    fade = v * foot + np.exp(-0.5 * v * v) / math.sqrt(2.0 * math.pi)
    return np.stack([np.ones_like(u), phi(u), foot, fade], axis=2)


def pull(size: float, sigma: float, noise: float) -> Array:
    """How weakly the steps are held to sizes that occur, as a diagonal for the normal equations."""
    size = max(size, 1e-6)
    return np.array([1e-6, (0.1 / size) ** 2, (0.3 / size) ** 2, (sigma / size) ** 2]) * noise**2


def geometry(
    views: Sequence[View], scene: Scene, points: Array, normals: Array, face_z: float, floor_z: float
) -> tuple[Array, Array]:
    """Blur of the picture at each place, and how far outside of the rim the foot of the wall is seen [mm]."""
    top = np.column_stack([points, np.full(len(points), face_z)])
    out = np.column_stack([points + 0.5 * normals, np.full(len(points), face_z)])
    foot = np.column_stack([points, np.full(len(points), floor_z)])
    which = first_pass.nearest_view(views, scene, top)
    blur, wall = np.zeros(len(points)), np.zeros(len(points))
    for k in range(len(views)):
        mine = which == k
        if not mine.any():
            continue
        camera = scene.cameras[k]
        at = camera.project(top[mine])
        way = 2.0 * (camera.project(out[mine]) - at)
        per_mm = np.linalg.norm(way, axis=1)
        blur[mine] = scene.blur_px / per_mm
        wall[mine] = ((camera.on_plane(camera.project(foot[mine]), face_z) - points[mine]) * normals[mine]).sum(axis=1)
    return blur, wall
