"""How much more programme the system stands before its operating point is lost.

The load factor multiplies every amplifier's programme watts and nothing else (docs/conventions.md). The branch is
followed up
from a point that exists, because behind a source at its limit a solution can vanish at a corner with no fold before it.
"""

from __future__ import annotations

import numpy as np

from loomwright.power.circuit import Circuit, Drive, Floats, Reduced
from loomwright.power.solver import lost_port, rows_of, solve

TOP = 20.0
"""Load factors above this are not looked for."""
FIRST = np.array([1.7, 2.9, 4.9, 8.3, 14.0, TOP])
SECTIONS = 8
"""Into so many parts the bracket is cut, all tried at once."""
MAX_ROUNDS = 5


def headroom(
    circuit: Circuit, reduced: Reduced, drive: Drive, amplifiers: np.ndarray, port_v: Floats | None = None
) -> tuple[Floats, Floats, np.ndarray]:
    """Load factor at which each case is lost.

    Parameters
    ----------
    amplifiers : (L,) bool
        Which load ports are amplifiers.
    port_v : (n, P) float, optional
        Port volts of the cases as they are, NaN where a case has no operating point; else they are looked for.

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

    every = np.arange(n)
    good, bad = np.zeros(n), np.full(n, np.inf)
    v, found = at(every, np.ones(n), None) if port_v is None else (port_v.copy(), np.isfinite(port_v).all(axis=1))
    good[found], bad[~found] = 1.0, 1.0
    if not found.all():
        failed = every[~found]
        v[failed], idle = at(failed, np.zeros(len(failed)), None)
        bad[failed[~idle]] = 0.0

    def climb(rows: np.ndarray, factors: Floats) -> None:
        """Try rising factors (rows, K) from each case's last good point: up to the first that is lost."""
        steps = factors.shape[1]
        new, ok = at(np.repeat(rows, steps), factors.ravel(), np.repeat(np.nan_to_num(v[rows]), steps, axis=0))
        lasting = np.logical_and.accumulate(ok.reshape(factors.shape), axis=1).sum(axis=1)
        some, none = np.flatnonzero(lasting > 0), np.flatnonzero(lasting < steps)
        good[rows[some]] = factors[some, lasting[some] - 1]
        v[rows[some]] = new.reshape(*factors.shape, -1)[some, lasting[some] - 1]
        bad[rows[none]] = factors[none, lasting[none]]

    rows = np.flatnonzero(np.isinf(bad) & (good < TOP))
    if len(rows):
        climb(rows, np.broadcast_to(FIRST, (len(rows), len(FIRST))))
    for _ in range(MAX_ROUNDS):
        rows = np.flatnonzero(np.isfinite(bad) & (bad - good > 1e-3 * bad))
        if not len(rows):
            break
        share = np.arange(1, SECTIONS) / SECTIONS
        climb(rows, good[rows, None] + (bad - good)[rows, None] * share)
    lost = np.isfinite(bad)
    port = np.full(n, -1)
    if lost.any():
        scale = np.where(amplifiers[None, :], good[:, None], 1.0)
        port = np.where(lost, lost_port(circuit, reduced, drive.scaled(scale), np.nan_to_num(v), amplifiers), -1)
    return np.where(lost, good, np.inf), v, port
