"""What an outline must be before anything is built on it: closed, of some area, not crossing itself, holes inside."""

from __future__ import annotations

import re
from typing import Any

from loomwright.errors import InputError, Problem
from loomwright.trace.outline import Outline

LEAST_MM, MOST_MM = 20.0, 5000.0
LEAST_HOLE_MM2 = 1.0
_AT = re.compile(r"\[(-?[\d.eE+-]+) (-?[\d.eE+-]+)\]")


def checked(outline: Outline, file: str) -> Outline:
    """The outline itself.

    Raises
    ------
    InputError
        With every problem found.
    """
    from shapely import Polygon, is_valid_reason  # type: ignore[import-untyped]

    problems: list[Problem] = []
    width, height = outline.size_mm
    if not max(width, height) <= MOST_MM:
        problems.append(
            Problem(file, "outline", f"at most {MOST_MM:g} mm", f"{width:.0f} x {height:.0f} mm", "Check the unit.")
        )
    if max(width, height) < LEAST_MM:
        inches = f"{width:.3g} x {height:.3g}"
        problems.append(
            Problem(
                file,
                "outline",
                f"a board of at least {LEAST_MM:g} mm",
                f"{inches} mm",
                "If these are inches, say so: --unit in.",
            )
        )
    outer = Polygon(outline.outer.points(0.02))
    if outer.convex_hull.area < 1e-3 * max(width, height, 1e-9) ** 2:
        problems.append(
            Problem(
                file,
                "outline",
                "a board that has an area",
                "corners that lie on one line",
                "Check the corners, their order and their values.",
            )
        )
    elif not outer.is_valid:
        problems.append(_crossing(file, "outline", is_valid_reason(outer)))
    solid: list[tuple[Any, str]] = []
    for k, hole in enumerate(outline.holes):
        shape = Polygon(hole.points(0.02))
        place = f"hole[{k}]"
        if not shape.is_valid:
            problems.append(_crossing(file, place, is_valid_reason(shape)))
        elif shape.area < LEAST_HOLE_MM2:
            problems.append(Problem(file, place, "a hole that has an area", f"{shape.area:.3g} mm2", "Leave it out."))
        elif outer.is_valid and not outer.covers(shape):
            problems.append(
                Problem(
                    file, place, "a hole inside the board", "one that reaches out of it", "Make it part of the rim."
                )
            )
        else:
            for other, name in solid:
                if shape.intersects(other):
                    problems.append(
                        Problem(
                            file, place, f"holes apart from {name}", "one that meets it", "Make one hole of the two."
                        )
                    )
            solid.append((shape, place))
    if problems:
        raise InputError(problems)
    return outline


def _crossing(file: str, place: str, words: str) -> Problem:
    found = _AT.search(words)
    where = f" near x {float(found[1]):.1f}, y {float(found[2]):.1f} mm" if found else ""
    return Problem(
        file,
        place,
        "a ring that does not cross itself",
        f"one that does{where}",
        "Check the order of the corners there.",
    )
