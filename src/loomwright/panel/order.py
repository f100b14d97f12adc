"""The order in which leads are laid so that few of them cross: worked out on who follows whom round each item.

Leads that tie the items together come first: without a crossing they can always be laid, and whichever way they go, the
rest of the board is the same to those that follow. From then on the faces between the leads are known, and a lead that
is put in crosses those which part the face it starts in from the face it ends in. How many those are is counted here
without a millimetre, for one order after the other; the best is then laid for real.
"""

from __future__ import annotations

import heapq
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

from loomwright.panel.lanes import CROSS_COST_MM, MIXED_COST_MM, Lanes, Wanted, share
from loomwright.panel.results import Box
from loomwright.rig.plan import Point

TIED_COST_MM = 25.0
"""What it is worth that two leads need not be tied into one trunk only to get past each other."""
MOST_ORDERS = 60
"""Orders that are worked out without a millimetre."""
MOST_TRIED = 12
"""Orders that are laid for real, at most."""
_ROUND = ("top", "right", "bottom", "left")
Island = Hashable
Spot = tuple[int, float]
"""Where on its rim an island has a terminal: side and distance, clockwise."""


@dataclass(frozen=True, slots=True)
class Tie:
    """A lead that is to be laid, as it hangs between two islands; the second is None where it leaves the board."""

    id: str
    want: Wanted
    start: tuple[Island, Spot]
    to: tuple[Island, Spot] | None


def tie(lead: str, want: Wanted, lanes: Lanes) -> Tie:
    """A lead between the items that its ends lie on. What stands on spacers is no island: leads run under it."""

    def island(at: Point, item: str | None, side: str) -> tuple[Island, Spot]:
        k = _ROUND.index(side)
        along = at[k % 2] * (1.0 if k < 2 else -1.0)
        solid = any(i == item and _in(at, box) for i, box in lanes.blocks)
        return (item if solid else (item, at)), (k, along)

    assert want.start.side is not None
    to = None if want.to.side is None else island(want.to.at_mm, want.to.item, want.to.side)
    return Tie(lead, want, island(want.start.at_mm, want.start.item, want.start.side), to)


def _in(at: Point, box: Box) -> bool:
    return box[0] - 1e-6 <= at[0] <= box[2] + 1e-6 and box[1] - 1e-6 <= at[1] <= box[3] + 1e-6


def best_orders(ties: Sequence[Tie]) -> tuple[list[list[str]], float]:
    """The best orders of those tried, and what the crossings of the first are worth, without what may be tied."""
    by_id = {t.id: t for t in ties}
    best = [t.id for t in ties]
    price, crossed, _ = _worth(best, by_id)
    seen = {tuple(best): price}
    todo = [(price, best, crossed)]
    while todo and len(seen) < MOST_ORDERS:
        todo.sort(key=lambda t: t[0])
        was, order, crossed = todo.pop(0)
        for lead in crossed or order:
            for made in ([lead, *(o for o in order if o != lead)], [*(o for o in order if o != lead), lead]):
                if tuple(made) in seen:
                    continue
                worth, among, _ = _worth(made, by_id)
                seen[tuple(made)] = worth
                todo.append((worth, made, among))
        if was < CROSS_COST_MM:
            break
    ranked = sorted(seen, key=lambda o: seen[o])
    out: list[list[str]] = []
    for one in ranked:
        made = _trees_first(one, by_id)
        if made not in out:
            out.append(made)
    return out[:MOST_TRIED], _worth(ranked[0], by_id)[2]


def _worth(order: Sequence[str], by_id: Mapping[str, Tie]) -> tuple[float, list[str], float]:
    """What the crossings of an order are worth, the leads that cross, and the same without what may be tied."""
    faces = Faces()
    price = sum(faces.put(by_id[lead]) for lead in _trees_first(order, by_id))
    return price, [lead for lead in order if lead in faces.crossed], price - TIED_COST_MM * faces.tied


def _trees_first(order: Sequence[str], by_id: Mapping[str, Tie]) -> list[str]:
    """The order, with those leads first that tie islands together which nothing has tied yet."""
    root: dict[Island, Island] = {}

    def top(i: Island) -> Island:
        while root.get(i, i) != i:
            i = root[i]
        return i

    first: list[str] = []
    then: list[str] = []
    for lead in order:
        one = by_id[lead]
        a, b = top(one.start[0]), top(one.to[0] if one.to is not None else None)
        (then if a == b else first).append(lead)
        root[a] = b
    return [*first, *then]


class Faces:
    """Leads that lie already, as a map: pieces of lead, the corners between them, the faces that they part.

    Dart ``2 k`` runs along piece ``k``, dart ``2 k + 1`` back. Round a corner they stand clockwise.
    """

    def __init__(self) -> None:
        self.after: dict[int, int] = {}  # the next dart clockwise round a corner
        self.rims: dict[Island, list[tuple[Spot, int]]] = {}  # darts on the rim of an island
        self.tie: list[Tie] = []  # of each piece
        self.crossed: set[str] = set()
        self.tied = 0

    def put(self, one: Tie) -> float:
        """Put a lead in where it crosses least; what its crossings are worth."""
        face = self._faces()
        starts = self._corners(one.start[0], one.start[1], face)
        ends = self._corners(None if one.to is None else one.to[0], None if one.to is None else one.to[1], face)
        if starts is None or ends is None or not self._joined(starts, ends, face):
            price, begin, path, end = 0.0, _any(starts), list[int](), _any(ends)
        else:
            price, begin, path, end = self._way(one, starts, ends, face)
        piece = self._piece(one)
        self._at(one.start[0], one.start[1], begin, 2 * piece)
        for dart in path:
            piece = self._cross(one, piece, dart)
            if end == dart ^ 1:
                end = 2 * len(self.tie) - 3  # the far end of what was crossed
        spot = (0, float(len(self.tie))) if one.to is None else one.to[1]
        self._at(None if one.to is None else one.to[0], spot, end, 2 * piece + 1)
        return price

    # -- faces --------------------------------------------------------------------------------

    def _faces(self) -> dict[int, int]:
        """The face to the side of each dart, by the first dart along it."""
        face: dict[int, int] = {}
        for begin in self.after:
            dart = begin
            while dart not in face:
                face[dart] = begin
                dart = self.after[dart ^ 1]
        return face

    def _corners(self, island: Island, spot: Spot | None, face: Mapping[int, int]) -> dict[int, int | None] | None:
        """Faces in which a lead may set out from an island, each with the dart before which it does; None where
        nothing is there yet. Where leads leave the board, or share a terminal, any order will do.
        """
        rim = self.rims.get(island)
        if not rim:
            return None
        if spot is None:
            return {face[d]: d for _, d in rim}
        same = [d for s, d in rim if s == spot]
        n = sum(s <= spot for s, _ in rim) % len(rim)
        return {face[d]: d for d in [rim[n][1], *same]}

    def _joined(
        self, starts: Mapping[int, int | None], ends: Mapping[int, int | None], face: Mapping[int, int]
    ) -> bool:
        """Whether both ends hang together already."""
        todo, seen = list(starts), set(starts)
        while todo:
            here = todo.pop()
            if here in ends:
                return True
            dart = here
            while True:
                over = face[dart ^ 1]
                if over not in seen:
                    seen.add(over)
                    todo.append(over)
                dart = self.after[dart ^ 1]
                if dart == here:
                    break
        return False

    def _way(
        self, one: Tie, starts: Mapping[int, int | None], ends: Mapping[int, int | None], face: Mapping[int, int]
    ) -> tuple[float, int | None, list[int], int | None]:
        """From face to face over the leads that cost least."""
        best: dict[int, float] = dict.fromkeys(starts, 0.0)
        back: dict[int, int] = {}  # the dart, seen from the face before, that is crossed
        heap = [(0.0, f) for f in sorted(starts)]
        heapq.heapify(heap)
        while heap:
            price, here = heapq.heappop(heap)
            if price > best[here]:
                continue
            if here in ends:
                path, f = [], here
                while f in back:
                    path.append(back[f])
                    f = face[back[f]]
                return price, starts[f], path[::-1], ends[here]
            dart = here
            while True:
                over, dear = face[dart ^ 1], self._dear(one, self.tie[dart >> 1])
                if over != here and price + dear < best.get(over, float("inf")) - 1e-9:
                    best[over], back[over] = price + dear, dart
                    heapq.heappush(heap, (price + dear, over))
                dart = self.after[dart ^ 1]
                if dart == here:
                    break
        raise AssertionError("faces that hang together are reached")

    def _dear(self, one: Tie, other: Tie) -> float:
        a, b = one.want, other.want
        if share(a.kind, a.to.side is None, b.kind, b.to.side is None):
            return TIED_COST_MM
        return MIXED_COST_MM if {a.kind, b.kind} == {"power", "line"} else CROSS_COST_MM

    # -- what is put in -----------------------------------------------------------------------

    def _piece(self, one: Tie) -> int:
        self.tie.append(one)
        return len(self.tie) - 1

    def _at(self, island: Island, spot: Spot, before: int | None, dart: int) -> None:
        """A dart on the rim of an island, before another."""
        rim = self.rims.setdefault(island, [])
        at = len(rim) if before is None else next(k for k, (_, d) in enumerate(rim) if d == before)
        if at == 0 and rim and rim[0][0] < spot:
            at = len(rim)
        rim.insert(at, (spot, dart))
        for k, (_, d) in enumerate(rim):
            self.after[d] = rim[(k + 1) % len(rim)][1]

    def _cross(self, one: Tie, piece: int, dart: int) -> int:
        """Let a lead cross over a piece, seen along ``dart``; the piece of it that goes on."""
        other = self.tie[dart >> 1]
        self.crossed |= {one.id, other.id}
        self.tied += self._dear(one, other) == TIED_COST_MM
        far = dart ^ 1
        rest, on = self._piece(other), self._piece(one)
        # what was the far end of the piece that is crossed belongs to the rest of it
        self._swap(far, 2 * rest + 1)
        back, ahead = 2 * piece + 1, 2 * on
        for a, b in ((far, back), (back, 2 * rest), (2 * rest, ahead), (ahead, far)):
            self.after[a] = b
        return on

    def _swap(self, old: int, new: int) -> None:
        """Put one dart in the place of another."""
        before = next((d for d, n in self.after.items() if n == old), None)
        after = self.after.pop(old)
        self.after[new] = new if after == old else after
        if before is not None and before != old:
            self.after[before] = new
        for rim in self.rims.values():
            for k, (spot, d) in enumerate(rim):
                if d == old:
                    rim[k] = (spot, new)


def _any(corners: Mapping[int, int | None] | None) -> int | None:
    return None if corners is None else next(iter(corners.values()))
