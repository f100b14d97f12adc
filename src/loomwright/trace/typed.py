"""Outlines from typed dimensions: a rectangle with round corners, or corners one after the other; holes by place."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence

from loomwright.errors import InputError, Problem
from loomwright.trace.checks import checked
from loomwright.trace.outline import Outline, Point, Ring, placed, ring_of

INCH_MM = 25.4
_NUMBER = r"(\d+(?:\.\d+)?)"
_SIZE = re.compile(rf"{_NUMBER}x{_NUMBER}(?:r{_NUMBER})?")
_HOLE = re.compile(rf"{_NUMBER}(?:x{_NUMBER})?(?:r{_NUMBER})?@{_NUMBER},{_NUMBER}")


def rectangle(width_mm: float, height_mm: float, radius_mm: float = 0.0, at_mm: Point = (0.0, 0.0)) -> Ring:
    """A rectangle from its upper left corner, clockwise as seen, its corners rounded."""
    (x, y), w, h, r = at_mm, width_mm, height_mm, radius_mm
    if r <= 0.0:
        return ring_of([(x, y), (x + w, y), (x + w, y + h), (x, y + h)])
    b = math.tan(math.pi / 8.0)
    corners: list[tuple[Point, float]] = []
    for point, bend in (
        ((x + r, y), 0.0),
        ((x + w - r, y), b),
        ((x + w, y + r), 0.0),
        ((x + w, y + h - r), b),
        ((x + w - r, y + h), 0.0),
        ((x + r, y + h), b),
        ((x, y + h - r), 0.0),
        ((x, y + r), b),
    ):
        if corners and math.dist(corners[-1][0], point) < 1e-9:
            corners[-1] = (corners[-1][0], bend)
        else:
            corners.append((point, bend))
    if math.dist(corners[0][0], corners[-1][0]) < 1e-9:
        corners.pop()
    return ring_of([p for p, _ in corners], [k for _, k in corners])


def circle(diameter_mm: float, centre_mm: Point) -> Ring:
    """A round hole."""
    x, y, r = *centre_mm, diameter_mm / 2.0
    return ring_of([(x - r, y), (x + r, y)], [-1.0, -1.0])


def parse(size: str, holes: Sequence[str] = (), unit_mm: float = 1.0) -> Outline:
    """``600x400`` or ``600x400r20``, or corners such as ``0,0 600,0 600,250 0,400``; holes such as ``40@120,80``.

    A hole is a diameter, or width x height with a corner radius after ``r``, at the place of its middle.

    Raises
    ------
    InputError
        Where something cannot be read, or the outline is none.
    """
    problems: list[Problem] = []
    outer = _outer(size.strip().lower(), unit_mm, problems)
    rings = [_hole(h.strip().lower(), unit_mm, k, problems) for k, h in enumerate(holes)]
    if problems or outer is None:
        raise InputError(problems)
    return checked(placed(Outline(outer, tuple(r for r in rings if r is not None), "typed")), "command line")


def _outer(size: str, unit: float, problems: list[Problem]) -> Ring | None:
    found = _SIZE.fullmatch(size)
    if found:
        w, h, r = (float(g or 0.0) * unit for g in found.groups())
        if 2.0 * r > min(w, h) + 1e-9:
            problems.append(
                _problem("--size", "a radius of at most half the shorter side", size, "Make the radius smaller.")
            )
            return None
        return rectangle(w, h, r)
    corners = [re.fullmatch(r"(-?\d+(?:\.\d+)?),(-?\d+(?:\.\d+)?)", part) for part in size.split()]
    if len(corners) < 3 or not all(corners):
        problems.append(
            _problem(
                "--size",
                "width x height, such as 600x400 or 600x400r20, or corners, such as '0,0 600,0 0,400'",
                size or "nothing",
                "Write numbers with a full stop, in the unit of --unit.",
            )
        )
        return None
    return ring_of((float(c[1]) * unit, float(c[2]) * unit) for c in corners if c)


def _hole(words: str, unit: float, k: int, problems: list[Problem]) -> Ring | None:
    found = _HOLE.fullmatch(words)
    if not found:
        problems.append(
            _problem(
                f"--hole {k + 1}",
                "diameter@x,y or width x height@x,y, such as 40@120,80 or 60x20r10@300,200",
                words or "nothing",
                "Give the place of its middle, from the upper left corner of the board.",
            )
        )
        return None
    w, h, r, x, y = (float(g or 0.0) * unit for g in found.groups())
    if not h:
        return circle(w, (x, y))
    if 2.0 * r > min(w, h) + 1e-9:
        problems.append(
            _problem(f"--hole {k + 1}", "a radius of at most half the shorter side", words, "Make it smaller.")
        )
        return None
    return rectangle(w, h, r, (x - w / 2.0, y - h / 2.0)).turned(False)


def _problem(place: str, expected: str, received: str, remedy: str) -> Problem:
    return Problem("command line", f"trace {place}", expected, received, remedy)


def rings_sorted(rings: Iterable[Ring], file: str) -> tuple[Ring, tuple[Ring, ...]]:
    """The largest ring, and the others as its holes."""
    every = sorted(rings, key=lambda r: -abs(r.area_mm2()))
    if not every:
        raise InputError(
            [Problem(file, "", "a closed outline", "none", "Draw the rim as one closed line, without gaps.")]
        )
    return every[0], tuple(every[1:])
