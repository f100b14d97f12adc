"""Draws of a rig as it may be built, aged and met: which figures vary, and by how much in each draw."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from loomwright.facts import spreads
from loomwright.facts.spreads import What
from loomwright.power.circuit import Floats
from loomwright.power.network import Branch, Network, build
from loomwright.rig.model import Rig

LEVELS = 1024
"""Values that each figure may take, all equally likely: the middles of so many equal shares of its spread."""
LEAST_SHARE = 1e-3
"""A branch that no port drives more than this part of its amperes through varies without being noticed."""


@dataclass(frozen=True, slots=True)
class Cause:
    """One figure that varies. ``ref`` is a joint, a wire, a battery; "" for the temperature and the engine's speed."""

    what: What
    ref: str

    @property
    def words(self) -> str:
        match self.what:
            case "joint":
                return f"joint {self.ref.replace('@', ' at ')}"
            case "length":
                return f"length of {self.ref}"
            case "age":
                return f"age of {self.ref}"
            case "temperature":
                return "temperature"
            case _:
                return "engine speed"


@dataclass(frozen=True)
class Draws:
    """Levels of every cause in every draw, (causes, n) int, and the values that they stand for."""

    causes: tuple[Cause, ...]
    level: np.ndarray

    @property
    def count(self) -> int:
        return int(self.level.shape[1])

    def value(self, k: int) -> Floats:
        """What cause k is in each draw, (n,)."""
        return np.asarray(values(self.causes[k].what)[self.level[k]])

    def one(self, n: int) -> dict[tuple[What, str], float]:
        """What every cause is in one draw."""
        return {(c.what, c.ref): float(values(c.what)[self.level[k, n]]) for k, c in enumerate(self.causes)}

    def rows(self, some: np.ndarray) -> Draws:
        """Some of the draws."""
        return Draws(self.causes, self.level[:, some])

    def of(self, what: What) -> list[int]:
        return [k for k, c in enumerate(self.causes) if c.what == what]


@cache
def values(what: What) -> Floats:
    """The values that a figure of one kind may take, (LEVELS,), rising."""
    spread = spreads.spread(what)
    found = np.array([spread.at((k + 0.5) / LEVELS) for k in range(LEVELS)])
    found.setflags(write=False)
    return found


def causes_of(network: Network, share: Floats, *, running: bool) -> tuple[Cause, ...]:
    """What varies in a network; share (B, P) says what the ports drive through each branch."""
    felt = np.abs(share).max(axis=1, initial=0.0) > LEAST_SHARE
    found: dict[Cause, None] = {}
    for branch, noticed in zip(network.branches, felt, strict=True):
        if not noticed or branch.kind in ("bleed", "leak", "input", "output"):
            continue
        for name, mohm in branch.joints:
            if mohm > 0.0:
                found.setdefault(Cause("joint", name))
        if branch.kind == "wire" and branch.copper_mohm > 0.0 and network.rig.wire(branch.ref).measured_mohm is None:
            found.setdefault(Cause("length", branch.ref))
    found.update(dict.fromkeys(Cause("age", b) for b in network.batteries))
    found[Cause("temperature", "")] = None
    if running:
        found[Cause("speed", "")] = None
    return tuple(found)


def drawn(causes: tuple[Cause, ...], count: int, seed: int) -> Draws:
    """So many draws, every cause on its own. The same seed gives the same draws."""
    rng = np.random.Generator(np.random.PCG64(seed))
    return Draws(causes, rng.integers(0, LEVELS, size=(len(causes), count), dtype=np.uint16))


def rig_of(rig: Rig, draws: Draws, n: int) -> Rig:
    """The rig of one draw, but for its joints: see :func:`network_of`."""
    factor = draws.one(n)
    warmer, faster = factor[("temperature", "")], factor.get(("speed", ""), 1.0)
    return replace(
        rig,
        wires=tuple(replace(w, length_mm=w.length_mm * factor.get(("length", w.id), 1.0)) for w in rig.wires),
        places={k: replace(p, temperature_c=p.temperature_c + warmer) for k, p in rig.places.items()},
        items={
            k: replace(i, resistance_factor=i.resistance_factor * factor[("age", k)]) if ("age", k) in factor else i
            for k, i in rig.items.items()
        },
        vehicle=replace(
            rig.vehicle, idle_rpm=rig.vehicle.idle_rpm * faster, cruise_rpm=rig.vehicle.cruise_rpm * faster
        ),
    )


def network_of(drawn_rig: Rig, draws: Draws, n: int) -> Network:
    """The network of one draw, its joints as drawn."""
    network = build(drawn_rig)
    factor = {ref: value for (what, ref), value in draws.one(n).items() if what == "joint"}

    def made(branch: Branch) -> Branch:
        more = sum(mohm * (factor.get(name, 1.0) - 1.0) for name, mohm in branch.joints)
        return replace(branch, fixed_mohm=branch.fixed_mohm + more)

    branches = tuple(made(b) for b in network.branches)
    circuit = replace(network.circuit, branch_ohm=np.array([b.mohm for b in branches]) / 1000.0)
    return replace(network, branches=branches, circuit=circuit)
