"""Finding the markers: read by their cells, then believed only where they lie as their sheet says."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from loomwright.errors import InputError
from loomwright.trace import layout
from loomwright.trace.camera import Array
from loomwright.trace.picture import Photo, refuse

LOOK_PX, FINER_PX = 1400, 2000
"""So many pixels has the longer side where markers are looked for; more, where few or small ones are seen in it."""
LEAST_CELL_PX, MANY = 4.0, 10
LEAST = 3
"""Markers of one sheet that must agree before any is believed."""


@dataclass(frozen=True, slots=True)
class Seen:
    """The markers of one sheet in one photograph.

    Attributes
    ----------
    key : int
        Which sheet, as in :func:`layout.key_of`.
    ids : tuple of int
        The markers seen, in order.
    corners_px : Array
        Shape (n, 4, 2): where their corners are, to about half a pixel.
    plane : Array
        Homography from the page [mm] to the photograph [px].
    """

    key: int
    ids: tuple[int, ...]
    corners_px: Array
    plane: Array


def find(photo: Photo) -> tuple[Photo, tuple[Seen, ...]]:
    """The photograph, mirrored back where it was mirrored, with every sheet seen in it.

    Raises
    ------
    InputError
        Where there is no sheet to be trusted: it says why and what to do.
    """
    long = max(photo.size_px)
    looks = sorted({max(1, round(long / LOOK_PX)), max(1, round(long / FINER_PX)), 1}, reverse=True)
    found: list[tuple[int, Array]] = []
    sheets: tuple[Seen, ...] = ()
    for k, times in enumerate(looks):
        found = _read(photo, times)
        sheets = max(sheets, _believed(found, photo.name), key=lambda seen: sum(len(s.ids) for s in seen))
        if _plenty(sheets, times) or (sheets and k > 0):
            break
    if not sheets:
        over = photo.mirrored()
        sheets = _believed(_read(over, looks[-2 if len(looks) > 1 else 0]), photo.name)
        if not sheets:
            raise _none(photo, len(found))
        photo = over
    return photo, sheets


def _plenty(sheets: tuple[Seen, ...], times: int) -> bool:
    """Whether so many markers, and so large ones, were seen that no finer look would find more."""
    if not sheets or min(len(s.ids) for s in sheets) < MANY:
        return False
    sides = [np.linalg.norm(s.corners_px - np.roll(s.corners_px, 1, axis=1), axis=2).min() for s in sheets]
    return float(min(sides)) / layout.CELLS / times > LEAST_CELL_PX


def _read(photo: Photo, times: int) -> list[tuple[int, Array]]:
    import cv2

    gray = photo.smaller_gray(times)
    settings: Any = cv2.aruco.DetectorParameters()
    settings.adaptiveThreshWinSizeMin = 9
    settings.adaptiveThreshWinSizeMax = 31
    settings.adaptiveThreshWinSizeStep = 22
    settings.minMarkerPerimeterRate = 0.02
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    settings.cornerRefinementWinSize = 3
    settings.errorCorrectionRate = 0.4
    found: Any = cv2.aruco.ArucoDetector(layout.dictionary(), settings).detectMarkers(gray)
    corners, ids = found[:2]
    if ids is None:
        return []
    shift = 0.5 * times - 0.5
    return [
        (int(i), np.asarray(c, float).reshape(4, 2) * times + shift) for i, c in zip(ids.ravel(), corners, strict=True)
    ]


def _believed(found: list[tuple[int, Array]], name: str) -> tuple[Seen, ...]:
    """Sheets whose markers lie as they were printed."""
    import cv2

    groups: dict[int, list[tuple[int, Array]]] = defaultdict(list)
    for marker, corners in found:
        made = layout.sheet_of(marker)
        if made is not None:
            groups[layout.key_of(made)].append((marker, corners))
    out = []
    for key, group in sorted(groups.items()):
        twice = sum(n > 1 for n in Counter(m for m, _ in group).values())
        if len(group) < LEAST:
            continue
        page = {m.id: m.corners_mm() for m in layout.sheet_by_key(key).markers}
        at = np.array([page[m] for m, _ in group], float)
        px = np.array([c for _, c in group])
        sides = np.linalg.norm(px - np.roll(px, 1, axis=1), axis=2).mean()
        homography: Any = cv2.findHomography(
            at.reshape(-1, 2), px.reshape(-1, 2), cv2.RANSAC, float(0.12 * sides + 1.0)
        )[0]
        if homography is None:
            continue
        plane = np.asarray(homography, float)
        off = np.linalg.norm(_through(plane, at.reshape(-1, 2)).reshape(-1, 4, 2) - px, axis=2).max(axis=1)
        good = off < 0.2 * sides + 1.5
        if twice >= LEAST and int((~good).sum()) >= LEAST:
            raise refuse(
                name,
                layout.sheet_by_key(key).name,
                "each sheet once",
                "the same sheet twice",
                "Print two different pages of the marker sheets; their numbers stand on them.",
            )
        best: dict[int, int] = {}
        for k, (marker, _) in enumerate(group):
            if good[k] and (marker not in best or off[k] < off[best[marker]]):
                best[marker] = k
        if len(best) < LEAST or not _faces_us(plane, at[list(best.values())].reshape(-1, 2)):
            continue
        ids = tuple(sorted(best))
        out.append(Seen(key, ids, px[[best[i] for i in ids]], plane))
    return tuple(out)


def _through(plane: Array, points: Array) -> Array:
    seen = np.column_stack([points, np.ones(len(points))]) @ plane.T
    out: Array = seen[:, :2] / seen[:, 2:]
    return out


def _faces_us(plane: Array, points: Array) -> bool:
    """False where the page would be seen from behind, as in a mirrored picture."""
    depth = np.column_stack([points, np.ones(len(points))]) @ plane[2]
    positive: npt.NDArray[np.bool_] = np.linalg.det(plane) * depth > 0.0
    return bool(positive.all())


def _none(photo: Photo, read: int) -> InputError:
    import cv2

    small = cv2.resize(photo.gray, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    low, high = (float(v) for v in np.percentile(small[::4, ::4], (2, 98)))
    sharp = float(cv2.Laplacian(small, cv2.CV_32F).std()) / max(high - low, 1.0)
    expected = f"at least {LEAST} markers of one sheet"
    if high - low < 30.0:
        return refuse(photo.name, "", expected, "a picture almost without contrast", "Use more light, evenly spread.")
    if sharp < 0.03:
        return refuse(
            photo.name,
            "",
            expected,
            "a blurred picture",
            "Hold the camera still or rest it, wipe the lens, touch the sheet on the screen to focus.",
        )
    received = f"{read} that do not lie as on a sheet of ours" if read else "no marker"
    return refuse(
        photo.name,
        "",
        expected,
        received,
        "Lay printed marker sheets beside the board (loomwright trace --sheets DIR prints them), flat, wholly "
        "in the picture, and go close enough that they fill a fifth of it.",
    )
