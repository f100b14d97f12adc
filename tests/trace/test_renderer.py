"""The renderer that makes the photographs, checked on its own: against another projection, and against areas."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from bench._scene import Lens, coverage


@pytest.mark.parametrize(("tilt", "toward", "roll", "k1"), [(0, 0, 0, 0.0), (30, 40, 7, -0.15), (17, 250, -60, 0.02)])
def test_the_projection_is_that_of_opencv(tilt: float, toward: float, roll: float, k1: float) -> None:
    made = Lens(
        4000, 3000, 0.74, k1, aim_mm=(20.0, -10.0), far_mm=900.0, tilt_deg=tilt, toward_deg=toward, roll_deg=roll
    )
    t, w, r = (math.radians(v) for v in (tilt, toward, roll))
    axis = np.array([math.sin(t) * math.cos(w), math.sin(t) * math.sin(w), math.cos(t)])
    right = np.array([1.0, 0.0, 0.0]) - axis[0] * axis
    right /= np.linalg.norm(right)
    upright = np.vstack([right, np.cross(axis, right), axis])
    spin = np.array([[math.cos(r), math.sin(r), 0.0], [-math.sin(r), math.cos(r), 0.0], [0.0, 0.0, 1.0]])
    turn = spin @ upright
    eye = np.array([20.0, -10.0, 0.0]) - 900.0 * axis
    inner = np.array([[2960.0, 0.0, 1999.5], [0.0, 2960.0, 1499.5], [0.0, 0.0, 1.0]])
    points = np.random.default_rng(3).uniform(-300.0, 300.0, (50, 3)) * [1.0, 1.0, 0.02]
    expected, _ = cv2.projectPoints(points, cv2.Rodrigues(turn)[0], -turn @ eye, inner, np.array([k1, 0.0, 0.0, 0.0]))
    assert np.abs(made.project(points) - expected.reshape(-1, 2)).max() < 1e-6


def test_a_pixel_gets_the_area_that_lies_in_it() -> None:
    square = np.array([[9.5, 9.5], [20.25, 9.5], [20.25, 14.0], [9.5, 14.0]])  # pixel centres at whole numbers
    made = coverage([square], 40, 30)
    full = np.zeros((30, 40))
    full[made.box] = made.share
    assert full.sum() == pytest.approx(10.75 * 4.5, abs=1e-4)
    assert full[11, 12] == pytest.approx(1.0, abs=1e-6)
    assert full[11, 20] == pytest.approx(0.75, abs=1e-6)
    assert full[14, 12] == pytest.approx(0.5, abs=1e-6)


def test_the_area_of_a_circle_is_kept() -> None:
    a = np.linspace(0.0, 2.0 * math.pi, 4000, endpoint=False)
    made = coverage([np.column_stack([50.3 + 20.0 * np.cos(a), 40.7 + 20.0 * np.sin(a)])], 100, 90)
    assert made.share.sum() == pytest.approx(math.pi * 400.0, rel=1e-4)
