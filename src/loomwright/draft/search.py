"""The cheapest combination of one option for each group, proven: combinations in order of cost, each solved in full.

Bounds that cannot rule out a combination that holds keep the number down. A load's current is at least what it draws
at the highest volts there can be; a wire is at least as warm as its place; so what is lost on the way to a load is at
least the sum of currents times least resistances. A pair of devices is allowed where the melting energies or the gates
say that only the lower one opens. Mains are laid first; what hangs below them is then free of each other but for
the network itself, and combinations come out of a heap in order of cost. The first that the network confirms is the
cheapest of all. Where one does not hold, the network is asked once more with everything off the way in question at its
best; if it fails even so, no combination with that way holds, and none is looked at again.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count, product
from typing import Protocol

import numpy as np

from loomwright.draft.options import Option
from loomwright.draft.problem import UPPER, Group, Problem, sends
from loomwright.facts import fuses
from loomwright.protection.curves import CurveSet
from loomwright.protection.results import Device
from loomwright.protection.selectivity import judge, melting_i2t_a2s

HIGH_A = 10_000.0
"""Prospective current up to which a pair is judged before the rig is there to say."""
NEAR_MOHM = 1e-9


@dataclass(frozen=True, slots=True)
class Answer:
    """What was found out about a combination. ``ways`` are groups whose options, with those above them, cannot hold
    whatever the rest is; ``sure`` is False where only the checks of the finished rig say so.
    """

    holds: bool
    ways: tuple[str, ...] = ()
    sure: bool = True


class Judge(Protocol):
    """Says whether a combination holds."""

    def __call__(self, chosen: tuple[Option, ...]) -> Answer: ...


@dataclass(frozen=True, slots=True)
class Found:
    """How a search ended. ``options`` None: nothing holds below the cost asked for. ``proven`` False: it was given up,
    or something cheaper was ruled out only by the checks of the finished rig.
    """

    options: tuple[Option, ...] | None
    cost: float
    proven: bool
    asked: int


class Pairs:
    """Which device may lie above which, each pair judged once."""

    def __init__(self, problem: Problem) -> None:
        self._devices = problem.devices
        self._known: dict[tuple[str, float, str, float, float], bool] = {}

    def allowed(self, upper: str, upper_a: float, lower: str, lower_a: float, beside_a: float = 0.0) -> bool:
        """Whether only the lower one opens; ``beside_a`` flows through the upper one besides, to what hangs beside."""
        key = (upper, upper_a, lower, lower_a, beside_a)
        if key not in self._known:
            high, low = self._rated(upper, upper_a), self._rated(lower, lower_a)
            self._known[key] = self._judge(high, low) and _holds(high, low, beside_a)
        return self._known[key]

    def _rated(self, name: str, rating_a: float) -> Device:
        return replace(self._devices[name], rating_a=rating_a)

    def _judge(self, upper: Device, lower: Device) -> bool:
        if upper.rating_a < lower.rating_a:
            return False
        if melting_i2t_a2s(upper) >= fuses.selective_ratio() * melting_i2t_a2s(lower):
            return True
        return judge(upper, lower, HIGH_A).proved


def _holds(upper: Device, lower: Device, beside_a: float) -> bool:
    """Whether by typical curves the lower device opens first at every current, while others draw through the upper one.

    A fault just above the lower one's rating, with all that flows besides, may lie above the rating of the upper one.
    """
    amps = np.geomspace(lower.rating_a, 40.0 * lower.rating_a, 60)
    both = CurveSet([upper, lower])(np.stack([amps + beside_a, amps], axis=-1)).typical_s
    return bool(np.all((both[:, 0] > both[:, 1]) | np.isinf(both[:, 0])))


@dataclass(frozen=True, slots=True)
class Head:
    """A joint choice of mains and of ways home, for ratings above ``above_a`` up to ``most_a``.

    ``floor`` bounds what it costs with the rest.
    """

    floor: float
    upper: tuple[Option, ...]
    home: tuple[Option, ...]
    above_a: float
    most_a: float


class Search:
    """One search over the combinations of a problem. Keep one for one question."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.pairs = Pairs(problem)
        self.upper = [n for n, g in enumerate(problem.groups) if g.name.startswith(UPPER)]
        self.rest = [n for n in range(len(problem.groups)) if n not in self.upper]
        self.cuts: list[tuple[str, float, float, tuple[tuple[str, float], ...]]] = []
        self._place = {g.name: n for n, g in enumerate(problem.groups)}
        self._learnt = [0] * len(problem.groups)
        self._known: dict[tuple[int, tuple[int, ...], int], tuple[int, tuple[Option, ...]]] = {}
        self.least_a = max((min((o.lets_a for o in g.options), default=0.0) for g in problem.groups), default=0.0)

    def run(self, judge: Judge, most: int, below: float = float("inf")) -> Found:
        """Ask in order of cost, at most ``most`` times; combinations that cost ``below`` or more are of no use."""
        asked, sure = 0, True
        tick = count()
        heads = self._heads()
        versions: dict[int, int] = {}
        made_at: dict[int, int] = {}
        queue: list[tuple[float, int, int, int, Lists | None, tuple[int, ...]]] = []
        for n, head in enumerate(heads):
            heapq.heappush(queue, (head.floor, next(tick), n, 0, None, ()))
        while queue:
            cost, _, n, version, lists, at = heapq.heappop(queue)
            if cost >= below:
                return Found(None, below, sure, asked)
            if version != versions.get(n, 0):
                continue
            head = heads[n]
            if lists is not None and made_at[n] < len(self.cuts):  # what was learnt elsewhere counts here too
                made_at[n] = len(self.cuts)
                found = self._lists(head)
                if found != lists:
                    versions[n] = version + 1
                    if found is not None:
                        self._begin(queue, tick, n, version + 1, head, found)
                    continue
            if lists is None:
                made_at[n] = len(self.cuts)
                found = self._lists(head)
                if found is not None:
                    self._begin(queue, tick, n, version, head, found)
                continue
            for k in range(max((k for k, x in enumerate(at) if x), default=0), len(at)):
                if at[k] + 1 < len(lists[k]):  # only the last raised place and later ones rise: each comes once
                    after = (*at[:k], at[k] + 1, *at[k + 1 :])
                    dearer = cost + lists[k][at[k] + 1].cost - lists[k][at[k]].cost
                    heapq.heappush(queue, (dearer, next(tick), n, version, lists, after))
            whole = (*(options[k] for options, k in zip(lists, at, strict=True)), *head.home)
            if self._home_rating(whole) < head.above_a:
                continue  # a thinner way home would do: that one was asked before
            if asked >= most:
                return Found(None, below, False, asked)
            asked += 1
            answer = judge(whole)
            if answer.holds:
                return Found(whole, cost, sure, asked)
            sure = sure and (answer.sure or not answer.ways)
            self._learn(whole, answer.ways)
        return Found(None, below, sure, asked)

    def _begin(
        self, queue: list[tuple[float, int, int, int, Lists | None, tuple[int, ...]]], tick: Iterator[int], n: int,
        version: int, head: Head, lists: Lists,
    ) -> None:  # fmt: skip
        """Put the cheapest combination of some lists into the queue."""
        cost = sum(options[0].cost for options in lists) + sum(o.cost for o in head.home)
        heapq.heappush(queue, (cost, next(tick), n, version, lists, (0,) * len(lists)))

    def _heads(self) -> list[Head]:
        """Every joint choice of the groups that others hang below and of what carries faults home, with a bound on what
        it costs with the rest.
        """
        groups = self.problem.groups
        rest = sum(min(o.cost for o in groups[n].options) for n in self.rest)
        homes = self._homes()
        found = []
        for above in product(*(groups[n].options for n in self.upper)):
            floor = rest + sum(o.cost for o in above)
            need = max(self.least_a, *(o.lets_a for o in above), 0.0)
            found += [
                Head(floor + sum(o.cost for o in home), above, home, low, high)
                for low, high, home in homes if high >= need
            ]  # fmt: skip
        return found

    def _homes(self) -> list[tuple[float, float, tuple[Option, ...]]]:
        """Ways home by what devices let through: above the first [A], up to the second."""
        levels = sorted({o.lets_a for g in self.problem.groups for o in g.options} | {0.0})
        homes: list[tuple[float, float, tuple[Option, ...]]] = []
        low = -1.0
        for level in levels:
            home = self.home(level)
            if home is None:
                break
            if homes and homes[-1][2] == home:
                homes[-1] = (homes[-1][0], level, home)
            else:
                homes.append((low, level, home))
            low = level
        return homes

    def _home_rating(self, chosen: Sequence[Option]) -> float:
        """The most that a device lets through for good on its way home [A]; 0 where there is none."""
        return max((o.lets_a for o in chosen), default=0.0)

    def _lists(self, head: Head) -> Lists | None:
        """What each group may be below these mains; None where one of them, or some group, has nothing left."""
        groups, above = self.problem.groups, head.upper
        held = {groups[n].name: o for n, o in zip(self.upper, above, strict=True)}
        lists: list[tuple[Option, ...]] = [()] * len(groups)
        most_a = head.most_a
        if self.problem.home_by_main:
            most_a = min([most_a, *(o.carries_a for o in above)])
        for n, o in zip(self.upper, above, strict=True):
            if o.lets_a > most_a or not self._below(n, held, (o,)):
                return None
            lists[n] = (o,)
        for n in self.rest:
            lists[n] = tuple(o for o in self._below(n, held, groups[n].options) if o.lets_a <= most_a)
            if not lists[n]:
                return None
        return tuple(lists)

    def _below(self, n: int, held: Mapping[str, Option], which: Sequence[Option]) -> tuple[Option, ...]:
        """Those options of a group that may stand below what lies above it; each question answered once, until more is
        learnt.
        """
        group = self.problem.groups[n]
        over = tuple(id(held[a]) for a in self.problem.above[group.name] if a in held)
        key = (n, over, id(which[0]) if len(which) == 1 else 0)
        known = self._known.get(key)
        if known is None or known[0] < self._learnt[n]:
            before = which if known is None else known[1]
            known = (len(self.cuts), tuple(o for o in before if self._fits(group, o, held)))
            self._known[key] = known
        return known[1]

    def _fits(self, group: Group, option: Option, held: Mapping[str, Option]) -> bool:
        """Whether the bounds let an option stand below the options above it."""
        problem = self.problem
        if self._learnt[self._place[group.name]] and self._cut(group, option, held):
            return False
        above = [(a, held[a]) for a in problem.above[group.name] if a in held]
        limit = min((problem.limits_v[i] for i in group.loads if i in problem.limits_v), default=None)
        if limit is not None:
            lost = problem.least_a[group.name] * option.mohm
            lost += sum(problem.least_a[a] * o.mohm for a, o in above)
            if lost / 1000.0 > limit:
                return False
        return all(
            self.pairs.allowed(top, top_a, device, rating, problem.least_a[a] - problem.least_a[group.name])
            for device, rating in option.ratings
            for a, o in above
            for top, top_a in o.ratings
            if device in problem.lower.get(top, ())
        )

    def home(self, need_a: float) -> tuple[Option, ...] | None:
        """The cheapest wires that carry home what a device lets through for good; None where no size stands that."""
        made = []
        for group in self.problem.follows:
            sent = [o.lets_a for g in self.problem.groups if sends(group.name, g) for o in g.options]
            need = min(need_a, max(sent, default=0.0))
            fit = [o for o in group.options if o.carries_a >= need]
            if not fit:
                return None
            made.append(min(fit, key=lambda o: o.cost))
        return tuple(made)

    def _learn(self, chosen: Sequence[Option], ways: Sequence[str]) -> None:
        """Remember that these ways do not hold, whatever the rest is."""
        held = {g.name: o for g, o in zip(self.problem.groups, chosen, strict=False)}
        for name in ways:
            if name in held:
                above = tuple((a, held[a].mohm) for a in self.problem.above.get(name, ()) if a in held)
                self.cuts.append((name, held[name].mohm, held[name].rated_a, above))
                self._learnt[self._place[name]] = len(self.cuts)

    def _cut(self, group: Group, option: Option, held: Mapping[str, Option]) -> bool:
        """Whether a way is ruled out: it and all above it have no less resistance than one that failed."""
        return any(
            name == group.name and option.mohm >= mohm - NEAR_MOHM and option.rated_a <= rating
            and all(held[a].mohm >= m - NEAR_MOHM for a, m in above if a in held)
            for name, mohm, rating, above in self.cuts
        )  # fmt: skip


Lists = tuple[tuple[Option, ...], ...]


def at_best(problem: Problem, chosen: Sequence[Option], ways: Sequence[str], sagging: frozenset[str]) -> tuple[
    Option, ...
]:  # fmt: skip
    """A combination with every group off some ways at what helps them most.

    That is the least resistance, for it lets the others draw least; and the most where what hangs below draws more with
    more volts.
    """
    kept = {*ways, *(a for w in ways for a in problem.above.get(w, ()))}
    made = []
    for group, option in zip(problem.every, chosen, strict=True):
        if group.name in kept:
            made.append(option)
        elif group.loads & sagging:
            made.append(max(group.options, key=lambda o: o.mohm))
        else:
            made.append(min(group.options, key=lambda o: o.mohm))
    return tuple(made)


def each(problem: Problem) -> Iterator[tuple[Option, ...]]:
    """Every combination there is, bounds or not: for checking the search on small problems."""
    search = Search(problem)
    for chosen in product(*(g.options for g in problem.groups)):
        home = search.home(max((o.lets_a for o in chosen), default=0.0))
        if home is not None:
            yield (*chosen, *home)
