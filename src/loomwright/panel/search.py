"""The cheapest layout of a panel, proven: branch and bound over turns, layers and who lies on which side of whom.

While it is open who lies where, the rest is a linear program: the mass of the links times their lengths at right
angles, under differences between coordinates. Its optimum is below every layout that is still open.
A pair that overlaps there is taken apart in four ways, one after the other; so is every other rule that is broken. A
crossing, or a warm neighbour, is a rule that may also be paid for. Which rule comes first is tried out: the one whose
ways cost most.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.panel.bodies import Body
from loomwright.panel.layout import at_spots
from loomwright.panel.links import MG_PER_G, Link, cost
from loomwright.panel.program import EXACT, Program, Row, Rule, Way
from loomwright.panel.results import Where
from loomwright.panel.simplex import Array, State
from loomwright.rig.plan import Panel

TRIED = 4
"""Rules that are tried out at a node."""
FEW = 12
"""Steps of the linear program for each way that is tried out."""
KEEN = 8.0
"""How much more a way counts that leaves much open."""


@dataclass(slots=True)
class Found:
    """What the search has: the best layout, its cost and what is proven [mg], and how many nodes it looked at."""

    spots: tuple[Where, ...] | None = None
    cost_mg: float = math.inf
    bound_mg: float = 0.0
    nodes: int = 0
    proven: bool = False


class Search(Program):
    """The search on one panel. ``report`` is told how far it is, and stops it with True."""

    def __init__(
        self, panel: Panel, bodies: Sequence[Body], links: Sequence[Link], fixed: Mapping[str, Where],
        report: Callable[[Found], bool] | None = None,
    ) -> None:  # fmt: skip
        super().__init__(panel, bodies, links, fixed)
        self.report = report
        self.found = Found()
        self.open: list[list[float]] = []
        self.stopped = False
        self.most = 0
        self.paid: set[int] = set()
        self.paid_mg = self.always_mg
        self._asked()

    def _asked(self) -> None:
        """All rows of all rules under each other, with where each way and each rule begins."""
        ways = [w for r in self.rules for w in r.ways]
        self.must = np.array([r.pay is None for r in self.rules])
        rows = [row for w in ways for row in w]
        self.rows = np.array([row.a for row in rows]).reshape(len(rows), self.columns)
        self.least = np.array([row.least for row in rows])
        self.way_at = np.cumsum([0, *(len(w) for w in ways)])[:-1]
        self.rule_at = np.cumsum([0, *(len(r.ways) for r in self.rules)])[:-1]
        self.way_rule = np.repeat(np.arange(len(self.rules)), [len(r.ways) for r in self.rules])
        self.way_rows = np.array([len(w) for w in ways])

    # -- what is broken -----------------------------------------------------------------------

    def _broken(self, z: Array) -> tuple[Array, Array]:
        """Rules that are broken, and by how much each row is [mm]."""
        if not self.rules:
            return np.zeros(0, int), self.least
        short = self.least - self.rows @ z
        by_way = np.maximum.reduceat(short, self.way_at)
        by_rule = np.minimum.reduceat(by_way, self.rule_at)
        broken = by_rule > EXACT
        broken[list(self.paid)] = False
        return np.flatnonzero(broken), short

    def _worth(self, rules: Array, short: Array, room: float) -> Array:
        """The share of the search that is left by branching on each of the rules, at a guess: the smaller the better.

        The guess is the first step of the linear program on each way.
        """
        ways = np.flatnonzero(np.isin(self.way_rule, rules))
        rows = np.concatenate([np.arange(self.way_at[w], self.way_at[w] + self.way_rows[w]) for w in ways])
        lp = self.lp
        a = self.rows[rows] @ lp.table[: lp.n]
        push, least, greatest, _ = lp.by_place
        step = np.divide(
            push - np.where(a > 0.0, least, greatest), a, out=np.full(a.shape, np.inf), where=np.abs(a) > EXACT
        )
        with np.errstate(invalid="ignore"):
            gain = np.where(short[rows] > EXACT, np.maximum(step.min(axis=1), 0.0) * short[rows], 0.0)
        begin = np.cumsum([0, *self.way_rows[ways]])[:-1]
        by_way = np.exp(-KEEN * np.maximum.reduceat(gain, begin) / room)
        out = np.zeros(len(rules))
        np.add.at(out, np.searchsorted(rules, self.way_rule[ways]), by_way)
        for n, r in enumerate(rules):
            pay = self.rules[r].pay
            if pay is not None:
                out[n] += math.exp(-KEEN * pay / room)
        return out

    # -- the search ---------------------------------------------------------------------------

    def run(self, most_nodes: int) -> Found:
        """Search to the end, or so many nodes far."""
        self.most = most_nodes
        found = self.found
        if self.empty:
            found.proven, found.bound_mg = True, math.inf
            return found
        self._down(self._value())
        found.proven = not self.stopped
        if found.proven:
            found.bound_mg = found.cost_mg
        return found

    def _left(self) -> float:
        """What the linear program may come to before nothing below is of use."""
        return self.found.cost_mg - 0.5 - self.paid_mg

    def _value(self, most: int = 400) -> float:
        """The least that anything below this node costs; infinite where there is nothing."""
        return self.lp.solve(self._left(), most) + self.paid_mg

    def _down(self, value: float) -> None:
        """The linear program is solved; ``value`` is what it gives."""
        found = self.found
        found.nodes += 1
        if found.nodes % 256 == 0 and self._told():
            self.stopped = True
        if self._halted() or found.nodes > self.most:
            self.stopped = True
            return
        if value >= found.cost_mg - 0.5:
            return
        if not self.lp.settled:
            self.stopped = True  # never seen; what is not worked out is not claimed
            return
        z = self.lp.z
        broken, short = self._broken(z)
        must = broken[self.must[broken]]
        broken = must if len(must) else broken  # what may be paid for comes last
        rule = self._chosen(broken, short, value) if len(broken) else self._between(z)
        if rule is None:
            self._leaf(z)
        else:
            self._branch(rule, value)

    def _halted(self) -> bool:
        return self.stopped

    def _chosen(self, broken: Array, short: Array, value: float) -> Rule:
        """The rule to branch on."""
        room = max(self.found.cost_mg - value, 1.0) if self.found.cost_mg < math.inf else max(value, 1000.0)
        guess = [round(float(v), 9) for v in self._worth(broken, short, room)]
        order = sorted(range(len(broken)), key=lambda n: (guess[n], n))[:TRIED]
        if len(order) == 1:
            return self.rules[int(broken[order[0]])]
        best, state = (math.inf, 0), self.lp.state()
        for place, n in enumerate(order):
            rule = self.rules[int(broken[n])]
            left = math.exp(-KEEN * rule.pay / room) if rule.pay is not None else 0.0
            for way in rule.ways:
                cost = self._way(way, FEW)
                self.lp.back(state)
                if cost < self.found.cost_mg - 0.5:
                    left += math.exp(-KEEN * (cost - value) / room)
                if left >= best[0]:
                    break
            best = min(best, (left, place))
            if left == 0.0:
                break
        return self.rules[int(broken[order[best[1]]])]

    def _way(self, way: Way, most: int = 400) -> float:
        for row in way:
            self.lp.add(row.a, row.least)
        return self._value(most)

    def _branch(self, rule: Rule, value: float) -> None:
        """Each way in turn; what one way asked for is ruled out in those that follow."""
        state = self.lp.state()
        tried: list[tuple[float, int, State | None]] = []
        for n, way in enumerate(rule.ways):
            cost = max(self._way(way), value)
            tried.append((cost, n, self.lp.state() if cost < self.found.cost_mg - 0.5 else None))
            self.lp.back(state)
        tried.sort(key=lambda t: t[:2])
        if rule.pay is not None:
            tried.append((value + rule.pay, -1, None))
        self.open.append([v for v, _, _ in tried])
        done: list[Row] = []
        for m, (cost, n, there) in enumerate(tried):
            if cost < self.found.cost_mg - 0.5:
                if n < 0:
                    self._pay(rule, done, state)
                elif there is not None:
                    self.lp.back(there)
                    for row in done:
                        self.lp.add(row.a, -math.inf, row.least - 1.0)
                    self._down(self._value())
                if self._halted():
                    return
            self.open[-1][m] = math.inf
            if n >= 0 and len(rule.ways[n]) == 1 and rule.ways[n][0].whole:
                done.append(rule.ways[n][0])
        self.open.pop()
        self.lp.back(state)

    def _pay(self, rule: Rule, done: Sequence[Row], state: State) -> None:
        number = self.rules.index(rule)
        self.lp.back(state)
        for row in done:
            self.lp.add(row.a, -math.inf, row.least - 1.0)
        self.paid.add(number)
        self.paid_mg += rule.pay or 0
        self._down(self._value())
        self.paid_mg -= rule.pay or 0
        self.paid.discard(number)

    # -- the end of a branch ------------------------------------------------------------------

    def _between(self, z: Array) -> Rule | None:
        """A coordinate that lies between two millimetres, as a slanted edge may make it."""
        worst, column = max((abs(z[c] - round(z[c])), c) for c in range(2 * len(self.bodies)))
        if worst <= 1e-4:
            return None
        a = np.zeros(self.columns)
        a[column] = 1.0
        low = math.floor(z[column])
        return Rule(("whole", column), ((Row(-a, -float(low)),), (Row(a, low + 1.0),)))

    def _poses(self, z: Array) -> tuple[list[int], list[int]]:
        turn, layer = [], []
        for k in range(len(self.bodies)):
            shares = {t: z[c] for t, c in self.share[k].items()}
            turn.append(next((t for t, v in shares.items() if v > 0.5), self.turns[k][0]))
            layer.append(1 + int(z[self.spacers[k]] > 0.5) if k in self.spacers else self.layers[k][0])
        return turn, layer

    def _leaf(self, z: Array) -> None:
        turn, layer = self._poses(z)
        spots = tuple(
            Where(b.id, (float(round(z[2 * k])), float(round(z[2 * k + 1]))), turn[k], 2 if layer[k] == 2 else 1)
            for k, b in enumerate(self.bodies)
        )
        total = cost(self.panel, self.bodies, self.links, at_spots(self.panel, self.bodies, spots)).total_g
        if round(total * MG_PER_G) < self.found.cost_mg:
            self.found.spots, self.found.cost_mg = spots, round(total * MG_PER_G)
        self._told()

    def bound_mg(self) -> float:
        """What is proven so far: nothing costs less."""
        left = [v for level in self.open for v in level]
        return min([self.found.cost_mg, *left]) if left else (self.found.cost_mg if not self.stopped else 0.0)

    def _told(self) -> bool:
        """Tell how far it is; True where it is to stop."""
        self.found.bound_mg = self.bound_mg()
        return self.report is not None and self.report(self.found)
