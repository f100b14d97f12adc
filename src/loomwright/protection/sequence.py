"""Follow faults to their end: solve, let the first device open, solve again, until nothing more opens."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from loomwright.facts import adiabatic
from loomwright.power.circuit import Floats
from loomwright.power.heat import WireHeat, cautious_c
from loomwright.power.network import OPEN_OHM
from loomwright.protection.curves import Bands, CurveSet
from loomwright.protection.damage import Store, after_c, store
from loomwright.protection.results import Device, Opening
from loomwright.protection.states import Currents, States, solve_states

MAX_STAGES = 8
ALIKE_C = 1e-6
"""Wires that are this alike are as hot as each other."""
ADDED = 0.2
"""Share by which a fault must add to the rise of a wire that was past its rating before: less is not its doing."""
FOR_EVER_S = 6 * 3600.0
"""Where nothing opens, or a device may hold for ever, heat is judged after six hours and without end."""


@dataclass
class Trace:
    """What happened in one state. Filled while it is followed, read by the judge, never kept."""

    openings: list[Opening] = field(default_factory=list)
    fault_a: float = 0.0
    hottest: tuple[str, float, float, float] | None = None  # wire, worst C, best C, limit C
    margin_c: float = -np.inf  # worst of (worst C - limit C) so far
    lasting: tuple[str, float, float] | None = None  # wire past its rating in the end: C, limit
    lasting_margin_c: float = -np.inf
    typical_only: bool = False
    grey: str | None = None  # device that may hold for ever
    lowest_v: Floats | None = None  # (L,) port volts, least over the stages that end


@dataclass(frozen=True)
class Followed:
    """All traces, with the last solution of each state: node volts (S, N), branch amperes (S, B), first port volts."""

    traces: tuple[Trace, ...]
    node_v: Floats
    port_v: Floats
    branch_a: Floats
    first_branch_a: Floats
    fault_a: Floats
    found: np.ndarray


def follow(states: States, devices: Sequence[Device], wires: WireHeat, before_c: Floats) -> Followed:
    """Run every state to its end.

    Parameters
    ----------
    before_c : (W,) float
        Wire temperatures when the fault begins.
    """
    network = states.network
    count = len(states.ohm)
    curve = CurveSet(devices)
    device_branch = np.array([network.branch_index[f"fuse:{d.id}"] for d in devices], dtype=np.intp)
    wire_branch = np.array([network.branch_index[f"wire:{w}"] for w in wires.ids], dtype=np.intp)
    kept = store(wires)
    traces = tuple(Trace() for _ in range(count))
    spent = np.zeros((count, len(devices)))
    elapsed = np.zeros((3, count))  # at the quickest, typically, at the slowest
    worst, best = (
        np.broadcast_to(before_c, (count, len(wires.ids))).copy(),
        np.broadcast_to(before_c, (count, len(wires.ids))).copy(),
    )
    node_v = np.zeros((count, len(network.nodes)))
    port_v = np.zeros((count, len(network.loads)))
    branch_a = np.zeros((count, len(network.branches)))
    first_a = np.zeros_like(branch_a)
    fault_a, found = np.zeros(count), np.zeros(count, dtype=bool)
    left = np.arange(count)
    for stage in range(MAX_STAGES):
        now = solve_states(states.rows(left))
        wire_a = np.abs(now.branch_a[:, wire_branch])
        bands = curve(now.branch_a[:, device_branch])
        ready = states.ohm[left][:, device_branch] < OPEN_OHM
        share = np.where(np.isfinite(bands.typical_s), 1.0 - spent[left], 1.0)
        remain = np.where(ready, share * bands.typical_s, np.inf)
        first = remain.argmin(axis=1) if len(devices) else np.zeros(len(left), dtype=np.intp)
        opens = np.isfinite(remain.min(axis=1, initial=np.inf)) & (stage < MAX_STAGES - 1)
        rows = np.arange(len(left))
        node_v[left], port_v[left] = np.nan_to_num(now.solution.node_v), now.solution.port_v[:, : len(network.loads)]
        branch_a[left], found[left] = now.branch_a, now.solution.found
        if stage == 0:
            first_a[left] = now.branch_a
        fault_a[left] = now.fault_a
        for k in rows[opens]:
            _note_opening(
                traces[left[k]],
                now,
                bands,
                devices,
                int(first[k]),
                int(k),
                elapsed[:, left[k]],
                float(remain[k, first[k]]),
                ready[k],
            )
        _heat_stage(traces, left, rows[opens], first, bands, kept, wires, wire_a, worst, best, before_c)
        _judge_lasting(traces, left[~opens], wires, wire_a[~opens], before_c)
        if stage == 0:
            for k in rows:
                traces[left[k]].fault_a = float(abs(now.fault_a[k]))
        if not opens.any():
            break
        step = remain[rows, first]
        spent[left[opens]] = np.minimum(spent[left[opens]] + step[opens, None] / bands.typical_s[opens], 1.0)
        j = first[opens]
        elapsed[0, left[opens]] += bands.fastest_s[opens, j]
        elapsed[1, left[opens]] += step[opens]
        elapsed[2, left[opens]] += bands.slowest_s[opens, j]
        for k in rows[opens]:
            trace = traces[left[k]]
            volts = port_v[left[k]]
            trace.lowest_v = volts.copy() if trace.lowest_v is None else np.minimum(trace.lowest_v, volts)
        states.ohm[left[opens], device_branch[first[opens]]] = OPEN_OHM
        left = left[opens]
    return Followed(traces, node_v, port_v, branch_a, first_a, fault_a, found)


def _note_opening(
    trace: Trace,
    now: Currents,
    bands: Bands,
    devices: Sequence[Device],
    j: int,
    k: int,
    elapsed: Floats,
    remain_s: float,
    ready: np.ndarray,
) -> None:
    device = devices[j]
    slow = float(bands.slowest_s[k, j])
    multiple = float(bands.multiple[k, j])
    trace.openings.append(
        Opening(
            device=device.id,
            amps_a=multiple * device.rating_a * device.count,
            multiple=multiple,
            fastest_s=float(elapsed[0] + bands.fastest_s[k, j]),
            typical_s=float(elapsed[1] + remain_s),
            slowest_s=float(elapsed[2]) + slow,
            beyond_data=bool(bands.beyond_data[k, j]),
            provisional=device.provisional,
        )
    )
    if not np.isfinite(slow):
        trace.grey = device.id
    others = ready.copy()
    others[j] = False
    if bool((bands.fastest_s[k][others] < slow).any()):
        trace.typical_only = True


def _heat_stage(
    traces: Sequence[Trace],
    left: np.ndarray,
    opening: np.ndarray,
    first: np.ndarray,
    bands: Bands,
    kept: Store,
    wires: WireHeat,
    wire_a: Floats,
    worst: Floats,
    best: Floats,
    before_c: Floats,
) -> None:
    """Heat the wires of the states in which a device is about to open: at worst until its slowest time, at best its
    fastest.
    """
    if not len(opening):
        return
    j = first[opening]
    slow = np.minimum(bands.slowest_s[opening, j], FOR_EVER_S)
    fast = np.minimum(bands.fastest_s[opening, j], slow)
    at = left[opening]
    hot = after_c(kept, worst[at], wire_a[opening], slow[:, None])
    quick = after_c(kept, best[at], wire_a[opening], fast[:, None])
    limits = limits_c(wires, slow)
    margin = np.where(_hot_already(wires, before_c, hot), -np.inf, hot - limits)
    for n, (k, w) in enumerate(zip(at, _worst(margin), strict=True)):
        trace = traces[k]
        if trace.grey is None and margin[n, w] > trace.margin_c:
            trace.margin_c = float(margin[n, w])
            trace.hottest = (wires.ids[w], float(hot[n, w]), float(quick[n, w]), float(limits[n, w]))
        elif trace.hottest is None:
            trace.hottest = (wires.ids[w], float(hot[n, w]), float(quick[n, w]), float(limits[n, w]))
    worst[at], best[at] = np.minimum(hot, adiabatic.copper_melts_c()), quick


def _judge_lasting(
    traces: Sequence[Trace], states: np.ndarray, wires: WireHeat, wire_a: Floats, before_c: Floats
) -> None:
    """Where nothing opens any more: the temperature each wire settles at, against its rating."""
    if not len(states):
        return
    settled, _, _ = cautious_c(wires, wire_a)
    hotter = (settled > before_c + 1.0) & ~_hot_already(wires, before_c, settled)
    margin = np.where(hotter, settled - wires.limit_c, -np.inf)
    for n, (k, w) in enumerate(zip(states, _worst(margin), strict=True)):
        trace = traces[k]
        trace.lasting_margin_c = float(margin[n, w])
        trace.lasting = (wires.ids[w], float(settled[n, w]), float(wires.limit_c[w]))


def _hot_already(wires: WireHeat, before_c: Floats, now_c: Floats) -> np.ndarray:
    """Which wires were past their rating before the fault, and are about as hot with it, (..., W) bool."""
    rise = before_c - wires.ambient_c
    return np.asarray((before_c > wires.limit_c) & (now_c <= before_c + ADDED * rise))


def _worst(margin_c: Floats) -> list[int]:
    """The first of the wires that are past their limits by most in each state, margin_c (n, W); what the last digits
    say is no difference.
    """
    found: list[int] = (margin_c >= margin_c.max(axis=1, keepdims=True) - ALIKE_C).argmax(axis=1).tolist()
    return found


def limits_c(wires: WireHeat, seconds: Floats) -> Floats:
    """Limit of every wire for each length of time, seconds (n,), (n, W) [C]."""
    ratings, of = np.unique(wires.limit_c, return_inverse=True)
    table = [[adiabatic.limit_c(i, s) for i in ratings.tolist()] for s in seconds.tolist()]
    return np.asarray(np.array(table)[:, of])
