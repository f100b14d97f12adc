"""The order of cuts: straight through on the table saw as long as a line parts the pieces, then the jigsaw."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from loomwright.nesting.model import Cut, CutSheet, Laid, SheetCuts
from loomwright.nesting.shapes import polygon

EXACT_MM = 1e-3
ON_SIDE = 0.3
"""A side of the box is worth a straight cut where the rim follows it for so much of its length."""
Box = tuple[float, float, float, float]
Along = Literal["x", "y"]


@dataclass(slots=True)
class _Plan:
    kerf: float
    cuts: list[Cut] = field(default_factory=list)
    jigsaw: list[str] = field(default_factory=list)
    together: list[tuple[str, ...]] = field(default_factory=list)
    done: list[str] = field(default_factory=list)

    def cut(
        self, board: Box, along: Along, at: float, keeps: Sequence[Laid], frees: Sequence[Laid], far: bool = False
    ) -> None:
        """One cut through a board; ``at`` is the side of the kerf that the fence looks at."""
        left, top, right, bottom = board
        edge = {"y": (left, right), "x": (top, bottom)}[along][far]
        middle = at - self.kerf / 2.0 if far else at + self.kerf / 2.0
        start, end = ((middle, top), (middle, bottom)) if along == "y" else ((left, middle), (right, middle))
        self.cuts.append(Cut(
            len(self.cuts) + 1, "table saw", start, end, along, abs(at - edge),
            ({"y": ("left", "right"), "x": ("top", "bottom")})[along][far],  # type: ignore[arg-type]
            tuple(p.piece for p in keeps), tuple(p.piece for p in frees),
        ))  # fmt: skip


def order(sheet: CutSheet, kerf_mm: float) -> SheetCuts:
    """How to cut one sheet: what is left over comes off first, then cut by cut, then the edges of each piece."""
    plan = _Plan(kerf_mm)
    _part(plan, (0.0, 0.0, sheet.stock.width_mm, sheet.stock.height_mm), sheet.laid, ())
    return SheetCuts(tuple(plan.cuts), tuple(plan.jigsaw), tuple(plan.together), tuple(plan.done))


def _part(plan: _Plan, board: Box, laid: Sequence[Laid], trimmed: tuple[str, ...]) -> None:
    if not laid:
        return
    left, top, right, bottom = board
    end = max(p.box_mm[2] for p in laid)
    if not trimmed and right - end > max(10.0 * plan.kerf, 50.0):
        plan.cut(board, "y", end, laid, ())
        _part(plan, (left, top, end, bottom), laid, ("rest",))
        return
    found = _gap(plan.kerf, laid)
    if found is None:
        if len(laid) > 1:
            plan.together.append(tuple(p.piece for p in laid))
            plan.jigsaw += [p.piece for p in laid]
        else:
            _trim(plan, board, laid[0])
        return
    along, at = found
    low, high = (0, 2) if along == "y" else (1, 3)
    near = [p for p in laid if p.box_mm[high] <= at + EXACT_MM]
    far = [p for p in laid if p.box_mm[low] >= at + plan.kerf - EXACT_MM]
    plan.cut(board, along, at, near, far)
    past = at + plan.kerf
    one, two = (
        ((left, top, at, bottom), (past, top, right, bottom)) if along == "y"
        else ((left, top, right, at), (left, past, right, bottom))
    )  # fmt: skip
    _part(plan, one, near, ("part",))
    _part(plan, two, far, ("part",))


def _gap(kerf: float, laid: Sequence[Laid]) -> tuple[Along, float] | None:
    """A line that parts the pieces: across the sheet rather than along it, and as evenly as may be."""
    if len(laid) < 2:
        return None
    found: list[tuple[float, int, Along, float]] = []
    for along, low, high in (("y", 0, 2), ("x", 1, 3)):
        boxes = sorted((p.box_mm for p in laid), key=lambda b: (b[low], b[high]))
        end = boxes[0][high]
        for n, box in enumerate(boxes[1:], 1):
            if box[low] - end >= kerf - EXACT_MM:
                uneven = abs(2 * n - len(boxes)) / len(boxes)
                found.append((uneven, 0 if along == "y" else 1, "y" if along == "y" else "x", end))
            end = max(end, box[high])
    return min(found)[2:] if found else None


def _trim(plan: _Plan, board: Box, one: Laid) -> None:
    """The edges of a piece that are straight; what is left of its rim, and its holes, is for the jigsaw."""
    left, top, right, bottom = one.box_mm
    straight = dict(_straight(one))
    sides: tuple[tuple[Literal["left", "top", "right", "bottom"], Along, float], ...] = (
        ("right", "y", right), ("left", "y", left), ("bottom", "x", bottom), ("top", "x", top),
    )  # fmt: skip
    for side, along, at in sides:
        edge = {"left": board[0], "top": board[1], "right": board[2], "bottom": board[3]}[side]
        rim = one.box_mm[("left", "top", "right", "bottom").index(side)]
        if abs(edge - rim) <= EXACT_MM or straight.get(side, 0.0) < ON_SIDE:
            continue
        plan.cut(board, along, at, (one,), (), far=side in ("left", "top"))
        new = list(board)
        new[("left", "top", "right", "bottom").index(side)] = rim
        board = new[0], new[1], new[2], new[3]
    box = (right - left) * (bottom - top)
    if one.holes or abs(polygon(one.outer).area - box) > 1e-6 * box:
        plan.jigsaw.append(one.piece)
    else:
        plan.done.append(one.piece)


def _straight(one: Laid) -> Iterator[tuple[str, float]]:
    """How much of each side of the box the rim follows."""
    left, top, right, bottom = one.box_mm
    total = {"left": 0.0, "top": 0.0, "right": 0.0, "bottom": 0.0}
    for (xa, ya), (xb, yb) in zip(one.outer, (*one.outer[1:], one.outer[0]), strict=True):
        for side, a, b, at, long in (
            ("left", xa, xb, left, abs(yb - ya)), ("right", xa, xb, right, abs(yb - ya)),
            ("top", ya, yb, top, abs(xb - xa)), ("bottom", ya, yb, bottom, abs(xb - xa)),
        ):  # fmt: skip
            if abs(a - at) <= EXACT_MM and abs(b - at) <= EXACT_MM:
                total[side] += long
    for side, long in total.items():
        yield side, long / ((bottom - top) if side in ("left", "right") else (right - left))
