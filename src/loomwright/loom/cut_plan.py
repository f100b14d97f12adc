"""The cutting plan: which wire from which spool, proven to be the best.

First as much as possible is cut from stock; then the spools that are opened are as short as they can be together, which
leaves the least in remnants. The solver says whether that is proven.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from loomwright.loom.cutting import best_cut
from loomwright.loom.results import LoomWire
from loomwright.loom.stock_file import Spool


@dataclass(frozen=True, slots=True)
class Piece:
    """A length to be cut."""

    wire: str
    size: str
    metal: str
    insulation_c: int
    colour: str
    screened: bool
    length_mm: float


@dataclass(frozen=True, slots=True)
class SpoolCut:
    """What is cut from one spool, longest first, and what is left on it."""

    spool: str
    length_mm: float
    wires: tuple[str, ...]
    used_mm: float
    remnant_mm: float


@dataclass(frozen=True, slots=True)
class CutPlan:
    """The plan. ``missing`` are the pieces that no spool gives; ``proven`` says that no plan is better.

    ``opened_mm`` is the length of all opened spools together, ``bound_mm`` what no plan can be below.
    """

    cuts: tuple[SpoolCut, ...]
    missing: tuple[Piece, ...]
    proven: bool
    opened_mm: float
    bound_mm: float


def pieces(wires: Sequence[LoomWire]) -> tuple[Piece, ...]:
    """What is to be cut, in the order of the rig."""
    return tuple(
        Piece(w.id, w.size, w.metal, w.insulation_c, w.colour, w.kind == "line", w.cut_mm) for w in wires
    )


def fits(piece: Piece, spool: Spool) -> bool:
    """Whether a piece may be cut from a spool: same conductor, insulation no worse, colour the same."""
    return (
        (piece.size, piece.metal, piece.screened) == (spool.size, spool.metal, spool.screened)
        and spool.insulation_c >= piece.insulation_c
        and spool.colour in ("", piece.colour)
        and spool.length_mm >= piece.length_mm
    )


def plan(wanted: Sequence[Piece], spools: Sequence[Spool]) -> CutPlan:
    """The best plan.

    Raises
    ------
    EngineMissing
        Where a choice has to be made and OR-tools is not installed.
    """
    groups: dict[tuple[str, str, bool], list[Piece]] = defaultdict(list)
    for p in wanted:
        groups[p.size, p.metal, p.screened].append(p)
    taken: dict[str, list[Piece]] = {}
    missing: list[Piece] = []
    proven, bound = True, 0.0
    for group in groups.values():
        useful = [s for s in spools if any(fits(p, s) for p in group)]
        reachable = [p for p in group if any(fits(p, s) for s in useful)]
        missing += [p for p in group if p not in reachable]
        if not reachable:
            continue
        alone = useful[0] if len(useful) == 1 else None
        if alone is not None and sum(p.length_mm for p in reachable) <= alone.length_mm:
            taken[alone.id] = reachable
            bound += alone.length_mm
            continue
        found, left, sure, least = _solve(reachable, useful)
        taken.update(found)
        missing += left
        proven = proven and sure
        bound += least
    cuts = tuple(_cut(s, taken[s.id]) for s in spools if taken.get(s.id))
    order = {p.wire: k for k, p in enumerate(wanted)}
    return CutPlan(
        cuts=cuts,
        missing=tuple(sorted(missing, key=lambda p: order[p.wire])),
        proven=proven,
        opened_mm=sum(c.length_mm for c in cuts),
        bound_mm=bound,
    )


def _cut(spool: Spool, cut: Sequence[Piece]) -> SpoolCut:
    ordered = sorted(cut, key=lambda p: (-p.length_mm, p.wire))
    used = sum(p.length_mm for p in cut)
    return SpoolCut(spool.id, spool.length_mm, tuple(p.wire for p in ordered), used, spool.length_mm - used)


def _solve(
    wanted: Sequence[Piece], spools: Sequence[Spool]
) -> tuple[dict[str, list[Piece]], list[Piece], bool, float]:
    """One kind of wire: pieces by spool, pieces left over, whether it is proven, and the least length to open."""
    kinds: dict[tuple[int, int, str], list[Piece]] = defaultdict(list)
    for p in sorted(wanted, key=lambda p: (-p.length_mm, p.wire)):
        kinds[round(p.length_mm), p.insulation_c, p.colour].append(p)
    found, sure, least = best_cut(
        [(kind[0], len(alike)) for kind, alike in kinds.items()],
        [round(s.length_mm) for s in spools],
        [[fits(alike[0], s) for s in spools] for alike in kinds.values()],
    )
    cut: dict[str, list[Piece]] = defaultdict(list)
    left: list[Piece] = []
    for alike, row in zip(kinds.values(), found, strict=True):
        rest = list(alike)
        for s, n in zip(spools, row, strict=True):
            cut[s.id] += rest[:n]
            rest = rest[n:]
        left += rest
    return cut, left, sure, float(least)
