"""A board that has the colour of its floor: what a closed line of strong edges keeps from the picture's border."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from loomwright.trace.board import Candidate, Mask, lies_on
from loomwright.trace.plan import Plan

LONG_PX, CELL_MM = 400, 2.4
"""Edges are looked for in cells of this size, or larger ones where the longer side would have more cells."""
_LENGTH_MM, _DEPTH_MM = 22.0, 5.0
LEAST_MM2 = 8000.0
TRIES = 3
SPUR_MM = 4.0


def candidates(plan: Plan) -> Iterator[Candidate]:
    """Boards that may be it, the best closed first."""
    import cv2

    rows, columns = plan.seen.shape
    shrink = min(1.0, LONG_PX / max(rows, columns), plan.step_mm / CELL_MM)
    size = (max(1, round(columns * shrink)), max(1, round(rows * shrink)))
    step = plan.step_mm / shrink
    seen = cv2.resize(plan.seen.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)
    paper = cv2.resize(plan.paper.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    rgb = np.asarray(cv2.resize(plan.rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    edges = _edges(rgb, (seen > 0) & ~paper, step)
    reach = max(2, round(_DEPTH_MM * 1.6 / step))
    inner = cv2.erode(np.pad(seen, 1), np.ones((3, 3), np.uint8), iterations=2)[1:-1, 1:-1] > 0
    edges[~inner] = 0.0
    usual = float(np.median(edges[inner & ~paper])) if (inner & ~paper).any() else 1.0
    tries = 0
    tried = list[tuple[float, Mask]]()
    top = float(np.percentile(edges[inner], 99.5)) if inner.any() else 0.0
    for level in np.geomspace(max(top, 2.0 * usual), 1.6 * usual, 18):
        labels, stats = cv2.connectedComponentsWithStats((edges < level).astype(np.uint8), connectivity=4)[1:3]
        outside = np.unique(labels[~inner])
        for k in 1 + np.argsort(-stats[1:, cv2.CC_STAT_AREA]):
            area = float(stats[k, cv2.CC_STAT_AREA]) * step**2
            if area < LEAST_MM2 or k in outside or area > 0.7 * inner.sum() * step**2:
                continue
            region = labels == k
            if area - float(paper[region].sum()) * step**2 < LEAST_MM2 or any(
                0.75 < area / a < 1.35 and (region & r).any() for a, r in tried
            ):
                continue
            tried.append((area, region))
            mask = _grown(plan, region, reach, size)
            if mask is not None:
                yield Candidate(mask, 0.0)
                tries += 1
            if tries >= TRIES:
                return


def _edges(rgb: npt.NDArray[np.uint8], bare: Mask, step: float) -> npt.NDArray[np.float32]:
    """Strongest step between two strips laid side by side, over twelve directions; fine grain averages out in them.

    Sheets are looked through, and so is what lies outside of the picture: only what is ``bare`` counts.
    """
    import cv2

    clear = cv2.erode(
        bare.astype(np.uint8), np.ones((3, 3), np.uint8), borderType=cv2.BORDER_CONSTANT, borderValue=0
    ).astype(np.float32)
    logs = np.log(rgb.astype(np.float32) / np.float32(255.0) + np.float32(0.02))
    planes = [clear, *(np.ascontiguousarray(logs[:, :, c] * clear) for c in range(3))]
    half = math.ceil(max(_LENGTH_MM / 2.0, _DEPTH_MM) / step)
    y, x = np.mgrid[-half : half + 1, -half : half + 1] * step
    best = np.zeros(rgb.shape[:2], np.float32)
    for k in range(12):
        a = math.pi * k / 12.0
        along, across = x * math.cos(a) + y * math.sin(a), y * math.cos(a) - x * math.sin(a)
        inside = np.abs(along) <= _LENGTH_MM / 2.0
        strips = [inside & (side * across > 0.3 * step) & (side * across <= _DEPTH_MM) for side in (1.0, -1.0)]
        (share, *one), (other, *two) = (
            [_mean(p, (s / max(s.sum(), 1)).astype(np.float32)) for p in planes] for s in strips
        )
        enough = np.minimum(share, other) > 0.35
        apart2 = np.zeros_like(best)
        for here, there in zip(one, two, strict=True):
            here /= np.maximum(share, np.float32(1e-3))
            here -= there / np.maximum(other, np.float32(1e-3))
            here *= here
            apart2 += here
        apart2 *= enough
        np.maximum(best, apart2, out=best)
    return np.sqrt(best)


def _mean(plane: npt.NDArray[np.float32], strip: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    import cv2

    return np.asarray(cv2.filter2D(plane, cv2.CV_32F, strip), np.float32)


def _grown(plan: Plan, region: Mask, reach: int, size: tuple[int, int]) -> Mask | None:
    """The region out to the edges that hold it, on the cells of the plan."""
    import cv2

    rows, columns = plan.seen.shape
    one = cv2.resize(region.astype(np.uint8), (columns, rows), interpolation=cv2.INTER_NEAREST)
    filled = np.zeros_like(one)
    found, _ = cv2.findContours(one, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cv2.drawContours(filled, found, -1, 1, -1)
    wide = round(2.2 * reach * columns / size[0])
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * wide + 1, 2 * wide + 1))
    x, y, w, h = cv2.boundingRect(filled)
    about = wide + 4
    box = slice(max(y - about, 0), y + h + about), slice(max(x - about, 0), x + w + about)
    seeds = np.zeros(filled[box].shape, np.int32)
    seeds[cv2.dilate(filled[box], kernel) == 0] = 1
    seeds[filled[box] > 0] = 2
    cv2.watershed(cv2.medianBlur(plan.rgb[box], 5), seeds)
    mask: Mask = np.zeros((rows, columns), bool)
    mask[box] = seeds == 2
    across = 2 * max(1, round(SPUR_MM / plan.step_mm)) + 1
    spur = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (across, across))
    mask = np.asarray(cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, spur) > 0, np.bool_)
    mask &= ~plan.paper
    for page in plan.pages.values():
        if lies_on(mask, page, 5):
            mask |= page & plan.paper
    if not mask.any():
        return None
    return mask
