"""Boards on sheets: which come from which sheet, what it costs, in which order they are cut."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from loomwright.errors import InputError, Problem
from loomwright.nesting import cuts
from loomwright.nesting.model import CutSheet, Piece, SheetCuts, Stock
from loomwright.nesting.sheets import MOVES, nest
from loomwright.rig.plan import Material, Panel
from loomwright.template.sheet_stock import Sheet, for_board, usual
from loomwright.trace.outline import Outline

WITHIN_MM = 0.05
PanelGrain = Literal["any", "across", "down"]
QUARTERS = (0.0, 90.0, 180.0, 270.0)
_EXTRA = re.compile(r"([^=\s*]+)=(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)(?:\*([1-9]\d?))?")


@dataclass(frozen=True, slots=True)
class Extra:
    """A rectangle cut from the same sheets: a cover, a plate under spacers."""

    id: str
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Wanted:
    """A board to cut: its line to saw, and what it is made of."""

    id: str
    outline: Outline
    material: Material
    thickness_mm: float
    grain: PanelGrain = "any"


@dataclass(frozen=True, slots=True)
class Cutting:
    """All boards of one material and thickness.

    ``cuts`` go with ``sheets``; ``bound_sheets`` is below what any layout needs, 0 where sheets differ; ``assumed``
    where the shop has said nothing of such sheets, and a usual one was taken.
    """

    material: Material
    thickness_mm: float
    kerf_mm: float
    sheets: tuple[CutSheet, ...]
    cuts: tuple[SheetCuts, ...]
    left_out: tuple[str, ...]
    price: float
    bound_sheets: int
    assumed: bool


def wanted(panel: Panel, outline: Outline, grain: PanelGrain = "any") -> Wanted:
    """A panel with its line to saw."""
    return Wanted(panel.id, outline, panel.material, panel.thickness_mm, grain)


def extras(given: Sequence[str]) -> tuple[Extra, ...]:
    """Rectangles written ``lid=300x200``, or ``plate=120x80*2`` for two of them.

    Raises
    ------
    InputError
        Where one cannot be read.
    """
    out: list[Extra] = []
    problems = []
    for text in given:
        found = _EXTRA.fullmatch(text.strip())
        if found is None or not all(10.0 <= float(found[k]) <= 5000.0 for k in (2, 3)):
            problems.append(Problem(
                "command line", "panel --piece", "NAME=WIDTHxHEIGHT in mm, 10 to 5000, such as lid=300x200 or "
                "plate=120x80*2", text, "Write it so.",
            ))  # fmt: skip
            continue
        count = int(found[4] or 1)
        names = [found[1]] if count == 1 else [f"{found[1]} {n}" for n in range(1, count + 1)]
        out += [Extra(n, float(found[2]), float(found[3])) for n in names]
    names = [e.id for e in out]
    if len(set(names)) < len(names):
        problems.append(Problem(
            "command line", "panel --piece", "a name for each piece", ", ".join(names), "Give each its own name.",
        ))  # fmt: skip
    if problems:
        raise InputError(problems)
    return tuple(out)


def cuttings(
    boards: Sequence[Wanted], sheets: Sequence[Sheet], kerf_mm: float, more: Sequence[Extra] = (),
    moves: int = MOVES,
) -> tuple[Cutting, ...]:  # fmt: skip
    """One for each material and thickness, in the order of the boards; extras go with the first."""
    groups: dict[tuple[Material, float], list[Wanted]] = {}
    for b in boards:
        groups.setdefault((b.material, b.thickness_mm), []).append(b)
    out = []
    for n, ((material, thickness), some) in enumerate(groups.items()):
        known = for_board(sheets, material, thickness)
        stock = known or (usual(material, thickness),)
        grained = any(s.grain != "none" for s in stock)
        taken = {b.id for b in some}
        pieces = [_piece(b, grained) for b in some]
        for e in more if n == 0 else ():
            name = e.id if e.id not in taken else f"{e.id} (piece)"
            box = ((0.0, 0.0), (e.width_mm, 0.0), (e.width_mm, e.height_mm), (0.0, e.height_mm))
            pieces.append(Piece(name, box, turns_deg=QUARTERS))
        laid = nest(pieces, [_along(s) for s in stock], kerf_mm, moves)
        out.append(Cutting(
            material, thickness, kerf_mm, laid.sheets, tuple(cuts.order(s, kerf_mm) for s in laid.sheets),
            laid.left_out, laid.price if known else 0.0, laid.bound_sheets, not known,
        ))  # fmt: skip
    return tuple(out)


def _along(sheet: Sheet) -> Stock:
    """A sheet with its grain, or else its longer side, along x."""
    made = sheet.stock()
    swap = sheet.grain == "along the height" or (sheet.grain == "none" and made.height_mm > made.width_mm)
    return replace(made, width_mm=made.height_mm, height_mm=made.width_mm) if swap else made


def _piece(board: Wanted, grained: bool) -> Piece:
    turns: tuple[float, ...] = QUARTERS
    if grained and board.grain != "any":
        turns = (0.0, 180.0) if board.grain == "across" else (90.0, 270.0)
    rings = [tuple((float(x), float(y)) for x, y in r.points(WITHIN_MM)) for r in board.outline.rings()]
    return Piece(board.id, rings[0], tuple(rings[1:]), turns)
