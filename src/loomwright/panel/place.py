"""Place the items of a panel: a first layout at once, the cheapest one with its proof, then the tidiest of its equals.

Nothing here depends on the clock or on chance: the search counts its nodes, the solver counts its own steps with one
worker and a fixed seed. Same rig, same effort, same layout.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from loomwright.facts import panel as facts
from loomwright.panel import relax
from loomwright.panel.bodies import Body, all_bodies
from loomwright.panel.layout import at_spots
from loomwright.panel.links import MG_PER_G, Link, cost, links
from loomwright.panel.model import Model, solved
from loomwright.panel.results import Placement, Where
from loomwright.panel.rules import broken
from loomwright.panel.search import Found, Search
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.model import Rig
from loomwright.rig.plan import SIDES, Panel

EFFORT = 24_000
"""Nodes that the search looks at before it stops with a gap; a thousand take about three seconds."""
QUICK = 2_500
"""Nodes after which a search that has not closed is given a better layout to beat."""
BETTER_EFFORT = 4.0
BETTER_ROUNDS = 3
FIRST_EFFORT = 6.0
TIDY_EFFORT = 2.0


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the placement is. ``cost_g`` and ``bound_g`` are None until there are any."""

    stage: str
    nodes: int = 0
    cost_g: float | None = None
    bound_g: float | None = None
    spots: tuple[Where, ...] = ()


Tell = Callable[[Progress], bool]
"""Called now and then; True stops the search."""


def place(
    rig: Rig, panel_id: str, *, effort: int = EFFORT, tell: Tell | None = None, catalogue: Catalogue | None = None
) -> Placement:
    """Where the items of a panel are best placed. The rig's sizes are settled.

    ``catalogue`` is where other parts are looked for if nothing fits.

    Raises
    ------
    EngineMissing
        Where the ortools package is not there.
    """
    say = tell or (lambda _: False)
    panel, bodies = rig.panels[panel_id], all_bodies(rig)[panel_id]
    fixed = fixed_spots(rig, bodies)
    tied = links(rig, panel, bodies)
    say(Progress("looking for a first layout"))
    why = relax.cannot(panel, bodies)
    first, sure = (None, True) if why else first_layout(panel, bodies, fixed)
    if first is None and sure:
        say(Progress("looking for what would make it fit"))
        return relax.explain(rig, panel, bodies, fixed, why, catalogue)
    start = cost_of(panel, bodies, tied, first) if first is not None else math.inf
    say(Progress("placing", 0, start if first is not None else None, None, first or ()))

    told = _Told(say, start, first)
    search = Search(panel, bodies, tied, fixed, told)
    if first is not None:
        search.found.spots, search.found.cost_mg = first, math.ceil(start * MG_PER_G) + 1
    found = search.run(min(effort, QUICK))
    if not found.proven and found.spots is not None and effort > QUICK and not told.ended():
        spots, bound_mg = improved(panel, bodies, tied, fixed, found.spots, told)
        low = max(found.bound_mg, bound_mg)
        search = Search(panel, bodies, tied, fixed, told)
        search.found.nodes, search.found.bound_mg = found.nodes, low
        search.found.spots = spots
        search.found.cost_mg = math.ceil(cost_of(panel, bodies, tied, spots) * MG_PER_G) + 1
        found = search.found if told.ended() else search.run(effort)
        found.bound_mg = max(found.bound_mg, low) if not found.proven else found.bound_mg
    if found.spots is None:
        return Placement(panel_id, "not found", (), None, 0.0, 1.0)
    say(Progress("tidying up", found.nodes, found.cost_mg / MG_PER_G, found.bound_mg / MG_PER_G, found.spots))
    spots = tidied(panel, bodies, tied, fixed, found.spots)
    items = at_spots(panel, bodies, spots)
    price = cost(panel, bodies, tied, items)
    bound = min(found.bound_mg / MG_PER_G, price.total_g)
    gap = 0.0 if price.total_g <= 0 else max(0.0, (price.total_g - bound) / price.total_g)
    return Placement(panel_id, "proven" if found.proven else "stopped", spots, price, round(bound, 3), round(gap, 4))


class _Told:
    """Passes on how far it is, and remembers whether it is to stop."""

    def __init__(self, say: Tell, start_g: float, first: tuple[Where, ...] | None) -> None:
        self.say, self.start_g, self.first = say, start_g, first or ()
        self.low_mg, self.stopped = 0.0, False

    def ended(self) -> bool:
        """Whether whoever listens has stopped it."""
        return self.stopped

    def __call__(self, f: Found) -> bool:
        spots = f.spots or self.first
        cost = min(f.cost_mg / MG_PER_G, self.start_g) if spots else None
        self.low_mg = max(self.low_mg, f.bound_mg)
        self.stopped = self.say(Progress("placing", f.nodes, cost, self.low_mg / MG_PER_G, spots)) or self.stopped
        return self.stopped


def improved(
    panel: Panel, bodies: Sequence[Body], tied: Sequence[Link], fixed: Mapping[str, Where], spots: Sequence[Where],
    told: Callable[[Found], bool],
) -> tuple[tuple[Where, ...], float]:  # fmt: skip
    """A cheaper layout, from the solver's search round the best so far, and what it has proven [mg].

    Its two searches take turns in a fixed order, so that the same rig gives the same layout.
    """
    best, low = tuple(spots), 0.0
    cheapest = cost_of(panel, bodies, tied, best)
    for _ in range(BETTER_ROUNDS):
        model = Model(panel, bodies, fixed=fixed)
        model.model.minimize(model.cost(tied))
        model.hint(best)
        read, state = solved(model, BETTER_EFFORT, searches=2)
        low = max(low, model.bound)
        if read is None:
            break
        made = model.read(read)
        price = cost_of(panel, bodies, tied, made)
        if price < cheapest - 1e-6 and not broken(panel, bodies, at_spots(panel, bodies, made)):
            best, gained, cheapest = made, cheapest - price, price
        else:
            gained = 0.0
        if told(Found(best, cheapest * MG_PER_G, low, QUICK)) or state == "optimal" or gained <= 0.0:
            break
    return best, low


def fixed_spots(rig: Rig, bodies: Sequence[Body]) -> dict[str, Where]:
    """Items that stay where the rig puts them."""
    out = {}
    for b in bodies:
        spot = rig.items[b.id].spot
        if spot is not None and spot.fixed and spot.at_mm is not None:
            out[b.id] = Where(b.id, spot.at_mm, spot.turn_deg, spot.layer or 1)
    return out


def cost_of(panel: Panel, bodies: Sequence[Body], tied: Sequence[Link], spots: Sequence[Where]) -> float:
    """What a layout costs, in grams."""
    return cost(panel, bodies, tied, at_spots(panel, bodies, spots)).total_g


def first_layout(
    panel: Panel, bodies: Sequence[Body], fixed: Mapping[str, Where]
) -> tuple[tuple[Where, ...] | None, bool]:
    """Any layout that keeps the rules, and whether its absence is proven."""
    model = Model(panel, bodies, fixed=fixed)
    value, state = solved(model, FIRST_EFFORT)
    return (None, state == "infeasible") if value is None else (model.read(value), True)


def tidied(
    panel: Panel, bodies: Sequence[Body], tied: Sequence[Link], fixed: Mapping[str, Where], spots: Sequence[Where]
) -> tuple[Where, ...]:
    """The tidiest of the layouts that are as good and lie alike: same turns, same neighbours.

    Counted are edges and middles of items in one line, and items in the middle of the board or mirrored about it.
    """
    at = {s.item: s for s in spots}
    model = Model(panel, bodies, fixed=fixed)
    m = model.model
    for b in bodies:
        if b.id in fixed:
            continue
        for held, value in (
            (model.turn[b.id][at[b.id].turn_deg], 1), (model.up[b.id], int(at[b.id].layer == 2)),
        ):  # fmt: skip
            if not isinstance(held, int):
                m.add(held == value)
    laid = {i.id: i.box_mm for i in at_spots(panel, bodies, spots)}
    on = {b.id: b for b in bodies}
    for (one, two, side), lit in model.apart.items():
        p, q = laid[one], laid[two]
        there = {"left": p[0] - q[2], "right": q[0] - p[2], "top": p[1] - q[3], "bottom": q[1] - p[3]}[side]
        other = SIDES[(SIDES.index(side) + 2) % 4]
        need = on[one].room_mm(side, at[one].turn_deg) + on[two].room_mm(other, at[two].turn_deg)
        if there < need:
            m.add(lit == 0)
    now = cost_of(panel, bodies, tied, spots)
    m.add(model.cost(tied) <= math.floor(now * MG_PER_G * (1.0 + facts.worth("equal_share"))))
    m.maximize(_tidy(model, panel, list(bodies), at))
    read, _ = solved(model, TIDY_EFFORT)
    if read is None:
        return tuple(spots)
    made = model.read(read)
    return made if not broken(panel, bodies, at_spots(panel, bodies, made)) else tuple(spots)


def _tidy(model: Model, panel: Panel, bodies: Sequence[Body], at: Mapping[str, Where]) -> object:
    """How many things are in line."""
    m = model.model
    total: list[object] = []
    width = round(panel.size_mm[0])
    size = {b.id: b.size_mm(at[b.id].turn_deg) for b in bodies}
    for a, b in combinations(bodies, 2):
        for axis, place in ((0, model.x), (1, model.y)):
            p, q = place[a.id], place[b.id]
            if isinstance(p, int) and isinstance(q, int):
                continue
            wa, wb = size[a.id][axis], size[b.id][axis]
            ways = []
            for one, two in ((p, q), (p + wa, q + wb), (2 * p + wa, 2 * q + wb)):
                lit = m.new_bool_var("")
                m.add(one == two).only_enforce_if(lit)
                ways.append(lit)
            line = m.new_bool_var("")
            m.add_bool_or([*ways, line.negated()])
            total.append(2 * line)
        if size[a.id] == size[b.id] and not (isinstance(model.x[a.id], int) and isinstance(model.x[b.id], int)):
            lit = m.new_bool_var("")
            m.add(model.x[a.id] + model.x[b.id] + size[a.id][0] == width).only_enforce_if(lit)
            m.add(model.y[a.id] == model.y[b.id]).only_enforce_if(lit)
            total.append(3 * lit)
    for b in bodies:
        if not isinstance(model.x[b.id], int):
            lit = m.new_bool_var("")
            m.add(2 * model.x[b.id] + size[b.id][0] == width).only_enforce_if(lit)
            total.append(1 * lit)
    return sum(total)  # type: ignore[arg-type]
