"""The camera: one pose, one focal length, one radial lens term, and what is held by common sense.

World: x to the right and y down along the first sheet, z into the bench, in millimetres; the bench is z = 0, what lies
on it has z < 0. Pixels: the middle of the upper left pixel is (0, 0). A point at (X, Y, Z) of the camera
is seen at ``f (X, Y) / Z (1 + k1 r2 + k2 r4) + centre`` with r2 = (X2 + Y2) / Z2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
PARAMETERS = 11
"""Of a camera: ln f, three of the turn, three of the shift, k1, k2, and the two of the centre."""


@dataclass(frozen=True, slots=True)
class Camera:
    """A camera that took one photograph.

    Attributes
    ----------
    focal_px : float
        Focal length in pixels.
    turn : Array
        Rotation matrix from world to camera, shape (3, 3).
    shift_mm : Array
        Origin of the world as the camera sees it, shape (3,).
    k1, k2 : float
        Radial terms.
    centre_px : tuple
        Where the axis meets the picture.
    """

    focal_px: float
    turn: Array
    shift_mm: Array
    k1: float
    k2: float
    centre_px: tuple[float, float]

    def project(self, points_mm: Array) -> Array:
        """Where points of the world, shape (n, 3), are seen [px], shape (n, 2)."""
        return np.column_stack(self.seen(points_mm[:, 0], points_mm[:, 1], points_mm[:, 2]))

    def seen(self, x: Array, y: Array, z: Array | float) -> tuple[Array, Array]:
        """The same for columns of any shape: column and row in the picture [px], as fine as the places are given."""
        a, b, c = (
            row[0] * x + row[1] * y + (row[2] * z + shift)
            for row, shift in zip(self.turn.tolist(), self.shift_mm.tolist(), strict=True)
        )
        a /= c
        b /= c
        r2 = a * a + b * b
        bend = (self.k2 * r2 + self.k1) * r2
        bend += 1.0
        bend *= self.focal_px
        a *= bend
        b *= bend
        a += self.centre_px[0]
        b += self.centre_px[1]
        return a, b

    def slopes(self, points_mm: Array, normals: Array) -> tuple[Array, Array, Array]:
        """Where points are seen, shape (n, 2) [px], and how that moves along ``normals``, shape (n, 2).

        As each parameter of :meth:`moved` grows, shape (n, 11), and as the points of the world do, shape (n, 3).
        """
        u, v, w = self.turn @ points_mm.T
        depth = w + self.shift_mm[2]
        x, y = (u + self.shift_mm[0]) / depth, (v + self.shift_mm[1]) / depth
        nx, ny = normals.T
        r2 = x * x + y * y
        bend = self.focal_px * (1.0 + r2 * (self.k1 + self.k2 * r2))
        along = nx * x + ny * y
        radial = 2.0 * self.focal_px * (self.k1 + 2.0 * self.k2 * r2) * along
        a, b = (bend * nx + radial * x) / depth, (bend * ny + radial * y) / depth
        c = -(a * x + b * y)
        bent = self.focal_px * along * r2
        turning = [v * c - w * b, w * a - u * c, u * b - v * a]
        own = np.stack([along * bend, *turning, a, b, c, bent, bent * r2, nx, ny], axis=1)
        at = np.stack([bend * x + self.centre_px[0], bend * y + self.centre_px[1]], axis=1)
        return at, own, np.stack([a, b, c], axis=1) @ self.turn

    def on_plane(self, pixels: Array, z_mm: float = 0.0) -> Array:
        """The points of the plane at a height that are seen at pixels, shape (n, 2) [mm]."""
        ray = np.column_stack([self.straight(pixels), np.ones(len(pixels))]) @ self.turn
        eye = self.eye_mm()
        reach = (z_mm - eye[2]) / ray[:, 2:]
        out: Array = eye[:2] + reach * ray[:, :2]
        return out

    def straight(self, pixels: Array) -> Array:
        """Directions X/Z, Y/Z without the bend of the lens, shape (n, 2)."""
        bent = (pixels - np.asarray(self.centre_px)) / self.focal_px
        radius = np.sqrt((bent * bent).sum(axis=1))
        most = self.largest_radius()
        r = np.minimum(radius, most)
        for _ in range(8):
            r2 = r * r
            slope = np.maximum(1.0 + r2 * (3.0 * self.k1 + 5.0 * self.k2 * r2), 0.05)
            r = np.clip(r - (r * (1.0 + r2 * (self.k1 + self.k2 * r2)) - radius) / slope, 0.0, most)
        scale = np.divide(r, radius, out=np.ones_like(r), where=radius > 1e-12)
        out: Array = bent * scale[:, None]
        return out

    def largest_radius(self) -> float:
        """Beyond this X/Z the lens model would fold back."""
        if self.k1 >= 0.0:
            return 3.0
        return min(3.0, 0.98 * math.sqrt(-1.0 / (3.0 * self.k1)))

    def eye_mm(self) -> Array:
        """Where the camera stood."""
        out: Array = -self.turn.T @ self.shift_mm
        return out

    def tilt_deg(self) -> float:
        """Between the axis of the camera and the upright of the bench."""
        return math.degrees(math.acos(min(1.0, abs(float(self.turn[2, 2])))))

    def moved(self, step: Array) -> Camera:
        """The camera after a small change of its parameters."""
        return replace(
            self,
            focal_px=self.focal_px * math.exp(float(step[0])),
            turn=turn_of(step[1:4]) @ self.turn,
            shift_mm=self.shift_mm + step[4:7],
            k1=self.k1 + float(step[7]),
            k2=self.k2 + float(step[8]),
            centre_px=(self.centre_px[0] + float(step[9]), self.centre_px[1] + float(step[10])),
        )


@dataclass(frozen=True, slots=True)
class Place:
    """Where a sheet lies in the world: its corner, its turn, its height."""

    x_mm: float
    y_mm: float
    turn_rad: float
    z_mm: float = 0.0

    def world(self, page_mm: Array) -> Array:
        """Points of the page, shape (n, 2), in the world, shape (n, 3)."""
        c, s = math.cos(self.turn_rad), math.sin(self.turn_rad)
        x = c * page_mm[:, 0] - s * page_mm[:, 1] + self.x_mm
        y = s * page_mm[:, 0] + c * page_mm[:, 1] + self.y_mm
        return np.column_stack([x, y, np.full(len(x), self.z_mm)])

    def page(self, world_mm: Array) -> Array:
        """Points of the world in the page's own coordinates."""
        c, s = math.cos(self.turn_rad), math.sin(self.turn_rad)
        x, y = world_mm[:, 0] - self.x_mm, world_mm[:, 1] - self.y_mm
        return np.column_stack([c * x + s * y, c * y - s * x])


def turn_of(vector: Array) -> Array:
    """The rotation about a vector by its length [rad] (Rodrigues)."""
    angle = float(np.linalg.norm(vector))
    x, y, z = (float(v) for v in vector)
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    if angle < 1e-12:
        small: Array = np.eye(3) + cross
        return small
    out: Array = np.eye(3) + math.sin(angle) / angle * cross + (1.0 - math.cos(angle)) / angle**2 * cross @ cross
    return out


def pose_from(plane: Array, focal_px: float, centre_px: tuple[float, float]) -> Camera:
    """A camera from the homography of the bench (page mm to pixels), with a focal length taken for granted."""
    inner = np.array([[focal_px, 0.0, centre_px[0]], [0.0, focal_px, centre_px[1]], [0.0, 0.0, 1.0]])
    columns = np.linalg.solve(inner, plane)
    scale = 2.0 / (np.linalg.norm(columns[:, 0]) + np.linalg.norm(columns[:, 1]))
    if columns[2, 2] < 0.0:
        scale = -scale
    columns = columns * scale
    first, second = columns[:, 0], columns[:, 1]
    u, _, v = np.linalg.svd(np.column_stack([first, second, np.cross(first, second)]))
    turn = u @ np.diag([1.0, 1.0, float(np.sign(np.linalg.det(u @ v)))]) @ v
    return Camera(focal_px, turn, columns[:, 2].copy(), 0.0, 0.0, centre_px)
