"""An outline as a small TOML file, and back: every number in millimetres, exactly as many corners as sides."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import tomli

from loomwright.errors import InputError, Problem
from loomwright.trace.checks import checked
from loomwright.trace.outline import Outline, Ring, placed, ring_of

FORMAT = 1
_TOP = {"format", "source", "error_mm", "back", "outline", "hole"}
_RING = {"points_mm", "bulges", "sigma_mm", "corner_sigma_mm"}


def text(outline: Outline) -> str:
    """The outline as TOML, the same text for the same outline."""
    lines = [
        "# Outline of a board: x to the right, y down, from the upper left of the box round it; mm.",
        f"format = {FORMAT}",
        f'source = "{outline.source}"',
        f"error_mm = {_number(outline.error_mm)}",
    ]
    if outline.back:
        lines.append("back = true")
    for name, rings in (("[outline]", (outline.outer,)), ("[[hole]]", outline.holes)):
        for ring in rings:
            lines += ["", name, "points_mm = ["]
            lines += [f"  [{_number(s.start_mm[0])}, {_number(s.start_mm[1])}]," for s in ring.sides]
            lines.append("]")
            if any(s.bulge for s in ring.sides):
                lines.append(f"bulges = [{', '.join(_number(s.bulge, 9) for s in ring.sides)}]")
            if any(s.sigma_mm for s in ring.sides):
                lines.append(f"sigma_mm = [{', '.join(_number(s.sigma_mm) for s in ring.sides)}]")
                lines.append(f"corner_sigma_mm = [{', '.join(_number(s.corner_sigma_mm) for s in ring.sides)}]")
    return "\n".join(lines) + "\n"


def _number(value: float, digits: int = 6) -> str:
    made = f"{value:.{digits}f}".rstrip("0")
    made = made + "0" if made.endswith(".") else made
    return "0.0" if made == "-0.0" else made


def read(data: str, file: str = "outline") -> Outline:
    """The outline of a TOML text.

    Raises
    ------
    InputError
        With what is wrong, by place.
    """
    try:
        document = tomli.loads(data)
    except tomli.TOMLDecodeError as error:
        raise InputError([Problem(file, "", "TOML", str(error), "Mend the line that is named.")]) from None
    problems = _unknown(document, _TOP, file, "")
    if document.get("format") != FORMAT:
        problems.append(
            Problem(file, "format", str(FORMAT), str(document.get("format", "nothing")), f"Write format = {FORMAT}.")
        )
    outer = _ring(document.get("outline"), file, "outline", problems)
    holes = document.get("hole", [])
    if not isinstance(holes, list):
        problems.append(Problem(file, "hole", "[[hole]] tables", "something else", "Write each hole under [[hole]]."))
        holes = []
    rings = [_ring(h, file, f"hole[{k}]", problems) for k, h in enumerate(holes)]
    wrong_by = document.get("error_mm", 0.0)
    if not _finite(wrong_by) or wrong_by < 0.0:
        problems.append(
            Problem(file, "error_mm", "millimetres from 0 up", repr(wrong_by), "Write a number, or leave it out.")
        )
    if problems or outer is None:
        raise InputError(problems)
    made = Outline(
        outer,
        tuple(r for r in rings if r is not None),
        str(document.get("source", "typed")),
        float(wrong_by),
        document.get("back") is True,
    )
    return checked(placed(made), file)


def _ring(table: object, file: str, place: str, problems: list[Problem]) -> Ring | None:
    if not isinstance(table, Mapping):
        problems.append(Problem(file, place, f"a table [{place}]", "none", f"Write [{place}] with points_mm."))
        return None
    problems += _unknown(table, _RING, file, place)
    points = table.get("points_mm")
    good = (
        isinstance(points, list)
        and len(points) >= 2
        and all(isinstance(p, list) and len(p) == 2 and all(_finite(v) for v in p) for p in points)
    )
    if not good:
        problems.append(
            Problem(
                file,
                f"{place}.points_mm",
                "pairs of millimetres, two or more",
                "something else",
                "Write [[0, 0], [600, 0], ...].",
            )
        )
        return None
    assert isinstance(points, list)
    columns = {}
    for key in ("bulges", "sigma_mm", "corner_sigma_mm"):
        values = table.get(key, [0.0] * len(points))
        if not isinstance(values, list) or len(values) != len(points) or not all(_finite(v) for v in values):
            problems.append(
                Problem(
                    file,
                    f"{place}.{key}",
                    f"{len(points)} numbers, one for each side",
                    repr(values)[:60],
                    "Write one for each corner.",
                )
            )
            return None
        columns[key] = [float(v) for v in values]
    ring = ring_of([(float(x), float(y)) for x, y in points], columns["bulges"])
    sides = [
        replace(s, sigma_mm=a, corner_sigma_mm=b)
        for s, a, b in zip(ring.sides, columns["sigma_mm"], columns["corner_sigma_mm"], strict=True)
    ]
    return Ring(tuple(sides))


def _unknown(table: Mapping[str, Any], known: set[str], file: str, place: str) -> list[Problem]:
    import difflib

    out = []
    for key in table:
        if key not in known:
            near = difflib.get_close_matches(key, sorted(known), n=1)
            remedy = f"Did you mean {near[0]}?" if near else f"Leave it out; known here: {', '.join(sorted(known))}."
            out.append(Problem(file, f"{place}.{key}".strip("."), "a known key", key, remedy))
    return out


def _finite(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value) and abs(value) < 1e6
