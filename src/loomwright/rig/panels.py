"""Panels and the items on them, from their tables."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path

from loomwright.errors import InputError
from loomwright.rig.keys import ItemKeys, PanelKeys
from loomwright.rig.model import Part, Place
from loomwright.rig.plan import TURNS, KeepOut, Panel, Point, Spot
from loomwright.rig.read import read_text
from loomwright.rig.report import Report
from loomwright.rig.tables import check, dotted, subtable
from loomwright.rig.words import ID_RULE, bad_id, show

WITHIN_MM = 0.1
"""Arcs are kept to within this by straight pieces, on the inside of the board."""


def read_panels(
    data: Mapping[str, object], places: Mapping[str, Place | None], report: Report, folder: Path | None = None
) -> dict[str, Panel | None]:
    """Panels by id; None for one that cannot be used."""
    panels: dict[str, Panel | None] = {}
    for name, table in subtable(data, "panel", report).items():
        head = f"panel.{name}"
        if reason := bad_id(name):
            report.add(f"panel.{show(name)[1:-1]}", f"an id: {ID_RULE}", reason, "Rename the panel.")
        keys = check(PanelKeys, table, report, dotted(head))
        panels[name] = None
        if keys is None:
            continue
        if keys.place not in places:
            report.unknown(f"{head}.place", "a place", keys.place, sorted(places))
        before = len(report.problems)
        traced = _traced(head, keys.outline_file, folder, report) if keys.outline_file is not None else None
        outer = _outer(head, keys, report) if keys.outline_file is None else traced[0] if traced else ()
        holes = (*_holes(head, keys, report), *(traced[1:] if traced else ()))
        if len(report.problems) == before:
            panels[name] = _panel(name, keys, outer, holes, head, report)
    return panels


def _panel(
    name: str, keys: PanelKeys, outer: tuple[Point, ...], holes: tuple[tuple[Point, ...], ...], head: str,
    report: Report,
) -> Panel:  # fmt: skip
    width, height = max(x for x, _ in outer), max(y for _, y in outer)
    entry = (keys.entry_mm[0], keys.entry_mm[1]) if keys.entry_mm is not None else (width / 2.0, height)
    if entry[0] > width or entry[1] > height:
        report.add(
            f"{head}.entry_mm", f"a point of the board, at most [{width:g}, {height:g}]", show(keys.entry_mm),
            "Give the point at which the wires leave the board, across and down from its upper left corner.",
        )  # fmt: skip
    return Panel(
        id=name, place=keys.place, outer=outer, holes=holes, space_mm=keys.space_mm, entry_mm=entry,
        keep_outs=tuple(KeepOut((k[0], k[1]), (k[2], k[3])) for k in keys.keep_outs_mm), material=keys.material,
        thickness_mm=keys.thickness_mm, upright=keys.upright, pull_out_mm=keys.pull_out_mm, edge_mm=keys.edge_mm,
        screw_edge_mm=keys.screw_edge_mm, spacer_mm=keys.spacer_mm,
    )  # fmt: skip


def _outer(head: str, keys: PanelKeys, report: Report) -> tuple[Point, ...]:
    size = (keys.width_mm, keys.height_mm)
    if not keys.corners_mm:
        if keys.width_mm is None or keys.height_mm is None:
            missing = "width_mm" if keys.width_mm is None else "height_mm"
            report.add(
                f"{head}.{missing}", "width_mm and height_mm, or corners_mm", "nothing",
                "Measure the board, or trace it from a photograph.",
            )  # fmt: skip
            return ()
        return (0.0, 0.0), (keys.width_mm, 0.0), (keys.width_mm, keys.height_mm), (0.0, keys.height_mm)
    if size != (None, None):
        report.add(
            f"{head}.corners_mm", "either width_mm and height_mm, or corners", "both", "Take one of the two out."
        )
        return ()
    ring = flattened(keys.corners_mm)
    return _sound(f"{head}.corners_mm", ring, report)


def _traced(head: str, name: str, folder: Path | None, report: Report) -> tuple[tuple[Point, ...], ...] | None:
    """Rim and holes of a traced outline beside the rig; None, with the problems in the report."""
    from loomwright.trace import form

    place = f"{head}.outline_file"
    if Path(name).name != name or name in (".", "..") or "\\" in name or "\0" in name:
        report.add(place, "the name of a file beside the rig", show(name), "Put it beside the rig and write its name.")
    elif folder is None:
        report.add(
            place, "a rig that lies in a folder, with this file beside it", "the text of a rig alone",
            "Write the corners into the rig instead: corners_mm = [[0, 0], [400, 0], ..].",
        )  # fmt: skip
    else:
        try:
            outline = form.read(read_text(folder / name), str(folder / name))
            return tuple(tuple((round(x, 4), round(y, 4)) for x, y in r.points(WITHIN_MM)) for r in outline.rings())
        except InputError as error:
            report.problems.extend(p for p in error.problems if p not in report.problems)
    return None


def _sound(place: str, ring: list[Point], report: Report) -> tuple[Point, ...]:
    """A ring that bounds an area once, moved so that its box starts at (0, 0); else a problem."""
    if len(ring) < 3 or abs(area_mm2(ring)) < 100.0:
        report.add(
            place, "a ring with an area", f"{len(ring)} corners, {abs(area_mm2(ring)):g} mm2", "Correct its corners."
        )
        return ()
    crossed = crossing(ring)
    if crossed is not None:
        report.add(
            place, "a ring that does not cross itself", f"it does near [{crossed[0]:.0f}, {crossed[1]:.0f}]",
            "Write the corners in the order in which one walks round the board.",
        )  # fmt: skip
        return ()
    left, top = min(x for x, _ in ring), min(y for _, y in ring)
    return tuple((round(x - left, 4), round(y - top, 4)) for x, y in ring)


def _holes(head: str, keys: PanelKeys, report: Report) -> tuple[tuple[Point, ...], ...]:
    out = []
    for n, row in enumerate(keys.holes_mm, 1):
        place = f"{head}.holes_mm[{n}]"
        if len(row) == 3:
            x, y, d = row
            corners = [(x + d / 2.0 / math.cos(math.pi / 16) * math.cos(math.pi * k / 8 + math.pi / 16),
                        y + d / 2.0 / math.cos(math.pi / 16) * math.sin(math.pi * k / 8 + math.pi / 16))
                       for k in range(16)]  # fmt: skip
            if d <= 0:
                report.add(place, "a diameter above 0", f"{d:g}", "Give across, down and diameter.")
            out.append(tuple(corners))
        elif len(row) % 2 or len(row) < 6:
            report.add(
                place, "across, down and diameter, or two figures for each of 3 or more corners", f"{len(row)} figures",
                "Correct the row.",
            )  # fmt: skip
        else:
            ring = list(zip(row[::2], row[1::2], strict=True))
            if abs(area_mm2(ring)) < 1.0 or crossing(ring) is not None:
                report.add(place, "a ring that bounds an area once", show(row), "Correct its corners.")
            out.append(tuple(ring))
    return tuple(out)


def flattened(corners: Sequence[Sequence[float]]) -> list[Point]:
    """Corners, with the sides that are round as straight pieces: chords where they bulge outwards or inwards."""
    points: list[Point] = []
    n = len(corners)
    for k, row in enumerate(corners):
        start, end = (row[0], row[1]), (corners[(k + 1) % n][0], corners[(k + 1) % n][1])
        points.append(start)
        bulge = row[2] if len(row) > 2 else 0.0
        chord = math.dist(start, end)
        if not bulge or not chord:
            continue
        radius = chord * (1.0 + bulge**2) / (4.0 * abs(bulge))
        half = (1.0 - bulge * bulge) / (4.0 * bulge)
        cx = (start[0] + end[0]) / 2.0 - half * (end[1] - start[1])
        cy = (start[1] + end[1]) / 2.0 + half * (end[0] - start[0])
        angle = 4.0 * math.atan(bulge)
        step = 2.0 * math.acos(max(0.0, 1.0 - min(WITHIN_MM / radius, 0.3)))
        pieces = max(2, math.ceil(abs(angle) / step))
        first = math.atan2(start[1] - cy, start[0] - cx)
        points += [
            (cx + radius * math.cos(first + angle * j / pieces), cy + radius * math.sin(first + angle * j / pieces))
            for j in range(1, pieces)
        ]
    return points


def area_mm2(ring: Sequence[Point]) -> float:
    """Area inside a ring, positive where it runs clockwise as seen."""
    pairs = zip(ring, [*ring[1:], *ring[:1]], strict=True)
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs) / 2.0


def crossing(ring: Sequence[Point]) -> Point | None:
    """A point in which a ring crosses or touches itself; None where it does not."""
    n = len(ring)
    for i in range(n):
        a, b = ring[i], ring[(i + 1) % n]
        if a == b:
            return a
        for j in range(i + 2, n):
            if (j + 1) % n != i and (found := meeting(a, b, ring[j], ring[(j + 1) % n])) is not None:
                return found
    return None


def meeting(a: Point, b: Point, c: Point, d: Point) -> Point | None:
    """Where two straight pieces meet, ends included; None where they do not."""
    rx, ry, sx, sy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    cross = rx * sy - ry * sx
    qx, qy = c[0] - a[0], c[1] - a[1]
    if abs(cross) < 1e-9:
        if abs(qx * ry - qy * rx) > 1e-9:
            return None
        long = rx * rx + ry * ry
        low, high = sorted((qx * rx + qy * ry, (d[0] - a[0]) * rx + (d[1] - a[1]) * ry))
        return None if high < -1e-9 or low > long + 1e-9 else c if 0.0 <= low <= long else a
    t, u = (qx * sy - qy * sx) / cross, (qx * ry - qy * rx) / cross
    if -1e-9 <= t <= 1.0 + 1e-9 and -1e-9 <= u <= 1.0 + 1e-9:
        return a[0] + t * rx, a[1] + t * ry
    return None


def spot(head: str, keys: ItemKeys, part: Part, panels: Mapping[str, Panel | None], report: Report) -> Spot | None:
    """Where an item lies on a panel; None for one that is on none."""
    if keys.panel is None:
        for key in ("at_mm", "turn_deg", "layer", "fixed", "turns"):
            if getattr(keys, key):
                report.add(
                    f"{head}.{key}",
                    "this key on items of a panel only",
                    "it without panel",
                    "Name the panel, or take it out.",
                )
        return None
    if keys.panel not in panels:
        report.unknown(f"{head}.panel", "a panel", keys.panel, sorted(panels))
        return None
    panel = panels[keys.panel]
    if part.plan is None:
        report.add(
            f"{head}.panel", "a part whose size is known", f"{part.id}, without size_mm",
            "Give the part its size_mm in your catalogue, or take the item off the panel.",
        )  # fmt: skip
    if keys.fixed and keys.at_mm is None:
        report.add(
            f"{head}.fixed", "it together with at_mm", "it without at_mm", "Say where it lies, or take fixed out."
        )
    if keys.layer == 2 and panel is not None and panel.spacer_mm is None:
        report.add(
            f"{head}.layer",
            f"1: panel {panel.id} has no spacers",
            "2",
            "Give the panel its spacer_mm, or take layer out.",
        )
    at = (keys.at_mm[0], keys.at_mm[1]) if keys.at_mm is not None else None
    return Spot(keys.panel, at, keys.turn_deg or 0, keys.layer, keys.fixed, tuple(sorted(set(keys.turns))) or TURNS)
