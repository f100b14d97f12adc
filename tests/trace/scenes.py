"""Small scenes for the tests: the bench's own renderer at a quarter of the pixels, and outlines compared."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from bench._boards import circle, rounded
from bench._scene import Board, Lens, Scene, Sheet, photograph
from loomwright.trace.outline import Outline, Ring
from loomwright.trace.typed import rectangle

WIDE_PX = 2000


def lens(**changes: Any) -> Lens:
    """A telephone above the bench, a little askew."""
    base = Lens(
        WIDE_PX,
        WIDE_PX * 3 // 4,
        0.74,
        -0.08,
        aim_mm=(0.0, 0.0),
        far_mm=800.0,
        tilt_deg=12.0,
        toward_deg=35.0,
        roll_deg=4.0,
    )
    return replace(base, **changes)


def notched() -> Outline:
    """A board of 360 x 260 mm with a notch and a round hole."""
    outer = rounded([(0, 0), (360, 0), (360, 170), (250, 170), (250, 260), (0, 260)], [0, 0, 0, 0, 0, 0])
    return Outline(outer, (circle(90.0, 100.0, 22.0),), "typed")


def points(ring: Ring, middle: tuple[float, float]) -> npt.NDArray[np.float64]:
    """A ring as the renderer wants it, about the middle of the scene."""
    out: npt.NDArray[np.float64] = np.array(ring.points(0.005)) - np.asarray(middle)
    return out


def board(truth: Outline, **changes: Any) -> Board:
    """The outline as a card of 3 mm."""
    middle = (truth.size_mm[0] / 2.0, truth.size_mm[1] / 2.0)
    made = Board(points(truth.outer, middle), tuple(points(h, middle) for h in truth.holes), 3.0)
    return replace(made, **changes)


LEFT = Sheet(1, (-420.0, -150.0), 3.0)
RIGHT = Sheet(2, (205.0, -140.0), -4.0)


def scene(truth: Outline, sheets: tuple[Sheet, ...] = (LEFT, RIGHT), **changes: Any) -> Scene:
    """The board between two sheets on concrete."""
    base = Scene(lens(), sheets, board(truth), "concrete", (0.33, 0.33, 0.32), shadow=0.3, contact_mm=(3.0, 2.0))
    return replace(base, **changes)


@lru_cache(maxsize=4)
def usual() -> bytes:
    """The notched board between two sheets."""
    return photograph(scene(notched()))


LONG = Outline(rectangle(900.0, 240.0))
"""A board too long for one photograph."""


@lru_cache(maxsize=1)
def in_two_parts() -> tuple[bytes, ...]:
    """The long board in two photographs, three sheets along it; the middle one is seen by both."""
    sheets = (Sheet(1, (-330.0, -435.0), 2.0), Sheet(2, (-60.0, -430.0)), Sheet(3, (180.0, -425.0), 3.0))
    views = (
        lens(aim_mm=(x, -130.0), far_mm=760.0, tilt_deg=5.0, toward_deg=90.0 * k, roll_deg=2.0)
        for k, x in enumerate((-190.0, 190.0))
    )
    return tuple(photograph(scene(LONG, sheets, lens=v, shadow=0.0, seed=5 + k)) for k, v in enumerate(views))


@lru_cache(maxsize=1)
def with_another() -> bytes:
    """The notched board between its sheets, and a smaller one of the same card behind it."""
    base = scene(notched(), lens=lens(far_mm=1000.0))
    truth = Outline(rectangle(200.0, 110.0))
    away = np.array([20.0, -260.0])
    moved = Board(points(truth.outer, (100.0, 55.0)) + away, (), 3.0)
    first, second = (
        np.asarray(Image.open(io.BytesIO(photograph(s)))) for s in (base, replace(base, board=moved))
    )
    about = points(rectangle(240.0, 150.0), (120.0, 75.0)) + away
    ring = base.lens.project(np.column_stack([about, np.zeros(len(about))]))
    mask = Image.new("1", (first.shape[1], first.shape[0]))
    ImageDraw.Draw(mask).polygon([(float(x), float(y)) for x, y in ring], fill=1)
    both = np.where(np.asarray(mask)[:, :, None], second, first)
    out = io.BytesIO()
    Image.fromarray(both).save(out, "JPEG", quality=93)
    return out.getvalue()


def lengths(outline: Outline) -> list[float]:
    """Lengths of straight sides and radii of arcs, sorted."""
    sides = [s for r in outline.rings() for s in r.sides]
    return sorted(s.radius_mm if s.bulge else s.length_mm for s in sides)


def wrong_by(truth: Outline, found: Outline) -> float:
    """The largest difference of a side; infinite where there are not as many of each kind."""
    a, b = lengths(truth), lengths(found)
    return max(abs(x - y) for x, y in zip(a, b, strict=True)) if len(a) == len(b) else math.inf
