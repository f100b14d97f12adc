"""Which part of the scene is the board: a cut of least cost between two mixtures of colours, one of them the floor's.

The floor is learned from the border of the picture, where no board may be. Looked at twice, with brightness counted
fully and counted little (so that shadows fall away); the better edged result is kept by the caller.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from loomwright.trace.camera import Array
from loomwright.trace.plan import Plan

Mask = npt.NDArray[np.bool_]
COARSE_PX = 320
COMPONENTS = 5
LEAST_HOLE_MM2 = 25.0
GAP_MM = 6.0
FAINT = 0.25
"""What differs from the face by less than this part of what a hole does, beside it, is no part of the hole."""
MOSTLY, COVERED = 0.65, 0.12


@dataclass(frozen=True, slots=True)
class Candidate:
    """A board that may be it.

    Attributes
    ----------
    mask : array of bool
        On the cells of the plan, holes left out.
    brightness : float
        How much brightness counted; 0 where it was found by its edges.
    """

    mask: Mask
    brightness: float


@dataclass(frozen=True, slots=True)
class _Mixture:
    weights: npt.NDArray[np.float64]
    means: npt.NDArray[np.float64]
    spreads: npt.NDArray[np.float64]

    def model(self) -> npt.NDArray[np.float64]:
        """As the cut wants it."""
        return np.concatenate([self.weights, self.means.ravel(), self.spreads.ravel()]).reshape(1, -1)

    def without(self, other: _Mixture) -> _Mixture:
        """The same without small parts that another mixture has too: floor that is seen through holes."""
        alike = other.distance2(self.means.astype(np.float32)) < 6.0
        weights = np.where(alike & (self.weights < 0.2), 0.0, self.weights)
        return self if weights.sum() < 0.5 else _Mixture(weights / weights.sum(), self.means, self.spreads)

    def cost(self, points: npt.NDArray[np.float32]) -> npt.NDArray[np.float64]:
        """Minus the logarithm of the density."""
        out = np.zeros(len(points))
        for w, m, s in zip(self.weights, self.means, self.spreads, strict=True):
            if w <= 0.0:
                continue
            out += w * np.exp(-0.5 * np.minimum(_spread2(points, m, s), 200.0)) / np.sqrt(np.linalg.det(s))
        return -np.log(np.maximum(out, 1e-60))

    def distance2(self, points: npt.NDArray[np.float32]) -> npt.NDArray[np.float64]:
        """Squared distance to the nearest component, in its own spreads."""
        best = np.full(len(points), np.inf)
        for w, m, s in zip(self.weights, self.means, self.spreads, strict=True):
            if w > 0.04:
                best = np.minimum(best, _spread2(points, m, s))
        return best


def _spread2(points: npt.NDArray[np.float32], mean: Array, spread: Array) -> npt.NDArray[np.float32]:
    """Squared distance of points to a colour, in its own spread."""
    root = np.linalg.inv(np.linalg.cholesky(spread)).T.astype(np.float32)
    away = (points - mean.astype(np.float32)) @ root
    out: npt.NDArray[np.float32] = (away * away) @ np.ones(3, np.float32)
    return out


def candidates(plan: Plan) -> Iterator[Candidate]:
    """Boards that may be it, one for each way to count brightness; none where nothing stands out from the floor."""
    for brightness in (1.0, 0.35):
        mask = _cut(plan, brightness)
        if mask is not None:
            yield Candidate(mask, brightness)


def _feature(rgb: npt.NDArray[Any], brightness: float) -> npt.NDArray[np.uint8]:
    import cv2

    lab = cv2.cvtColor(rgb.astype(np.float32) / np.float32(255.0), cv2.COLOR_RGB2LAB)
    scaled = np.empty_like(lab)
    scaled[:, :, 0] = lab[:, :, 0] * 2.4 * brightness
    scaled[:, :, 1:] = 128.0 + lab[:, :, 1:] * 2.4
    return np.asarray(np.clip(np.round(scaled), 0, 255), np.uint8)


def _cut(plan: Plan, brightness: float) -> Mask | None:
    import cv2

    rows, columns = plan.seen.shape
    shrink = min(1.0, COARSE_PX / max(rows, columns))
    size = (max(1, round(columns * shrink)), max(1, round(rows * shrink)))
    whole = cv2.resize(plan.seen.astype(np.float32), size, interpolation=cv2.INTER_AREA) > 0.999
    seen = cv2.erode(whole.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    paper = cv2.resize(plan.paper.astype(np.float32), size, interpolation=cv2.INTER_AREA) > 0.15
    rgb = np.asarray(cv2.resize(plan.rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    feature = _feature(cv2.medianBlur(rgb, 3), brightness)
    points = feature.reshape(-1, 3).astype(np.float32)
    inner = cv2.erode(np.pad(seen, 1).astype(np.uint8), np.ones((3, 3), np.uint8), iterations=max(3, COARSE_PX // 60))
    ring = seen & ~(inner[1:-1, 1:-1] > 0)
    edge = cv2.erode(np.pad(seen, 1).astype(np.uint8), np.ones((3, 3), np.uint8))[1:-1, 1:-1] == 0
    clear = seen & ~paper
    floor = _mixture(points[(ring & clear).ravel()])
    if floor is None:
        return None
    away = floor.distance2(points).reshape(seen.shape)
    likely = (away > 12.0) & clear & ~ring
    likely = cv2.morphologyEx(likely.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)) > 0
    if likely.sum() < 0.004 * seen.sum():
        return None
    now, board = likely, _mixture(points[likely.ravel()])
    for _ in range(3):
        board = _mixture(points[(now & clear).ravel()])
        floor = _mixture(points[(~now & clear).ravel()])
        if board is None or floor is None:
            return None
        board = board.without(floor)
        labels = np.full(seen.shape, cv2.GC_PR_BGD, np.uint8)
        labels[now] = cv2.GC_PR_FGD
        labels[edge | paper | ~seen] = cv2.GC_BGD
        cv2.grabCut(feature, labels, (0, 0, 1, 1), floor.model(), board.model(), 1, cv2.GC_EVAL_FREEZE_MODEL)
        cut = (labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)
        new = _largest(cut, plan, paper, size)
        if new is None:
            return None
        same = (new == now).mean()
        now = new
        if same > 0.999:
            break
    return None if board is None else _fine(plan, now, brightness, floor, board)


def floor_colours(plan: Plan, mask: Mask) -> npt.NDArray[np.float64]:
    """Usual colours of what is neither board nor sheet, in linear light, shape (n, 3)."""
    import cv2

    near = cv2.dilate(mask.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    some = (slice(None, None, 3),) * 2
    mixture = _mixture(plan.rgb[some][(plan.seen & ~near & ~plan.paper)[some]].astype(np.float32))
    if mixture is None:
        return np.zeros((0, 3))
    out: npt.NDArray[np.float64] = (mixture.means[mixture.weights > 0.05] / 255.0) ** 2.2
    return out


def _largest(cut: Mask, plan: Plan, paper: Mask, size: tuple[int, int]) -> Mask | None:
    """The largest piece; a sheet that lies on it belongs to it."""
    import cv2

    whole = cut.copy()
    for page in plan.pages.values():
        small = cv2.resize(page.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
        if lies_on(whole & ~paper, small, 3):
            whole |= small & paper
    count, labels, stats, _ = cv2.connectedComponentsWithStats(whole.astype(np.uint8), connectivity=4)
    if count < 2:
        return None
    best = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    out: Mask = labels == best
    return out


def lies_on(board: Mask, page: Mask, reach: int) -> bool:
    """Whether what is round a sheet is board mostly, and none of that covers it; it may reach over the rim."""
    import cv2

    if not page.any():
        return False
    one = page.astype(np.uint8)
    near = cv2.dilate(one, np.ones((3, 3), np.uint8), iterations=reach) > 0
    gap = cv2.dilate(one, np.ones((3, 3), np.uint8)) > 0
    around = near & ~gap
    if not around.any() or float(board[around].mean()) < MOSTLY:
        return False
    return float((board & page).sum()) < COVERED * float(page.sum())


def _fine(plan: Plan, coarse: Mask, brightness: float, floor: _Mixture, board: _Mixture) -> Mask | None:
    """The mask on the cells of the plan: colours decide near the rim of the cut and in it."""
    import cv2

    rows, columns = plan.seen.shape
    near = cv2.resize(coarse.astype(np.uint8), (columns, rows), interpolation=cv2.INTER_NEAREST)
    reach = max(3, round(1.6 * max(rows, columns) / COARSE_PX))
    kernel = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
    wide, core = cv2.dilate(near, kernel) > 0, cv2.erode(near, kernel) > 0
    feature = _feature(cv2.medianBlur(plan.rgb, 3), brightness)
    pull = np.full((rows, columns), -8.0, np.float32)
    ask = wide & plan.seen
    points = feature[ask].astype(np.float32)
    pull[ask] = np.clip(floor.cost(points) - board.cost(points), -8.0, 8.0)
    pull = np.asarray(cv2.GaussianBlur(pull, (0, 0), 1.6), np.float32)
    mask = (pull > 0.0) & wide
    patch = core & ~mask  # inside the cut the colours must say so clearly
    mask |= patch & (pull > -1.5)
    mask[plan.paper] = False
    for page in plan.pages.values():
        if lies_on(mask, page, 5):
            mask |= page & plan.paper
    mask = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)) > 0
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=4)
    if count < 2:
        return None
    out: Mask = labels == 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    least = LEAST_HOLE_MM2 / plan.step_mm**2
    count, labels, stats, _ = cv2.connectedComponentsWithStats((~out).astype(np.uint8), connectivity=4)
    small = np.flatnonzero(stats[:, cv2.CC_STAT_AREA] < least)
    out |= np.isin(labels, small[small > 0])
    return out


def odd_patches(plan: Plan, mask: Mask) -> Mask:
    """What differs from the face round it, well inside of the rim: holes, and print that looks like them."""
    import cv2

    step = plan.step_mm
    core = cv2.erode(mask.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=max(1, round(4.0 / step)))
    core[plan.paper] = 0
    if not core.any():
        return np.zeros_like(mask)
    smooth = np.asarray(cv2.medianBlur(plan.rgb, 3), np.uint8)
    away = _away(smooth, _usual(smooth, core, step))
    odd: npt.NDArray[Any] = ((away > _odd_from(away[core > 0])) & (core > 0)).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(odd, connectivity=4)
    for k in 1 + np.flatnonzero(stats[1:, cv2.CC_STAT_AREA] * step**2 >= LEAST_HOLE_MM2):
        x, y, w, h = stats[k, :4]
        box = slice(y, y + h), slice(x, x + w)
        mine = labels[box] == k
        faint = mine & (away[box] < FAINT * np.percentile(away[box][mine], 85))
        odd[box][faint] = 0  # a blot of the face that touches a hole
    odd = cv2.morphologyEx(odd, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    size = 2 * round(GAP_MM / step / 2.0) + 1  # a hole shows wall, floor and shadow: one patch
    odd = cv2.morphologyEx(odd, cv2.MORPH_CLOSE, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)))
    found, _ = cv2.findContours(odd, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cv2.drawContours(odd, found, -1, 1, -1)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(odd, connectivity=4)
    good = [k for k in range(1, count) if stats[k, cv2.CC_STAT_AREA] * step**2 >= LEAST_HOLE_MM2]
    out: Mask = np.isin(labels, good)
    return out


def _usual(rgb: npt.NDArray[np.uint8], core: npt.NDArray[Any], step: float) -> npt.NDArray[np.float32]:
    """The usual colour of the face about each cell, without what differs from it."""
    import cv2

    rows, columns = core.shape
    small, face = rgb[2::4, 2::4].astype(np.float32), core[2::4, 2::4].astype(np.float32)
    width = max(3, round(90.0 / (4.0 * step))) | 1
    usual = small
    for again in (False, True):
        if again:
            away = _away(small, usual)
            face[away > (_odd_from(away[face > 0.0]) if face.any() else np.inf)] = 0.0
        total = np.maximum(cv2.blur(face, (width, width)), 1e-6)
        usual = np.asarray(cv2.blur(small * face[:, :, None], (width, width)) / total[:, :, None], np.float32)
    return np.asarray(cv2.resize(usual, (columns, rows), interpolation=cv2.INTER_LINEAR), np.float32)


def _away(rgb: npt.NDArray[Any], usual: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """How far colours are from the usual ones, 0 to 255 for each."""
    apart = rgb - usual
    return np.asarray(np.sqrt(np.einsum("ijk,ijk->ij", apart, apart)), np.float32)


def _odd_from(away: npt.NDArray[np.float32]) -> float:
    """What is farther off than this is no texture."""
    return max(5.0 * float(np.median(away)), 0.05 * 255.0)


def _mixture(points: npt.NDArray[np.float32]) -> _Mixture | None:
    """Five colours with their spreads, by k-means on a part of the points; always the same for the same points."""
    import cv2

    if len(points) < 60:
        return None
    some = points[:: max(1, len(points) // 6000)]
    cv2.setRNGSeed(7)
    criteria = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 12, 0.5)
    _, labels, _ = cv2.kmeans(some, COMPONENTS, None, criteria, 1, cv2.KMEANS_PP_CENTERS)  # type: ignore[call-overload]
    labels = labels.ravel()
    weights, means, spreads = np.zeros(COMPONENTS), np.zeros((COMPONENTS, 3)), np.tile(np.eye(3), (COMPONENTS, 1, 1))
    for k in range(COMPONENTS):
        mine = some[labels == k]
        if len(mine) < 5:
            continue
        weights[k] = len(mine) / len(some)
        means[k] = mine.mean(axis=0)
        spreads[k] = np.cov(mine.T) + 4.0 * np.eye(3)
    return _Mixture(weights / weights.sum(), means, spreads)
