"""One camera for each photograph and one place for each sheet, fitted together to every marker edge that is seen.

First to the corners as the detector gives them, then twice to the edges themselves, found along their normals in linear
light. What the pictures cannot tell (focal length, middle of the lens, second lens term) is held by how telephones are
made, with the spread that has; so the covariance tells what was really learned.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from loomwright.trace import layout, profiles
from loomwright.trace.camera import PARAMETERS, Array, Camera, Place, pose_from
from loomwright.trace.markers import Seen
from loomwright.trace.picture import Photo, refuse

ENOUGH_TO_BEND = 16.0
"""Second lens term and middle of the lens are set free where that gains so much of what noise leaves, for each view."""
USUAL_FOCAL = 0.6
"""Focal length over the diagonal of the picture: as of a telephone's main camera, 23 to 28 mm on old film."""
PRIOR_FOCAL, PRIOR_FOCAL_EXIF = 0.25, 0.06
PRIOR_K1, PRIOR_K2, PRIOR_CENTRE = 0.3, 0.01, 0.003
"""Spread of the lens terms, and of its middle over the diagonal of the picture."""
PRIOR_INK_MM = 0.15
STATIONS = 14
PIECES = 2
_REACH_PX = 8.0
_OUTWARD = np.array([[0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [-1.0, 0.0]])
"""Away from each edge of a marker, the upper one first."""
LEAST_DAMPING, MOST_DAMPINGS = 1e-10, 6
SETTLED = 0.02
"""All parameters together move by no more than this part of their spread: no further round is needed."""
LEAST_SIGMA_PX = 0.012
"""A piece of edge is not believed to be better than this: paper is not quite flat, ink not quite even."""


@dataclass(frozen=True, slots=True)
class View:
    """One photograph with the sheets seen in it."""

    photo: Photo
    seen: tuple[Seen, ...]


@dataclass(frozen=True, slots=True)
class Scene:
    """What was fitted.

    Attributes
    ----------
    cameras : tuple of Camera
        One for each view.
    places : dict
        Where each sheet lies, by its key.
    ink_mm : float
        How far black reaches beyond its edge all round: ink, and bright spots that bleed.
    keys : tuple of int
        Sheets in the order of their parameters; the first one is fixed.
    covariance : Array
        Of all parameters: of each camera, of each place after the first, the ink.
    residual_px : float
        What is left between the fit and the pieces of edge (root of mean square).
    blur_px : float
        Usual sharpness of the marker edges, as the sigma of a Gaussian.
    edges : int
        Pieces of edge that were used.
    """

    cameras: tuple[Camera, ...]
    places: dict[int, Place]
    ink_mm: float
    keys: tuple[int, ...]
    covariance: Array
    residual_px: float
    blur_px: float
    edges: int


@dataclass(frozen=True, slots=True)
class _Pieces:
    """Pieces of edge: view, sheet, points on the page with their outward normals, where found, and how well."""

    view: npt.NDArray[np.int64]
    key: npt.NDArray[np.int64]
    page_mm: Array
    out_mm: Array
    found_px: Array
    normal_px: Array
    sigma_px: Array


@dataclass(frozen=True, slots=True)
class _Guess:
    cameras: tuple[Camera, ...]
    places: dict[int, Place]
    ink_mm: float
    keys: tuple[int, ...]

    @property
    def count(self) -> int:
        return PARAMETERS * len(self.cameras) + 3 * (len(self.keys) - 1) + 1

    def moved(self, step: Array) -> _Guess:
        cameras = tuple(c.moved(step[PARAMETERS * k : PARAMETERS * (k + 1)]) for k, c in enumerate(self.cameras))
        base = PARAMETERS * len(cameras)
        places = dict(self.places)
        for k, key in enumerate(self.keys[1:]):
            x, y, t = step[base + 3 * k : base + 3 * k + 3]
            old = places[key]
            places[key] = replace(old, x_mm=old.x_mm + x, y_mm=old.y_mm + y, turn_rad=old.turn_rad + t)
        return _Guess(cameras, places, self.ink_mm + float(step[-1]), self.keys)


@dataclass(frozen=True, slots=True)
class _Held:
    """What common sense holds: usual focal length and middle of the lens for each view, and the spread of each."""

    usual: tuple[tuple[float, float, float], ...]
    spreads: tuple[Array, ...]

    def plain(self) -> _Held:
        """The same with one lens term about the middle of the picture."""
        still = []
        for spread in self.spreads:
            row = spread.copy()
            row[8], row[9:11] = 1e-7, 1e-4
            still.append(row)
        return _Held(self.usual, tuple(still))

    def pull(self, guess: _Guess) -> tuple[Array, Array]:
        """How far each parameter is from the usual, and its spread (infinite where nothing holds it)."""
        spread, away = np.full(guess.count, np.inf), np.zeros(guess.count)
        for v, (camera, (focal, x, y)) in enumerate(zip(guess.cameras, self.usual, strict=True)):
            base = PARAMETERS * v
            spread[base : base + PARAMETERS] = self.spreads[v]
            away[base] = math.log(camera.focal_px / focal)
            away[base + 7], away[base + 8] = camera.k1, camera.k2
            away[base + 9], away[base + 10] = camera.centre_px[0] - x, camera.centre_px[1] - y
        spread[-1], away[-1] = PRIOR_INK_MM, guess.ink_mm
        return away, spread


def fit(
    views: Sequence[View],
    heights_mm: dict[int, float] | None = None,
    scales: dict[int, tuple[float, float]] | None = None,
    start: Scene | None = None,
) -> Scene:
    """Fit cameras and sheets.

    ``heights_mm`` gives the z of each sheet (0 on the bench, minus the card's thickness on the board); ``scales`` the
    true size of the print across and down against what it should be.

    Raises
    ------
    InputError
        Where the photographs have no sheet in common.
    """
    heights, sizes = heights_mm or {}, scales or {}
    guess = _start(views, heights, sizes) if start is None else _again(start, heights)
    held = _common_sense(views)
    plain = held.plain()
    if start is None:
        guess = _solve(guess, _corners(views, sizes), plain, rounds=12, loss=3.0).guess
    pieces, blur = _edges(views, guess, sizes, 2 * PIECES * 2)
    guess = _solve(guess, pieces, plain, rounds=6, loss=3.0).guess
    pieces, blur = _edges(views, guess, sizes)
    simple = _solve(guess, pieces, plain, rounds=6, loss=2.5)
    full = _solve(simple.guess, pieces, held, rounds=6, loss=2.5)
    # one lens term about the middle of the picture, unless the edges say that this will not do
    gain = (simple.misfit - full.misfit) / max(full.misfit / max(len(pieces.view) - full.guess.count, 1), 1e-9)
    made = full if gain > ENOUGH_TO_BEND * len(views) else simple
    return Scene(
        made.guess.cameras,
        made.guess.places,
        made.guess.ink_mm,
        made.guess.keys,
        _covariance(made.guess, pieces, held),
        made.residual_px,
        blur,
        len(pieces.view),
    )


def _start(views: Sequence[View], heights: dict[int, float], sizes: dict[int, tuple[float, float]]) -> _Guess:
    """Poses from the homography of the sheet seen best; each further photograph joins by a sheet that is placed."""
    best = max(views, key=lambda v: max(len(s.ids) for s in v.seen))
    first = max(best.seen, key=lambda s: len(s.ids)).key
    places = {first: Place(0.0, 0.0, 0.0, heights.get(first, 0.0))}
    keys, cameras = [first], dict[int, Camera]()
    left = list(range(len(views)))
    while left:
        joint = [(k, s) for k in left for s in views[k].seen if s.key in places]
        if not joint:
            names = ", ".join(views[k].photo.name for k in left)
            raise refuse(
                names,
                "",
                "a marker sheet that another photograph shows too",
                "none in common",
                "Take the photographs so that each shows a sheet of the one before, "
                "and do not move board or sheets between.",
            )
        k, seen = max(joint, key=lambda j: len(j[1].ids))
        left.remove(k)
        cameras[k] = _posed(views[k].photo, seen, places[seen.key])
        for s in views[k].seen:
            if s.key not in places:
                places[s.key] = _laid(cameras[k], s, heights.get(s.key, 0.0))
                keys.append(s.key)
    return _Guess(tuple(cameras[k] for k in range(len(views))), places, 0.0, tuple(keys))


def _posed(photo: Photo, seen: Seen, place: Place) -> Camera:
    width, height = photo.size_px
    focal = photo.focal_px or USUAL_FOCAL * math.hypot(width, height)
    c, s = math.cos(place.turn_rad), math.sin(place.turn_rad)
    page = np.array([[c, -s, place.x_mm], [s, c, place.y_mm], [0.0, 0.0, 1.0]])
    return pose_from(seen.plane @ np.linalg.inv(page), focal, ((width - 1) / 2.0, (height - 1) / 2.0))


def _laid(camera: Camera, seen: Seen, z_mm: float) -> Place:
    page = np.vstack([_page_corners(seen.key)[i] for i in seen.ids])
    at = camera.on_plane(seen.corners_px.reshape(-1, 2), z_mm)
    a, b = page - page.mean(axis=0), at - at.mean(axis=0)
    turn = math.atan2(float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()), float((a * b).sum()))
    c, s = math.cos(turn), math.sin(turn)
    x, y = page.mean(axis=0)
    mx, my = at.mean(axis=0)
    return Place(float(mx - c * x + s * y), float(my - s * x - c * y), turn, z_mm)


def _again(start: Scene, heights: dict[int, float]) -> _Guess:
    places = {k: replace(p, z_mm=heights.get(k, 0.0)) for k, p in start.places.items()}
    return _Guess(start.cameras, places, start.ink_mm, start.keys)


@lru_cache(maxsize=2 * layout.SHEETS)
def _page_corners(key: int) -> dict[int, Array]:
    return {m.id: np.array(m.corners_mm()) for m in layout.sheet_by_key(key).markers}


def scaled(page_mm: Array, key: int, sizes: dict[int, tuple[float, float]]) -> Array:
    """Where points of the page came to lie when the printer drew it too small or too large."""
    out: Array = page_mm * np.asarray(sizes.get(key, (1.0, 1.0)))
    return out


def _corners(views: Sequence[View], sizes: dict[int, tuple[float, float]]) -> _Pieces:
    """The corners of the detector, as two crossing pieces each."""
    parts = []
    for v, view in enumerate(views):
        for s in view.seen:
            page = scaled(np.vstack([_page_corners(s.key)[i] for i in s.ids]), s.key, sizes)
            px = s.corners_px.reshape(-1, 2)
            for normal in ((1.0, 0.0), (0.0, 1.0)):
                n = len(px)
                parts.append(
                    (
                        np.full(n, v),
                        np.full(n, s.key),
                        page,
                        np.zeros((n, 2)),
                        px,
                        np.tile(normal, (n, 1)),
                        np.full(n, 0.5),
                    )
                )
    return _Pieces(*(np.concatenate(c) for c in zip(*parts, strict=True)))


def _edges(
    views: Sequence[View], guess: _Guess, sizes: dict[int, tuple[float, float]], stations: int = STATIONS
) -> tuple[_Pieces, float]:
    """Every edge of every marker in pieces, each with its place in the picture."""
    along = np.linspace(0.10, 0.90, stations)
    parts, blurs = [], []
    for v, view in enumerate(views):
        camera = guess.cameras[v]
        for s in view.seen:
            place = guess.places[s.key]
            box = np.stack([_page_corners(s.key)[i] for i in s.ids])
            sides = box[:, :, None, :] + (np.roll(box, -1, axis=1) - box)[:, :, None, :] * along[:, None]
            normal = np.tile(np.repeat(_OUTWARD, stations, axis=0), (len(box), 1))
            at = scaled(sides.reshape(-1, 2), s.key, sizes)
            middle = camera.project(place.world(at + guess.ink_mm * normal))
            ahead = camera.project(place.world(at + (guess.ink_mm + 0.5) * normal)) - middle
            per_mm = 2.0 * np.linalg.norm(ahead, axis=1)
            unit = ahead / np.linalg.norm(ahead, axis=1, keepdims=True)
            reach = float(np.clip(0.42 * layout.CELL_MM * np.median(per_mm), 2.0, _REACH_PX))
            steps = np.arange(-reach, reach + 0.25, 0.5)
            columns, rows = (middle[:, c, None] + steps * unit[:, c, None] for c in (0, 1))
            light = profiles.samples(view.photo.light, columns, rows)
            got = profiles.crossings(light.astype(float), steps)
            inside = ((middle > reach) & (middle < np.array(view.photo.size_px) - 1 - reach)).all(axis=1)
            ok = got.ok & inside & (got.contrast > 0.05)
            blurs.append(got.blur[ok])
            parts.append(_gathered(v, s.key, at, normal, middle, unit, got.offset, ok, stations // PIECES))
    count = sum(len(p[0]) for p in parts)
    if count < 12:
        raise refuse(
            ", ".join(v.photo.name for v in views),
            "",
            "marker edges that stand out",
            f"{count} that can be measured",
            "Take it again: sharper, nearer, with even light on the sheets.",
        )
    return _Pieces(*(np.concatenate(c) for c in zip(*parts, strict=True))), float(np.median(np.concatenate(blurs)))


def _gathered(
    view: int,
    key: int,
    at: Array,
    normal: Array,
    middle: Array,
    unit: Array,
    offset: Array,
    ok: npt.NDArray[np.bool_],
    each: int,
) -> tuple[Array, ...]:
    """Stations taken together, so many to a piece; pieces of which too many were not found are left out."""
    groups = offset.reshape(-1, each)
    good = ok.reshape(-1, each)
    sorted_ = np.sort(np.where(good, groups, 99.0), axis=1)
    usual = np.take_along_axis(sorted_, np.maximum(good.sum(axis=1, keepdims=True) - 1, 0) // 2, axis=1)
    good = good & (np.abs(groups - usual) < 1.5)
    count = good.sum(axis=1)
    enough = count >= max(3, each - 2)
    share = (good / np.maximum(count, 1)[:, None])[enough]

    def mean(values: Array) -> Array:
        out: Array = (values.reshape(-1, each, 2)[enough] * share[:, :, None]).sum(axis=1)
        return out

    across = mean(unit)
    across /= np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-9)
    found = groups[enough]
    average = (found * share).sum(axis=1)
    spread = np.sqrt((share * (found - average[:, None]) ** 2).sum(axis=1) / np.maximum(count[enough], 1))
    n = int(enough.sum())
    return (
        np.full(n, view),
        np.full(n, key),
        mean(at),
        mean(normal),
        mean(middle + offset[:, None] * np.where(ok[:, None], unit, 0.0)),
        across,
        np.hypot(spread, LEAST_SIGMA_PX),
    )


def _common_sense(views: Sequence[View]) -> _Held:
    """What cameras are like, for each view."""
    usual, spreads = [], []
    for view in views:
        width, height = view.photo.size_px
        across = math.hypot(width, height)
        spread = np.full(PARAMETERS, np.inf)
        spread[0] = PRIOR_FOCAL_EXIF if view.photo.focal_px else PRIOR_FOCAL
        spread[7], spread[8] = PRIOR_K1, PRIOR_K2
        spread[9:11] = PRIOR_CENTRE * across
        spreads.append(spread)
        usual.append((view.photo.focal_px or USUAL_FOCAL * across, (width - 1) / 2.0, (height - 1) / 2.0))
    return _Held(tuple(usual), tuple(spreads))


@dataclass(frozen=True, slots=True)
class _Solved:
    guess: _Guess
    residual_px: float
    misfit: float
    """Sum of squares over the spreads of the pieces, those far off held down."""


def _solve(guess: _Guess, pieces: _Pieces, held: _Held, rounds: int, loss: float) -> _Solved:
    """Weighted Gauss-Newton, damped where a step would make it worse; pieces far off lose their weight."""
    sigma = pieces.sigma_px
    damping = LEAST_DAMPING
    r, jacobian = _linear(guess, pieces)
    for _ in range(rounds):
        unit = max(1.4826 * float(np.median(np.abs(r / sigma))), 1e-3)
        weight = 1.0 / (1.0 + (r / (sigma * max(unit, 1.0) * loss)) ** 2) / (sigma * max(unit, 1.0)) ** 2
        away, spread = held.pull(guess)
        normal = (jacobian.T * weight) @ jacobian + np.diag(spread**-2.0)
        right = -(jacobian.T * weight) @ r - away * spread**-2.0
        units = np.sqrt(np.diag(normal))
        now = float(weight @ r**2) + float(((away / spread) ** 2).sum())
        for _ in range(MOST_DAMPINGS):
            even = normal / np.outer(units, units) + damping * np.eye(len(units))
            step = np.linalg.solve(even, right / units) / units
            there = guess.moved(step)
            r, jacobian = _linear(there, pieces)
            then = float(weight @ r**2) + float(((held.pull(there)[0] / spread) ** 2).sum())
            if then <= now:
                break
            damping = max(30.0 * damping, 1e-7)
        guess, damping = there, max(damping / 30.0, LEAST_DAMPING)
        if float(step @ normal @ step) < SETTLED**2:
            break
    kept, chi2 = _kept(r, guess, sigma)
    misfit = float(np.minimum((r / sigma) ** 2, 16.0 * max(chi2, 1e-9)).sum())
    return _Solved(guess, float(np.sqrt((r[kept] ** 2).mean())), misfit)


def _kept(r: Array, guess: _Guess, sigma: Array) -> tuple[npt.NDArray[np.bool_], float]:
    """Pieces that are not far off, and what is left of each in its own spread, squared."""
    kept = np.abs(r) < 4.0 * np.maximum(sigma, np.median(np.abs(r)) * 1.5)
    return kept, float((r[kept] ** 2 / sigma[kept] ** 2).sum() / max(1.0, kept.sum() - guess.count))


def _covariance(guess: _Guess, pieces: _Pieces, held: _Held) -> Array:
    """How well all parameters are known together, for the slopes at what was found."""
    r, jacobian = _linear(guess, pieces)
    kept, chi2 = _kept(r, guess, pieces.sigma_px)
    jacobian = jacobian[kept]
    _, spread = held.pull(guess)
    information = (jacobian.T / pieces.sigma_px[kept] ** 2) @ jacobian / max(chi2, 1.0) + np.diag(spread**-2.0)
    units = np.sqrt(np.diag(information))
    out: Array = np.linalg.inv(information / np.outer(units, units)) / np.outer(units, units)
    return out


def _linear(guess: _Guess, pieces: _Pieces) -> tuple[Array, Array]:
    """What is left of each piece across its edge [px], and how that changes with each parameter."""
    left, out = np.zeros(len(pieces.view)), np.zeros((len(pieces.view), guess.count))
    base = PARAMETERS * len(guess.cameras)
    for v, camera in enumerate(guess.cameras):
        for key, place in guess.places.items():
            which = np.flatnonzero((pieces.view == v) & (pieces.key == key))
            if not len(which):
                continue
            mine = slice(int(which[0]), int(which[-1]) + 1)  # they lie together
            normal, outward = pieces.normal_px[mine], pieces.out_mm[mine]
            world = place.world(pieces.page_mm[mine] + guess.ink_mm * outward)
            at, own, pull = camera.slopes(world, normal)
            left[mine] = ((pieces.found_px[mine] - at) * normal).sum(axis=1)
            out[mine, PARAMETERS * v : PARAMETERS * (v + 1)] = -own
            k = guess.keys.index(key)
            if k > 0:
                first = base + 3 * (k - 1)
                out[mine, first : first + 2] = -pull[:, :2]
                out[mine, first + 2] = pull[:, 0] * (world[:, 1] - place.y_mm) - pull[:, 1] * (world[:, 0] - place.x_mm)
            c, s = math.cos(place.turn_rad), math.sin(place.turn_rad)
            turned = pull[:, :2] @ np.array([[c, -s], [s, c]])
            out[mine, -1] = -(turned * outward).sum(axis=1)
    return left, out
