"""The outline of a board from one photograph, or from several that overlap."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from loomwright.trace import (
    agree,
    astray,
    choose,
    fit,
    layout,
    markers,
    measure,
    picture,
    plan,
    prune,
    rim,
    shape,
    slots,
    statement,
    tangent,
)
from loomwright.trace.camera import Array
from loomwright.trace.outline import Outline, Ring, Side, placed
from loomwright.trace.picture import refuse

SheetsOn = Literal["auto", "bench", "board"]
Progress = Callable[[str], None]
MOST_MM = 3.0
MOST_TILT_DEG = 45.0
FAR_JOINT_MM, OFF_MM = 25.0, 0.5
MOST_UNEVEN_MM, LEAST_ROUND_MM = 0.3, 2.0
MOST_THICKNESS_MM = 60.0


@dataclass(frozen=True, slots=True)
class Bars:
    """Check bars of the printed sheet, as measured with a rule [mm]."""

    across_mm: float
    down_mm: float


@dataclass(frozen=True, slots=True)
class Traced:
    """What was made of the photographs.

    Attributes
    ----------
    outline : Outline
        In millimetres.
    error_mm : float
        No side is wrong by more than this (three standard deviations of the worst side).
    shares : Shares
        Of the worst side, by cause.
    residual_px : float
        Between the fit and the marker edges.
    tilt_deg, high_mm : float
        How the camera was held, for the first photograph.
    k1 : float
        Radial lens term, for the first photograph.
    sheets : tuple of str
        Sheets used, with where they lay.
    warnings, notes : tuple of str
        What to do about it, and what is worth knowing.
    over_px : tuple
        The rings as seen in the first photograph, for a picture of the result: for each ring a tuple of points.
    """

    outline: Outline
    error_mm: float
    shares: statement.Shares
    residual_px: float
    tilt_deg: float
    high_mm: float
    k1: float
    sheets: tuple[str, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    over_px: tuple[tuple[tuple[float, float], ...], ...]


def trace(
    photographs: Sequence[tuple[str, bytes]],
    thickness_mm: float | None,
    bars: Bars | None = None,
    sheets_on: SheetsOn = "auto",
    progress: Progress = lambda words: None,
) -> Traced:
    """The outline of the board in the photographs.

    ``thickness_mm`` of the card is needed: sheets on the bench lie lower than its face. ``bars`` are the check bars as
    measured; without them the print is taken to be true, and a warning says so.

    Raises
    ------
    InputError
        Where a photograph cannot be used or the result cannot be trusted; it says what to do.
    """
    names = ", ".join(n for n, _ in photographs)
    thick = _thickness(thickness_mm, names)
    views = []
    for name, data in photographs:
        progress(f"Looking for markers in {name}")
        photo, seen = markers.find(picture.read(data, name))
        views.append(fit.View(photo, seen))
    if not views:
        raise refuse("command line", "trace", "a photograph, or more", "none", "Name the file of the photograph.")
    sizes = _print_scale(bars, views, names)
    progress("Fitting the camera")
    scene = fit.fit(views, scales=sizes)
    _posed_well(scene, names)
    progress("Looking for the board")
    face_z, floor_z = (0.0, thick) if sheets_on == "board" else (-thick, 0.0)
    above = plan.draw(views, scene, face_z)
    seen_board = choose.board(views, scene, above, face_z, names)
    mask, rims = seen_board.mask, list(seen_board.rims)
    on = {k for k in above.pages if choose.on_board(above, mask, k)} if sheets_on == "auto" else set()
    if sheets_on == "board":
        on = set(scene.keys)
    if on and sheets_on == "auto" and thick > 0.0:
        if on == set(scene.keys):
            face_z, floor_z = 0.0, thick
        else:
            scene = fit.fit(views, dict.fromkeys(on, -thick), sizes, scene)
        rims = [_moved(views, scene, r, -thick, face_z) for r in rims]
    agree.check(views, scene, rims[0], face_z, floor_z, above, names)
    progress("Measuring the rim")
    rings = [_ring(views, scene, r, face_z, floor_z) for r in rims]
    if rings[0] is None:
        raise refuse(
            names,
            "outline",
            "sides that can be measured",
            "none",
            "Use more even light, and lay the board on another colour.",
        )
    kept = [r for r in rings if r is not None]
    sigmas = statement.THICKNESS_SIGMA_MM if thick > 0.0 and len(on) < len(scene.keys) and sheets_on != "board" else 0.0
    return _told(views, scene, kept, face_z, sigmas, bars, on, thick, names, seen_board)


@dataclass(frozen=True, slots=True)
class _Cornered:
    """A measured ring: its sides and the corners where they start (world, mm)."""

    sides: tuple[measure.Measured, ...]
    corners: Array
    hole: bool


def _ring(
    views: Sequence[fit.View], scene: fit.Scene, seen: rim.Rim, face_z: float, floor_z: float
) -> _Cornered | None:
    for whole in slots.plain(seen.points_mm, seen.known) if seen.hole else ():
        moved = replace(seen, points_mm=whole.points_mm)
        found = measure.sides(views, scene, moved, whole.pieces, face_z, floor_z)
        round_ = [m.carrier.radius_mm for m in found if isinstance(m.carrier, shape.Circle)]
        kept = sum(p.kind == "arc" for p in whole.pieces) == len(round_) and min(round_, default=9.0) > LEAST_ROUND_MM
        if kept and max(m.uneven_mm for m in found) < MOST_UNEVEN_MM:
            return _closed(views, scene, moved, whole.pieces, found, face_z, floor_z)
    pieces = shape.cut(seen.points_mm, seen.known)
    if not pieces:
        return None
    found = measure.sides(views, scene, seen, pieces, face_z, floor_z)
    pieces, found = measure.joined(views, scene, seen, pieces, found, face_z, floor_z)

    def goes_on(side: shape.Line, run: Array) -> bool:
        return measure.goes_on(views, scene, seen, side, run, face_z, floor_z)

    for _ in range(2):
        before = len(pieces)
        points, pieces, found = prune.pruned(seen.points_mm, pieces, found, goes_on)
        seen = replace(seen, points_mm=points)
        if len(pieces) == before:
            break
        pieces, found = measure.joined(views, scene, seen, pieces, found, face_z, floor_z)
    seen, pieces, found = astray.straightened(views, scene, seen, pieces, found, face_z, floor_z)
    pieces, found = tangent.rounded(views, scene, seen, pieces, found, face_z, floor_z)
    return _closed(views, scene, seen, pieces, found, face_z, floor_z)


def _closed(
    views: Sequence[fit.View],
    scene: fit.Scene,
    seen: rim.Rim,
    pieces: tuple[shape.Piece, ...],
    found: list[measure.Measured],
    face_z: float,
    floor_z: float,
) -> _Cornered | None:
    n = len(seen.points_mm)
    if len(found) == 1:
        circle = found[0].carrier
        if not isinstance(circle, shape.Circle):
            return None
        x, y = circle.centre
        r = circle.radius_mm
        return _Cornered((found[0], found[0]), np.array([[x - r, y], [x + r, y]]), seen.hole)
    near = [seen.points_mm[p.first % n] for p in pieces]
    corners = _joints(found, near)
    found = tangent.squared(tangent.eased(measure.settled(views, scene, seen, found, corners, face_z, floor_z)))
    return _Cornered(tuple(found), _joints(found, list(corners)), seen.hole)


def _joints(found: Sequence[measure.Measured], near: Sequence[Array]) -> Array:
    """Where each side meets the one before it; where they hardly meet, where the rim passes over."""
    out = []
    for k, (x, y) in enumerate(near):
        at = shape.joint(found[k - 1].carrier, found[k].carrier, (float(x), float(y)))
        out.append(at if math.dist(at, (x, y)) < FAR_JOINT_MM else (float(x), float(y)))
    return np.array(out)


def _told(
    views: Sequence[fit.View],
    scene: fit.Scene,
    rings: Sequence[_Cornered],
    face_z: float,
    thick_sigma: float,
    bars: Bars | None,
    on: set[int],
    thick: float,
    names: str,
    seen: choose.Found,
) -> Traced:
    corners = np.vstack([r.corners for r in rings])
    bar_sigmas = (
        (0.0, 0.0)
        if bars is None
        else (
            statement.BAR_READING_SIGMA_MM / layout.BAR_ACROSS_MM,
            statement.BAR_READING_SIGMA_MM / layout.BAR_DOWN_MM,
        )
    )
    spread = statement.spread(views, scene, corners, face_z, thick_sigma, bar_sigmas)
    nothing = statement.Shares(0.0, 0.0, 0.0, 0.0, 0.0)
    worst = nothing
    made, base, unsure = [], 0, 0
    for ring in rings:
        n = len(ring.corners)
        pairs = [_side(ring, k, base, spread) for k in range(n)]
        base += n
        here = max((shares for _, shares in pairs), key=lambda s: s.total_mm, default=nothing)
        if ring.hole and statement.COVER * here.total_mm > MOST_MM:
            unsure += 1
            continue
        worst = max(worst, here, key=lambda s: s.total_mm)
        made.append(Ring(tuple(side for side, _ in pairs)))
    error = statement.COVER * worst.total_mm
    outline = placed(Outline(made[0], tuple(made[1:]), "photograph", error), _level(made[0]))
    first = scene.cameras[0]
    far = max(abs(float(c.eye_mm()[2])) for c in scene.cameras)
    over = tuple(_over(first, ring, face_z) for ring in made)
    warnings, notes = _words(views, scene, outline, worst, bars, rings, on, thick, seen)
    if unsure:
        warnings = (*warnings, f"{unsure} holes could not be measured and are left out: measure them by hand.")
    if error > MOST_MM:
        raise refuse(
            names,
            "outline",
            f"sides known to {MOST_MM:g} mm",
            f"{error:.1f} mm, most of it from {_cause(worst)}",
            _remedy(worst, scene),
        )
    where = tuple(f"{layout.sheet_by_key(k).name}, {'on the board' if k in on else 'beside it'}" for k in scene.keys)
    return Traced(
        outline, error, worst, scene.residual_px, first.tilt_deg(), far, first.k1, where, warnings, notes, over
    )


def _side(ring: _Cornered, k: int, base: int, spread: statement.Spread) -> tuple[Side, statement.Shares]:
    n = len(ring.corners)
    a, b = ring.corners[k], ring.corners[(k + 1) % n]
    way = (b - a) / max(float(np.linalg.norm(b - a)), 1e-9)
    causes = spread.side(base + k, base + (k + 1) % n, way)
    mine, before, after = ring.sides[k], ring.sides[k - 1], ring.sides[(k + 1) % n]
    start, end = (float(a[0]), float(a[1])), (float(b[0]), float(b[1]))
    carrier = mine.carrier
    if isinstance(carrier, shape.Circle):
        bend = shape.bulge(start, end, carrier)
        share = statement.Shares(*causes, math.hypot(mine.sigma_mm, _astray(carrier, (a, b))))
    else:
        bend = 0.0
        rims = [_end(m, way, p) for m, p in ((before, a), (after, b))]
        share = statement.Shares(*causes, math.hypot(*rims, _astray(carrier, (a, b))))
    return Side(start, end, bend, share.total_mm, spread.corner(base + k)), share


def _astray(carrier: shape.Carrier, ends: tuple[Array, Array]) -> float:
    """How far the corners of a side lie off what was measured of it, where that is more than a joint may be."""
    away = []
    for p in ends:
        if isinstance(carrier, shape.Line):
            away.append(abs(float((p - carrier.at) @ np.array([carrier.way[1], -carrier.way[0]]))))
        else:
            away.append(abs(math.dist(p, carrier.centre) - carrier.radius_mm))
    return max(away) if max(away) > OFF_MM else 0.0


def _end(neighbour: measure.Measured, way: Array, at: Array) -> float:
    """How far a side may end elsewhere along its way, for what is not known of its neighbour."""
    sine = abs(_sine(neighbour.carrier, way, at))
    if isinstance(neighbour.carrier, shape.Circle) and sine < 0.35:
        return neighbour.place_mm
    return 2.0 * neighbour.sigma_mm / max(sine, 0.35)


def _sine(carrier: shape.Carrier, way: Array, at: Array) -> float:
    """How squarely a carrier crosses a direction at a place."""
    if isinstance(carrier, shape.Line):
        return carrier.way[0] * float(way[1]) - carrier.way[1] * float(way[0])
    away = (at - carrier.centre) / max(float(np.linalg.norm(at - carrier.centre)), 1e-9)
    return float(away @ way)


def _level(ring: Ring) -> float:
    """The turn that brings the longest straight side upright or level, whichever is nearer."""
    straight = [s for s in ring.sides if not s.bulge]
    if not straight:
        return 0.0
    longest = max(straight, key=lambda s: s.length_mm)
    angle = math.atan2(longest.end_mm[1] - longest.start_mm[1], longest.end_mm[0] - longest.start_mm[0])
    return -(angle - round(angle / (math.pi / 2.0)) * (math.pi / 2.0))


def _over(camera, ring: Ring, face_z: float) -> tuple[tuple[float, float], ...]:  # type: ignore[no-untyped-def]
    points = []
    for side in ring.sides:
        run = list(side.points(0.1))
        if len(run) == 1:
            a, b = np.asarray(side.start_mm), np.asarray(side.end_mm)
            run = [(float(p[0]), float(p[1])) for p in (a + (b - a) * t for t in np.linspace(0.0, 0.98, 24))]
        points += run
    px = camera.project(np.column_stack([np.array(points), np.full(len(points), face_z)]))
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in px)


def _cause(shares: statement.Shares) -> str:
    causes = {
        "the distance from the sheets": shares.markers_mm,
        "the lens": shares.lens_mm,
        "the thickness of the card": shares.thickness_mm,
        "the print of the sheets": shares.print_mm,
        "the rim itself": shares.rim_mm,
    }
    return max(causes, key=lambda c: causes[c])


def _remedy(shares: statement.Shares, scene: fit.Scene) -> str:
    cause = _cause(shares)
    if cause in ("the distance from the sheets", "the lens"):
        if len(scene.keys) == 1:
            return "Lay a second sheet on the opposite side of the board, or one on top of it, and take it again."
        return "Lay the sheets on opposite sides of the board, close to it, and hold the camera above its middle."
    if cause == "the thickness of the card":
        return "Lay the sheets on pieces of the same card, level with the board, and say so (--sheets-on board)."
    if cause == "the print of the sheets":
        return "Measure the check bars again, with a steel rule to 0.1 mm."
    return "Use more even light from two sides, a floor of another colour, and a clean cut edge."


def _words(
    views: Sequence[fit.View],
    scene: fit.Scene,
    outline: Outline,
    worst: statement.Shares,
    bars: Bars | None,
    rings: Sequence[_Cornered],
    on: set[int],
    thick: float,
    seen: choose.Found,
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    warnings, notes = [], []
    error = outline.error_mm
    if error > statement.WARN_MM:
        warnings.append(
            f"A side may be wrong by {error:.2f} mm, most of it from {_cause(worst)}. {_remedy(worst, scene)}"
        )
    if bars is None:
        longest = max(outline.size_mm)
        warnings.append(
            f"The print was not checked. Measure both bars of the sheet and give them, across and down (true: "
            f"{layout.BAR_ACROSS_MM:g}x{layout.BAR_DOWN_MM:g} mm): 1 mm short on {layout.BAR_DOWN_MM:g} makes this "
            f"board {longest / layout.BAR_DOWN_MM:.1f} mm too large."
        )
    tilt = max(c.tilt_deg() for c in scene.cameras)
    if tilt > 30.0:
        warnings.append(f"The camera was tilted by {tilt:.0f} degrees. Hold it straight above: under 20 is good.")
    if scene.blur_px > 2.0:
        warnings.append("The picture is soft. Hold the camera still or rest it, and touch the screen to focus.")
    if any(m.doubtful_mm > 0.0 for r in rings for m in r.sides):
        width = max(m.doubtful_mm for r in rings for m in r.sides)
        warnings.append(
            f"On a side the rim cannot be told from the cut edge or from a shadow ({width:.1f} mm). "
            "Hold the camera above the middle of the board, and light it from two sides."
        )
    if seen.others:
        more = "another board" if seen.others == 1 else f"{seen.others} more boards"
        warnings.append(
            f"There seems to be {more} in the picture, left alone. Look which one is drawn; "
            "photograph each by itself, beside its own sheets."
        )
    if len(scene.keys) == 1 and not on:
        notes.append(
            "One sheet beside the board. A second one on the opposite side makes the far corner many times surer."
        )
    if any(v.photo.turned_over for v in views):
        notes.append("The photograph was mirrored; it was turned back. The markers tell.")
    if outline.holes:
        kept = "1 hole" if len(outline.holes) == 1 else f"{len(outline.holes)} holes"
        notes.append(f"{kept} kept. Look at each in the picture: a dark print can look like a hole.")
    if seen.patches:
        some = "1 patch" if seen.patches == 1 else f"{seen.patches} patches"
        notes.append(f"{some} on the face taken for print, tape or a label, not for a hole.")
    if thick == 0.0:
        notes.append("Taken as flat: no thickness.")
    return tuple(warnings), tuple(notes)


def _thickness(thickness_mm: float | None, names: str) -> float:
    if thickness_mm is None:
        raise refuse(
            names,
            "thickness",
            "the thickness of the card in mm",
            "none",
            "Measure the card and give it: --thickness-mm 3. A sheet on the bench lies that much lower than its face.",
        )
    if not 0.0 <= thickness_mm <= MOST_THICKNESS_MM:
        raise refuse(
            names, "thickness", f"0 to {MOST_THICKNESS_MM:g} mm", f"{thickness_mm:g} mm", "Give it in millimetres."
        )
    return float(thickness_mm)


def _print_scale(bars: Bars | None, views: Sequence[fit.View], names: str) -> dict[int, tuple[float, float]]:
    if bars is None:
        return {}
    scale = bars.across_mm / layout.BAR_ACROSS_MM, bars.down_mm / layout.BAR_DOWN_MM
    for value, measured in zip(scale, (bars.across_mm, bars.down_mm), strict=True):
        if not 0.9 <= value <= 1.1:
            inches = 0.9 <= value * 25.4 <= 1.1
            raise refuse(
                names,
                "bars",
                f"about {layout.BAR_ACROSS_MM:g} and {layout.BAR_DOWN_MM:g} mm",
                f"{measured:g}",
                "Give both in millimetres, across first; these look like inches."
                if inches
                else "Print the sheets anew at 100 %, without fitting them to the page; or measure again.",
            )
    return {s.key: scale for v in views for s in v.seen}


def _posed_well(scene: fit.Scene, names: str) -> None:
    tilt = max(c.tilt_deg() for c in scene.cameras)
    if tilt > MOST_TILT_DEG:
        raise refuse(
            names,
            "camera",
            f"a tilt of at most {MOST_TILT_DEG:g} degrees",
            f"{tilt:.0f} degrees",
            "Hold the camera above the middle of the board, looking straight down.",
        )
    if scene.residual_px > 1.0:
        raise refuse(
            names,
            "sheets",
            "markers that lie flat and as printed",
            f"markers {scene.residual_px:.1f} px off",
            "Lay the sheets flat, weigh down their corners, use pages of one print, and do not edit the photograph.",
        )


def _moved(views: Sequence[fit.View], scene: fit.Scene, seen: rim.Rim, old_z: float, new_z: float) -> rim.Rim:
    """The same rim in the photographs, at another height."""
    points = np.column_stack([seen.points_mm, np.full(len(seen.points_mm), old_z)])
    which = rim.nearest_view(views, scene, points)
    at = np.empty_like(seen.points_mm)
    for k, camera in enumerate(scene.cameras):
        mine = which == k
        at[mine] = camera.on_plane(camera.project(points[mine]), new_z)
    return replace(seen, points_mm=at)
