"""Which of the boards that may be it is it: the one whose whole rim stands out; and which of its holes are holes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.trace import board as by_colour
from loomwright.trace import enclosed, others, rim
from loomwright.trace.board import Candidate, Mask
from loomwright.trace.camera import Array
from loomwright.trace.fit import Scene, View
from loomwright.trace.picture import refuse
from loomwright.trace.plan import Plan, draw

GOOD, LEAST = 0.985, 0.80
BORDER_MM, ROUND_MM = 4.0, 30.0
LEAST_STEP = 6.0
LEAST_HOLE = 5.0
"""The rim of a hole stands out by so many times what texture makes; the edge of a shadow on the face does not."""
WHOLE, ALONG_MM = 0.93, 80.0
DARKEST, BRIGHTEST = 0.2, 1.35
"""How much light the floor in a hole may get, against the floor about the board."""
_CONTRAST = "Lay the board on a floor of another colour, with even light and nothing else near it."


@dataclass(frozen=True, slots=True)
class Found:
    """The board: its mask on the plan, its rims (the outer one first), how many patches were taken for no holes, and
    how many more boards are seen.
    """

    mask: Mask
    rims: tuple[rim.Rim, ...]
    patches: int
    others: int


def board(views: Sequence[View], scene: Scene, above: Plan, face_z: float, names: str) -> Found:
    """The board in the plan.

    Raises
    ------
    InputError
        Where no board is seen, or it runs out of the picture.
    """
    best: tuple[float, Mask, rim.Rim] | None = None
    for look in (enclosed.candidates, by_colour.candidates):
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
    more = others.others(above, best[1])
    if more:
        best = _nearest(views, scene, above, face_z, best)
    score, mask, outer = best
    if _cut_off(above, outer):
        raise refuse(
            names,
            "board",
            "the whole board in the picture",
            "a board that runs out of it",
            "Go farther away, or take several photographs that share a marker sheet and give them together.",
        )
    if score < LEAST:
        raise refuse(
            names, "board", "a rim that stands out all round", f"{max(score, 0.0) * 100.0:.0f} % of it", _CONTRAST
        )
    if _against_sheet(above, mask, outer):
        raise refuse(
            names,
            "sheets",
            "each sheet clear of the board, or wholly on top of it",
            "a sheet whose edge runs along the board's",
            "Lay it a finger's width away from the board, or on the middle of it, and take the photograph again.",
        )
    near = draw(views, scene, face_z, (outer.points_mm.min(axis=0) - ROUND_MM, outer.points_mm.max(axis=0) + ROUND_MM))
    inside = _filled(near, outer.points_mm)
    floor: Array | None = None
    fine = inside & _carried(above, near, mask) & ~by_colour.odd_patches(near, inside)
    out, face, patches = [outer], rim.face_of(near, fine), 0
    for ring, hole in rim.contours(fine, near):
        if not hole or _is_paper(near, ring):
            continue
        found = rim.follow(views, scene, face, ring, True, face_z)
        if found is None or found.support() < 0.7 or float(np.median(found.strength)) < LEAST_HOLE:
            continue
        floor = by_colour.floor_colours(above, mask) if floor is None else floor
        if _shows_floor(near, ring, floor):
            out.append(found)
        else:
            patches += 1
    return Found(mask, tuple(out), patches, more)


def _nearest(
    views: Sequence[View], scene: Scene, above: Plan, face_z: float, best: tuple[float, Mask, rim.Rim]
) -> tuple[float, Mask, rim.Rim]:
    """Of several boards the one that the sheets lie on or next to."""
    choices = [best]
    for candidate in enclosed.candidates(above):
        scored = _scored(views, scene, above, candidate, face_z)
        if scored is not None and scored[0] > min(GOOD, best[0]):
            choices.append(scored)
    return min(choices, key=lambda made: _from_sheets(above, made[1]))


def _from_sheets(above: Plan, mask: Mask) -> float:
    """How far the sheets lie from a board; its middle counts too: beside its sides is nearer than off a corner."""
    import cv2

    off = cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 3)
    rows, columns = np.nonzero(mask)
    middle = np.array([columns.mean(), rows.mean()])
    total = 0.0
    for page in above.pages.values():
        at = np.argwhere(page)[:, ::-1]
        if len(at):
            total += float(off[page].min()) + 0.2 * float(np.linalg.norm(at.mean(axis=0) - middle))
    return total


def _against_sheet(above: Plan, mask: Mask, outer: rim.Rim) -> bool:
    """Whether the rim runs along a sheet that nothing covers: then the sheet may hide a part of the board."""
    size = np.array(above.seen.shape)[::-1] - 1
    cells = np.clip(np.round(above.cells(outer.points_mm + 2.5 * outer.normals)).astype(int), 0, size)
    for page in above.pages.values():
        along = page[cells[:, 1], cells[:, 0]] & above.paper[cells[:, 1], cells[:, 0]]
        whole = float((page & above.paper).sum()) > WHOLE * float(page.sum())
        touches = float(along.mean()) * len(cells) * rim.STATION_MM > ALONG_MM
        if whole and touches and _amid_face(above, mask, page):
            return True
    return False


def _amid_face(above: Plan, mask: Mask, page: Mask) -> bool:
    """Whether what is round a sheet has the colour of the board, in any light, on more than one of its sides."""
    import cv2

    near = cv2.dilate(page.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=4) > 0
    around = above.rgb[near & ~page & ~above.paper].astype(float) + 1.0
    face = np.median(above.rgb[mask & ~above.paper], axis=0) + 1.0
    alike = (around @ face) / (np.linalg.norm(around, axis=1) * float(np.linalg.norm(face)))
    light = np.linalg.norm(around, axis=1) / float(np.linalg.norm(face))
    return len(around) > 0 and float(((alike > 0.998) & (light > 0.75) & (light < 1.35)).mean()) > 0.5


def _differs(above: Plan, ring: Array) -> bool:
    """Whether what is inside of a ring has another colour or texture than what is about it: a floor tile has not."""
    import cv2

    inside = _filled(above, ring).astype(np.uint8)[::2, ::2]
    n = max(2, round(2.5 / above.step_mm))
    kernel = np.ones((2 * n + 1, 2 * n + 1), np.uint8)
    clear = (above.seen & ~above.paper)[::2, ::2]
    core = (cv2.erode(inside, kernel) > 0) & clear
    near = cv2.dilate(inside, kernel)
    about = (cv2.dilate(near, kernel, iterations=2) > 0) & (near == 0) & clear
    if not core.any() or not about.any():
        return False
    rgb = above.rgb[::2, ::2]
    a, b = rgb[core].astype(np.float32), rgb[about].astype(np.float32)
    if float(np.linalg.norm(a.mean(axis=0) - b.mean(axis=0))) > LEAST_STEP:
        return True
    rough = [float(np.abs(x - x.mean(axis=0)).mean()) for x in (a, b)]
    return max(rough) > 1.5 * min(rough)


def _filled(above: Plan, ring: Array) -> Mask:
    """The cells inside of a ring."""
    import cv2

    out = np.zeros(above.seen.shape, np.uint8)
    cv2.fillPoly(out, [np.round(above.cells(ring) * 16.0).astype(np.int32)], 1, shift=4)
    return out > 0


def _carried(old: Plan, new: Plan, mask: Mask) -> Mask:
    """A mask on the cells of another plan."""
    import cv2

    times = new.step_mm / old.step_mm
    x, y = old.cells(new.world(np.zeros((1, 2))))[0]
    rows, columns = new.seen.shape
    move = np.array([[times, 0.0, x], [0.0, times, y]])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    out = cv2.warpAffine(mask.astype(np.float32), move, (columns, rows), flags=flags)
    return np.asarray(out > 0.5, np.bool_)


def _shows_floor(above: Plan, ring: Array, floor: Array) -> bool:
    """Whether what is seen in a ring is floor, in more or less shadow, and no print, tape or label on the face."""
    import cv2

    inside = np.zeros(above.seen.shape, np.uint8)
    cv2.fillPoly(inside, [np.round(above.cells(ring)).astype(np.int32)], 1)
    core = cv2.erode(inside, np.ones((3, 3), np.uint8))
    where = (core if core.any() else inside) > 0
    light = (np.median(above.rgb[where], axis=0) / 255.0) ** 2.2
    for colour in floor:
        shade = float(light @ colour) / float(colour @ colour)
        if DARKEST < shade < BRIGHTEST and float(np.linalg.norm(light - shade * colour)) < 0.22 * float(
            np.linalg.norm(light)
        ):
            return True
    return False


def _scored(
    views: Sequence[View], scene: Scene, above: Plan, candidate: Candidate, face_z: float
) -> tuple[float, Mask, rim.Rim] | None:
    rings = [r for r, hole in rim.contours(candidate.mask, above) if not hole]
    if not rings:
        return None
    found = rim.follow(views, scene, rim.face_of(above, candidate.mask), rings[0], False, face_z)
    if found is None:
        return None
    cells = np.clip(
        np.round(above.cells(found.points_mm + 3.0 * found.normals)).astype(int),
        0,
        np.array(above.seen.shape)[::-1] - 1,
    )
    by_paper = float(above.paper[cells[:, 1], cells[:, 0]].mean())
    if candidate.brightness == 0.0 and not _differs(above, found.points_mm):
        return None
    score = (
        found.support()
        - max(0.0, by_paper - 0.25)
        - 0.5 * max(0.0, 0.012 - candidate.mask.sum() / above.seen.sum()) / 0.012
    )
    return score, candidate.mask, found


def _is_paper(above: Plan, ring: Array) -> bool:
    cells = np.clip(np.round(above.cells(ring)).astype(int), 0, np.array(above.seen.shape)[::-1] - 1)
    return float(above.paper[cells[:, 1], cells[:, 0]].mean()) > 0.3


def on_board(above: Plan, mask: Mask, key: int) -> bool:
    """Whether a sheet lies on the board."""
    return by_colour.lies_on(mask & ~above.paper, above.pages[key], 5)


def _cut_off(above: Plan, outer: rim.Rim) -> bool:
    """Whether the board reaches the border of what the photographs show."""
    import cv2

    reach = max(2, round(BORDER_MM / above.step_mm))
    inner = cv2.erode(np.pad(above.seen, 1).astype(np.uint8), np.ones((3, 3), np.uint8), iterations=reach)[1:-1, 1:-1]
    cells = np.clip(np.round(above.cells(outer.points_mm)).astype(int), 0, np.array(above.seen.shape)[::-1] - 1)
    return int((inner[cells[:, 1], cells[:, 0]] == 0).sum()) > 2
