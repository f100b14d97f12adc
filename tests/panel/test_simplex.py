"""The dual simplex against another solver, on programs drawn at random; going back; bounds on the way."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from loomwright.panel.simplex import Array, Simplex


class Drawn:
    """A program drawn at random: a few unknowns, rows that pull, rows with bounds added later."""

    def __init__(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        self.n, pulls = int(rng.integers(2, 8)), int(rng.integers(1, 8))
        self.a: Array = np.vstack([np.eye(self.n), rng.integers(-2, 3, (pulls, self.n))])
        self.low = np.concatenate([rng.integers(-5, 0, self.n), np.full(pulls, -np.inf)])
        self.high = np.concatenate([rng.integers(1, 8, self.n), np.full(pulls, np.inf)])
        self.weight = np.concatenate([np.zeros(self.n), rng.integers(1, 9, pulls)]).astype(float)
        self.aim = np.concatenate([np.zeros(self.n), rng.integers(-6, 7, pulls)]).astype(float)
        self.asked = [(rng.integers(-2, 3, self.n).astype(float), float(rng.integers(-6, 5))) for _ in range(8)]

    def simplex(self) -> Simplex:
        return Simplex(self.a, self.low, self.high, self.weight, self.aim)

    def least(self, rows: int) -> float:
        """By scipy: one more unknown for each pull, above it and its opposite."""
        n, pulls = self.n, len(self.a) - self.n
        pull, aim, one = self.a[n:], self.aim[n:], np.eye(pulls)
        over = [np.hstack([pull, -one]), np.hstack([-pull, -one])]
        right = [aim, -aim]
        for a, low in self.asked[:rows]:
            over.append(np.concatenate([-a, np.zeros(pulls)])[None])
            right.append(np.array([-low]))
        bounds = [*zip(self.low[:n], self.high[:n], strict=True), *[(0, None)] * pulls]
        found = linprog(np.concatenate([np.zeros(n), self.weight[n:]]), A_ub=np.vstack(over),
                        b_ub=np.concatenate(right), bounds=bounds)  # fmt: skip
        return float(found.fun) if found.status == 0 else np.inf


@pytest.mark.parametrize("seed", range(60))
def test_each_row_that_is_added_gives_what_another_solver_gives(seed: int) -> None:
    drawn = Drawn(seed)
    lp = drawn.simplex()
    assert lp.solve() == pytest.approx(drawn.least(0), abs=1e-6)
    for k, (a, low) in enumerate(drawn.asked):
        lp.add(a, low)
        least = lp.solve()
        assert least == pytest.approx(drawn.least(k + 1), abs=1e-6)
        if least == np.inf:
            break
        z = lp.z
        assert (np.abs(drawn.a[drawn.n :] @ z - drawn.aim[drawn.n :]) @ drawn.weight[drawn.n :]) == pytest.approx(
            least, abs=1e-5
        )


@pytest.mark.parametrize("seed", range(20))
def test_it_goes_back_to_where_it_was_and_an_early_stop_is_a_bound(seed: int) -> None:
    drawn = Drawn(seed)
    lp = drawn.simplex()
    first = lp.solve()
    state = lp.state()
    for a, low in drawn.asked[:4]:
        lp.add(a, low)
    early = lp.solve(most=1)
    whole = lp.solve()
    assert early <= whole + 1e-9
    lp.back(state)
    assert lp.solve() == first
    for a, low in drawn.asked[:4]:
        lp.add(a, low)
    assert lp.solve() == pytest.approx(whole, abs=1e-9)
