"""Operating points of a :class:`~loomwright.power.circuit.Circuit` for many cases at once.

Newton's method runs on the ports only. Sources are straight lines with two corners (regulated, at their limit,
shut): a step stops at the first corner it meets and goes on from there on the other side (the method of
J. Katzenelson, "An algorithm for solving nonlinear resistor networks", Bell System Technical Journal 44 (1965),
cited from memory), so that a regulator never flips to and fro. The start is the highest possible voltage, because a
constant-power load has two solutions and only the upper one is an operating point.

Many cases on one circuit are first tried with one shared matrix (the chord method): where the shared matrix is a
contraction at the answer, the answer lies on the same branch as the case that the matrix came from. What is left goes
through the full method.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.power.chord import chord, follow
from loomwright.power.circuit import FLOOR_V, Circuit, Drive, Floats, Ints, Reduced
from loomwright.power.ports import (
    LIMITED,
    REGULATED,
    SHUT,
    Corners,
    Lines,
    corners_of,
    currents,
    jacobian,
    regions,
)

TOLERANCE_V = 1e-11
"""Largest last step of any port, for each volt that it stands at [V]: far below a microvolt."""
MAX_STEPS = 60
MAX_DAMPED_STEPS = 400
MAX_FLIPS = 3
"""A case that meets more corners than this is going to and fro over one: behind it no point exists nearby."""
QUICK_STEPS = 24
SUNK_V = 2.0
"""A load asked for watts that falls below this has lost its operating point: 12 V systems lose it far above."""
FLOWN = 1.5
"""Nor can a load stand above its highest possible volts: a step that goes this many times beyond fled from a fold."""
QUICK_TOLERANCE_V = 1e-7
LEAST_BATCH = 16
"""Fewer cases than this are not worth a shared matrix."""
MAX_PILOTS = 6


@dataclass(frozen=True)
class Solution:
    """Solved cases. n cases, N nodes, P ports (loads, sources, converter inputs).

    ``found`` is False where the case has no operating point or none was reached; its numbers are NaN.
    """

    node_v: Floats  # (n, N)
    port_v: Floats  # (n, P)
    port_a: Floats  # (n, P) from a through the device to b
    found: np.ndarray  # (n,) bool

    def rows(self, index: Ints) -> Solution:
        """Some of the cases."""
        return Solution(self.node_v[index], self.port_v[index], self.port_a[index], self.found[index])


def _step(jacobian: Floats, right: Floats) -> Floats:
    """Solve each case's step; an exactly singular matrix (the very end of a branch) is moved by a hair."""
    try:
        return np.asarray(np.linalg.solve(jacobian, right[..., None])[..., 0])
    except np.linalg.LinAlgError:
        nudged = jacobian + 1e-9 * np.eye(jacobian.shape[-1])
        return np.asarray(np.linalg.solve(nudged, right[..., None])[..., 0])


def _times(z_ohm: Floats, i: Floats) -> Floats:
    """Z i for each case."""
    if z_ohm.ndim == 2:
        return np.asarray(i @ z_ohm.T)
    return np.asarray((z_ohm @ i[..., None])[..., 0])


def _start(circuit: Circuit, drive: Drive, open_v: Floats) -> Floats:
    """The highest voltage each port could have: its open volts, or a running source's own."""
    v = open_v.copy()
    loads, sources = len(circuit.load_a), len(circuit.source_a)
    live = np.where(drive.source_limit_a > 0, drive.source_v, -np.inf)
    part = v[:, loads : loads + sources]
    v[:, loads : loads + sources] = np.where(np.isfinite(live), live, part)
    top = np.maximum(open_v.max(axis=1, initial=0.0), live.max(axis=1, initial=0.0))
    v[:, :loads] = np.maximum(v[:, :loads], 0.0)
    powered = v[:, :loads] > FLOOR_V
    v[:, :loads] = np.where(
        powered, np.maximum(v[:, :loads], np.minimum(top[:, None], v[:, :loads] + 2.0)), v[:, :loads]
    )
    return v


def _newton(
    circuit: Circuit,
    reduced: Reduced,
    drive: Drive,
    open_v: Floats,
    v: Floats,
    *,
    quick: bool = False,
    downhill: bool = False,
) -> tuple[Floats, np.ndarray]:
    """Full method. Returns port volts (n, P) and which cases converged to a stable point."""
    n, _ports = v.shape
    loads, sources = len(circuit.load_a), len(circuit.source_a)
    own, sourced = slice(0, loads), slice(loads, loads + sources)
    done = np.zeros(n, dtype=bool)
    top, tolerance = v.copy(), QUICK_TOLERANCE_V if quick else TOLERANCE_V
    # what is still on its way, packed: case numbers, drive, corners, matrices and where each case stands
    left, part, z, base, high, x = np.arange(n), drive, reduced.z_ohm, open_v, top, v.copy()
    here = corners_of(circuit, drive)
    lines = Lines(circuit, part, regions(here, x[:, sourced]))
    flips = np.full(n, MAX_FLIPS + 1 if downhill else 0)
    sinks, flown_v = (drive.load_w > 0) & (drive.sag_v <= 0), FLOWN * high[:, own] + 1.0
    for step in range(QUICK_STEPS if quick else MAX_STEPS + MAX_DAMPED_STEPS):
        i, di, cross = currents(circuit, part, x, lines)
        damped = flips > MAX_FLIPS if step < MAX_STEPS else np.ones(len(left), dtype=bool)
        slow = bool(np.count_nonzero(damped))
        if slow:  # negative slopes left out: slower, but always downhill to the highest point
            di = np.where(damped[:, None], np.maximum(di, 0.0), di)
            cross = np.where(damped[:, None], 0.0, cross)
        matrix = jacobian(circuit, z, di, cross)
        if quick:
            past = (np.linalg.det(matrix) < 0) & _no_corner_below(here, lines)
            if slow:
                past &= ~damped
        dx = _step(matrix, base - x - _times(z, i))
        reach = _before_collapse(x[:, own], dx[:, own])
        first, beyond = _first_corner(here, lines, x[:, sourced], dx[:, sourced])
        x = x + np.minimum(reach, first)[:, None] * dx
        within = np.where(damped, 0.01 * tolerance, tolerance) if slow else tolerance
        scale = 1.0 + np.abs(x).max(axis=1, initial=0.0)
        finished = (reach >= 1.0) & (np.abs(dx).max(axis=1, initial=0.0) < within * scale)
        sunk = (x[:, own] > flown_v).any(axis=1)
        if slow:
            sunk &= ~damped
        sunk |= (sinks & (x[:, own] < SUNK_V)).any(axis=1)
        if beyond is not None:
            corner = first < reach
            finished &= ~corner
            lines = Lines(circuit, part, np.where(corner[:, None], beyond, lines.region))
            flips = flips + corner
        lost = bool(np.count_nonzero(sunk))
        if lost:
            finished &= ~sunk
        leaving = finished
        if quick:
            finished &= ~past
            leaving = finished | past | sunk
        elif lost:
            again = sunk & ~damped  # once more from the top, downhill only
            x[again] = high[again]
            region = lines.region
            region[again] = regions(Corners(here.high_v[again], here.low_v[again]), high[again][:, sourced])
            lines = Lines(circuit, part, region)
            flips[again] = MAX_FLIPS + 1
            leaving = finished | (sunk & ~again)
        gone = np.count_nonzero(leaving)
        if gone:
            v[left[leaving]] = x[leaving]
            done[left[finished]] = True
            if gone == len(left):
                break
            stay = np.flatnonzero(~leaving)
            left, part, base, high, x, flips = (
                left[stay], part.rows(stay), base[stay], high[stay], x[stay], flips[stay]
            )  # fmt: skip
            here, sinks, flown_v = Corners(here.high_v[stay], here.low_v[stay]), sinks[stay], flown_v[stay]
            lines = Lines(circuit, part, lines.region[stay])
            z = z if z.ndim == 2 else z[stay]
    else:
        v[left] = x
    if done.any():
        reached = np.flatnonzero(done)
        stable = _stable(circuit, reduced, drive, v, reached)
        done[reached] = stable
        astray = reached[~stable]
        if len(astray) and not downhill:  # between two points: the higher one is reached by going down to it
            v[astray], done[astray] = _newton(
                circuit, rows_of(reduced, astray), drive.rows(astray), open_v[astray], top[astray], downhill=True
            )
    return v, done


def _before_collapse(own_v: Floats, step_v: Floats) -> Floats:
    """Share of a step that leaves every load at least half its volts, (n,)."""
    fall = (own_v > 2 * FLOOR_V) & (own_v + step_v < own_v / 2)
    if not np.count_nonzero(fall):
        return np.ones(len(own_v))
    return np.asarray(np.where(fall, own_v / 2 / np.maximum(-step_v, 1e-30), 1.0).min(axis=1, initial=1.0))


def _first_corner(corners: Corners, lines: Lines, source_v: Floats, step_v: Floats) -> tuple[Floats, Ints | None]:
    """Share of a step at which the first source meets a corner (inf: none), and the regions behind it.

    All arrays (n, S), the first result (n,); None for the regions where no case meets any.
    """
    new = source_v + step_v
    up = lines.regulated & (new > corners.high_v)
    down = lines.regulated & (new < corners.low_v)
    back = lines.shut & (new < corners.high_v)
    lift = lines.limited & (new > corners.low_v)
    meets = up | down | back | lift
    if not np.count_nonzero(meets):
        return np.full(len(new), np.inf), None
    target = np.where(up | back, corners.high_v, corners.low_v)
    fraction = np.where(meets, (target - source_v) / np.where(step_v == 0, 1e-300, step_v), np.inf)
    fraction = np.maximum(fraction, 0.0)
    first = fraction.min(axis=1, initial=np.inf)
    hit = meets & (fraction <= first[:, None])
    region = np.where(hit & (back | lift), REGULATED, lines.region)
    return np.asarray(first), np.where(hit & up, SHUT, np.where(hit & down, LIMITED, region))


def _no_corner_below(corners: Corners, lines: Lines) -> np.ndarray:
    """Cases whose sources meet no further corner as the volts fall: past its fold such a case has no point, (n,)."""
    shut = lines.shut & np.isfinite(corners.high_v)
    regulated = lines.regulated & (corners.low_v > 0.0)
    return np.asarray(~(shut | regulated).any(axis=1))


def _stable(circuit: Circuit, reduced: Reduced, drive: Drive, v: Floats, index: Ints) -> np.ndarray:
    """Upper branch: every eigenvalue of I + Z dI/dV has a positive real part, and no powered load sits at nothing."""
    z = reduced.z_ohm if reduced.z_ohm.ndim == 2 else reduced.z_ohm[index]
    part = drive.rows(index)
    _, di, cross = currents(circuit, part, v[index], None)
    loads = len(circuit.load_a)
    fed = ~((part.load_w > 0) & (drive.sag_v <= 0) & (v[index, :loads] <= FLOOR_V)).any(axis=1)
    if not cross.shape[1] and _all_positive(z, di):
        return np.asarray(fed)
    values = np.linalg.eigvals(jacobian(circuit, z, di, cross))
    return np.asarray((values.real.min(axis=1, initial=1.0) > 0) & fed)


def _all_positive(z_ohm: Floats, di: Floats) -> bool:
    """True where I + Z D is proved to have positive eigenvalues in every case, without looking for them.

    Z is symmetric and positive definite and D diagonal, so the eigenvalues have the signs of those of Z + Z D Z, which
    has a Cholesky factor where they are all positive. False tells nothing.
    """
    try:
        np.linalg.cholesky(z_ohm + (z_ohm * di[:, None, :]) @ z_ohm)
        np.linalg.cholesky(z_ohm)
    except np.linalg.LinAlgError:
        return False
    return True


def solve(
    circuit: Circuit,
    drive: Drive,
    reduced: Reduced | None = None,
    start_v: Floats | None = None,
    *,
    quick: bool = False,
) -> Solution:
    """Operating point of every case.

    Parameters
    ----------
    circuit : Circuit
    drive : Drive
        n cases.
    reduced : Reduced, optional
        From :func:`~loomwright.power.circuit.reduce`, to use it again.
    start_v : (n, P) float, optional
        Port volts to start from, on the branch that is wanted; a row of NaN starts from the top.
    quick : bool
        Give up early: for a search that asks again close by.

    Returns
    -------
    Solution
        ``found`` False, and NaN, where there is no operating point.
    """
    with np.errstate(
        over="ignore", invalid="ignore", divide="ignore"
    ):  # a case that runs away is dropped, not warned of
        return _solve(circuit, drive, circuit.reduced if reduced is None else reduced, start_v, quick)


def _solve(circuit: Circuit, drive: Drive, reduced: Reduced, start_v: Floats | None, quick: bool) -> Solution:
    open_v = _open_volts(reduced, drive)
    n = drive.count
    found = np.zeros(n, dtype=bool)
    v, amps = np.empty_like(open_v), np.empty_like(open_v)
    left = np.arange(n)

    def full(rows: Ints) -> tuple[Floats, np.ndarray]:
        part = drive.rows(rows)
        if start_v is None:
            top = _start(circuit, part, open_v[rows])
        else:
            top, none = start_v[rows], np.isnan(start_v[rows, 0]) if start_v.shape[1] else np.zeros(0, dtype=bool)
            if none.any():
                top = np.where(none[:, None], _start(circuit, part, open_v[rows]), top)
        return _newton(circuit, rows_of(reduced, rows), part, open_v[rows], top, quick=quick)

    if reduced.z_ohm.ndim == 2:
        for _ in range(MAX_PILOTS):
            if len(left) < LEAST_BATCH:
                break
            middle = len(left) // 2
            pilot_v, ok = full(left[middle : middle + 1])
            if not ok[0]:
                break
            whole = len(left) == n
            part, base_v = (drive, open_v) if whole else (drive.rows(left), open_v[left])
            sub_v, sub_a, good = chord(circuit, reduced, part, base_v, pilot_v[0], middle)
            if whole:
                v, amps, found = sub_v, sub_a, good.copy()
            else:
                v[left[good]], amps[left[good]], found[left[good]] = sub_v[good], sub_a[good], True
            left = left[~good]
    if start_v is not None and not quick:
        v, amps, found = follow(circuit, reduced, drive, open_v, start_v)
        left = np.flatnonzero(~found)
    if len(left):
        v[left], found[left] = full(left)
        amps[left] = currents(circuit, drive.rows(left), v[left], None)[0]
    return _finish(reduced, drive, v, amps, found)


def _open_volts(reduced: Reduced, drive: Drive) -> Floats:
    if reduced.emf_to_port.ndim == 2:
        return np.asarray(drive.emf_v @ reduced.emf_to_port)
    return np.asarray((drive.emf_v[:, None, :] @ reduced.emf_to_port)[:, 0])


def rows_of(reduced: Reduced, index: Ints) -> Reduced:
    """The part of a reduced circuit that belongs to some of the cases; the same where all cases share it."""
    if reduced.z_ohm.ndim == 2:
        return reduced
    return Reduced(
        reduced.z_ohm[index], reduced.emf_to_port[index], reduced.emf_to_node[index], reduced.port_to_node[index]
    )


def _finish(reduced: Reduced, drive: Drive, v: Floats, i: Floats, found: np.ndarray) -> Solution:
    if reduced.port_to_node.ndim == 2:
        given = np.concatenate([drive.emf_v, i], axis=1)
        node_v = given @ np.concatenate([reduced.emf_to_node, -reduced.port_to_node])
    else:
        node_v = (drive.emf_v[:, None, :] @ reduced.emf_to_node - i[:, None, :] @ reduced.port_to_node)[:, 0]
    lost = ~found
    if lost.any():
        node_v[lost], v[lost], i[lost] = np.nan, np.nan, np.nan
    return Solution(node_v, v, i, found)


def branch_current(circuit: Circuit, solution: Solution) -> Floats:
    """Amperes through each branch from its a to its b, (n, B)."""
    drop = solution.node_v[:, circuit.branch_a] - solution.node_v[:, circuit.branch_b]
    return drop / circuit.branch_ohm


def emf_current(circuit: Circuit, drive: Drive, solution: Solution) -> Floats:
    """Amperes that each battery's linear part gives, positive out of its plus, (n, E)."""
    across = solution.node_v[:, circuit.emf_a] - solution.node_v[:, circuit.emf_b]
    return (drive.emf_v - across) / circuit.emf_ohm


def lost_port(circuit: Circuit, reduced: Reduced, drive: Drive, v: Floats, candidates: np.ndarray) -> Ints:
    """Which load port gives way first at a point close to the end of its branch, (n,).

    It is the largest entry, among ``candidates`` (L,) bool, of the vector in which the port matrix is weakest.
    """
    _, di, cross = currents(circuit, drive, v, None)
    values, vectors = np.linalg.eig(jacobian(circuit, reduced.z_ohm, di, cross))
    weakest = values.real.argmin(axis=1)
    shape = np.abs(np.take_along_axis(vectors, weakest[:, None, None], axis=2)[..., 0])[:, : len(circuit.load_a)]
    return np.asarray(np.where(candidates, shape, -1.0).argmax(axis=1))
