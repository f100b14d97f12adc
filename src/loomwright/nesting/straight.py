"""Layouts that straight cuts take apart: boxes of the pieces in free rectangles, each split in two when it is used."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loomwright.nesting.shapes import Variant

Placed = tuple[int, int, float, float]
"""Sheet, turn, x, y of the corner of a grown piece."""
_EXACT_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Free:
    """A free rectangle of a sheet."""

    sheet: int
    x: float
    y: float
    width: float
    height: float


def laid(rooms_mm: Sequence[tuple[float, float]], of: Sequence[Sequence[Variant]]) -> dict[int, Placed] | None:
    """Every piece on one of the sheets, as far to the left as the best of some orders takes it; None where none does.

    Parameters
    ----------
    rooms_mm : sequence of (along x, along y)
        Free size of each sheet, in the order in which they are filled.
    of : sequence of sequences of Variant
        The turns of each piece.
    """
    best: tuple[tuple[float, ...], dict[int, Placed]] | None = None
    keys: list[Callable[[int], tuple[float, ...]]] = [
        lambda k: (-of[k][0].width_mm * of[k][0].height_mm, k),
        lambda k: (-max(of[k][0].width_mm, of[k][0].height_mm), k),
        lambda k: (-of[k][0].height_mm, k),
        lambda k: (-of[k][0].width_mm, k),
        lambda k: (-(of[k][0].width_mm + of[k][0].height_mm), k),
    ]
    for key in keys:
        order = sorted(range(len(of)), key=key)
        for column in (True, False):
            for near in (True, False):
                made = _filled(rooms_mm, of, order, column, near)
                if made is None:
                    continue
                ends = [
                    max((x + of[k][t].width_mm for k, (s, t, x, _) in made.items() if s == n), default=0.0)
                    for n in range(len(rooms_mm))
                ]
                rank = tuple(round(e, 6) for e in reversed(ends))
                if best is None or rank < best[0]:
                    best = rank, made
    return None if best is None else best[1]


def _filled(
    rooms: Sequence[tuple[float, float]],
    of: Sequence[Sequence[Variant]],
    order: Sequence[int],
    column: bool,
    near: bool,
) -> dict[int, Placed] | None:
    free = [Free(n, 0.0, 0.0, w, h) for n, (w, h) in enumerate(rooms)]
    out: dict[int, Placed] = {}
    for k in order:
        found = None
        for n, f in enumerate(free):
            for t, v in enumerate(of[k]):
                if v.width_mm > f.width + _EXACT_MM or v.height_mm > f.height + _EXACT_MM:
                    continue
                left = f.width - v.width_mm, f.height - v.height_mm
                snug = min(left)
                rank = (f.sheet, round(f.x + v.width_mm, 6), snug, n, t) if near else (f.sheet, snug, f.x, n, t)
                if found is None or rank < found[0]:
                    found = rank, n, t
        if found is None:
            return None
        _, n, t = found
        f, v = free.pop(n), of[k][t]
        out[k] = f.sheet, t, f.x, f.y
        right, under = f.width - v.width_mm, f.height - v.height_mm
        if column:
            free.append(Free(f.sheet, f.x, f.y + v.height_mm, v.width_mm, under))
            free.append(Free(f.sheet, f.x + v.width_mm, f.y, right, f.height))
        else:
            free.append(Free(f.sheet, f.x + v.width_mm, f.y, right, v.height_mm))
            free.append(Free(f.sheet, f.x, f.y + v.height_mm, f.width, under))
        free = [g for g in free if g.width > 1.0 and g.height > 1.0]
    return out
