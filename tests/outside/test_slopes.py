"""Every slope of the advice against central differences of the full solver: heat, sag and limits of sources included.

The full solver is run anew on both sides of each lever, its wires warm to 1e-8 K. A slope must agree within 0.1 %
wherever a usual change of its lever does more than 0.1 mV, 0.1 mW, 0.1 mA or a ten-thousandth of the headroom:
below that the difference of two solved points is noise.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from loomwright import demo
from loomwright.advice.folds import folds
from loomwright.advice.goals import Goal, charge_a
from loomwright.advice.levers import Lever, thicker, turns
from loomwright.advice.point import Case, point_of
from loomwright.advice.slopes import THICKER, USUAL, Slopes, slopes
from loomwright.facts.amplifiers import programme_fraction
from loomwright.power.amplifier import output_share
from loomwright.power.drive import drive
from loomwright.power.heat import wire_heat
from loomwright.power.network import Branch, Network, build
from loomwright.rig.file import load
from loomwright.rig.model import AmplifierSpec, Rig
from loomwright.study import Study

AGREES = 1e-3
FELT = 1e-4
CASES: tuple[Case, ...] = (("off", "music"), ("off", "loud"), ("idle", "music"), ("idle", "loud"), ("cruise", "sine"))
KINDS = {"device": "fuse", "contact": "contact", "metal": "bar"}


def solved(
    network: Network, rig: Rig, cases: tuple[Case, ...], wanted: tuple[Goal, ...], factor: np.ndarray
) -> np.ndarray:
    """Every goal in every case, (cases, goals), by the full solver."""
    work = drive(network, cases)
    point = point_of(network, wire_heat(rig), work.scaled(np.broadcast_to(factor, work.load_w.shape)), cases)
    node_v, index = point.state.solution.node_v, network.index
    charge, ends = charge_a(network, network.circuit, point.work, node_v), folds(point)
    columns = []
    for goal in wanted:
        if goal.kind in ("volts", "watts"):
            volts = node_v[:, index[f"{goal.ref}.supply+"]] - node_v[:, index[f"{goal.ref}.supply-"]]
            spec = rig.items[goal.ref].part.spec
            assert isinstance(spec, AmplifierSpec)
            if goal.kind == "watts":
                full = network.rated_outputs_w[goal.ref]
                volts = np.array([full * programme_fraction(p) * output_share(spec, float(v))
                                  for v, (_, p) in zip(volts, cases, strict=True)])  # fmt: skip
            columns.append(volts)
        elif goal.kind in ("battery", "balance"):
            columns.append(charge[:, 0 if goal.kind == "battery" else 1])
        else:
            columns.append(np.array([ends[n].factor if n in ends else np.nan for n in range(len(cases))]))
    return np.stack(columns, axis=1)


def sides(rig: Rig, lever: Lever) -> tuple[float, Iterator[tuple[Network, Rig, np.ndarray]]]:
    """How far a lever is turned each way, and the rig with more of it and with less."""
    network, ones = build(rig), np.ones(len(build(rig).loads))

    def resistance(network: Network, by_mohm: float) -> Network:
        def same(b: Branch) -> bool:
            if lever.kind == "joint":
                return b.kind == "wire" and any(name == lever.ref for name, _ in b.joints)
            return b.kind == KINDS[lever.kind] and b.ref == lever.ref

        branches = tuple(replace(b, fixed_mohm=b.fixed_mohm + by_mohm) if same(b) else b for b in network.branches)
        circuit = replace(network.circuit, branch_ohm=np.array([b.mohm for b in branches]) / 1000.0)
        return replace(network, branches=branches, circuit=circuit)

    if lever.kind == "length":
        by = 0.005 * rig.wire(lever.ref).length_mm
    elif lever.kind == "size":
        size = rig.wire(lever.ref).size
        by = THICKER * (size.area_mm2 if size else 1.0)
    elif lever.kind in ("joint", *KINDS):
        by = 0.02
    else:
        by = 1e-3 if lever.kind == "programme" else 1e-4 * USUAL[lever.kind]

    def made() -> Iterator[tuple[Network, Rig, np.ndarray]]:
        for sign in (1.0, -1.0):
            if lever.kind == "length":
                longer = replace(rig.wire(lever.ref), length_mm=rig.wire(lever.ref).length_mm + sign * by)
                other = replace(rig, wires=tuple(longer if w.id == lever.ref else w for w in rig.wires))
                yield build(other), other, ones
            elif lever.kind == "size":
                other = thicker(rig, sign * THICKER, lever.ref)
                yield build(other), other, ones
            elif lever.kind == "programme":
                factor = ones.copy()
                factor[[p.item for p in network.loads].index(lever.ref)] += sign * by
                yield network, rig, factor
            elif lever.kind in ("joint", *KINDS):
                yield resistance(network, sign * by), rig, ones
            else:
                other = {found.id: turn for found, turn in turns(rig)}[lever.id](rig, sign * by)
                yield build(other), other, ones

    return by, made()


def agree(rig: Rig, found: Slopes, lever: Lever) -> Iterator[str]:
    """What does not agree, in words."""
    by, both = sides(rig, lever)
    more, less = (solved(*side[:2], found.cases, found.goals, side[2]) for side in both)
    difference = (more - less) / (2.0 * by)
    k = [other.id for other in found.levers].index(lever.id)
    for n, case in enumerate(found.cases):
        for g, goal in enumerate(found.goals):
            ours, theirs = float(found.value[n, g, k]), float(difference[n, g])
            if np.isnan(ours) and np.isnan(theirs):
                continue
            if abs(theirs * lever.step) < FELT and abs(ours * lever.step) < FELT:
                continue
            if not abs(ours - theirs) <= AGREES * max(abs(ours), abs(theirs)):
                yield f"{lever.id} {case} {goal.kind} {goal.ref}: {ours:.6g} against {theirs:.6g}"


def some(found: Slopes, count: int, seed: int) -> list[Lever]:
    """A few levers of every kind, and others at random."""
    rng = random.Random(seed)
    kinds: dict[str, list[Lever]] = {}
    for lever in found.levers:
        kinds.setdefault(lever.kind, []).append(lever)
    first = [rng.choice(group) for group in kinds.values()]
    rest = [lever for lever in found.levers if lever not in first]
    return first + rng.sample(rest, max(0, min(count - len(first), len(rest))))


@pytest.mark.parametrize("name", demo.names())
def test_demo_rigs(name: str) -> None:
    rig = Study(load(demo.path(name))).rig
    found = slopes(rig, CASES)
    wrong = [words for lever in some(found, 18, 1) for words in agree(rig, found, lever)]
    assert wrong == []


@pytest.mark.parametrize("seed", range(4))
def test_rigs_made_at_random(seed: int) -> None:
    """The planned trike and the trike as found with other lengths, sizes, ages and speeds."""
    rng = random.Random(seed)
    base = Study(load(demo.path(rng.choice(("carnival_trike_planned", "carnival_trike_as_found"))))).rig
    rig = replace(
        base,
        wires=tuple(replace(w, length_mm=w.length_mm * rng.uniform(0.5, 3.0)) for w in base.wires),
        items={
            k: replace(i, resistance_factor=rng.uniform(1.0, 3.0), charge_pct=rng.uniform(35.0, 95.0))
            if i.part.family == "battery" else i
            for k, i in base.items.items()
        },
        vehicle=replace(base.vehicle, idle_rpm=rng.uniform(900.0, 1600.0)),
    )  # fmt: skip
    rig = thicker(rig, rng.uniform(-0.3, 0.5))
    found = slopes(rig, CASES[1:4])
    wrong = [words for lever in some(found, 14, seed) for words in agree(rig, found, lever)]
    assert wrong == []
