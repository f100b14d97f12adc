"""Operating points of a whole lot of like circuits at once: one network whose resistances differ a little from draw to
draw.

The batteries are taken out of the linear part and count as ports, so what is left is a tree in nearly every rig. In a
tree each entry of the port matrix is a sum of resistances; so the matrix of a draw is that of the book values plus, for
each branch, its change times what one ampere through two of the ports drives through it. That is exact for a tree and
of first order around a mesh; :mod:`loomwright.advice.chances` holds a sample against the full solver and states the
error. Newton's method then runs on the ports of thousands of draws together.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, replace

import numpy as np

from loomwright.power.circuit import Circuit, Drive, Floats, reduce
from loomwright.power.network import Network

BLEED_OHM = 1e3
"""In place of each battery in the linear part: nothing beside its port [ohm]."""
STEPS = 20
STEPS_DOWN = 300
MOST_CORNERS = 4
"""A draw that meets more corners than this goes to and fro over one: its point lies elsewhere."""
HAIR_V = 1e-9
ABOVE_V = 0.01
GIVING_V = 0.02
TOLERANCE_V = 1e-4
"""A last step of Newton's method no larger leaves an error of its square; downhill it must be smaller [V]."""
TOLERANCE_DOWN_V = 1e-8
BLOCK = 2048
LEAST_V = 2.0
"""A load that is asked for watts has lost its operating point before its volts are this low."""


@dataclass(frozen=True)
class Lot:
    """What the draws have in common: the port matrix of the book values (P, P), and for each branch what one ampere
    through a port drives through it, (B, P).
    """

    network: Network
    circuit: Circuit
    z_ohm: Floats
    share: Floats


@dataclass(frozen=True)
class Batteries:
    """Each battery of each draw, all (n, E): EMF [V], ohms when it takes, and siemens more when it gives."""

    emf_v: Floats
    charge_ohm: Floats
    boost_siemens: Floats


def lot_of(network: Network, ohm: Floats) -> Lot:
    """The lot of a network with each branch at its usual resistance; ohm (B,)."""
    circuit = replace(network.circuit, branch_ohm=ohm, emf_ohm=np.full(len(network.batteries), BLEED_OHM))
    reduced = reduce(circuit)
    across = reduced.port_to_node[:, circuit.branch_a] - reduced.port_to_node[:, circuit.branch_b]
    return Lot(network, circuit, reduced.z_ohm, (across / ohm).T)


def matrices(lot: Lot, branches: np.ndarray, change_ohm: Floats) -> Floats:
    """Port matrix of every draw, (P, P, n), from the change of some branches, change_ohm (branches, n) [ohm]."""
    share = lot.share[branches]
    ports = share.shape[1]
    upper = np.triu_indices(ports)
    pairs = (share[:, upper[0]] * share[:, upper[1]]).T  # (pairs, branches)
    made = pairs @ change_ohm
    made += lot.z_ohm[upper][:, None]
    z = np.empty((ports, ports, change_ohm.shape[1]))
    z[upper] = made
    z[upper[1], upper[0]] = made
    return z


def solve_lot(
    lot: Lot, z_ohm: Floats, work: Drive, batteries: Batteries, book: Drive, start_v: Floats
) -> tuple[Floats, Floats]:
    """Port volts and amperes of every draw, both (P, n); NaN where a draw has no operating point.

    Parameters
    ----------
    z_ohm : (P, P, n)
    work : Drive
        One case for all draws, or one for each.
    batteries : Batteries
    book : Drive
        The one case of the book values.
    start_v : (P,)
        Its port volts.
    """
    n = z_ohm.shape[2]
    v, i = np.full((len(z_ohm), n), np.nan), np.full((len(z_ohm), n), np.nan)
    attempts = (_regulated, _on_battery, _from_above) if _regulates(lot, book, start_v) else _LOWER
    for begin in range(0, n, BLOCK):
        rows = slice(begin, min(begin + BLOCK, n))
        part = work if work.count == 1 else work.rows(rows)
        own = Batteries(batteries.emf_v[rows], batteries.charge_ohm[rows], batteries.boost_siemens[rows])
        ports, z = _Ports(lot, part, own), z_ohm[:, :, rows]
        left = np.arange(rows.stop - rows.start)
        for attempt in attempts:
            some = ports if len(left) == z.shape[2] else ports.rows(left)
            start = attempt(lot, some, start_v, len(left))
            found_v, found_i = _newton(some, z[:, :, left], start, downhill=attempt is _from_above)
            good = np.isfinite(found_v[0]) if len(found_v) else np.ones(len(left), dtype=bool)
            v[:, begin + left[good]], i[:, begin + left[good]] = found_v[:, good], found_i[:, good]
            left = left[~good]
            if not len(left):
                break
    return v, i


def _shifted(lot: Lot, start_v: Floats, by: Floats) -> Floats:
    """Volts to start from, all those that are live moved together; by (n,)."""
    live = start_v > LEAST_V
    return np.asarray(np.where(live[:, None], start_v[:, None] + by, start_v[:, None]))


def _regulates(lot: Lot, book: Drive, start_v: Floats) -> bool:
    """Whether a charging source holds its volts at the book values."""
    loads, siemens = len(lot.network.loads), lot.circuit.source_siemens
    return any(
        port.role == "charger"
        and 0.0 < siemens[k] * (book.source_v[0, k] - start_v[loads + k]) < book.source_limit_a[0, k]
        for k, port in enumerate(lot.network.sources)
    )


def _as_it_is(lot: Lot, ports: _Ports, start_v: Floats, count: int) -> Floats:
    """As the book values stand."""
    return _shifted(lot, start_v, np.zeros(count))


def _regulated(lot: Lot, ports: _Ports, start_v: Floats, count: int) -> Floats:
    """The charging source in the middle of its line, as it is drawn; everything else moved with it."""
    loads = len(lot.network.loads)
    for k, port in enumerate(lot.network.sources):
        if port.role == "charger" and float(ports.limit_a[k].max()) > 0.0:
            middle = ports.source_v[k] - 0.5 * ports.limit_a[k] / ports.siemens[k]
            return _shifted(lot, start_v, np.broadcast_to(middle - start_v[loads + k], (count,)))
    return _shifted(lot, start_v, np.zeros(count))


def _on_battery(lot: Lot, ports: _Ports, start_v: Floats, count: int) -> Floats:
    """The charging source at its limit and the batteries just giving: the next point below that of a regulator."""
    loads = len(lot.network.loads)
    if not ports.at:
        return _shifted(lot, start_v, np.zeros(count))
    chargers = [start_v[loads + k] for k, p in enumerate(lot.network.sources) if p.role == "charger"]
    beside = min(ports.at, key=lambda k: min((abs(float(start_v[loads + k] - c)) for c in chargers), default=0.0))
    emf = ports.emf_v[ports.at.index(beside)]
    start = _shifted(lot, start_v, emf - GIVING_V - start_v[loads + beside])
    for row, k in enumerate(ports.at):
        start[loads + k] = np.minimum(start[loads + k], ports.emf_v[row] - GIVING_V)
    return start


def _from_above(lot: Lot, ports: _Ports, start_v: Floats, count: int) -> Floats:
    """Above every regulator: the highest point is reached by going down to it."""
    loads = len(lot.network.loads)
    chargers = [k for k, p in enumerate(lot.network.sources) if p.role in ("charger", "dcdc")]
    rise = np.zeros(count)
    for k in chargers:
        rise = np.maximum(rise, ports.source_v[k] - start_v[loads + k])
    return _shifted(lot, start_v, rise + ABOVE_V)


_LOWER = (_as_it_is, _regulated, _on_battery, _from_above)


class _Ports:
    """What the ports of a block of draws draw at given volts: (P, k) arrays."""

    def __init__(self, lot: Lot, work: Drive, batteries: Batteries) -> None:
        network, circuit = lot.network, lot.circuit
        self.loads, self.sources = len(network.loads), len(network.sources)
        self.circuit = circuit
        self.load_a, self.load_w = work.load_a.T, work.load_w.T
        self.load_siemens, self.sag_v = work.load_siemens.T, work.sag_v[:, None]
        self.sags = bool((work.sag_v > 0).any())
        sag = np.where(self.sag_v > 0, self.sag_v, 1.0)
        self.low_siemens = self.load_a / sag + self.load_w / sag**2 + self.load_siemens
        self.source_v, self.limit_a = work.source_v.T, work.source_limit_a.T
        self.siemens = circuit.source_siemens[:, None]
        self.at = [k for k, p in enumerate(network.sources) if p.role == "battery"]
        order = [network.batteries.index(network.sources[k].item) for k in self.at]
        self.emf_v = batteries.emf_v.T[order]
        self.charge_siemens, self.boost = 1.0 / batteries.charge_ohm.T[order], batteries.boost_siemens.T[order]
        self.asked = work.load_w.max(axis=0)[:, None] > 0

    def rows(self, some: np.ndarray) -> _Ports:
        """The ports of some of the draws."""
        part = copy(self)
        for name in ("load_a", "load_w", "load_siemens", "low_siemens", "source_v", "limit_a"):
            values = getattr(self, name)
            setattr(part, name, values[:, some] if values.shape[1] > 1 else values)
        for name in ("emf_v", "charge_siemens", "boost"):
            setattr(part, name, getattr(self, name)[:, some])
        return part

    def to_corner(self, v: Floats, dv: Floats) -> Floats:
        """Share of a step at which the first source changes from one of its lines to the next, a hair more; else 1."""
        vs, move = (x[self.loads : self.loads + self.sources] for x in (v, dv))
        share = np.ones(v.shape[1])
        for corner in self._corners(v.shape[1]):
            fraction = (corner - vs) / move
            meets = (fraction > 0.0) & (fraction < 1.0)
            fraction = np.where(meets, fraction + HAIR_V / np.abs(move), 1.0)
            share = np.minimum(share, fraction.min(axis=0, initial=1.0))
        return np.asarray(share)

    def _corners(self, count: int) -> tuple[Floats, Floats]:
        dead = self.limit_a <= 0.0
        high = np.broadcast_to(np.where(dead, np.inf, self.source_v), (self.sources, count)).copy()
        low = np.broadcast_to(np.where(dead, np.inf, self.source_v - self.limit_a / self.siemens), high.shape).copy()
        if self.at:
            high[self.at], low[self.at] = self.emf_v, np.inf
        return high, low

    def draw(self, v: Floats) -> tuple[Floats, Floats, Floats]:
        """Amperes, their own slopes, and for converters the slope of the input against the output's volts (D, k)."""
        i, di = np.zeros_like(v), np.zeros_like(v)
        own = np.maximum(v[: self.loads], 0.5)
        i[: self.loads] = self.load_a + self.load_w / own + self.load_siemens * own
        di[: self.loads] = self.load_siemens - self.load_w / own**2
        if self.sags:
            low = (self.sag_v > 0) & (own < self.sag_v)
            i[: self.loads] = np.where(low, self.low_siemens * own, i[: self.loads])
            di[: self.loads] = np.where(low, self.low_siemens, di[: self.loads])
        vs = v[self.loads : self.loads + self.sources]
        line = self.siemens * (self.source_v - vs)
        given = np.clip(line, 0.0, self.limit_a)
        slope = np.where((line > 0) & (line < self.limit_a), self.siemens, 0.0)
        if self.at:
            rise = self.emf_v - vs[self.at]
            given[self.at] = rise * (self.charge_siemens + np.where(rise > 0, self.boost, 0.0))
            slope[self.at] = self.charge_siemens + np.where(rise > 0, self.boost, 0.0)
        i[self.loads : self.loads + self.sources], di[self.loads : self.loads + self.sources] = -given, slope
        out = self.circuit.converter_output
        v_in = np.maximum(v[self.loads + self.sources :], 0.5)
        efficiency = self.circuit.converter_efficiency[:, None]
        watts = vs[out] * given[out] / efficiency
        i[self.loads + self.sources :] = watts / v_in
        di[self.loads + self.sources :] = -watts / v_in**2
        return i, di, (given[out] - vs[out] * slope[out]) / (efficiency * v_in)


def _newton(ports: _Ports, z: Floats, v: Floats, *, downhill: bool) -> tuple[Floats, Floats]:
    """Newton's method on every draw of a block; NaN where it finds no stable point. A step ends just behind the first
    corner of a source that it meets. Downhill: negative slopes left out, slower, but always towards the highest point.
    """
    done_v, done_i = np.full_like(v, np.nan), np.full_like(v, np.nan)
    left, met = np.arange(v.shape[1]), np.zeros(v.shape[1], dtype=int)
    at, tolerance = np.arange(len(z)), TOLERANCE_DOWN_V if downhill else TOLERANCE_V
    with np.errstate(all="ignore"):
        for _ in range(STEPS_DOWN if downhill else STEPS):
            i, di, cross = ports.draw(v)
            if downhill:
                di, cross = np.maximum(di, 0.0), 0.0 * cross
            right = -v - np.einsum("pqn,qn->pn", z, i)
            matrix = z * di[None]
            for d, out in enumerate(ports.circuit.converter_output):
                matrix[:, ports.loads + out] += z[:, ports.loads + ports.sources + d] * cross[d]
            matrix[at, at] += 1.0
            dv, upper = _eliminated(matrix, right)
            share = ports.to_corner(v, dv)
            v = v + share * dv
            met = met + (share < 1.0)
            done = (np.abs(dv).max(axis=0, initial=0.0) < tolerance) & (share >= 1.0)
            gone = ~np.isfinite(v).all(axis=0) | (ports.asked & (v[: ports.loads] < LEAST_V)).any(axis=0)
            if not downhill:
                gone |= (met > MOST_CORNERS) | (done & ~upper)
                done &= upper
            if not (done | gone).any():
                continue
            done_v[:, left[done]], done_i[:, left[done]] = v[:, done], ports.draw(v)[0][:, done]
            on = ~(done | gone)
            if not on.any():
                break
            left, met, v, z, ports = left[on], met[on], v[:, on], z[:, :, on], ports.rows(on)
    return done_v, done_i


def _eliminated(matrix: Floats, right: Floats) -> tuple[Floats, np.ndarray]:
    """Solve every draw's small system by elimination without exchange; and whether its determinant is positive, as it
    is on the branch that is wanted. matrix (P, P, k), right (P, k); both are used up.
    """
    count = len(matrix)
    upper = np.ones(right.shape[1], dtype=bool)
    for p in range(count):
        upper ^= matrix[p, p] < 0.0
        factor = matrix[p + 1 :, p] / matrix[p, p]
        matrix[p + 1 :, p + 1 :] -= factor[:, None] * matrix[p, p + 1 :][None]
        right[p + 1 :] -= factor * right[p]
    for p in reversed(range(count)):
        right[p] -= (matrix[p, p + 1 :] * right[p + 1 :]).sum(axis=0)
        right[p] /= matrix[p, p]
    return right, upper
