"""Leads on the board: laid in lanes, thick ones first, then taken up and laid again while that saves a crossing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, permutations

from loomwright.facts import panel as facts
from loomwright.panel.bodies import beside as beside_box
from loomwright.panel.bodies import bundle_mm, diameter_mm
from loomwright.panel.lanes import CROSS_COST_MM, MIXED_COST_MM, End, Lanes, Segment, Wanted, share
from loomwright.panel.links import Link
from loomwright.panel.results import Beside, Box, LaidItem, Lead, LeadCrossing
from loomwright.panel.rules import pads
from loomwright.panel.shapes import board
from loomwright.panel.way import way as best_way
from loomwright.rig.model import Rig
from loomwright.rig.panels import meeting
from loomwright.rig.plan import Panel, Point, SideName

ROUNDS = 2
MOST_LAID = 100
"""No more leads than this are taken up and laid again."""
TRIALS = 4
"""How often a way is looked for anew that would meet itself."""
MOST_ASIDE = 5
"""No more leads than this are taken up together for one that finds no way."""
BY_TRIAL = 4
"""Up to so many leads are laid in every order."""
Way = tuple[Point, ...]


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
        self.order = [t.id for t in sorted(todo, key=lambda t: (-round(t.want.radius_mm), -t.weight, t.id))]

    def best(self) -> dict[str, Way]:
        """Corners of each lead; those for which there is no way are left out."""
        laid, price = self._all(self.order)
        if len(self.todo) <= BY_TRIAL and price >= CROSS_COST_MM:
            for order in permutations(self.order):
                again, cost = self._all(order)
                if cost < price - 1e-6:
                    laid, price = again, cost
        for _ in range(ROUNDS):
            bad = self._troubled(laid)
            if not bad:
                break
            before = price
            for one in bad:
                if self.count > MOST_LAID:
                    return laid
                laid, price = self._again(laid, price, (one,))
                others = self._crossing(laid, one) if one in laid else self._in_the_way(laid, one)
                if one not in laid and len(others) > 1:
                    laid, price = self._again(laid, price, (one, *others))
                for other in others:
                    laid, price = self._again(laid, price, (one, other))
                    laid, price = self._again(laid, price, (other, one))
            if price >= before - 1e-6:
                break
        return laid

    def _all(self, order: Sequence[str]) -> tuple[dict[str, Way], float]:
        laid: dict[str, Way] = {}
        for lead in order:
            self._one(laid, lead)
        return laid, self._price(laid)

    def _one(self, laid: dict[str, Way], lead: str) -> None:
        there = [s for other, way in laid.items() for s in segments(way, self.todo[other].want)]
        found = self._simple(self.todo[lead].want, there)
        if found is not None:
            laid[lead] = found

    def _simple(self, want: Wanted, there: Sequence[Segment]) -> Way | None:
        """The best way that does not meet itself; in finer lanes, and past the places where it would, if need be."""
        lanes, bars = self.lanes, list[Point]()
        for trial in range(TRIALS):
            self.count += 1
            found = best_way(lanes, want, there, self.gap, bars)
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

    def _again(self, laid: dict[str, Way], price: float, leads: Sequence[str]) -> tuple[dict[str, Way], float]:
        """Some leads taken up and laid anew in this order, where that is better."""
        trial = {k: v for k, v in laid.items() if k not in leads}
        for lead in leads:
            self._one(trial, lead)
        cost = self._price(trial)
        return (trial, cost) if cost < price - 1e-6 else (laid, price)

    def _price(self, laid: Mapping[str, Way]) -> float:
        """Millimetres, with what crossings and leads without a way are worth."""
        total = 20.0 * CROSS_COST_MM * (len(self.todo) - len(laid))
        ways = list(laid.items())
        for n, (a, way) in enumerate(ways):
            total += length_mm(way)
            for b, other in ways[n + 1 :]:
                kinds = {self.todo[a].want.kind, self.todo[b].want.kind}
                total += self._met(a, way, b, other) * (
                    MIXED_COST_MM if kinds == {"power", "line"} else CROSS_COST_MM
                )
        return total

    def _met(self, a: str, way: Way, b: str, other: Way) -> int:
        """How often two leads cross; kept, for most lie as they lay when this was asked before."""
        if a > b:
            a, way, b, other = b, other, a, way
        found = self.meetings.get((a, b, way, other))
        if found is None:
            one, two = self.todo[a].want, self.todo[b].want
            trunk = share(one.kind, one.to.side is None, two.kind, two.to.side is None)
            found = self.meetings[a, b, way, other] = len(_meetings(way, other, self.lanes, trunk))
        return found

    def _crossing(self, laid: Mapping[str, Way], lead: str) -> list[str]:
        if lead not in laid:
            return []
        return [o for o, way in laid.items() if o != lead and self._met(lead, laid[lead], o, way)]

    def _in_the_way(self, laid: Mapping[str, Way], lead: str) -> list[str]:
        """What a lead without a way would meet if it lay as if it were alone."""
        alone = self._simple(self.todo[lead].want, ())
        if alone is None:
            return []
        want = self.todo[lead].want
        near = [o for o, way in laid.items() if _near(alone, way, (want.width_mm + self.todo[o].want.width_mm) / 2.0
                                                      + self.gap)]  # fmt: skip
        return near[:MOST_ASIDE]

    def _troubled(self, laid: Mapping[str, Way]) -> list[str]:
        missing = [t for t in self.order if t not in laid]
        return [*missing, *(t for t in self.order if t in laid and self._crossing(laid, t))]


def segments(way: Way, want: Wanted) -> list[Segment]:
    """The straight pieces of a lead."""
    out = []
    for a, b in pairwise(way):
        across = abs(a[1] - b[1]) < abs(a[0] - b[0])
        at, low, high = (a[1], a[0], b[0]) if across else (a[0], a[1], b[1])
        out.append(Segment(across, at, min(low, high), max(low, high), want.width_mm, want.kind, want.to.side is None))
    return out


def length_mm(way: Way, radius_mm: float = 0.0) -> float:
    """Along a lead, its bends rounded."""
    straight = sum(math.dist(a, b) for a, b in pairwise(way))
    return straight - max(len(way) - 2, 0) * (2.0 - math.pi / 2.0) * radius_mm


def _meetings(a: Way, b: Way, lanes: Lanes, trunk: bool) -> list[Point]:
    """Points in which two leads cross, outside the place where they gather.

    ``trunk`` where both may share a lane: then only a lead that goes right across the other counts.
    """
    found: list[Point] = []
    for p, q in pairwise(a):
        for r, s in pairwise(b):
            at = meeting(p, q, r, s)
            if at is not None and trunk and not _across(at, (p, q), (r, s)):
                continue
            if at is not None and not lanes.in_zone(at) and all(math.dist(at, f) > 1e-3 for f in found):
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
        for x, y in _meetings(a.points_mm, b.points_mm, lanes, share(a.kind, a.to is None, b.kind, b.to is None))
    )


def beside(leads: Sequence[Lead], lanes: Lanes) -> tuple[Beside, ...]:
    """Power and line level along each other, nearer and farther than is good."""
    near, far = facts.room("power_line_mm"), facts.room("along_mm")
    out = []
    for p in leads:
        for s in leads:
            if p.kind != "power" or s.kind != "line":
                continue
            together, apart = 0.0, near
            for a, b in zip(p.points_mm, p.points_mm[1:], strict=False):
                for c, d in zip(s.points_mm, s.points_mm[1:], strict=False):
                    k = 0 if abs(a[1] - b[1]) < abs(a[0] - b[0]) else 1
                    if k != (0 if abs(c[1] - d[1]) < abs(c[0] - d[0]) else 1):
                        continue
                    gap = abs(a[1 - k] - c[1 - k])
                    both = min(max(a[k], b[k]), max(c[k], d[k])) - max(min(a[k], b[k]), min(c[k], d[k]))
                    if gap < near and both > 0.0 and not lanes.in_zone(((a[0] + c[0]) / 2.0, (a[1] + c[1]) / 2.0)):
                        together, apart = together + both, min(apart, gap)
            if together > far:
                out.append(Beside(p.id, s.id, round(apart, 1), round(together, 1)))
    return tuple(out)


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
