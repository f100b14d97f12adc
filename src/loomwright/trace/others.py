"""Other boards in the picture: seen and left, so that nobody takes one for another."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from loomwright.trace.board import Mask
from loomwright.trace.plan import LINEAR, Plan

CELL_MM, LEAST_MM2 = 4.0, 8000.0
LIGHT, HUE = (0.5, 2.0), 0.10
"""So much lighter or darker, and so near in hue, that it may be of the same card."""
CLEAR_MM, FULL = 20.0, 0.55


def others(plan: Plan, mask: Mask) -> int:
    """How many more pieces of the board's colour lie in the picture, wholly in it and apart from the board.

    A floor of that colour reaches the border of the picture and is none; nor is a thin strip or a frayed patch.
    """
    import cv2

    nth = max(1, round(CELL_MM / plan.step_mm))
    step = nth * plan.step_mm
    rgb = LINEAR[plan.rgb[::nth, ::nth]] + np.float32(0.003)
    seen, paper = plan.seen[::nth, ::nth], plan.paper[::nth, ::nth]
    own = mask[::nth, ::nth]
    face = own & ~paper
    if not face.any():
        return 0
    colour = np.median(rgb[face], axis=0)
    shade = rgb @ colour / float(colour @ colour)
    off = np.linalg.norm(rgb - shade[:, :, None] * colour, axis=2) / np.linalg.norm(rgb, axis=2)
    alike = (off < HUE) & (shade > LIGHT[0]) & (shade < LIGHT[1]) & seen & ~paper
    away = round(CLEAR_MM / step)
    near = cv2.dilate(own.astype(np.uint8), np.ones((2 * away + 1, 2 * away + 1), np.uint8)) > 0
    reach = 2 * max(1, round(0.5 * CLEAR_MM / step)) + 1
    solid: npt.NDArray[np.uint8] = np.asarray(
        cv2.morphologyEx(alike.astype(np.uint8), cv2.MORPH_OPEN, np.ones((reach, reach), np.uint8)), np.uint8
    )
    count, labels, stats, _ = cv2.connectedComponentsWithStats(solid, connectivity=4)
    inner = cv2.erode(np.pad(seen, 1).astype(np.uint8), np.ones((3, 3), np.uint8), iterations=2)[1:-1, 1:-1] > 0
    least = LEAST_MM2 / step**2
    found = 0
    for k in range(1, count):
        piece = labels == k
        if stats[k, cv2.CC_STAT_AREA] < least or (piece & (near | ~inner)).any():
            continue
        ring = max(cv2.findContours(piece.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0], key=len)
        found += float(stats[k, cv2.CC_STAT_AREA]) > FULL * max(cv2.contourArea(cv2.convexHull(ring)), 1.0)
    return found
