"""Leads on the board: laid in lanes, in the order in which fewest must cross, then taken up and laid again while that
saves a crossing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from loomwright.facts import panel as facts
from loomwright.panel.bodies import beside as beside_box
from loomwright.panel.bodies import bundle_mm, diameter_mm
from loomwright.panel.lanes import (
    CROSS_COST_MM,
    FRONT_COST,
    HALO_COST,
    MIXED_COST_MM,
    PITCH_MM,
    End,
    Lanes,
    Segment,
    Wanted,
    share,
)
from loomwright.panel.links import Link
from loomwright.panel.order import best_orders, tie
from loomwright.panel.results import Beside, Box, Class, LaidItem, Lead, LeadCrossing
from loomwright.panel.rules import pads
from loomwright.panel.shapes import board
from loomwright.panel.way import way as best_way
from loomwright.rig.model import Rig
from loomwright.rig.panels import meeting
from loomwright.rig.plan import Panel, Point, SideName

ROUNDS = 2
MOST_LAID = 250
"""No more ways than this are looked for to save a crossing."""
TRIALS = 4
"""How often a way is looked for anew that would meet itself."""
MOST_ASIDE = 5
"""No more leads than this are taken up together for one that finds no way."""
THIN = -10.0
"""Share of its width at which a lead takes no room beside its own lane."""
HALO_MM = 20.0
"""Room round an item that is left to its leads that are still to come."""
BESIDE_WORTH = 3.0
"""What a millimetre of a power lead and a line lead side by side is worth."""
Way = tuple[Point, ...]
Price = tuple[float, float]
"""What crossings and leads without a way are worth; then millimetres, and what leads side by side are worth."""


@dataclass(frozen=True, slots=True)
class _Lead:
    """A lead before it is laid."""

    id: str
    link: Link
    want: Wanted
    least_mm: float
    weight: float


def lay_leads(
    rig: Rig, panel: Panel, links: Sequence[Link], items: Sequence[LaidItem]
) -> tuple[tuple[Lead, ...], tuple[LeadCrossing, ...], tuple[Beside, ...]]:
    """Every lead whose ends are placed, where leads cross, and where power and line level run along each other."""
    at = {i.id: i for i in items}
    todo = [_wanted(rig, panel, n, link, at) for n, link in enumerate(links, 1)
            if link.start in at and (link.to is None or link.to in at)]  # fmt: skip
    if not todo:
        return (), (), ()
    zone = 1.3 * facts.room("entry_mm")
    blocks = [(i.id, _with_terminals(i, todo)) for i in items if i.layer == 1]
    blocks += [(i.id, p) for i in items if i.layer == 2 for p in pads(i)]
    lanes, laid = _laid(panel, tuple(blocks), zone, tuple(todo))
    leads = tuple(_lead(rig, panel, lanes, t, laid.get(t.id)) for t in todo)
    return leads, crossings(leads, lanes), beside(leads, lanes)


@lru_cache(maxsize=128)
def _laid(
    panel: Panel, blocks: tuple[tuple[str, Box], ...], zone_mm: float, todo: tuple[_Lead, ...]
) -> tuple[Lanes, dict[str, Way]]:
    """The leads of a board, laid once for what stands there. What is returned is shared: it is read, never changed."""
    lanes = Lanes(board(panel), blocks, panel.entry_mm, zone_mm, [e for t in todo for e in (t.want.start, t.want.to)])
    return lanes, _Laying(lanes, todo).best()


def _with_terminals(item: LaidItem, todo: Sequence[_Lead]) -> Box:
    """The body, with what wires run straight out of its terminals: no other lead lies there."""
    box = item.box_mm
    deep = facts.room("lead_out_mm")
    for side in {e.side for t in todo for e in (t.want.start, t.want.to) if e.item == item.id and e.side is not None}:
        strip = beside_box(box, side, deep)
        box = (min(box[0], strip[0]), min(box[1], strip[1]), max(box[2], strip[2]), max(box[3], strip[3]))
    return box


def _wanted(rig: Rig, panel: Panel, number: int, link: Link, at: Mapping[str, LaidItem]) -> _Lead:
    wires = [rig.wire(w) for w in link.wires]
    thick = max(diameter_mm(w) for w in wires)
    width = bundle_mm(thick, len(wires))
    least = facts.room("bend_ratio") * thick
    start = _end(at, link, link.start)
    to = _end(at, link, link.to) if link.to is not None else End(panel.entry_mm, None, None)
    return _Lead(
        f"{panel.id}.{number}", link,
        Wanted(start, to, link.kind, width, thick, least + width / 2.0, facts.room("lead_out_mm")), least,
        link.mg_per_mm,
    )  # fmt: skip


def _end(at: Mapping[str, LaidItem], link: Link, item: str) -> End:
    """The middle of the terminals that a link uses on an item."""
    mine = {t.ref: t for t in at[item].terminals}
    used = [mine[r] for w in link.refs for r in w if r in mine]
    side: SideName = used[0].side
    x = sum(t.at_mm[0] for t in used) / len(used)
    y = sum(t.at_mm[1] for t in used) / len(used)
    return End((round(x, 2), round(y, 2)), side, item)


class _Laying:
    """The order of laying, tried until nothing is gained."""

    def __init__(self, lanes: Lanes, todo: Sequence[_Lead]) -> None:
        self.lanes, self.todo = lanes, {t.id: t for t in todo}
        self.gap = facts.room("wire_gap_mm")
        self.count = 0
        self.meetings: dict[tuple[str, str, Way, Way], int] = {}
        self.along: dict[tuple[str, str, Way, Way], float] = {}
        ordered = sorted(todo, key=lambda t: (-round(t.want.radius_mm), -t.weight, t.id))
        self.order = [t.id for t in ordered]
        self.orders, self.planned = best_orders([tie(t.id, t.want, lanes) for t in ordered])

    def best(self) -> dict[str, Way]:
        """Corners of each lead; those for which there is no way are left out."""
        laid, price = self._mended(*self._all(self.orders[0]))
        for order in self.orders[1:]:
            if self._dear(laid) <= self.planned or self.count > MOST_LAID:
                break
            again, cost = self._mended(*self._all(order))
            if _less(cost, price):
                laid, price = again, cost
        return self._shortened(laid, price)

    def _mended(self, laid: dict[str, Way], price: Price) -> tuple[dict[str, Way], Price]:
        """Leads that cross taken up and laid anew, with what they cross and what is in their way."""
        for _ in range(ROUNDS):
            before = price
            for one in self._troubled(laid):
                if self._dear(laid) <= self.planned:
                    return laid, price
                laid, price = self._again(laid, price, (one,))
                others = self._crossing(laid, one) if one in laid else []
                for other in others:
                    laid, price = self._again(laid, price, (one, other))
                    laid, price = self._again(laid, price, (other, one))
                if one not in laid or self._crossing(laid, one):
                    aside = self._in_the_way(laid, one)
                    if aside and (len(aside) > 1 or aside != others):
                        laid, price = self._again(laid, price, (one, *aside))
                if self.count > MOST_LAID:
                    return laid, price
            if not _less(price, before):
                break
        return laid, price

    def _shortened(self, laid: dict[str, Way], price: Price) -> dict[str, Way]:
        """Every lead laid once more among the others, now that none has to leave room for those to come."""
        for one in self.order:
            laid, price = self._again(laid, price, (one,))
        return laid

    def _dear(self, laid: Mapping[str, Way]) -> float:
        """What the crossings and the leads without a way are worth, without what may be tied."""
        ways = list(laid.items())
        return 20.0 * CROSS_COST_MM * (len(self.todo) - len(laid)) + sum(
            self._met(a, way, b, other) * self._worth(a, b)
            for n, (a, way) in enumerate(ways) for b, other in ways[n + 1 :]
        )  # fmt: skip

    def _worth(self, a: str, b: str) -> float:
        mixed = {self.todo[a].want.kind, self.todo[b].want.kind} == {"power", "line"}
        return MIXED_COST_MM if mixed else CROSS_COST_MM

    def _all(self, order: Sequence[str]) -> tuple[dict[str, Way], Price]:
        laid: dict[str, Way] = {}
        for lead in order:
            self._one(laid, lead)
        return laid, self._price(laid)

    def _one(self, laid: dict[str, Way], lead: str) -> None:
        there = [s for other, way in laid.items() for s in segments(way, self.todo[other].want)]
        want = self.todo[lead].want
        found = self._simple(want, there, self._kept(laid, lead))
        if found is not None:
            laid[lead] = found

    def _kept(self, laid: Mapping[str, Way], lead: str) -> list[tuple[Box, float]]:
        """Room that is left to leads still to come, with what a millimetre through it costs more."""
        ends = [(t.want, e) for o, t in self.todo.items() if o != lead and o not in laid
                for e in (t.want.start, t.want.to) if e.side is not None]  # fmt: skip
        want = self.todo[lead].want
        mine, items = {want.start.at_mm, want.to.at_mm}, {e.item for _, e in ends}
        fronts = [(self._front(other, e), FRONT_COST) for other, e in ends if e.at_mm not in mine]
        return fronts + [(_wider(box, HALO_MM, HALO_MM), HALO_COST) for i, box in self.lanes.blocks if i in items]

    def _front(self, want: Wanted, end: End) -> Box:
        """The room in front of a terminal in which its lead bends aside, and a lane more."""
        assert end.side is not None
        out = want.radius_mm + want.width_mm + PITCH_MM
        x, y = end.at_mm
        across = end.side in ("left", "right")
        there = _wider((x, y, x, y), 0.0 if across else out, out if across else 0.0)
        return beside_box(there, end.side, want.straight_mm + out + self.gap)

    def _simple(self, want: Wanted, there: Sequence[Segment], kept: Sequence[tuple[Box, float]] = ()) -> Way | None:
        """The best way that does not meet itself; in finer lanes, and past the places where it would, if need be."""
        lanes, bars = self.lanes, list[Point]()
        for trial in range(TRIALS):
            self.count += 1
            found = best_way(lanes, want, there, self.gap, bars, kept)
            if found is None and trial:
                return None
            knots = _knots(found[1]) if found is not None else ()
            if found is not None and not knots:
                return found[1]
            if trial:
                bars += knots
            else:
                lanes = lanes.finer(want)
        return None

    def _again(self, laid: dict[str, Way], price: Price, leads: Sequence[str]) -> tuple[dict[str, Way], Price]:
        """Some leads taken up and laid anew in this order, where that is better."""
        trial = {k: v for k, v in laid.items() if k not in leads}
        for lead in leads:
            self._one(trial, lead)
        cost = self._price(trial)
        return (trial, cost) if _less(cost, price) else (laid, price)

    def _price(self, laid: Mapping[str, Way]) -> Price:
        near = sum(self._beside(a, b, laid) for a in laid for b in laid if self._are(a, b, "power", "line"))
        return self._dear(laid), near + sum(length_mm(way) for way in laid.values())

    def _are(self, a: str, b: str, one: Class, two: Class) -> bool:
        return self.todo[a].want.kind == one and self.todo[b].want.kind == two

    def _beside(self, power: str, line: str, laid: Mapping[str, Way]) -> float:
        """What it is worth that a power lead and a line lead do not run along each other."""
        key = power, line, laid[power], laid[line]
        if key not in self.along:
            together, _ = _along(laid[power], laid[line], self.lanes)
            self.along[key] = BESIDE_WORTH * together if together > facts.room("along_mm") else 0.0
        return self.along[key]

    def _met(self, a: str, way: Way, b: str, other: Way) -> int:
        """How often two leads cross; kept, for most lie as they lay when this was asked before."""
        if a > b:
            a, way, b, other = b, other, a, way
        found = self.meetings.get((a, b, way, other))
        if found is None:
            one, two = self.todo[a].want, self.todo[b].want
            trunk = share(one.kind, one.to.side is None, two.kind, two.to.side is None)
            leaving = one.to.side is None and two.to.side is None
            found = self.meetings[a, b, way, other] = len(_meetings(way, other, self.lanes, trunk, leaving))
        return found

    def _crossing(self, laid: Mapping[str, Way], lead: str) -> list[str]:
        if lead not in laid:
            return []
        return [o for o, way in laid.items() if o != lead and self._met(lead, laid[lead], o, way)]

    def _in_the_way(self, laid: Mapping[str, Way], lead: str) -> list[str]:
        """What a lead would come too near to if the others were as thin as a line: their crossings count, not their
        width.
        """
        want = self.todo[lead].want
        thin = [s for o, way in laid.items() if o != lead for s in segments(way, self.todo[o].want, THIN)]
        alone = self._simple(want, thin)
        if alone is None:
            return []
        near = [o for o, way in laid.items() if o != lead and _near(
            alone, way, (want.width_mm + self.todo[o].want.width_mm) / 2.0 + self.gap)]  # fmt: skip
        return near[:MOST_ASIDE]

    def _troubled(self, laid: Mapping[str, Way]) -> list[str]:
        missing = [t for t in self.order if t not in laid]
        return [*missing, *(t for t in self.order if t in laid and self._crossing(laid, t))]


def _wider(box: Box, x: float, y: float) -> Box:
    return box[0] - x, box[1] - y, box[2] + x, box[3] + y


def _less(one: Price, two: Price) -> bool:
    """Whether one price is lower: what crosses first, then the rest."""
    return one < (two[0] - 1e-6, 0.0) or (one[0] < two[0] + 1e-6 and one[1] < two[1] - 1e-6)


def segments(way: Way, want: Wanted, share: float = 1.0) -> list[Segment]:
    """The straight pieces of a lead, at some share of its width."""
    out = []
    for a, b in pairwise(way):
        across = abs(a[1] - b[1]) < abs(a[0] - b[0])
        at, low, high = (a[1], a[0], b[0]) if across else (a[0], a[1], b[1])
        wide = share * want.width_mm
        out.append(Segment(across, at, min(low, high), max(low, high), wide, want.kind, want.to.side is None))
    return out


def length_mm(way: Way, radius_mm: float = 0.0) -> float:
    """Along a lead, its bends rounded."""
    straight = sum(math.dist(a, b) for a, b in pairwise(way))
    return straight - max(len(way) - 2, 0) * (2.0 - math.pi / 2.0) * radius_mm


def _meetings(a: Way, b: Way, lanes: Lanes, trunk: bool, leaving: bool) -> list[Point]:
    """Points in which two leads cross; where both are ``leaving``, outside the place where they gather.

    ``trunk`` where both may share a lane: then only a lead that goes right across the other counts.
    """
    found: list[Point] = []
    for p, q in pairwise(a):
        for r, s in pairwise(b):
            at = meeting(p, q, r, s)
            if at is not None and trunk and not _across(at, (p, q), (r, s)):
                continue
            if at is not None and not (leaving and lanes.in_zone(at)) and all(math.dist(at, f) > 1e-3 for f in found):
                found.append(at)
    return found


def _knots(way: Way) -> tuple[Point, ...]:
    """Where a lead meets itself."""
    pieces = list(pairwise(way))
    found = [meeting(*a, *b) for n, a in enumerate(pieces) for b in pieces[n + 2 :]]
    return tuple(p for p in found if p is not None)


def _near(a: Way, b: Way, gap_mm: float) -> bool:
    """Whether two leads come nearer to each other than so much."""
    for p, q in pairwise(a):
        for r, s in pairwise(b):
            dx = max(min(p[0], q[0]) - max(r[0], s[0]), min(r[0], s[0]) - max(p[0], q[0]))
            dy = max(min(p[1], q[1]) - max(r[1], s[1]), min(r[1], s[1]) - max(p[1], q[1]))
            if max(dx, dy) < gap_mm:
                return True
    return False


def _across(at: Point, one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    """Whether a point lies inside both pieces, which are at right angles."""
    inside = all(math.dist(at, end) > 1e-3 for end in (*one, *two))
    return inside and (abs(one[0][0] - one[1][0]) < 1e-6) != (abs(two[0][0] - two[1][0]) < 1e-6)


def crossings(leads: Sequence[Lead], lanes: Lanes) -> tuple[LeadCrossing, ...]:
    """Every crossing of two leads."""
    return tuple(
        LeadCrossing((a.id, b.id), (round(x, 2), round(y, 2)), {a.kind, b.kind} == {"power", "line"})
        for n, a in enumerate(leads)
        for b in leads[n + 1 :]
        for x, y in _meetings(
            a.points_mm, b.points_mm, lanes, share(a.kind, a.to is None, b.kind, b.to is None),
            a.to is None and b.to is None,
        )
    )


def beside(leads: Sequence[Lead], lanes: Lanes) -> tuple[Beside, ...]:
    """Power and line level along each other, nearer and farther than is good."""
    out = []
    for p in leads:
        for s in leads:
            if p.kind == "power" and s.kind == "line":
                together, apart = _along(p.points_mm, s.points_mm, lanes)
                if together > facts.room("along_mm"):
                    out.append(Beside(p.id, s.id, round(apart, 1), round(together, 1)))
    return tuple(out)


def _along(one: Way, two: Way, lanes: Lanes) -> tuple[float, float]:
    """How far two leads run along each other nearer than is good, and how near [mm]."""
    near = facts.room("power_line_mm")
    together, apart = 0.0, near
    for a, b in pairwise(one):
        for c, d in pairwise(two):
            k = 0 if abs(a[1] - b[1]) < abs(a[0] - b[0]) else 1
            if k != (0 if abs(c[1] - d[1]) < abs(c[0] - d[0]) else 1):
                continue
            gap = abs(a[1 - k] - c[1 - k])
            both = min(max(a[k], b[k]), max(c[k], d[k])) - max(min(a[k], b[k]), min(c[k], d[k]))
            if gap < near and both > 0.0 and not lanes.in_zone(((a[0] + c[0]) / 2.0, (a[1] + c[1]) / 2.0)):
                together, apart = together + both, min(apart, gap)
    return together, apart


def _lead(rig: Rig, panel: Panel, lanes: Lanes, todo: _Lead, way: Way | None) -> Lead:
    want = todo.want
    held = way is not None
    if way is None:
        corner = (want.start.at_mm[0], want.to.at_mm[1])
        way = tuple(dict.fromkeys((want.start.at_mm, corner, want.to.at_mm)))
    way = tuple((round(x, 2), round(y, 2)) for x, y in way)
    return Lead(
        id=todo.id, wires=todo.link.wires, kind=want.kind, start=todo.link.start, to=todo.link.to, points_mm=way,
        width_mm=round(want.width_mm, 2), radius_mm=round(want.radius_mm, 2), least_radius_mm=round(todo.least_mm, 2),
        on_board_mm=round(length_mm(way, want.radius_mm if held else 0.0), 1), ties_mm=ties(way, want.radius_mm),
        held=held,
    )  # fmt: skip


def ties(way: Way, radius_mm: float) -> tuple[Point, ...]:
    """Where a lead is tied down: each side of every bend, and no farther apart than is usual."""
    widest, by_bend = facts.room("tie_mm"), facts.room("tie_bend_mm")
    out: list[Point] = []
    for n, (a, b) in enumerate(pairwise(way)):
        long = math.dist(a, b)
        first = 0.0 if n == 0 else radius_mm
        last = long - (radius_mm if n + 2 < len(way) else 0.0)
        low, high = first + by_bend, last - by_bend
        marks = [(low + high) / 2.0] if high <= low else [low, high]
        if high > low:
            more = math.ceil((high - low) / widest)
            marks = (
                [low + (high - low) * k / more for k in range(more + 1)]
                if high - low > by_bend
                else [(low + high) / 2.0]
            )
        if last - first < 12.0:
            continue
        out += [(round(a[0] + (b[0] - a[0]) * m / long, 1), round(a[1] + (b[1] - a[1]) * m / long, 1)) for m in marks]
    return tuple(out)
