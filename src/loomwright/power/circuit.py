"""A circuit in numbers only: resistances, sources with resistance, and non-linear ports.

Knows nothing of rigs. :mod:`loomwright.power.network` makes one from a rig; tests make them at random.
Node 0 is the reference. A port has two nodes ``a`` and ``b``; its volts are ``v[a] - v[b]`` and its amperes
are positive from ``a`` through the device to ``b`` (a load draws positive, a source gives negative).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Places:
    """Where everything in a circuit lies, and what follows from that alone: shared by all circuits of one layout.

    ``ends`` are the node indexes of a Circuit, in the order of its fields: branches, batteries, loads, sources,
    converters, a before b.
    """

    nodes: int
    ends: tuple[Ints, ...]

    @cached_property
    def port_a(self) -> Ints:
        return np.concatenate(self.ends[4::2])

    @cached_property
    def port_b(self) -> Ints:
        return np.concatenate(self.ends[5::2])

    @cached_property
    def ports(self) -> Floats:
        """:func:`incidence` of the ports."""
        return incidence(self.nodes, self.port_a, self.port_b)

    @cached_property
    def emfs(self) -> Floats:
        """:func:`incidence` of the batteries."""
        return incidence(self.nodes, self.ends[2], self.ends[3])

    @cached_property
    def meets(self) -> Floats:
        """(N, B + P + E): +1 where a branch, a port or a battery's current leaves a node, -1 where it comes in."""
        out = np.concatenate([self.ends[0], self.port_a, self.ends[3]])
        back = np.concatenate([self.ends[1], self.port_b, self.ends[2]])
        found = np.zeros((self.nodes, len(out)))
        columns = np.arange(len(out))
        np.add.at(found, (out, columns), 1.0)
        np.add.at(found, (back, columns), -1.0)
        return found

    @cached_property
    def meets_size(self) -> Floats:
        """:attr:`meets` without its signs."""
        return np.abs(self.meets)

    @cached_property
    def summed(self) -> tuple[Ints, Floats, Ints, Ints]:
        """How the conductance matrix adds up: of which branch or battery (4 (B + E),), with which sign, where each sum
        begins, and to which place of the flat matrix it belongs.
        """
        a, b = (np.concatenate([self.ends[k], self.ends[k + 2]]) for k in (0, 1))
        count, n = len(a), self.nodes
        at = np.concatenate([a * n + a, b * n + b, a * n + b, b * n + a])
        order = np.argsort(at, kind="stable")
        places, begins = np.unique(at[order], return_index=True)
        signs = np.repeat([1.0, 1.0, -1.0, -1.0], count)[order]
        return order % max(count, 1), signs, begins, places


@dataclass(frozen=True)
class Circuit:
    """The fixed part of a circuit.

    Shapes: B branches, E sources with resistance (batteries), L load ports, S source ports (regulators, diodes),
    D converters. Load ports come first in every port array, then source ports, then converter inputs.

    Attributes
    ----------
    nodes : tuple of str
        Names; index 0 is the reference.
    branch_a, branch_b : (B,) int
        Ends of each resistance; amperes are positive from a to b.
    branch_ohm : (B,) or (n, B) float
        Resistance [ohm]; with a leading axis each case has its own.
    emf_a, emf_b : (E,) int; emf_ohm : (E,) or (n, E) float
        Plus and minus of each battery and its resistance [ohm].
    load_a, load_b : (L,) int
    source_a, source_b : (S,) int
    source_siemens : (S,) float
        Slope of each source's volts-amperes line [A/V].
    converter_a, converter_b : (D,) int
        Input terminals of each DC-DC converter.
    converter_output : (D,) int
        Which source port is its output.
    converter_efficiency : (D,) float
    """

    nodes: tuple[str, ...]
    branch_a: Ints
    branch_b: Ints
    branch_ohm: Floats
    emf_a: Ints
    emf_b: Ints
    emf_ohm: Floats
    load_a: Ints
    load_b: Ints
    source_a: Ints
    source_b: Ints
    source_siemens: Floats
    converter_a: Ints
    converter_b: Ints
    converter_output: Ints
    converter_efficiency: Floats
    places: Places = field(default=Places(0, ()), repr=False, compare=False)
    """Found by the circuit itself; a copy that changes no end keeps it."""

    def __post_init__(self) -> None:
        ends = (
            self.branch_a, self.branch_b, self.emf_a, self.emf_b, self.load_a, self.load_b, self.source_a,
            self.source_b, self.converter_a, self.converter_b,
        )  # fmt: skip
        known = self.places
        if known.nodes != len(self.nodes) or any(x is not y for x, y in zip(known.ends, ends, strict=False)):
            object.__setattr__(self, "places", Places(len(self.nodes), ends))

    @property
    def port_a(self) -> Ints:
        return self.places.port_a

    @property
    def port_b(self) -> Ints:
        return self.places.port_b

    @cached_property
    def reduced(self) -> Reduced:
        """The linear part, eliminated to the ports; see :func:`reduce`."""
        return reduce(self)

    @cached_property
    def inverse_ohm(self) -> Floats:
        """Volts of every node for an ampere into every node, the reference included, (N, N) [ohm]; for one case."""
        n = len(self.nodes)
        result = np.zeros((n, n))
        result[1:, 1:] = np.linalg.inv(conductance(self))
        return result

    def rows(self, index: Ints) -> Circuit:
        """The circuit of some of the cases; what all cases share stays shared."""
        return replace(
            self,
            branch_ohm=self.branch_ohm[index] if self.branch_ohm.ndim == 2 else self.branch_ohm,
            emf_ohm=self.emf_ohm[index] if self.emf_ohm.ndim == 2 else self.emf_ohm,
        )


@dataclass(frozen=True)
class Drive:
    """What the sources and loads do in each of n cases.

    A load draws ``load_a + load_siemens * v + load_w * phi(v)`` amperes, phi(v) = 1/v for a stiff supply (sag_v 0);
    below ``sag_v`` amperes and watts' current fall in proportion to the volts, so that the load is a resistance
    there. A source gives ``clip(source_siemens * (source_v - v), 0, source_limit_a)``.

    Shapes: emf_v (n, E); load_a, load_w, load_siemens (n, L); sag_v (L,); source_v, source_limit_a (n, S).
    """

    emf_v: Floats
    load_a: Floats
    load_w: Floats
    load_siemens: Floats
    sag_v: Floats
    source_v: Floats
    source_limit_a: Floats

    @property
    def count(self) -> int:
        return int(self.emf_v.shape[0])

    @cached_property
    def sags_below_v(self) -> Floats:
        """``sag_v``, and minus infinity where a load does not sag, (L,)."""
        return np.where(self.sag_v > 0, self.sag_v, -np.inf)

    @cached_property
    def sag_siemens(self) -> Floats:
        """Conductance of each load below its ``sag_v``, without ``load_siemens``, (n, L) [A/V]; meaningless where
        ``sag_v`` is 0.
        """
        sag = np.where(self.sag_v > 0, self.sag_v, 1.0)
        return np.asarray(self.load_a / sag + self.load_w / sag**2)

    def scaled(self, factor: Floats) -> Drive:
        """The same with every load's watts multiplied per case; ``factor`` is (n,) or (n, L)."""
        f = factor if factor.ndim == 2 else factor[:, None]
        return Drive(
            self.emf_v,
            self.load_a,
            self.load_w * f,
            self.load_siemens,
            self.sag_v,
            self.source_v,
            self.source_limit_a,
        )

    def rows(self, index: Ints | slice) -> Drive:
        """Some of the cases."""
        return Drive(
            self.emf_v[index],
            self.load_a[index],
            self.load_w[index],
            self.load_siemens[index],
            self.sag_v,
            self.source_v[index],
            self.source_limit_a[index],
        )


FLOOR_V = 0.5
"""Below this a constant-power draw is continued as a straight line [V]: no solution of interest lies there."""


def load_current(drive: Drive, v: Floats) -> tuple[Floats, Floats]:
    """Amperes of the load ports and their slope dI/dV.

    v : (n, L) port volts. Returns two (n, L) arrays [A], [A/V].
    """
    low = v < FLOOR_V
    if np.count_nonzero(low):
        inverse = 1.0 / np.maximum(v, FLOOR_V)
        phi = np.where(low, inverse - (v - FLOOR_V) * inverse**2, inverse)
    else:
        inverse = phi = 1.0 / v
    live = drive.load_a + drive.load_w * phi + drive.load_siemens * v
    own = drive.load_w * (-inverse * inverse) + drive.load_siemens
    sagging = v < drive.sags_below_v
    if np.count_nonzero(sagging):
        siemens = drive.sag_siemens + drive.load_siemens
        live = np.where(sagging, siemens * v, live)
        own = np.where(sagging, siemens, own)
    return live, own


@dataclass(frozen=True)
class Reduced:
    """The linear part, eliminated to the ports.

    ``open_v = emf_v @ emf_to_port`` are the port volts with no port current; ``z_ohm`` is the port matrix, so
    ``v = open_v - i @ z_ohm.T``. ``emf_to_node`` and ``port_to_node`` give back every node:
    ``node_v = emf_v @ emf_to_node - i @ port_to_node``.

    Shapes: z_ohm (P, P), emf_to_port (E, P), emf_to_node (E, N), port_to_node (P, N); all with a leading case
    axis where the circuit's resistances have one.
    """

    z_ohm: Floats
    emf_to_port: Floats
    emf_to_node: Floats
    port_to_node: Floats


def conductance(circuit: Circuit, ties: Ties | None = None) -> Floats:
    """Node conductance matrix without the reference row, (..., N-1, N-1) [S]; with ``ties``, one for each case."""
    n = len(circuit.nodes)
    ohm, emf_ohm = circuit.branch_ohm, circuit.emf_ohm
    lead = np.broadcast_shapes(ohm.shape[:-1], emf_ohm.shape[:-1], () if ties is None else ties.a.shape[:1])
    siemens = np.empty((*lead, ohm.shape[-1] + emf_ohm.shape[-1]))
    siemens[..., : ohm.shape[-1]] = 1.0 / ohm
    siemens[..., ohm.shape[-1] :] = 1.0 / emf_ohm
    # each branch adds to four places of the matrix: as one product with the branches' places
    of, signs, begins, at = circuit.places.summed
    g = np.zeros((*lead, n * n))
    if len(of):
        g[..., at] = np.add.reduceat(siemens[..., of] * signs, begins, axis=-1)
    g = g.reshape(*lead, n, n)
    if ties is not None:
        ties.added_to(g)
    return g[..., 1:, 1:]


def incidence(n: int, a: Ints, b: Ints) -> Floats:
    """(n-1, ports): +1 at a, -1 at b, without the reference row."""
    m = np.zeros((n, len(a)))
    columns = np.arange(len(a))
    np.add.at(m, (a, columns), 1.0)
    np.add.at(m, (b, columns), -1.0)
    return np.asarray(m[1:])


@dataclass(frozen=True)
class Ties:
    """Resistances that are in some cases and not in others, such as faults: K in each case, between nodes of its own.

    Shapes: a, b (n, K) node indexes; siemens (n, K) [S], 0 where a case has fewer.
    """

    a: Ints
    b: Ints
    siemens: Floats

    def rows(self, index: Ints) -> Ties:
        """The ties of some of the cases."""
        return Ties(self.a[index], self.b[index], self.siemens[index])

    def added_to(self, g: Floats) -> Floats:
        """A node conductance matrix with its reference row, (n, N, N), with the ties in it [S]."""
        rows = np.arange(len(self.a))
        for k in range(self.a.shape[1]):
            a, b, s = self.a[:, k], self.b[:, k], self.siemens[:, k]
            g[rows, a, a] += s
            g[rows, b, b] += s
            g[rows, a, b] -= s
            g[rows, b, a] -= s
        return g

    def leaving_a(self, node_v: Floats) -> tuple[Floats, Floats]:
        """Amperes that leave each node through the ties (n, N), and the watts that they heat with (n,)."""
        rows = np.arange(len(self.a))
        amps, watts = np.zeros_like(node_v), np.zeros(len(self.a))
        for k in range(self.a.shape[1]):
            a, b = self.a[:, k], self.b[:, k]
            across = node_v[rows, a] - node_v[rows, b]
            through = self.siemens[:, k] * across
            amps[rows, a] += through
            amps[rows, b] -= through
            watts += through * across
        return amps, watts


def reduce(circuit: Circuit, ties: Ties | None = None) -> Reduced:
    """Eliminate the linear part once; with ``ties``, once for each of their cases.

    Raises
    ------
    numpy.linalg.LinAlgError
        Where a node has no resistive way to the reference; the builder of the circuit prevents that.
    """
    g = conductance(circuit, ties)
    ports = circuit.places.ports
    inject = circuit.places.emfs / circuit.emf_ohm[..., None, :]
    lead = np.broadcast_shapes(g.shape[:-2], inject.shape[:-2])
    right = np.concatenate(
        [np.broadcast_to(ports, (*lead, *ports.shape)), np.broadcast_to(inject, (*lead, *inject.shape[-2:]))], axis=-1
    )
    solved = np.linalg.solve(np.broadcast_to(g, (*lead, *g.shape[-2:])), right)
    zero = np.zeros((*lead, 1, solved.shape[-1]))
    spread = np.swapaxes(np.concatenate([zero, solved], axis=-2), -1, -2)
    return reduced_from(circuit, spread)


def reduced_from(circuit: Circuit, spread: Floats) -> Reduced:
    """The reduced circuit from what one ampere through each port, then each battery's EMF, does to the nodes.

    spread : (..., P + E, N) float [ohm], and [V/V] for the EMFs.
    """
    count = len(circuit.load_a) + len(circuit.source_a) + len(circuit.converter_a)
    port_to_node, emf_to_node = spread[..., :count, :], spread[..., count:, :]
    a, b = circuit.port_a, circuit.port_b
    return Reduced(
        z_ohm=np.swapaxes(port_to_node[..., a] - port_to_node[..., b], -1, -2),
        emf_to_port=emf_to_node[..., a] - emf_to_node[..., b],
        emf_to_node=np.ascontiguousarray(emf_to_node),
        port_to_node=np.ascontiguousarray(port_to_node),
    )


class Batteries:
    """A reduced circuit whose batteries change their resistance again and again, without eliminating it again.

    Each battery's conductance changes by a rank-one term, so the inverse changes by the Sherman-Morrison-Woodbury
    formula.
    """

    def __init__(self, circuit: Circuit, reduced: Reduced) -> None:
        """``reduced`` is ``circuit``, with or without a leading case axis."""
        c, ports = circuit, reduced.port_to_node
        self._circuit, self._reduced = circuit, reduced
        # node volts for one ampere through each battery (.., E, N), and across each battery for one through each
        # battery (.., E, E) and each port (.., E, P)
        self._unit = reduced.emf_to_node * c.emf_ohm[..., :, None]
        self._own = np.swapaxes(self._unit[..., c.emf_a] - self._unit[..., c.emf_b], -1, -2)
        self._across = np.swapaxes(ports[..., c.emf_a] - ports[..., c.emf_b], -1, -2)
        self._eye = np.eye(self._own.shape[-1])

    def of_ohm(self, emf_ohm: Floats) -> Reduced:
        """The circuit with batteries of these resistances, (n, E) [ohm]."""
        c, reduced, unit = self._circuit, self._reduced, self._unit
        change = (1.0 / emf_ohm - 1.0 / c.emf_ohm)[..., :, None]
        small = self._eye + change * self._own
        unit_t = np.swapaxes(unit, -1, -2)
        new_port = reduced.port_to_node - np.swapaxes(unit_t @ np.linalg.solve(small, change * self._across), -1, -2)
        new_unit = unit - np.swapaxes(unit_t @ np.linalg.solve(small, change * self._own), -1, -2)
        emf_to_node = new_unit / emf_ohm[..., :, None]
        a, b = c.port_a, c.port_b
        return Reduced(
            z_ohm=np.swapaxes(new_port[..., a] - new_port[..., b], -1, -2),
            emf_to_port=emf_to_node[..., a] - emf_to_node[..., b],
            emf_to_node=emf_to_node,
            port_to_node=new_port,
        )
