"""Photographs of templates that never were: a pinhole camera with one lens term over a floor with sheets and a board.

Shapes are put into the picture by exact area coverage of their projected outlines, in linear light; then come shadows,
blur, noise, the curve of sRGB and JPEG. Nothing here is shared with the program: the projection is written anew.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from loomwright.trace import layout

Array = npt.NDArray[np.float64]
Picture = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Lens:
    """Where the camera stands and what it is: 4 : 3, looking at ``aim_mm`` from ``high_mm`` along its own axis."""

    width_px: int = 4000
    height_px: int = 3000
    focal: float = 0.74
    """Focal length over the width of the picture."""
    k1: float = 0.0
    k2: float = 0.0
    off_px: tuple[float, float] = (0.0, 0.0)
    aim_mm: tuple[float, float] = (0.0, 0.0)
    far_mm: float = 900.0
    tilt_deg: float = 0.0
    toward_deg: float = 0.0
    roll_deg: float = 0.0

    def project(self, points: Array) -> Array:
        """World (x right, y down, z into the floor) to pixels."""
        tilt, toward, roll = (math.radians(v) for v in (self.tilt_deg, self.toward_deg, self.roll_deg))
        axis = np.array([math.sin(tilt) * math.cos(toward), math.sin(tilt) * math.sin(toward), math.cos(tilt)])
        eye = np.array([*self.aim_mm, 0.0]) - self.far_mm * axis
        right = np.array([1.0, 0.0, 0.0]) - axis[0] * axis
        right /= np.linalg.norm(right)
        down = np.cross(axis, right)
        right, down = (
            right * math.cos(roll) + down * math.sin(roll),
            -right * math.sin(roll) + down * math.cos(roll),
        )
        away = points - eye
        depth = away @ axis
        x, y = (away @ right) / depth, (away @ down) / depth
        r2 = x * x + y * y
        bend = 1.0 + self.k1 * r2 + self.k2 * r2 * r2
        f = self.focal * self.width_px
        cx, cy = (self.width_px - 1) / 2.0 + self.off_px[0], (self.height_px - 1) / 2.0 + self.off_px[1]
        return np.column_stack([f * x * bend + cx, f * y * bend + cy])

    def floor(self, step_px: int = 16) -> tuple[Array, Array]:
        """Where on the floor each pixel looks, on a coarse net of pixels grown to all (for textures and light)."""
        across = np.arange(0, self.width_px + step_px, step_px, dtype=float)
        down = np.arange(0, self.height_px + step_px, step_px, dtype=float)
        wanted = np.column_stack([g.ravel() for g in np.meshgrid(across, down)])
        at = np.zeros_like(wanted) + np.asarray(self.aim_mm)
        h = 1e-3
        for _ in range(25):
            now = self.project(np.column_stack([at, np.zeros(len(at))]))
            dx = (self.project(np.column_stack([at + np.array([h, 0.0]), np.zeros(len(at))])) - now) / h
            dy = (self.project(np.column_stack([at + np.array([0.0, h]), np.zeros(len(at))])) - now) / h
            det = dx[:, 0] * dy[:, 1] - dx[:, 1] * dy[:, 0]
            e = wanted - now
            move = np.column_stack([e[:, 0] * dy[:, 1] - e[:, 1] * dy[:, 0], e[:, 1] * dx[:, 0] - e[:, 0] * dx[:, 1]])
            at = at + np.clip(move / det[:, None], -200.0, 200.0)
        net = at.reshape(len(down), len(across), 2)
        xs = (np.arange(self.width_px) / step_px).astype(np.float32)
        ys = (np.arange(self.height_px) / step_px).astype(np.float32)
        map_x, map_y = np.meshgrid(xs, ys)
        x, y = (cv2.remap(net[:, :, k].astype(np.float32), map_x, map_y, cv2.INTER_LINEAR) for k in (0, 1))
        return np.asarray(x, float), np.asarray(y, float)


@dataclass(frozen=True)
class Sheet:
    """A marker sheet in the world: which one, where its corner lies, how it is turned, whether on the board."""

    number: int
    at_mm: tuple[float, float]
    turn_deg: float = 0.0
    on_board: bool = False
    paper: layout.PaperName = "a4"
    scale: tuple[float, float] = (1.0, 1.0)
    hidden: tuple[int, ...] = ()


@dataclass(frozen=True)
class Board:
    """A board: rings of points (arcs already in short pieces), thickness, colours of face, wall and floor."""

    outer: Array
    holes: tuple[Array, ...] = ()
    thickness_mm: float = 3.0
    face: tuple[float, float, float] = (0.42, 0.28, 0.16)
    wall: tuple[float, float, float] = (0.30, 0.19, 0.10)
    print_at: tuple[float, float, float, float] | None = None
    """A dark label on the face: x, y, width, height."""


@dataclass(frozen=True)
class Scene:
    """All of it."""

    lens: Lens
    sheets: tuple[Sheet, ...]
    board: Board
    floor: str = "concrete"
    floor_tint: tuple[float, float, float] = (0.35, 0.35, 0.34)
    shadow: float = 0.0
    """How dark the soft shadow across the scene is, 0 to 1."""
    contact: float = 0.5
    """How dark the shadow beside the board is."""
    contact_mm: tuple[float, float] = (4.0, 6.0)
    blur_px: float = 0.7
    noise: float = 0.006
    quality: int = 92
    seed: int = 1
    exif: dict[int, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Cover:
    """How much of each pixel a shape covers, in the box of the picture that holds it."""

    box: tuple[slice, slice]
    share: Picture

    def inside(self, box: tuple[slice, slice]) -> Picture:
        """The same in a larger box."""
        rows, columns = box
        out = np.zeros((rows.stop - rows.start, columns.stop - columns.start), np.float32)
        a, b = self.box
        out[a.start - rows.start : a.stop - rows.start, b.start - columns.start : b.stop - columns.start] = self.share
        return out


def _around(covers: list[Cover]) -> tuple[slice, slice]:
    rows = slice(min(c.box[0].start for c in covers), max(c.box[0].stop for c in covers))
    return rows, slice(min(c.box[1].start for c in covers), max(c.box[1].stop for c in covers))


def coverage(polygons: list[Array], width: int, height: int) -> Cover:
    """Signed area of closed polygons (clockwise as seen counts positive) in each pixel."""
    every = np.vstack(polygons) + 0.5 if polygons else np.zeros((1, 2))
    left, top = np.clip(np.floor(every.min(axis=0)) - 1, 0, [width, height]).astype(int)
    right, bottom = np.clip(np.ceil(every.max(axis=0)) + 2, 0, [width, height]).astype(int)
    sums = np.zeros((max(bottom - top, 1), max(right - left, 1) + 2), np.float64)
    for polygon in polygons:
        ring = np.vstack([polygon, polygon[:1]]) + 0.5 - [left, top]
        lengths = np.linalg.norm(np.diff(ring, axis=0), axis=1)
        pieces = np.maximum(1, np.ceil(lengths / 0.12).astype(int))
        which = np.repeat(np.arange(len(lengths)), pieces)
        first = np.concatenate([[0], np.cumsum(pieces)[:-1]])
        k = np.arange(len(which)) - first[which]
        a = ring[which] + (ring[which + 1] - ring[which]) * (k / pieces[which])[:, None]
        b = ring[which] + (ring[which + 1] - ring[which]) * ((k + 1) / pieces[which])[:, None]
        b[:-1] = np.where((which[1:] == which[:-1])[:, None], a[1:], b[:-1])
        x = np.clip((a[:, 0] + b[:, 0]) / 2.0, 0.0, sums.shape[1] - 1.5)
        column = np.floor(x).astype(int)
        share = x - column
        low, high = np.floor(np.minimum(a[:, 1], b[:, 1])), np.floor(np.maximum(a[:, 1], b[:, 1]))
        for row in (low, high):  # a piece lies in one row of pixels, or in two
            dy = np.clip(b[:, 1], row, row + 1.0) - np.clip(a[:, 1], row, row + 1.0)
            keep = (row >= 0) & (row < len(sums)) & ((row == low) if row is low else (high != low))
            at = row[keep].astype(int)
            np.add.at(sums, (at, column[keep]), -dy[keep] * (1.0 - share[keep]))
            np.add.at(sums, (at, column[keep] + 1), -dy[keep] * share[keep])
    share = np.cumsum(sums, axis=1)[: bottom - top, : right - left].astype(np.float32)
    return Cover((slice(int(top), int(bottom)), slice(int(left), int(right))), share)


def dense(ring: Array, step: float = 2.0) -> Array:
    """A ring with points at most so far apart, so that the lens can bend its sides."""
    out = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        n = max(1, math.ceil(float(np.linalg.norm(b - a)) / step))
        out.append(a + (b - a) * (np.arange(n) / n)[:, None])
    return np.vstack(out)


def _clockwise(ring: Array) -> Array:
    x, y = ring[:, 0], ring[:, 1]
    return ring if float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) > 0 else ring[::-1]


def render(scene: Scene) -> Picture:
    """The light that falls on the sensor, linear, 0 to 1, before noise."""
    lens, board = scene.lens, scene.board
    w, h = lens.width_px, lens.height_px
    rng = np.random.default_rng(scene.seed)
    fx, fy = lens.floor()

    def cover(rings: list[Array], z: float) -> Cover:
        shapes = []
        for ring in rings:
            d = dense(_clockwise(ring))
            shapes.append(_clockwise(lens.project(np.column_stack([d, np.full(len(d), z)]))))
        made = coverage(shapes, w, h)
        return Cover(made.box, np.clip(np.abs(made.share), 0.0, 1.0))

    def with_holes(z: float, shift: tuple[float, float] = (0.0, 0.0)) -> Cover:
        outer = cover([board.outer + np.asarray(shift)], z)
        share = outer.share.copy()
        for hole in board.holes:
            share -= cover([hole + np.asarray(shift)], z).inside(outer.box)
        return Cover(outer.box, np.clip(share, 0.0, 1.0))

    light = _floor(scene, np.asarray(fx), np.asarray(fy), rng)
    for s in scene.sheets:
        if not s.on_board:
            _sheet(light, s, 0.0, cover)
    t = board.thickness_mm
    if scene.contact > 0.0:
        ends = lens.project(np.array([[*lens.aim_mm, 0.0], [lens.aim_mm[0] + 1.0, lens.aim_mm[1], 0.0]]))
        sigma = max(0.5, 1.2 * float(np.linalg.norm(ends[1] - ends[0])))
        shadow = with_holes(0.0, scene.contact_mm)
        wide = math.ceil(4 * sigma)
        rows, columns = shadow.box
        box = (
            slice(max(rows.start - wide, 0), min(rows.stop + wide, h)),
            slice(max(columns.start - wide, 0), min(columns.stop + wide, w)),
        )
        dark = cv2.GaussianBlur(shadow.inside(box), (0, 0), sigma)
        light[box] *= (1.0 - scene.contact * dark)[:, :, None]
    tops = [with_holes(z) for z in (np.linspace(-t, 0.0, max(3, math.ceil(t) + 2)) if t > 0.0 else [0.0])]
    box = _around(tops)
    top = tops[0].inside(box)
    swept = np.max([c.inside(box) for c in tops], axis=0)
    n, m = top.shape
    paint = (
        np.asarray(board.face, np.float32)
        * (1.0 + 0.035 * _cloud(n, m, rng, 3.0) + 0.04 * _cloud(n, m, rng, 60.0))[:, :, None]
    )
    if board.print_at is not None:
        x, y, a, b = board.print_at
        label = cover([np.array([[x, y], [x + a, y], [x + a, y + b], [x, y + b]])], -t).inside(box)[:, :, None]
        paint = paint * (1.0 - label) + label * np.float32(0.06)
    side = np.asarray(board.wall, np.float32) * (1.0 + 0.08 * _cloud(n, m, rng, 6.0))[:, :, None]
    light[box] = light[box] * (1.0 - swept)[:, :, None] + side * (swept - top)[:, :, None] + paint * top[:, :, None]
    for s in scene.sheets:
        if s.on_board:
            _sheet(light, s, -t, cover)
    across, down = np.asarray(fx) - lens.aim_mm[0], np.asarray(fy) - lens.aim_mm[1]
    gx, gy = rng.uniform(-0.00025, 0.00025, 2)
    lit = 1.0 + np.float32(gx) * across + np.float32(gy) * down
    if scene.shadow > 0.0:
        angle = rng.uniform(0, 2 * math.pi)
        d = across * np.float32(math.cos(angle)) + down * np.float32(math.sin(angle))
        lit *= 1.0 - np.float32(scene.shadow) / (
            1.0 + np.exp(-(d - np.float32(rng.uniform(-80, 80))) / np.float32(25.0))
        )
    light *= lit[:, :, None].astype(np.float32)
    return cv2.GaussianBlur(light, (0, 0), scene.blur_px).astype(np.float32)


def photograph(scene: Scene) -> bytes:
    """The scene as a JPEG file."""
    light = render(scene)
    rng = np.random.default_rng(scene.seed + 1000)
    grain = rng.standard_normal(4_000_037, dtype=np.float32)
    grain = np.resize(grain, light.size).reshape(light.shape)
    light += grain * np.sqrt(np.maximum(light, 0.0) * np.float32(2.5) + np.float32(0.06)) * np.float32(scene.noise)
    steps = np.arange(65536) / 65535.0
    curve = np.where(steps <= 0.0031308, 12.92 * steps, 1.055 * np.maximum(steps, 1e-9) ** (1 / 2.4) - 0.055)
    table = np.round(curve * 255.0).astype(np.uint8)
    bytes_ = table[(np.clip(light, 0.0, 1.0) * np.float32(65535.0)).astype(np.uint16)]
    image = Image.fromarray(bytes_)
    out = io.BytesIO()
    exif = Image.Exif()
    for key, value in scene.exif.items():
        exif[key] = value
    image.save(out, "JPEG", quality=scene.quality, exif=exif)
    return out.getvalue()


def _sheet(light: Picture, s: Sheet, z: float, cover: Callable[[list[Array], float], Cover]) -> None:
    made = layout.sheet(s.paper, s.number)
    c, n = math.cos(math.radians(s.turn_deg)), math.sin(math.radians(s.turn_deg))

    def place(points: Array, scaled: bool = True) -> Array:
        if scaled:
            middle = np.array([made.width_mm, made.height_mm]) / 2.0
            points = (points - middle) * np.asarray(s.scale) + middle
        return np.column_stack([c * points[:, 0] - n * points[:, 1], n * points[:, 0] + c * points[:, 1]]) + s.at_mm

    page = np.array([[0.0, 0.0], [made.width_mm, 0.0], [made.width_mm, made.height_mm], [0.0, made.height_mm]])
    paper = cover([place(page, False)], z)
    share = paper.share[:, :, None]
    light[paper.box] = light[paper.box] * (1.0 - share) + share * np.array([0.80, 0.80, 0.78], np.float32)
    black: list[Array] = []
    for m in made.markers:
        if m.id in s.hidden:
            continue
        for row, line in enumerate(layout.cells(m.id)):
            for column, dark in enumerate(line):
                if dark:
                    x, y, a = m.x_mm + column * layout.CELL_MM, m.y_mm + row * layout.CELL_MM, layout.CELL_MM
                    black.append(place(np.array([[x, y], [x + a, y], [x + a, y + a], [x, y + a]])))
    for bar in (made.across, made.down):
        start, end = np.asarray(bar.start_mm), np.asarray(bar.end_mm)
        half = np.array([0.125, 0.0]) if start[0] == end[0] else np.array([0.0, 0.125])
        black.append(place(np.array([start - half, end - half, end + half, start + half])))
    ink = cover(black, z)
    share = ink.share[:, :, None]
    light[ink.box] = light[ink.box] * (1.0 - share) + share * np.float32(0.03)


def _cloud(h: int, w: int, rng: np.random.Generator, size_px: float) -> Picture:
    """Noise of a grain size, about -1 to 1."""
    step = max(1, round(size_px / 2))
    small = rng.standard_normal((h // step + 2, w // step + 2)).astype(np.float32)
    small = cv2.GaussianBlur(small, (0, 0), 1.0) * 2.8
    return cv2.resize(small, (w, h), interpolation=cv2.INTER_CUBIC).astype(np.float32)


def _floor(scene: Scene, x: Array, y: Array, rng: np.random.Generator) -> Picture:
    h, w = x.shape
    tint = np.asarray(scene.floor_tint, np.float32)
    if scene.floor == "wood":
        side = 4096
        lines = rng.standard_normal((side, 64)).astype(np.float32)
        soft = cv2.GaussianBlur(lines, (0, 0), 1.5)
        lines = np.asarray(cv2.resize(soft, (side, side), interpolation=cv2.INTER_CUBIC), np.float32)
        lines /= lines.std()
        map_x = np.mod(x * 0.4, side - 1).astype(np.float32)
        map_y = np.mod(y * 4.0 + 6.0 * np.sin(x / 90.0), side - 1).astype(np.float32)
        grain = cv2.remap(lines, map_x, map_y, cv2.INTER_LINEAR)
        plank = np.floor(y / 95.0)
        shade = 0.12 * np.sin(plank * 12.9898) + 0.10 * grain
        seam = np.clip(1.5 - np.abs(np.mod(y + 47.5, 95.0) - 47.5), 0.0, 1.0)
        light = tint * (1.0 + shade)[:, :, None] * (1.0 - 0.6 * seam)[:, :, None]
    elif scene.floor == "tiles":
        seam = np.clip(2.5 - np.minimum(np.mod(x, 200.0), np.mod(y, 200.0)), 0.0, 1.0)
        light = tint * (1.0 + 0.05 * _cloud(h, w, rng, 30.0) - 0.45 * seam)[:, :, None]
    else:
        light = (
            tint
            * (1.0 + 0.10 * _cloud(h, w, rng, 8.0) + 0.12 * _cloud(h, w, rng, 150.0) + 0.05 * _cloud(h, w, rng, 2.0))[
                :, :, None
            ]
        )
    return np.clip(light, 0.005, 1.0).astype(np.float32)
