"""From the space a board must fit to the line the saw follows: covering, clearance, side of the saw."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from loomwright.trace.checks import checked
from loomwright.trace.outline import Outline, Point, Ring, Side, placed
from loomwright.trace.picture import refuse
from loomwright.trace.shape import Carrier, Circle, Line, bulge, joint

SawSide = Literal["waste", "middle", "board"]


@dataclass(frozen=True, slots=True)
class Allowances:
    """What is to be left for.

    Attributes
    ----------
    covering_mm : float
        Thickness of a covering that wraps the edge, such as carpet: the board is that much smaller all round.
    clearance_mm : float
        Air all round, so that it goes in.
    saw : str
        Where the blade runs: ``waste``, on the far side of the line; ``middle``, along it; ``board``, on the near side.
    kerf_mm : float
        Width of the cut.
    """

    covering_mm: float = 0.0
    clearance_mm: float = 0.0
    saw: SawSide = "waste"
    kerf_mm: float = 0.0

    def inset_mm(self) -> float:
        """How far the line to saw lies inside of the outline; negative where it lies outside."""
        lost = {"waste": 0.0, "middle": 0.5, "board": 1.0}[self.saw] * self.kerf_mm
        return self.covering_mm + self.clearance_mm - lost


def applied(outline: Outline, allowances: Allowances, file: str = "outline") -> Outline:
    """The line to saw; holes grow as the rim shrinks.

    Raises
    ------
    InputError
        Where an allowance is not a length, or eats up a side.
    """
    for name in ("covering_mm", "clearance_mm", "kerf_mm"):
        value = getattr(allowances, name)
        if not (math.isfinite(value) and 0.0 <= value <= 50.0):
            raise refuse(file, name, "0 to 50 mm", f"{value:g}", "Give it in millimetres.")
    inset = allowances.inset_mm()
    if inset == 0.0:
        return outline
    outer = offset(outline.outer, -inset, file)
    holes = tuple(offset(h, -inset, file) for h in outline.holes)
    return checked(placed(replace(outline, outer=outer, holes=holes)), file)


def offset(ring: Ring, out_mm: float, file: str = "outline") -> Ring:
    """The ring moved outward from the board (into a hole, for a hole) by a distance; corners stay sharp.

    Raises
    ------
    InputError
        Where a side would be no more.
    """
    kept: list[tuple[Side, Carrier]] = []
    for side in ring.sides:
        moved = _moved(side, out_mm)
        if moved is not None:
            kept.append((side, moved))
    if len(kept) < 2:
        raise refuse(
            file, "allowance", "less than half the board", f"{abs(out_mm):g} mm", "Make the allowance smaller."
        )
    n = len(kept)
    if len({c for _, c in kept}) == 1:
        circle = kept[0][1]
        assert isinstance(circle, Circle)
        corners = [_foot(circle, s.start_mm) for s, _ in kept]
    else:
        corners = [joint(kept[k - 1][1], kept[k][1], _near(kept[k - 1][0], kept[k][0])) for k in range(n)]
    sides = []
    for k, (side, carrier) in enumerate(kept):
        start, end = corners[k], corners[(k + 1) % n]
        ahead = np.subtract(end, start)
        if isinstance(carrier, Line):
            if float(ahead @ np.asarray(carrier.way)) <= 1e-9:
                raise refuse(
                    file,
                    "allowance",
                    f"less than the side of {side.length_mm:.1f} mm leaves room for",
                    f"{abs(out_mm):g} mm",
                    "Make the allowance smaller, or leave that side out of the outline.",
                )
            bend = 0.0
        else:
            bend = bulge(start, end, carrier)
        sides.append(replace(side, start_mm=start, end_mm=end, bulge=bend))
    return Ring(tuple(sides))


def _moved(side: Side, out_mm: float) -> Carrier | None:
    (x1, y1), (x2, y2) = side.start_mm, side.end_mm
    if not side.bulge:
        length = side.chord_mm
        wx, wy = (x2 - x1) / length, (y2 - y1) / length
        return Line((x1 + out_mm * wy, y1 - out_mm * wx), (wx, wy))
    radius = side.radius_mm + (out_mm if side.bulge > 0.0 else -out_mm)
    return Circle(side.centre_mm, radius, side.bulge > 0.0) if radius > 1e-6 else None


def _near(before: Side, after: Side) -> Point:
    """About where the corner goes."""
    x = (before.end_mm[0] + after.start_mm[0]) / 2.0
    y = (before.end_mm[1] + after.start_mm[1]) / 2.0
    return x, y


def _foot(circle: Circle, at: Point) -> Point:
    away = np.subtract(at, circle.centre)
    away = away / float(np.linalg.norm(away)) * circle.radius_mm
    return float(circle.centre[0] + away[0]), float(circle.centre[1] + away[1])
