"""How much more programme the system stands before its operating point is lost.

The load factor multiplies every amplifier's programme watts and nothing else (docs/conventions.md). The branch is
followed up
from a point that exists, because behind a source at its limit a solution can vanish at a corner with no fold before it.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from loomwright.power.circuit import Circuit, Drive, Floats, Ints, Reduced
from loomwright.power.solver import lost_port, rows_of, solve

TOP = 20.0
"""Load factors above this are not looked for."""
FIRST = np.array([1.7, 2.9, 4.9, 8.3, 14.0, TOP])
SECTIONS = 8
"""Into so many parts a gap is cut, all tried at once."""
SHARES = np.arange(1, SECTIONS) / SECTIONS
NEAR = 1e-3
"""A gap this narrow, as a share of where it ends, is not cut any more."""
MAX_ROUNDS = 5


def _gaps(factor: float) -> list[tuple[float, float]]:
    """Gaps in which a search that ends near ``factor`` would look, narrow ones first: its last one with its neighbours,
    and every other one that it was cut from.
    """
    rungs = [1.0, *FIRST.tolist(), np.inf]
    gaps = next([(a, b)] for a, b in pairwise(rungs) if b > min(factor, TOP))
    beside = gaps
    while np.isfinite(gaps[-1][1]) and gaps[-1][1] - gaps[-1][0] > NEAR * gaps[-1][1]:
        a, b = gaps[-1]
        parts = list(pairwise([a, *(a + (b - a) * SHARES).tolist(), b]))
        k = next(k for k, (_, y) in enumerate(parts) if y > factor)
        gaps.append(parts[k])
        beside = [parts[n] for n in (k, k - 1, k + 1) if 0 <= n < len(parts)]
    return [*beside, *gaps[-3:0:-2], gaps[0]]


def headroom(
    circuit: Circuit,
    reduced: Reduced,
    drive: Drive,
    amplifiers: np.ndarray,
    port_v: Floats | None = None,
    guess: Floats | None = None,
) -> tuple[Floats, Floats, np.ndarray]:
    """Load factor at which each case is lost.

    Parameters
    ----------
    amplifiers : (L,) bool
        Which load ports are amplifiers.
    port_v : (n, P) float, optional
        Port volts of the cases as they are, NaN where a case has no operating point; else they are looked for.
    guess : (n,) float, optional
        Where to look first, such as where a like circuit was lost. It saves time and changes nothing: the factors that
        are tried lie on one ladder, and which of them are lost does not depend on the order.

    Returns
    -------
    factor : (n,) float
        inf where nothing is lost up to 20; 0 where not even the idle system has an operating point.
    port_v : (n, P) float
        Port volts on the branch, at the last factor that was reached.
    port : (n,) int
        Load port that goes first; -1 where none.
    """
    n = drive.count
    every = np.arange(n)

    def at(rows: np.ndarray, factor: Floats, start: Floats | None) -> tuple[Floats, np.ndarray]:
        """Port volts at a factor each, and which rows have any: from ``start``, or else from the top.

        Past the corner of a source's limit the branch may go on lower down, where only a start from the top comes.
        """
        if start is not None:
            rows, factor = np.tile(rows, 2), np.tile(factor, 2)
            start = np.concatenate([start, np.full_like(start, np.nan)])
        part = drive.rows(rows).scaled(np.where(amplifiers[None, :], factor[:, None], 1.0))
        s = solve(circuit, part, rows_of(reduced, rows), start, quick=True)
        if start is None:
            return s.port_v, s.found
        (near_v, top_v), (near, top) = np.split(s.port_v, 2), np.split(s.found, 2)
        return np.where(near[:, None], near_v, top_v), near | top

    good, bad = np.zeros(n), np.full(n, np.inf)
    v, found = at(every, np.ones(n), None) if port_v is None else (port_v.copy(), np.isfinite(port_v).all(axis=1))
    good[found], bad[~found] = 1.0, 1.0
    if not found.all():
        failed = every[~found]
        v[failed], idle = at(failed, np.zeros(len(failed)), None)
        bad[failed[~idle]] = 0.0
    begin_v = np.nan_to_num(v)

    def tried(rows: np.ndarray, factors: Floats) -> tuple[Floats, Ints]:
        """Port volts at rising factors (rows, K), each from where the case began, and how many last before the first
        that is lost.
        """
        steps = factors.shape[1]
        new, ok = at(np.repeat(rows, steps), factors.ravel(), np.repeat(begin_v[rows], steps, axis=0))
        return new.reshape(*factors.shape, -1), np.logical_and.accumulate(ok.reshape(factors.shape), axis=1).sum(axis=1)

    def climb(rows: np.ndarray, factors: Floats) -> None:
        """Close in between the last factor that lasts and the first that is lost."""
        steps = factors.shape[1]
        new, lasting = tried(rows, factors)
        some, none = np.flatnonzero(lasting > 0), np.flatnonzero(lasting < steps)
        good[rows[some]] = factors[some, lasting[some] - 1]
        v[rows[some]] = new[some, lasting[some] - 1]
        bad[rows[none]] = factors[none, lasting[none]]

    def near(rows: np.ndarray, ladders: list[list[tuple[float, float]]]) -> None:
        """Close in on the smallest gap of each ladder that holds the place where the case is lost."""
        ends = [sorted({x for gap in gaps for x in gap if 1.0 < x < np.inf}) for gaps in ladders]
        each = np.repeat(rows, [len(e) for e in ends])
        new, ok = at(each, np.array([x for e in ends for x in e]), begin_v[each])
        begin = 0
        for row, gaps, factors in zip(rows, ladders, ends, strict=True):
            lasts = int(np.logical_and.accumulate(ok[begin : begin + len(factors)]).sum())
            last = factors[lasts - 1] if lasts else 1.0
            first = factors[lasts] if lasts < len(factors) else np.inf
            for a, b in gaps:
                if a <= last and b >= first:
                    good[row], bad[row] = a, b
                    v[row] = new[begin + factors.index(a)] if a > 1.0 else begin_v[row]
                    break
            begin += len(factors)

    if guess is not None:
        rows = np.flatnonzero(np.isinf(bad) & (good < TOP) & (guess > 1.0))
        if len(rows):
            near(rows, [_gaps(float(guess[k])) for k in rows])
    rows = np.flatnonzero(np.isinf(bad) & (good < TOP))
    if len(rows):
        climb(rows, np.broadcast_to(FIRST, (len(rows), len(FIRST))))
    for _ in range(MAX_ROUNDS):
        rows = np.flatnonzero(np.isfinite(bad) & (bad - good > NEAR * bad))
        if not len(rows):
            break
        climb(rows, good[rows, None] + (bad - good)[rows, None] * SHARES)
    lost = np.isfinite(bad)
    port = np.full(n, -1)
    if lost.any():
        scale = np.where(amplifiers[None, :], good[:, None], 1.0)
        port = np.where(lost, lost_port(circuit, reduced, drive.scaled(scale), np.nan_to_num(v), amplifiers), -1)
    return np.where(lost, good, np.inf), v, port
