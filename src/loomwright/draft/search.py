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

from loomwright.draft.options import Group, Option, Problem
from loomwright.facts import fuses
from loomwright.protection.results import Device
from loomwright.protection.selectivity import judge, melting_i2t_a2s

HIGH_A = 10_000.0
"""Prospective current up to which a pair is judged before the rig is there to say."""
UPPER = ("main:", "sub:")
"""Groups that others hang below."""


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
        self._known: dict[tuple[str, float, str, float], bool] = {}

    def allowed(self, upper: str, upper_a: float, lower: str, lower_a: float) -> bool:
        key = (self._devices[upper].type, upper_a, self._devices[lower].type, lower_a)
        if key not in self._known:
            self._known[key] = self._judge(self._rated(upper, upper_a), self._rated(lower, lower_a))
        return self._known[key]

    def _rated(self, name: str, rating_a: float) -> Device:
        return replace(self._devices[name], rating_a=rating_a)

    def _judge(self, upper: Device, lower: Device) -> bool:
        if upper.rating_a < lower.rating_a:
            return False
        if melting_i2t_a2s(upper) >= fuses.selective_ratio() * melting_i2t_a2s(lower):
            return True
        return judge(upper, lower, HIGH_A).proved


class Search:
    """One search over the combinations of a problem. Keep one for one question."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.pairs = Pairs(problem)
        self.upper = [n for n, g in enumerate(problem.groups) if g.name.startswith(UPPER)]
        self.rest = [n for n in range(len(problem.groups)) if n not in self.upper]
        self.place = {g.name: n for n, g in enumerate(problem.groups)}
        least = max((min(map(_rating, g.options), default=0.0) for g in problem.groups), default=0.0)
        self.home = sum(o.cost for o in self._home(least) or ())

    def run(self, judge: Judge, most: int, below: float = float("inf")) -> Found:
        """Ask in order of cost, at most ``most`` times; combinations that cost ``below`` or more are of no use."""
        asked, sure = 0, True
        tick = count()
        heads = self._heads()
        versions: dict[int, int] = {}
        queue: list[tuple[float, int, int, int, Lists | None, tuple[int, ...], tuple[Option, ...] | None]] = []
        for n, (cost, _) in enumerate(heads):
            heapq.heappush(queue, (cost, next(tick), n, 0, None, (), None))
        while queue:
            cost, _, head, version, lists, at, whole = heapq.heappop(queue)
            if cost >= below:
                return Found(None, below, sure, asked)
            if version != versions.get(head, 0):
                continue
            if lists is None:
                found = self._lists(heads[head][1])
                if found is not None:
                    start = (0,) * len(found)
                    heapq.heappush(queue, (self._cost(found, start), next(tick), head, version, found, start, None))
                continue
            if whole is None:
                chosen = tuple(options[k] for options, k in zip(lists, at, strict=True))
                made = self.completed(chosen)
                if made is not None:  # what carries faults home has its cost too: it waits until its turn comes
                    exact = sum(o.cost for o in made)
                    heapq.heappush(queue, (exact, next(tick), head, version, lists, at, made))
                last = max((n for n, k in enumerate(at) if k), default=0)
                for n in range(last, len(at)):  # only the last raised place and later ones rise: each comes once
                    if at[n] + 1 < len(lists[n]):
                        after = (*at[:n], at[n] + 1, *at[n + 1 :])
                        heapq.heappush(queue, (self._cost(lists, after), next(tick), head, version, lists, after, None))
                continue
            if asked >= most:
                return Found(None, below, False, asked)
            asked += 1
            answer = judge(whole)
            if answer.holds:
                return Found(whole, cost, sure, asked)
            sure = sure and (answer.sure or not answer.ways)
            left = self._without(lists, whole, answer.ways)
            if left is not lists:
                versions[head] = version + 1
                if left is not None:
                    start = (0,) * len(left)
                    heapq.heappush(queue, (self._cost(left, start), next(tick), head, version + 1, left, start, None))
        return Found(None, below, sure, asked)

    def _heads(self) -> list[tuple[float, tuple[Option, ...]]]:
        """Every joint choice of the groups that others hang below, with a bound on what it costs with the rest."""
        groups = self.problem.groups
        floor = sum(min(o.cost for o in groups[n].options) for n in self.rest) + self.home
        return [
            (floor + sum(o.cost for o in above), above)
            for above in product(*(groups[n].options for n in self.upper))
        ]

    def _lists(self, above: tuple[Option, ...]) -> Lists | None:
        """What each group may be below these; None where one of them, or some group, has nothing left."""
        groups = self.problem.groups
        held = {groups[n].name: o for n, o in zip(self.upper, above, strict=True)}
        lists: list[tuple[Option, ...]] = [()] * len(groups)
        for n, o in zip(self.upper, above, strict=True):
            if not self._fits(groups[n], o, held):
                return None
            lists[n] = (o,)
        for n in self.rest:
            lists[n] = tuple(o for o in groups[n].options if self._fits(groups[n], o, held))
            if not lists[n]:
                return None
        return tuple(lists)

    def _fits(self, group: Group, option: Option, held: Mapping[str, Option]) -> bool:
        """Whether the bounds let an option stand below the options above it."""
        problem = self.problem
        above = [(a, held[a]) for a in problem.above[group.name] if a in held]
        limit = min((problem.limits_v[i] for i in group.loads if i in problem.limits_v), default=None)
        if limit is not None:
            lost = problem.least_a[group.name] * option.mohm
            lost += sum(problem.least_a[a] * o.mohm for a, o in above)
            if lost / 1000.0 > limit:
                return False
        return all(
            self.pairs.allowed(top, top_a, device, rating)
            for device, rating in option.ratings
            for _, o in above
            for top, top_a in o.ratings
            if device in problem.lower.get(top, ())
        )

    def _home(self, rating_a: float) -> tuple[Option, ...] | None:
        """The cheapest wires that carry a fault home past a rating; None where no size stands that."""
        made = []
        for group in self.problem.follows:
            fit = [o for o in group.options if o.carries_a >= rating_a]
            if not fit:
                return None
            made.append(min(fit, key=lambda o: o.cost))
        return tuple(made)

    def completed(self, chosen: tuple[Option, ...]) -> tuple[Option, ...] | None:
        """A combination with what carries its faults home."""
        home = self._home(max(map(_rating, chosen), default=0.0))
        return None if home is None else (*chosen, *home)

    def _cost(self, lists: Sequence[Sequence[Option]], at: Sequence[int]) -> float:
        """A bound: what carries faults home counts with the least that it can be."""
        return sum(options[k].cost for options, k in zip(lists, at, strict=True)) + self.home

    def _without(self, lists: Lists, chosen: Sequence[Option], ways: Sequence[str]) -> Lists | None:
        """The lists without what cannot hold below these mains; None where nothing is left of one."""
        made = list(lists)
        changed = False
        for name in ways:
            n = self.place.get(name)
            if n is None:
                continue
            if n in self.upper:
                return None
            bad = chosen[n]
            made[n] = tuple(o for o in made[n] if o.mohm < bad.mohm - 1e-12 or _rating(o) > _rating(bad))
            changed = True
            if not made[n]:
                return None
        return tuple(made) if changed else lists


Lists = tuple[tuple[Option, ...], ...]


def _rating(option: Option) -> float:
    return max((r for _, r in option.ratings), default=0.0)


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
        made = search.completed(chosen)
        if made is not None:
            yield made
