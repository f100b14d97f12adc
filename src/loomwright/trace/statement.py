"""How far the outline may be wrong, and why: the fit's covariance carried to every corner, and what it cannot see."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.trace.camera import PARAMETERS, Array
from loomwright.trace.fit import Scene, View
from loomwright.trace.rim import nearest_view

COVER = 3.0
"""The error stated is so many standard deviations of the worst side."""
WARN_MM = 0.3
THICKNESS_SIGMA_MM = 0.1
BAR_READING_SIGMA_MM = 0.1
_LENS = (8, 9, 10)


@dataclass(frozen=True, slots=True)
class Shares:
    """Standard deviations of the worst side by cause [mm].

    Attributes
    ----------
    markers_mm : float
        Noise of the marker edges, carried from the sheets to the far end of the board.
    lens_mm : float
        Middle of the lens and its second term, which the picture tells poorly.
    thickness_mm : float
        Thickness of the card.
    print_mm : float
        Reading of the check bars.
    rim_mm : float
        Finding the rim, and how straight it is cut.
    """

    markers_mm: float
    lens_mm: float
    thickness_mm: float
    print_mm: float
    rim_mm: float

    @property
    def total_mm(self) -> float:
        """All of them together."""
        return math.sqrt(
            sum(v * v for v in (self.markers_mm, self.lens_mm, self.thickness_mm, self.print_mm, self.rim_mm))
        )


@dataclass(frozen=True, slots=True)
class Spread:
    """How each corner may move, by cause: arrays of shape (2 n, modes), one column for each independent mode [mm]."""

    markers: Array
    lens: Array
    thickness: Array
    print: Array

    def side(self, i: int, j: int, way: Array) -> tuple[float, float, float, float]:
        """Standard deviations of the distance from corner i to corner j, along a unit vector, by cause."""
        out = []
        for modes in (self.markers, self.lens, self.thickness, self.print):
            moved = (modes[2 * j : 2 * j + 2] - modes[2 * i : 2 * i + 2]).T @ way
            out.append(float(np.sqrt((moved**2).sum())))
        return out[0], out[1], out[2], out[3]

    def corner(self, i: int) -> float:
        """Standard deviation of the place of a corner, in its worst direction."""
        total = sum(
            (
                m[2 * i : 2 * i + 2] @ m[2 * i : 2 * i + 2].T
                for m in (self.markers, self.lens, self.thickness, self.print)
            ),
            np.zeros((2, 2)),
        )
        return float(np.sqrt(max(np.linalg.eigvalsh(total)[-1], 0.0)))


def spread(
    views: Sequence[View],
    scene: Scene,
    corners: Array,
    face_z: float,
    thickness_sigma: float,
    bar_sigmas: tuple[float, float],
) -> Spread:
    """How the corners, shape (n, 2), may move against each other, the outline as a whole held still."""
    top = np.column_stack([corners, np.full(len(corners), face_z)])
    which = nearest_view(views, scene, top)
    size = len(scene.covariance)
    moved = np.zeros((2 * len(corners), size))
    thick = np.zeros((2 * len(corners), 1))
    steps = np.array([1e-5, *[1e-6] * 3, *[1e-3] * 3, 1e-5, 1e-5, 1e-2, 1e-2])
    for v, camera in enumerate(scene.cameras):
        mine = np.flatnonzero(which == v)
        if not len(mine):
            continue
        px = camera.project(top[mine])
        for k in range(PARAMETERS):
            step = np.zeros(PARAMETERS)
            step[k] = steps[k]
            shift = (camera.moved(step).on_plane(px, face_z) - corners[mine]) / steps[k]
            moved[2 * mine, PARAMETERS * v + k], moved[2 * mine + 1, PARAMETERS * v + k] = shift[:, 0], shift[:, 1]
        shift = (camera.on_plane(px, face_z - 0.1) - camera.on_plane(px, face_z)) / 0.1
        thick[2 * mine, 0], thick[2 * mine + 1, 0] = shift[:, 0], shift[:, 1]
    held = _rigid(corners)
    lens = [PARAMETERS * v + k for v in range(len(scene.cameras)) for k in _LENS]
    rest = [k for k in range(size) if k not in lens]
    c = scene.covariance
    known = c[np.ix_(rest, rest)] - c[np.ix_(rest, lens)] @ np.linalg.solve(
        c[np.ix_(lens, lens)], c[np.ix_(lens, rest)]
    )
    # a change of the lens drags the other parameters with it
    drag = np.zeros((size, len(lens)))
    drag[lens] = np.eye(len(lens))
    drag[rest] = c[np.ix_(rest, lens)] @ np.linalg.inv(c[np.ix_(lens, lens)])
    scale = np.zeros((2 * len(corners), 2))
    middle = corners.mean(axis=0)
    turn = 0.0
    first = scene.places[scene.keys[0]]
    turn = first.turn_rad
    axes = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    for k in (0, 1):
        along = (corners - middle) @ axes[k]
        scale[0::2, k], scale[1::2, k] = along * axes[k][0], along * axes[k][1]

    def still(modes: Array) -> Array:
        out: Array = modes - held @ (held.T @ modes)
        return out

    return Spread(
        still(moved[:, rest] @ _root(known)),
        still(moved @ drag @ _root(c[np.ix_(lens, lens)])),
        still(thick * thickness_sigma),
        still(scale * np.asarray(bar_sigmas)),
    )


def _root(covariance: Array) -> Array:
    values, vectors = np.linalg.eigh((covariance + covariance.T) / 2.0)
    out: Array = vectors * np.sqrt(np.maximum(values, 0.0))
    return out


def _rigid(corners: Array) -> Array:
    """Two shifts and a turn, as orthonormal columns."""
    n = len(corners)
    modes = np.zeros((2 * n, 3))
    modes[0::2, 0] = 1.0
    modes[1::2, 1] = 1.0
    away = corners - corners.mean(axis=0)
    modes[0::2, 2], modes[1::2, 2] = -away[:, 1], away[:, 0]
    q, _ = np.linalg.qr(modes)
    out: Array = q
    return out
