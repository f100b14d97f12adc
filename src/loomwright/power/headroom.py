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
GROWTH = 1.7
HALVINGS = 10


def headroom(
    circuit: Circuit, reduced: Reduced, drive: Drive, amplifiers: np.ndarray
) -> tuple[Floats, Floats, np.ndarray]:
    """Load factor at which each case is lost.

    Parameters
    ----------
    amplifiers : (L,) bool
        Which load ports are amplifiers.

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
        part = drive.rows(rows).scaled(np.where(amplifiers[None, :], factor[:, None], 1.0))
        some = rows_of(reduced, rows)
        s = solve(circuit, part, some, start, quick=True)
        if s.found.all() or start is None:
            return s.port_v, s.found
        # past the corner of a source's limit the branch may go on lower down: look again from the top
        lost = np.flatnonzero(~s.found)
        again = solve(circuit, part.rows(lost), rows_of(some, lost), quick=True)
        port_v, found = s.port_v, s.found
        port_v[lost], found[lost] = again.port_v, again.found
        return port_v, found

    every = np.arange(n)
    good, bad = np.zeros(n), np.full(n, np.inf)
    v, found = at(every, np.ones(n), None)
    good[found], bad[~found] = 1.0, 1.0
    if not found.all():
        failed = every[~found]
        v[failed], idle = at(failed, np.zeros(len(failed)), None)
        bad[failed[~idle]] = 0.0
    while len(rows := np.flatnonzero(np.isinf(bad) & (good < TOP))):
        factor = np.minimum(good[rows] * GROWTH, TOP)
        new, ok = at(rows, factor, np.nan_to_num(v[rows]))
        v[rows[ok]], good[rows[ok]] = new[ok], factor[ok]
        bad[rows[~ok]] = factor[~ok]
    for _ in range(HALVINGS):
        rows = np.flatnonzero(np.isfinite(bad) & (bad - good > 1e-3 * bad))
        if not len(rows):
            break
        factor = (good[rows] + bad[rows]) / 2
        new, ok = at(rows, factor, np.nan_to_num(v[rows]))
        v[rows[ok]], good[rows[ok]] = new[ok], factor[ok]
        bad[rows[~ok]] = factor[~ok]
    lost = np.isfinite(bad)
    port = np.full(n, -1)
    if lost.any():
        scale = np.where(amplifiers[None, :], good[:, None], 1.0)
        port = np.where(lost, lost_port(circuit, reduced, drive.scaled(scale), np.nan_to_num(v), amplifiers), -1)
    return np.where(lost, good, np.inf), v, port
