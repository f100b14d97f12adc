"""Sixty scenes for the bench: boards of known outline on floors of all kinds, seen by a camera held as people do."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from bench._scene import Array, Board, Lens, Scene, Sheet
from loomwright.trace.layout import PAPERS_MM, PaperName
from loomwright.trace.outline import Outline, Ring, Side, ring_of

Layout = Literal["two", "top", "beside"]
LAYOUTS: tuple[Layout, ...] = ("two", "beside", "top", "two", "beside")
COUNT = 60


@dataclass(frozen=True)
class Case:
    """A scene with the outline that it shows."""

    name: str
    layout: Layout
    truth: Outline
    scene: Scene

    @property
    def size_mm(self) -> float:
        """Longer side of the board."""
        return max(self.truth.size_mm)


def rounded(points: list[tuple[float, float]], radii: list[float]) -> Ring:
    """A ring through corners (clockwise as seen), some of them rounded."""
    sides: list[Side] = []
    n = len(points)
    joints = []
    for k in range(n):
        p, before, after = (np.array(points[i % n]) for i in (k, k - 1, k + 1))
        a, b = (before - p) / np.linalg.norm(before - p), (after - p) / np.linalg.norm(after - p)
        half = math.acos(float(np.clip(a @ b, -1, 1))) / 2.0
        r = radii[k]
        if r <= 0.0:
            joints.append((tuple(p), tuple(p), 0.0))
            continue
        reach = r / math.tan(half)
        turn = math.pi - 2.0 * half
        cross = float(a[0] * b[1] - a[1] * b[0])
        joints.append((tuple(p + a * reach), tuple(p + b * reach), math.tan(turn / 4.0) * (1.0 if cross < 0 else -1.0)))
    for k in range(n):
        start, out, bulge = joints[k]
        if bulge:
            sides.append(Side(start, out, bulge))
        sides.append(Side(out, joints[(k + 1) % n][0]))
    return Ring(tuple(sides))


def circle(x: float, y: float, r: float) -> Ring:
    """A round hole."""
    return ring_of([(x - r, y), (x + r, y)], [-1.0, -1.0])


def slot(x: float, y: float, w: float, h: float, round_ends: bool) -> Ring:
    """A slot, square or with round ends."""
    if round_ends:
        r = h / 2.0
        return ring_of([(x + r, y), (x + r, y + h), (x + w - r, y + h), (x + w - r, y)], [-1.0, 0.0, -1.0, 0.0])
    return ring_of([(x, y), (x, y + h), (x + w, y + h), (x + w, y)])


def boards(rng: np.random.Generator, w: float, h: float, whole: bool) -> Outline:
    """One of several kinds of board, of about that size."""
    kind = int(rng.integers(6))
    if whole and kind in (1, 3, 4):
        kind = (0, 2, 5)[kind % 3]  # nothing that a sheet in the middle could hide
    w, h = round(w), round(h)
    a, b = round(w * rng.uniform(0.25, 0.45)), round(h * rng.uniform(0.25, 0.45))
    if kind == 0:
        outer = rounded([(0, 0), (w, 0), (w, h), (0, h)], [0, 0, 0, 0])
    elif kind == 1:
        outer = rounded([(0, 0), (w, 0), (w, h - b), (w - a, h - b), (w - a, h), (0, h)], [0] * 6)
    elif kind == 2:
        outer = rounded([(0, 0), (w, 0), (w, h), (0, h)], [float(rng.integers(15, 45)) for _ in range(4)])
    elif kind == 3:
        outer = rounded([(a, 0), (w, 0), (w, h), (0, h), (0, b)], [0, 0, float(rng.integers(20, 60)), 0, 0])
    elif kind == 4:
        c = (w - a) / 2.0
        outer = rounded([(0, 0), (c, 0), (c, b), (c + a, b), (c + a, 0), (w, 0), (w, h), (0, h)], [0] * 8)
    else:
        outer = rounded([(0, 0), (w * 0.9, h * 0.1), (w, h), (w * 0.15, h * 0.95)], [0, 0, 0, 0])
    holes: list[Ring] = []
    if rng.random() < 0.6:
        holes.append(circle(w * 0.32, h * 0.66, float(rng.integers(6, 26))))
    if rng.random() < 0.5:
        long, high = float(rng.integers(40, 60)), float(rng.integers(10, 20))
        made = slot(w * 0.12, h * 0.45, long, high, bool(rng.random() < 0.5))
        if not holes or holes[0].box_mm()[0] > w * 0.12 + long + 8.0 or holes[0].box_mm()[1] > h * 0.45 + high + 8.0:
            holes.append(made)  # apart from the round hole
    return Outline(outer, tuple(holes), "typed")


FLOORS = (
    ("concrete", (0.34, 0.34, 0.33)),
    ("wood", (0.30, 0.19, 0.11)),
    ("wood", (0.16, 0.085, 0.045)),
    ("tiles", (0.55, 0.53, 0.50)),
    ("concrete", (0.12, 0.12, 0.125)),
    ("wood", (0.45, 0.33, 0.20)),
)
FACES = (
    ((0.42, 0.28, 0.16), (0.30, 0.19, 0.10)),
    ((0.36, 0.24, 0.14), (0.24, 0.16, 0.09)),
    ((0.06, 0.06, 0.065), (0.10, 0.10, 0.10)),
    ((0.62, 0.60, 0.56), (0.40, 0.36, 0.30)),
)


def _room_px(lens: Lens, ring: Array) -> float:
    """From the board to the border of the picture."""
    at = lens.project(np.column_stack([ring, np.full(len(ring), -6.0)]))
    return float(np.minimum(at, np.array([lens.width_px, lens.height_px]) - 1.0 - at).min())


def case(number: int, width_px: int = 4000) -> Case:
    """One of the scenes; the same for the same number."""
    rng = np.random.default_rng(9000 + number)
    layout: Layout = LAYOUTS[number % 5]
    size = float(rng.uniform(260, 420) if layout == "beside" and number % 2 else rng.uniform(280, 820))
    if layout == "top":
        size = max(size, 420.0)
    w, h = size, size * float(rng.uniform(0.55, 0.8))
    if layout == "top":
        h = max(h, 330.0)
    truth = boards(rng, w, h, whole=layout == "top")
    if layout == "top":
        truth = replace(truth, holes=())
    turn = math.radians(float(rng.uniform(-12, 12)))
    spin = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    middle = np.array(truth.size_mm) / 2.0

    def world(ring: Ring) -> Array:
        out: Array = (np.array(ring.points(0.002)) - middle) @ spin.T
        return out

    (floor, tint), (face, wall) = FLOORS[int(rng.integers(len(FLOORS)))], FACES[int(rng.integers(len(FACES)))]
    if (
        abs(math.log((sum(face) + 0.02) / (sum(tint) + 0.02))) < 0.25
        and max(abs(f / sum(face) - t / sum(tint)) for f, t in zip(face, tint, strict=True)) < 0.05
    ):
        tint = (0.45 * tint[0], 0.45 * tint[1], 0.45 * tint[2])  # else nobody could see the board
    paper: PaperName = "a4" if number % 2 == 0 else "letter"
    gap = float(rng.uniform(15, 40))
    pw, ph = PAPERS_MM[paper]
    reach = float(np.abs(world(truth.outer)).max(axis=0)[0])
    left = Sheet(1, (-reach - gap - pw, -ph / 2 + float(rng.uniform(-30, 30))), float(rng.uniform(-5, 5)), paper=paper)
    right = Sheet(2, (reach + gap, -ph / 2 + float(rng.uniform(-30, 30))), float(rng.uniform(-5, 5)), paper=paper)
    if layout == "two":
        sheets: tuple[Sheet, ...] = (left, right)
        wide = 2 * (reach + gap + pw)
    elif layout == "beside":
        sheets, wide = (left,), 2 * reach + gap + pw
    else:
        spot = np.array([20.0 + 0.35 * (w - pw - 40.0), (h - ph) * 0.45])
        if w - pw < 60:
            spot = np.array([(w - pw) / 2, (h - ph) / 2])
        at = (spot - middle) @ spin.T
        sheets, wide = (Sheet(1, (float(at[0]), float(at[1])), math.degrees(turn), True, paper=paper),), 2.2 * reach
    aim_x = -(gap + pw) / 2.0 if layout == "beside" else 0.0
    tilt = float(rng.uniform(0, 30))
    focal = float(rng.uniform(0.68, 0.82))
    k1 = float(rng.uniform(-0.15, 0.02))
    far = (
        max(wide, (h + 60) * 1.35, 1.35 * (ph + 80))
        * focal
        * (1.08 + 0.35 * math.sin(math.radians(tilt)) - 0.9 * min(k1, 0) * 0.3)
    )
    far = max(far, 450.0)
    lens = Lens(
        width_px,
        width_px * 3 // 4,
        focal,
        k1,
        aim_mm=(aim_x + float(rng.uniform(-15, 15)), float(rng.uniform(-15, 15))),
        far_mm=far,
        tilt_deg=tilt,
        toward_deg=float(rng.uniform(0, 360)),
        roll_deg=float(rng.uniform(-8, 8)),
    )
    while _room_px(lens, world(truth.outer)) < 40.0:  # the whole board in the picture
        lens = replace(lens, far_mm=1.03 * lens.far_mm)
    board = Board(
        world(truth.outer), tuple(world(h_) for h_ in truth.holes), float(rng.choice([2.0, 3.0, 4.0, 6.0])), face, wall
    )
    scene = Scene(
        lens,
        sheets,
        board,
        floor,
        tint,
        shadow=float(rng.uniform(0, 0.5)),
        contact=float(rng.uniform(0.2, 0.6)),
        contact_mm=(float(rng.uniform(-6, 6)), float(rng.uniform(-6, 6))),
        blur_px=float(rng.uniform(0.6, 1.1)),
        noise=float(rng.uniform(0.003, 0.012)),
        quality=int(rng.integers(85, 96)),
        seed=number,
    )
    return Case(f"{number:02d} {layout} {floor}", layout, truth, scene)
