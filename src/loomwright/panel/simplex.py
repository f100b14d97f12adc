"""A small linear program that is solved again and again, each time with a few more rows: the dual simplex, kept dense.

Least is ``sum of w |a z - k|`` over some rows, under ``low <= a z <= high`` of the others. What it gives is a bound at
every step: the value of a dual that is feasible. It stops early where that is enough.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

EXACT = 1e-7
AFRESH = 60
"""Steps after which the table is worked out from the rows again, so that rounding does not add up."""
SPARE = 256
Array = np.ndarray[Any, Any]


class State(NamedTuple):
    """Where a program stands, to come back to."""

    added: Array
    table: Array
    by_row: Array
    tight: Array
    by_place: Array
    value: float
    steps: int


class Simplex:
    """The first ``n`` rows are the unknowns themselves and have bounds on both sides.

    A row with a weight pulls to its ``aim``; the others have bounds, and rows may be added. Of ``by_row`` the lines are
    the bounds, those that hold while the row is not tight, its value, and how its weight pulls; of ``by_place``, for
    each tight row, what pushes against it, how far that may go, and where it lies.
    """

    def __init__(self, a: Array, low: Array, high: Array, weight: Array, aim: Array) -> None:
        rows, n = a.shape
        self.n, self.rows, self.given = n, rows, rows
        self.a = np.concatenate([a, np.zeros((SPARE, n))])
        self.weight, self.aim = (np.concatenate([v, np.zeros(SPARE)]) for v in (weight, aim))
        pulls = weight > 0.0
        middle = (low[:n] + high[:n]) / 2.0
        pull = np.where(pulls, np.where(a @ middle >= aim, weight, -weight), 0.0)
        push = pull @ a
        x = np.where(push >= 0.0, low[:n], high[:n])
        same = high[:n] - low[:n] < EXACT
        self.by_place: Array = np.array([
            push, np.where(same | (push < 0.0), -np.inf, 0.0), np.where(same | (push >= 0.0), np.inf, 0.0), x,
        ])  # fmt: skip
        self.by_row: Array = np.zeros((6, rows + SPARE))
        s = a @ x
        floor = np.where(pulls, np.where(pull > 0.0, aim, -np.inf), low)
        roof = np.where(pulls, np.where(pull > 0.0, np.inf, aim), high)
        floor[:n], roof[:n] = -np.inf, np.inf
        self.by_row[:, :rows] = low, high, floor, roof, s, pull
        self.tight: Array = np.arange(n)
        self.table = self.a.copy()
        self.steps = 0
        self.value = float(pull @ (s - aim))
        self.never = bool((low > high + EXACT).any())
        self.settled = False

    @property
    def z(self) -> Array:
        """The unknowns."""
        out: Array = self.by_row[4, : self.n].copy()
        return out

    # -- rows ---------------------------------------------------------------------------------

    def add(self, a: Array, low: float, high: float = np.inf) -> None:
        """One more row: ``low <= a z <= high``."""
        k = self.rows
        if k == len(self.a):
            self._grow()
        self.a[k] = a
        row = a @ self.table[: self.n]
        self.table[k] = row
        self.by_row[:, k] = low, high, low, high, row @ self.by_place[3], 0.0
        self.rows = k + 1

    def _grow(self) -> None:
        self.a, self.table = (np.concatenate([v, np.zeros((SPARE, self.n))]) for v in (self.a, self.table))
        self.weight, self.aim = (np.concatenate([v, np.zeros(SPARE)]) for v in (self.weight, self.aim))
        self.by_row = np.concatenate([self.by_row, np.zeros((6, SPARE))], axis=1)

    def state(self) -> State:
        """What ``back`` needs."""
        m = self.rows
        return State(
            self.a[self.given : m].copy(), self.table[:m].copy(), self.by_row[:, :m].copy(), self.tight.copy(),
            self.by_place.copy(), self.value, self.steps,
        )  # fmt: skip

    def back(self, to: State) -> None:
        """Go back to a state; rows added since are gone."""
        m = self.rows = len(to.table)
        self.a[self.given : m], self.table[:m], self.by_row[:, :m] = to.added, to.table, to.by_row
        self.tight, self.by_place, self.value, self.steps = to.tight.copy(), to.by_place.copy(), to.value, to.steps

    # -- solving ------------------------------------------------------------------------------

    def _afresh(self) -> None:
        m = self.rows
        self.table[:m] = self.a[:m] @ np.linalg.inv(self.a[self.tight])
        loose = self.by_row[5, :m].copy()
        loose[self.tight] = 0.0
        self.by_place[0] = loose @ self.table[:m]
        s = self.by_row[4, :m] = self.table[:m] @ self.by_place[3]
        self.value = float(loose @ (s - self.aim[:m]))
        self.steps = 0

    def solve(self, enough: float = np.inf, most: int = 400) -> float:
        """The least, or a bound below it that is at or above ``enough`` or took ``most`` steps; infinite where nothing
        keeps the bounds. ``settled`` says whether it is the least.
        """
        self.settled = False
        if self.never:
            return np.inf
        if self.steps > AFRESH:
            self._afresh()
        m = self.rows
        table, tight = self.table[:m], self.tight
        low, high, floor, roof, s, pull = self.by_row[:, :m]
        push, least, greatest, x = self.by_place
        for _ in range(most):
            short = np.maximum(floor - s, s - roof)
            r = int(short.argmax())
            lack = float(short[r])
            if lack <= EXACT or self.value >= enough:
                self.settled = lack <= EXACT
                break
            up = bool(floor[r] > s[r])
            row = table[r].copy()
            a = row if up else -row
            t = np.divide(push - np.where(a > 0.0, least, greatest), a, out=np.full(self.n, np.inf),
                          where=np.abs(a) > EXACT)  # fmt: skip
            nearest = max(float(t.min()), 0.0)
            weight = float(self.weight[r])
            if 0.0 < 2.0 * weight <= nearest:
                # its pull turns round before anything else gives way
                self.value += 2.0 * weight * lack
                push -= 2.0 * weight * a
                pull[r] = -pull[r]
                self._pulled(r)
                continue
            if nearest == np.inf:
                return np.inf
            j = int(np.where(t <= nearest + 1e-9, np.abs(a), 0.0).argmax())
            far, k = max(float(t[j]), 0.0), int(tight[j])
            self.value += far * lack
            push -= far * a
            target = float(floor[r] if up else roof[r])
            if weight:
                push[j] = far - pull[r] if up else -far - pull[r]
                least[j], greatest[j], pull[r] = -weight, weight, 0.0
            else:
                push[j] = far if up else -far
                same = high[r] - low[r] < EXACT
                least[j] = -np.inf if same or not up else 0.0
                greatest[j] = np.inf if same or up else 0.0
            if self.weight[k]:
                pull[k] = self.weight[k] if a[j] > 0.0 else -self.weight[k]
                self._pulled(k)
            else:
                floor[k], roof[k] = low[k], high[k]
            floor[r], roof[r] = -np.inf, np.inf
            column = table[:, j] / row[j]
            row[j] = 0.0
            s += column * (target - s[r])
            table -= column[:, None] * row
            table[:, j] = column
            table[r] = 0.0
            table[r, j] = 1.0
            x[j], tight[j], s[r] = target, r, target
            self.steps += 1
        return self.value

    def _pulled(self, r: int) -> None:
        pull = self.by_row[5, r]
        self.by_row[2:4, r] = (self.aim[r], np.inf) if pull > 0.0 else (-np.inf, self.aim[r])
