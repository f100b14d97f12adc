"""How much more programme the system stands before its operating point is lost.

The load factor multiplies every amplifier's programme watts and nothing else (docs/conventions.md). The branch is
followed up
from a point that exists, because behind a source at its limit a solution can vanish at a corner with no fold before it.
"""

from __future__ import annotations

import numpy as np

from loomwright.power.circuit import Circuit, Drive, Floats, Reduced
from loomwright.power.solver import lost_port, solve

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

    def at(factor: Floats, start: Floats | None) -> tuple[Floats, np.ndarray]:
        scale = np.where(amplifiers[None, :], factor[:, None], 1.0)
        work = drive.scaled(scale)
        s = solve(circuit, work, reduced, start, quick=True)
        if s.found.all() or start is None:
            return s.port_v, s.found
        # past the corner of a source's limit the branch may go on lower down: look again from the top
        again = solve(circuit, work, reduced, quick=True)
        return np.where(s.found[:, None], s.port_v, again.port_v), s.found | again.found

    good, bad = np.zeros(n), np.full(n, np.inf)
    v, found = at(np.ones(n), None)
    good[found] = 1.0
    bad[~found] = 1.0
    if not found.all():
        idle_v, idle = at(np.zeros(n), None)
        v = np.where(found[:, None], v, idle_v)
        bad = np.where(~found & ~idle, 0.0, bad)
    factor = np.ones(n)
    while True:
        growing = np.isinf(bad) & (good < TOP)
        if not growing.any():
            break
        factor = np.where(growing, np.minimum(good * GROWTH, TOP), np.minimum(good, TOP))
        new, ok = at(factor, np.nan_to_num(v))
        v = np.where((growing & ok)[:, None], new, v)
        good = np.where(growing & ok, factor, good)
        bad = np.where(growing & ~ok, factor, bad)
    for _ in range(HALVINGS):
        open_ = np.isfinite(bad) & (bad - good > 1e-4 * np.maximum(bad, 1e-3))
        if not open_.any():
            break
        factor = np.where(open_, (good + np.where(np.isfinite(bad), bad, good)) / 2, good)
        new, ok = at(factor, np.nan_to_num(v))
        v = np.where((open_ & ok)[:, None], new, v)
        good = np.where(open_ & ok, factor, good)
        bad = np.where(open_ & ~ok, factor, bad)
    lost = np.isfinite(bad)
    port = np.full(n, -1)
    if lost.any():
        scale = np.where(amplifiers[None, :], good[:, None], 1.0)
        port = np.where(lost, lost_port(circuit, reduced, drive.scaled(scale), np.nan_to_num(v), amplifiers), -1)
    return np.where(lost, good, np.inf), v, port
