"""Which of the boards that may be it is it: the one whose whole rim stands out; and which of its holes are holes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loomwright.trace import board as by_colour
from loomwright.trace import enclosed, rim
from loomwright.trace.board import Candidate, Mask
from loomwright.trace.fit import Scene, View
from loomwright.trace.picture import refuse
from loomwright.trace.plan import Plan

GOOD, LEAST = 0.985, 0.80
_CONTRAST = "Lay the board on a floor of another colour, with even light and nothing else near it."


def board(views: Sequence[View], scene: Scene, above: Plan, face_z: float, names: str) -> tuple[Mask, list[rim.Rim]]:
    """The mask of the board and its rims, the outer one first.

    Raises
    ------
    InputError
        Where no board is seen, or it runs out of the picture.
    """
    best: tuple[float, Mask, rim.Rim] | None = None
    for look in (by_colour.candidates, enclosed.candidates):
        for candidate in look(above):
            scored = _scored(views, scene, above, candidate, face_z)
            if scored is not None and (best is None or scored[0] > best[0]):
                best = scored
            if best is not None and best[0] > GOOD:
                break
        if best is not None and best[0] > GOOD:
            break
    if best is None:
        raise refuse(names, "board", "a board that stands out from the floor", "none", _CONTRAST)
    score, mask, outer = best
    if _cut_off(above, mask):
        raise refuse(
            names, "board", "the whole board in the picture", "a board that runs out of it",
            "Go farther away, or take several photographs that share a marker sheet and give them together.",
        )  # fmt: skip
    if score < LEAST:
        raise refuse(
            names, "board", "a rim that stands out all round", f"{max(score, 0.0) * 100.0:.0f} % of it", _CONTRAST
        )
    out, face = [outer], rim.face_of(above, mask)
    for ring, hole in rim.contours(mask, above):
        if hole and not _is_paper(above, ring):
            found = rim.follow(views, scene, face, ring, True, face_z)
            if found is not None and found.support() > 0.7:
                out.append(found)
    return mask, out


def _scored(
    views: Sequence[View], scene: Scene, above: Plan, candidate: Candidate, face_z: float
) -> tuple[float, Mask, rim.Rim] | None:
    rings = [r for r, hole in rim.contours(candidate.mask, above) if not hole]
    if not rings:
        return None
    found = rim.follow(views, scene, rim.face_of(above, candidate.mask), rings[0], False, face_z)
    if found is None:
        return None
    cells = np.clip(np.round(above.cells(found.points_mm + 3.0 * found.normals)).astype(int), 0, np.array(above.seen.shape)[::-1] - 1)
    by_paper = float(above.paper[cells[:, 1], cells[:, 0]].mean())
    score = found.support() - max(0.0, by_paper - 0.25) - 0.5 * max(0.0, 0.012 - candidate.mask.sum() / above.seen.sum()) / 0.012
    return score, candidate.mask, found


def _is_paper(above: Plan, ring: np.ndarray) -> bool:  # type: ignore[type-arg]
    cells = np.clip(np.round(above.cells(ring)).astype(int), 0, np.array(above.seen.shape)[::-1] - 1)
    return float(above.paper[cells[:, 1], cells[:, 0]].mean()) > 0.3


def on_board(above: Plan, mask: Mask, key: int) -> bool:
    """Whether a sheet lies on the board."""
    return by_colour.lies_on(mask & ~above.pages[key], above.pages[key], 5)


def _cut_off(above: Plan, mask: Mask) -> bool:
    """Whether the board reaches the border of what the photographs show."""
    import cv2

    rows, columns = mask.shape
    reach = max(3, max(rows, columns) // 60) + max(2, round(2.5 * max(rows, columns) / by_colour.COARSE_PX))
    inner = cv2.erode(np.pad(above.seen, 1).astype(np.uint8), np.ones((3, 3), np.uint8), iterations=reach)[1:-1, 1:-1]
    return float((mask & (inner == 0)).sum()) > 0.004 * float(mask.sum())
