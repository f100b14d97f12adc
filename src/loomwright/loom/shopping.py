"""What to buy: wire that no spool gives, and the small parts that the loom takes."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from loomwright.facts import harness
from loomwright.loom.cut_plan import Piece
from loomwright.loom.results import LoomResult
from loomwright.rig.model import ConnectorSpec, Rig


@dataclass(frozen=True, slots=True)
class Buy:
    """One kind of wire to buy: length with its spare, and the reel that holds it."""

    size: str
    metal: str
    insulation_c: int
    colour: str
    screened: bool
    wires: tuple[str, ...]
    needed_mm: float
    buy_mm: float
    reel_mm: float
    reels: int


@dataclass(frozen=True, slots=True)
class Consumable:
    """Small parts by count, or by length where they are sold by length."""

    what: str
    count: int
    length_mm: float | None = None


def wire_to_buy(missing: Iterable[Piece]) -> tuple[Buy, ...]:
    """Missing pieces by kind, with 5 % on top, rounded up to a whole metre; and the smallest reel that holds that."""
    kinds: dict[tuple[str, str, int, str, bool], list[Piece]] = defaultdict(list)
    for p in missing:
        kinds[p.size, p.metal, p.insulation_c, p.colour, p.screened].append(p)
    out = []
    for kind, alike in sorted(kinds.items()):
        needed = sum(p.length_mm for p in alike)
        buy = math.ceil(round(needed * (1.0 + harness.reel_spare_share()) / 1000.0, 9)) * 1000.0
        lengths = harness.reel_lengths_mm()
        reel = next((r for r in lengths if r >= buy), lengths[-1])
        out.append(Buy(*kind, tuple(p.wire for p in alike), needed, buy, reel, math.ceil(buy / reel)))
    return tuple(out)


def consumables(rig: Rig, loom: LoomResult) -> tuple[Consumable, ...]:
    """Ends, shrink sleeves, covers, grommets, ties, blind plugs and labels, counted."""
    ends = Counter(e.end for w in loom.wires for e in w.ends if e.fits and e.strip_mm > 0.0)
    found = [Consumable(what, n) for what, n in sorted(ends.items())]
    shrink: dict[str, list[float]] = defaultdict(list)
    for w in loom.wires:
        for e in w.ends:
            if e.shrink:
                shrink[e.shrink].append(e.shrink_mm)
    found += [Consumable(f"heat-shrink {s}", len(cuts), sum(cuts)) for s, cuts in sorted(shrink.items())]
    covers: dict[str, list[float]] = defaultdict(list)
    pieces: Counter[str] = Counter()
    for b in loom.bundles:
        for cover in b.covers:
            if cover in ("grommet", "gland", "edge trim"):
                continue
            covers[cover].append(b.length_mm)
        if b.grommet_mm is not None:
            pieces[f"grommet {b.grommet_mm:g} mm, hole {b.hole_mm:g} mm"] += 1
    found += [Consumable(c, len(runs), sum(runs)) for c, runs in sorted(covers.items())]
    found += [Consumable(p, n) for p, n in sorted(pieces.items())]
    ties = sum(b.ties for b in loom.bundles)
    found += [Consumable("cable tie", ties)] if ties else []
    blind = sum(2 * d.spare for d in loom.disconnects if _sealed(rig, d.id))
    found += [Consumable("blind plug for a spare contact", blind)] if blind else []
    found += [Consumable("label", 2 * len(loom.wires))] if loom.wires else []
    return tuple(found)


def _sealed(rig: Rig, item: str) -> bool:
    spec = rig.items[item].part.spec
    return isinstance(spec, ConnectorSpec) and spec.sealed
