"""The cheapest rig over every layout, or why none stands."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf

from loomwright.draft import bounds, search, speakers
from loomwright.draft.drawn import draw
from loomwright.draft.equipment import EquipmentList
from loomwright.draft.layout import BLOCK_WAYS, Block, BlockType, Layout, layouts, places
from loomwright.draft.layup import FIRST_SOLVED, MOST_SOLVED, THUMPS, Checked, Layup
from loomwright.draft.results import Proof
from loomwright.draft.sheet import Sheet
from loomwright.rig.model import AmplifierSpec, FuseSpec, Item

MOST_LAYOUTS = 40
FEW = 4
"""Of each kind of layout, how many are drawn up before the list is taken to be at fault."""
WRITTEN_OUT = 1_000_000_000
"""Fewer combinations than this are told in full."""
WAY_LIMIT_A = 100.0
"""Amplifiers whose own fuses are larger than this get a device on the battery post."""
Say = Callable[[str], None]


def quiet(words: str) -> None:
    """Says nothing."""


@dataclass(frozen=True)
class Solved:
    """The cheapest rig of all layouts, with what it was proven over."""

    layup: Layup
    checked: Checked
    found: search.Found
    proof: Proof


@dataclass(frozen=True)
class Tried:
    """What became of a list: the cheapest rig, or the nearest to one, and why the layouts fell out."""

    solved: Solved | None
    nearest: Checked | None
    reasons: tuple[str, ...]


def strong(given: EquipmentList) -> tuple[str, ...]:
    """Amplifiers too strong for a way of a block."""
    found = []
    for item in given.rig.family("amplifier"):
        spec = item.part.spec
        assert isinstance(spec, AmplifierSpec)
        if sum(spec.own_fuses_a) > WAY_LIMIT_A:
            found.append(item.id)
    return tuple(found)


def ordered(given: EquipmentList) -> list[tuple[float, Layout]]:
    """Every layout with what it costs at least, the cheapest first."""
    sheet = Sheet(given)
    want = [a for a in given.rig.family("amplifier") if not sheet.wired(f"{a.id}.supply+")]
    if not want and all(sheet.wired(f"{i.id}.supply+") for i in sheet.families("source", "processor")):
        return [(0.0, Layout(()))]
    spots = places(given.rig, given.wishes.block_places)
    types: tuple[BlockType, ...] = ("C", "SF30")
    alone = [a for a in strong(given) if a in {w.id for w in want}]
    listed = _listed_block(sheet, [a for a in want if a.id not in alone])
    if listed is not None:
        return [(0.0, Layout((listed,), tuple(alone)))]
    small = len(sheet.families("source", "processor")) + 1
    roomy = [
        x for x in layouts(given.rig, want, spots, types, alone)
        if all(len(b.amplifiers) + (small if n == 0 and b.type == "C" else 1) <= BLOCK_WAYS[-1]
               for n, b in enumerate(x.blocks))
    ]  # fmt: skip
    made = [(bounds.least_g(sheet, x), n, x) for n, x in enumerate(roomy)]
    return [(g, x) for g, _, x in sorted(made, key=lambda m: m[:2]) if g < inf]


def in_turn(
    given: EquipmentList, waiting: Sequence[tuple[float, Layout]], few: int = FEW
) -> tuple[list[tuple[float, Layout]], int]:
    """Layouts in the order in which they are tried, and how many of them before a list is taken to be at fault.

    The cheapest few; then one block of the type that takes thicker wires; then every amplifier on a device of its own.
    """
    if not waiting or any(b.item for b in waiting[0][1].blocks):
        return list(waiting), len(waiting)
    first = list(waiting[:few])
    single = [w for w in waiting[few:] if [b.type for b in w[1].blocks] == ["SF30"]][:few]
    sheet = Sheet(given)
    amps = tuple(dict.fromkeys(a for w in waiting[:1] for a in (*(x for b in w[1].blocks for x in b.amplifiers),
                                                                *w[1].alone)))  # fmt: skip
    spots = dict.fromkeys(b.place for _, x in waiting for b in x.blocks)
    apart = [Layout((Block(p, "C", ()),), amps) for p in spots][:few]
    alone = [w for x in apart if all(x != y for _, y in waiting) if (w := (bounds.least_g(sheet, x), x))[0] < inf]
    tried = [*first, *single, *alone]
    return [*tried, *(w for w in waiting if w not in tried)], len(tried)


def _listed_block(sheet: Sheet, want: Sequence[Item]) -> Block | None:
    """A block of the list that has empty ways enough."""
    need = len(want) + sum(not sheet.wired(f"{i.id}.supply+") for i in sheet.families("source", "processor"))
    for item in sheet.families("fused_block"):
        spec = item.part.spec
        assert isinstance(spec, FuseSpec)
        outs = [t.name for t in item.part.terminals if t.name.startswith("out")]
        free = [name for name in outs if not sheet.wired(f"{item.id}.{name}")]
        if len(free) >= need and need:
            return Block(item.place, "C" if spec.type == "C" else "SF30", tuple(a.id for a in want), item.id)
    return None


class _Tour:
    """Goes from layout to layout and keeps the cheapest rig."""

    def __init__(self, given: EquipmentList, say: Say, first: bool) -> None:
        self.given, self.say, self.first = given, say, first
        self.sheet = Sheet(given)
        self.uses = speakers.allocate(self.sheet)
        self.best: Solved | None = None
        self.nearest: Checked | None = None
        self.reasons: list[str] = []
        self.weak: set[tuple[str, str]] = set()
        self.rough: bounds.Rough | None = None
        self.drawn = self.combinations = self.solved = 0
        self.proven = True
        self.over = False

    def dearer(self, least: float, layout: Layout) -> bool:
        """Whether a bound says that a layout costs no less than the best rig so far."""
        best = self.best
        if best is None or best.layup.priced:
            return False
        return best.layup.common + max(least, bounds.least_g(self.sheet, layout, self.rough)) >= best.found.cost

    def look(self, layout: Layout) -> None:
        """Draw a layout up and see whether it holds the cheapest rig."""
        self.say(f"Layout {self.drawn + 1}: {layout.words()}")
        layup = Layup(draw(self.given, layout, self.uses))
        self.drawn += 1
        self.combinations += layup.problem.combinations
        if (flat := layup.flat()) is not None:
            self.reasons.append(flat)
            self.over = True
        elif layup.obstacles:
            self.reasons += layup.obstacles
            self.weak |= layup.weak
        else:
            self._search(layout, layup)

    def _search(self, layout: Layout, layup: Layup) -> None:
        below = self.best.found.cost if self.best is not None else inf
        checked, found = layup.cheapest(below, most=FIRST_SOLVED if self.first else MOST_SOLVED)
        self.solved += layup.solved
        self.proven = self.proven and found.proven
        if checked is None:
            self.nearest = self.nearest or layup.last
            if layup.last is not None and any(f.code in THUMPS for f in layup.last.faults):
                self.over = True  # when what wakes and goes down is no matter of the layout
            if self.best is None:
                self.reasons += [f"{layout.words()}: {b}" for b in layup.broken]
            return
        self.rough = bounds.Rough(layup.problem)
        self.best = Solved(layup, checked, found, Proof(True, "", 0, 0, 0, ""))
        self.over = self.first


def solve(given: EquipmentList, say: Say = quiet, *, first: bool = False) -> Tried:
    """The cheapest rig over all layouts; with ``first``, the first one that holds.

    Its wires stand fuses that are too large, as wished; where no rig has such wires, they stand the fuses fitted.
    """
    plain = replace(given, wishes=replace(given.wishes, wrong_fuse_sizes=0))
    if given.wishes.wrong_fuse_sizes and not first:
        tried = _solve(given, say, first=False)
        if tried.solved is not None:
            return tried
        say("No wire stands a fuse that is too large everywhere: sized for the fuses that are fitted")
    return _solve(plain, say, first=first)


def _solve(given: EquipmentList, say: Say, *, first: bool) -> Tried:
    tour = _Tour(given, say, first)
    waiting, tries = in_turn(given, ordered(given), 2 if first else FEW)
    later: list[tuple[float, Layout]] = []
    for n, (least, layout) in enumerate(waiting):
        if tour.over or tour.drawn >= MOST_LAYOUTS or (tour.best is None and n >= tries):
            tour.proven = tour.proven and all(tour.dearer(g, x) for g, x in waiting[n:])
            break
        if any((b.type, b.place) in tour.weak for b in layout.blocks):
            later.append((least, layout))  # the like of it has failed: it is worth a look only beside a rig that holds
        elif not tour.dearer(least, layout):
            tour.look(layout)
    for least, layout in later:
        if tour.best is not None and not tour.over and not tour.dearer(least, layout):
            if tour.drawn < MOST_LAYOUTS:
                tour.look(layout)
            else:
                tour.proven = False
    reasons = tuple(dict.fromkeys(tour.reasons))
    if tour.best is None:
        return Tried(None, tour.nearest, reasons)
    best, budget = tour.best, given.wishes.budget
    if budget is not None and (price := best.layup.price(best.found)) is not None and price > budget:
        return Tried(None, None, (f"wire and drafted parts cost {price:.2f} at least; the budget is {budget:.2f}",))
    what = "mass of copper and power plugs; the catalogue has no prices"
    many = f"{tour.combinations:,}" if tour.combinations < WRITTEN_OUT else f"{tour.combinations:.1e}"
    proof = Proof(
        tour.proven, "price of wire and plugs" if best.layup.priced else what, len(waiting), tour.combinations,
        tour.solved,
        f"{len(waiting)} layouts of at most two fused blocks, {tour.drawn} of them drawn up and the others dearer by a "
        f"bound; {many} combinations of size, rating and plug; feed and return of one size; sizes "
        + (", ".join(given.wishes.stock) if given.wishes.stock else "of the AWG list"),
    )  # fmt: skip
    return Tried(replace(best, proof=proof), tour.nearest, reasons)
