"""Many cases with one shared matrix: the chord method, with proof that each answer lies on the pilot case's branch.

Where the shared matrix is a contraction at an answer, no fold lies between that answer and the case that the matrix
came from.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from loomwright.power.circuit import FLOOR_V, Circuit, Drive, Floats, Reduced
from loomwright.power.ports import currents, jacobian

CHORD_STEPS = 14
BLIND_STEPS = 5
"""Chord steps before it is worth asking whether they have become small."""
CHORD_TOLERANCE_V = 1e-10
"""Largest step that a chord solution may still want to make [V]."""
BLOCK = 2048
FOLLOWED = 8
"""Steps from a point nearby before the full method does better."""
STRAYED_V = 2.0
"""A step this large leads away from the point that was to be followed [V]."""


def chord(
    circuit: Circuit, reduced: Reduced, drive: Drive, open_v: Floats, pilot_v: Floats, pilot: int
) -> tuple[Floats, Floats, np.ndarray]:
    """Every case with the pilot case's matrix. Returns port volts, port amperes, and where both are proved."""
    one = drive.rows(slice(pilot, pilot + 1))
    _, di0, cross0 = currents(circuit, one, pilot_v[None], None)
    j0 = jacobian(circuit, reduced.z_ohm, di0, cross0)[0]
    inverse = np.linalg.inv(j0)
    n, ports = open_v.shape
    result, amperes = np.empty_like(open_v), np.empty_like(open_v)
    good = np.empty(n, dtype=bool)
    inverse_t = np.ascontiguousarray(inverse.T)
    gain = np.abs(inverse @ reduced.z_ohm)
    # new v = v - inverse (v - open_v + Z i), as one product of the rows [v, i]
    step = np.concatenate([np.eye(ports) - inverse_t, -(inverse @ reduced.z_ohm).T])
    kind = Kind(drive)
    for start in range(0, n, BLOCK):
        rows = slice(start, min(start + BLOCK, n))
        part = drive.rows(rows)
        base = open_v[rows] @ inverse_t
        both = np.empty((rows.stop - rows.start, 2 * ports))
        v, i = both[:, :ports], both[:, ports:]
        v[:] = pilot_v
        size, change = 0.1, both
        for round_ in range(CHORD_STEPS):
            amperes_of(circuit, part, kind, v, i)
            new = both @ step
            new += base
            if round_ >= BLIND_STEPS:
                change = np.abs(new - v)
                size = change.max(initial=0.0)
            v[:] = new
            if size < CHORD_TOLERANCE_V or not size < 1e3:
                break
        amperes_of(circuit, part, kind, v, i)
        result[rows], amperes[rows] = v, i
        good[rows] = change.max(axis=1, initial=0.0) < CHORD_TOLERANCE_V
        if not all_contract(circuit, part, kind, new, di0, gain):
            _, di, cross = currents(circuit, part, v, None)
            drift = np.abs(di - di0) @ gain.T
            loads, sources = len(circuit.load_a), len(circuit.source_a)
            for d in range(len(circuit.converter_output)):
                drift += np.abs(cross[:, d] - cross0[:, d])[:, None] * gain[:, loads + sources + d]
            good[rows] &= drift.max(axis=1, initial=0.0) < 1.0
    return result, amperes, good


def follow(
    circuit: Circuit, reduced: Reduced, drive: Drive, open_v: Floats, start_v: Floats
) -> tuple[Floats, Floats, np.ndarray]:
    """Every case with its own matrix, taken at a point of its own nearby. Returns as :func:`chord`.

    start_v : (n, P) float, answers of like cases; where they are not near enough, a case comes back unproved.
    """
    _, di0, cross0 = currents(circuit, drive, start_v, None)
    inverse = np.linalg.inv(jacobian(circuit, reduced.z_ohm, di0, cross0))
    onward = inverse @ reduced.z_ohm
    base = (inverse @ open_v[..., None])[..., 0]
    whole = np.concatenate([inverse, onward], axis=-1)
    kind = Kind(drive)
    n, ports = open_v.shape
    both = np.empty((n, 2 * ports))
    v, i = both[:, :ports], both[:, ports:]
    v[:] = start_v
    change = np.full((n, ports), np.inf)
    for _ in range(FOLLOWED):
        amperes_of(circuit, drive, kind, v, i)
        change = base - (whole @ both[..., None])[..., 0]
        v += change
        size = np.abs(change).max(initial=0.0)
        if size < CHORD_TOLERANCE_V or not size < STRAYED_V:
            break
    amps, di, cross = currents(circuit, drive, v, None)
    good = np.abs(change).max(axis=1, initial=0.0) < CHORD_TOLERANCE_V
    if good.any():
        gain = np.abs(onward)
        drift = (gain @ np.abs(di - di0)[..., None])[..., 0]
        loads, sources = len(circuit.load_a), len(circuit.source_a)
        for d in range(len(circuit.converter_output)):
            drift += np.abs(cross[:, d] - cross0[:, d])[:, None] * gain[:, :, loads + sources + d]
        good &= drift.max(axis=1, initial=0.0) < 1.0
    return v.copy(), amps, good


class Kind:
    """What the loads and sources of all cases have in common, found once: truths, and extremes (L,)."""

    def __init__(self, drive: Drive) -> None:
        self._drive = drive
        self.resistive = bool(drive.load_siemens.any())
        self.sagging = bool((drive.sag_v > 0).any())
        self.sourced = bool((drive.source_limit_a > 0).any())

    @cached_property
    def watts_w(self) -> tuple[Floats, Floats]:
        """Most and least watts of each load."""
        return self._drive.load_w.max(axis=0, initial=0.0), self._drive.load_w.min(axis=0, initial=0.0)

    @cached_property
    def siemens(self) -> tuple[Floats, Floats]:
        """Most and least conductance of each load."""
        of = self._drive.load_siemens
        if not self.resistive:
            return np.zeros(of.shape[1]), np.zeros(of.shape[1])
        return of.max(axis=0), of.min(axis=0)


def all_contract(circuit: Circuit, part: Drive, kind: Kind, v: Floats, di0: Floats, gain: Floats) -> bool:
    """Whether the shared matrix is a contraction for every case of a block, judged by the extremes of the block.

    Cheap and on the safe side: where it says no, each case is looked at by itself.
    """
    if len(circuit.converter_output) or kind.sagging:
        return False
    loads, sources = len(circuit.load_a), len(circuit.source_a)
    low, high = float(v.min(initial=np.inf)), float(v.max(initial=0.0))
    if low <= FLOOR_V:
        return False
    own = di0[0, :loads]
    (most_w, least_w), (most, least) = kind.watts_w, kind.siemens
    steep = most - least_w / high**2
    flat = least - most_w / low**2
    apart = np.zeros(gain.shape[1])
    apart[:loads] = np.maximum(np.abs(steep - own), np.abs(flat - own))
    if kind.sourced:
        line = circuit.source_siemens * (part.source_v - v[:, loads : loads + sources])
        regulated = (line > 0) & (line < part.source_limit_a)
        same = np.where(regulated, circuit.source_siemens, 0.0) == di0[0, loads : loads + sources]
        apart[loads : loads + sources] = np.where(same.all(axis=0), 0.0, circuit.source_siemens)
    return bool((gain @ apart < 1.0).all())


def amperes_of(circuit: Circuit, drive: Drive, kind: Kind, v: Floats, out: Floats) -> None:
    """Port amperes alone, for ports that are all well above :data:`FLOOR_V`: the chord method's inner loop."""
    loads, sources = len(circuit.load_a), len(circuit.source_a)
    own, amps = v[:, :loads], out[:, :loads]
    np.divide(drive.load_w, own, out=amps)
    amps += drive.load_a
    if kind.sagging:
        np.copyto(amps, drive.sag_siemens * own, where=own < drive.sag_v)
    if kind.resistive:
        amps += drive.load_siemens * own
    if not kind.sourced:
        out[:, loads:] = 0.0
        return
    vs, given = v[:, loads : loads + sources], out[:, loads : loads + sources]
    np.subtract(vs, drive.source_v, out=given)
    given *= circuit.source_siemens
    np.maximum(given, -drive.source_limit_a, out=given)
    np.minimum(given, 0.0, out=given)
    converters = circuit.converter_output
    if len(converters):
        watts = -vs[:, converters] * given[:, converters]
        out[:, loads + sources :] = watts / (circuit.converter_efficiency * v[:, loads + sources :])
