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
_FEW = 40
LIGHT_TRUST, HUE_TRUST, HUE_BLUR = 0.012, 0.05, 1.6
"""Part of the contrast to which blur and colours can be modelled; how much softer the colours of a JPEG are."""
_WIDE, _FINE = 6.0, 2048
_AT = np.arange(-round(_WIDE * _FINE), round(_WIDE * _FINE) + 1) / _FINE
_NORMAL = np.array([0.5 * (1.0 + math.erf(x / math.sqrt(2.0))) for x in _AT])
_BELL = np.exp(-0.5 * _AT**2) / math.sqrt(2.0 * math.pi)


def usual(values: Array) -> float:
    """The median, of few values."""
    v = np.sort(values, axis=None)
    return 0.5 * float(v[(len(v) - 1) // 2] + v[len(v) // 2])


def steps(offsets: Array, t: Array, wide: Array, sigma: Array) -> tuple[Array, Array, Array]:
    """Step at the rim, step at the foot of the wall, shadow beyond: each of shape (rows, places, offsets).

    ``t`` are places of the rim, shape (rows, places); ``wide`` is how far outside of it the foot is seen in each row.
    """
    fine = _FINE / sigma[:, None]
    line = np.rint(offsets * fine).astype(np.int64)[:, None, :]
    at = line - (np.rint(t * fine).astype(np.int64) - len(_AT) // 2)[:, :, None]
    beyond = at - np.rint(wide[:, None] * fine).astype(np.int64)[:, :, None]
    rim, foot = _NORMAL.take(at, mode="clip"), _NORMAL.take(beyond, mode="clip")
    fade = (beyond - len(_AT) // 2) * foot
    fade *= 1.0 / _FINE
    fade += _BELL.take(beyond, mode="clip")
    return rim, foot, fade


def unexplained(rows: Array, offsets: Array, t: Array, wide: Array, sigma: Array, held: Array) -> Array:
    """What the best face, wall and fading shadow leave of each row, for the rim at each place that may be it.

    ``rows`` of shape (rows, offsets), ``t`` of (rows, places), ``wide`` and ``sigma`` of (rows,); ``held`` as of
    :func:`pull`, shape (rows, 3). One row of ``t``, ``wide`` and ``sigma`` stands for all of them.
    """
    row = rows - rows.mean(axis=1, keepdims=True)
    made = steps(offsets, t, wide, sigma)
    for step in made:
        step -= step.mean(axis=2, keepdims=True)
    rim, foot, fade = made
    ra, rb, rc = (row @ step[0].T if len(step) == 1 else (step @ row[:, :, None])[:, :, 0] for step in made)
    # three equations, one unknown after the other
    aa, ab, ac = _both(rim, rim) + held[:, :1], _both(rim, foot), _both(rim, fade)
    ba, ca = ab / aa, ac / aa
    bb, bc = _both(foot, foot) + held[:, 1:2] - ba * ab, _both(foot, fade) - ba * ac
    rb = rb - ba * ra
    cb = bc / bb
    cc = _both(fade, fade) + held[:, 2:] - ca * ac - cb * bc
    rc = rc - ca * ra - cb * rb
    out: Array = np.einsum("ij,ij->i", row, row)[:, None] - ra**2 / aa - rb**2 / bb - rc**2 / cc
    return out


def _both(a: Array, b: Array) -> Array:
    """Sums of products along the last axis."""
    out: Array = np.einsum("ijk,ijk->ij", a, b)
    return out


def pull(size: float, sigma: float, noise: float) -> Array:
    """How weakly the two steps and the shadow are held to sizes that occur, for the normal equations."""
    size = max(size, 1e-6)
    return np.array([(0.1 / size) ** 2, (0.3 / size) ** 2, (sigma / size) ** 2]) * noise**2


def geometry(
    views: Sequence[View], scene: Scene, points: Array, normals: Array, face_z: float, floor_z: float
) -> tuple[Array, Array]:
    """Blur of the picture at each place, and how far outside of the rim the foot of the wall is seen [mm]."""
    few = np.unique(np.linspace(0, len(points) - 1, min(len(points), _FEW)).round().astype(int))
    p, out = points[few], normals[few]
    top = np.column_stack([p, np.full(len(p), face_z)])
    which = first_pass.nearest_view(views, scene, top)
    blur, wall = np.zeros(len(p)), np.zeros(len(p))
    for k in range(len(views)):
        mine = which == k
        if not mine.any():
            continue
        camera, eye = scene.cameras[k], scene.cameras[k].eye_mm()
        (x, y), (out_x, out_y) = p[mine].T, out[mine].T
        column, row = camera.seen(x, y, face_z)
        ahead, beside = camera.seen(x + 0.5 * out_x, y + 0.5 * out_y, face_z)
        blur[mine] = 0.5 * scene.blur_px / np.hypot(ahead - column, beside - row)
        # seen over the rim, the foot lies on the face as far out as the floor is farther from the eye
        nearer = (face_z - eye[2]) / (floor_z - eye[2]) - 1.0
        wall[mine] = nearer * ((x - eye[0]) * out_x + (y - eye[1]) * out_y)
    every = np.arange(len(points))
    return np.interp(every, few, blur), np.interp(every, few, wall)
