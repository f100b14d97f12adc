"""Mishaps that do not change the circuit at once: a fuse swapped for a larger one, a remote left on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import inf

import numpy as np

from loomwright.facts import adiabatic, fuses
from loomwright.power.heat import WireHeat, cautious_c
from loomwright.power.results import PowerResult
from loomwright.power.session import LEFT_ON
from loomwright.protection.judge import WARM_C
from loomwright.protection.results import Device, FaultKind, FaultResult, Guard
from loomwright.rig.model import Rig

SIZES_UP = 2
"""How many sizes too large a fuse may be put in by mistake."""


def larger_a(kind: str, rating_a: float, sizes: int = SIZES_UP) -> tuple[float, ...]:
    """The next larger ratings of a type of device [A], which go into the same holder; none for a breaker."""
    if kind.startswith("breaker"):
        return ()
    return tuple(r for r in fuses.ratings_a(kind) if r > rating_a)[:sizes]


def wrong_fuses(wires: WireHeat, devices: Mapping[str, Device], guards: Mapping[str, Guard]) -> Iterator[FaultResult]:
    """Each fuse swapped for the next sizes of its type: could a wire it guards then burn for ever?

    A device holds its rating for good, so the wires are judged at exactly the larger rating.
    """
    position = {w: k for k, w in enumerate(wires.ids)}
    swaps: list[tuple[Device, float, list[Guard]]] = []
    for device in devices.values():
        larger = larger_a(device.type, device.rating_a) if device.way else ()
        if not larger:
            continue
        mine = [g for g in guards.values() if device.id in g.devices and not g.tap_to and g.wire in position]
        swaps += [(device, rating, mine) for rating in larger]
    amps = np.zeros((len(swaps), len(wires.ids)))
    for n, (_, rating, mine) in enumerate(swaps):
        amps[n, [position[g.wire] for g in mine]] = rating
    for (device, rating, mine), hot in zip(swaps, cautious_c(wires, amps)[0], strict=True):
        margin = [(float(hot[position[g.wire]] - wires.limit_c[position[g.wire]]), g.wire) for g in mine]
        worst = max(margin, default=(-inf, ""))
        wire = worst[1] or None
        celsius = float(hot[position[wire]]) if wire else 0.0
        limit = float(wires.limit_c[position[wire]]) if wire else 0.0
        ok = worst[0] <= WARM_C
        reason = (
            f"With {rating:g} A in place of {device.rating_a:g} A, {wire} could carry {rating:g} A for ever "
            f"and settle at {min(celsius, adiabatic.copper_melts_c()):.0f} °C; its limit is {limit:.0f} °C."
            if wire
            else "It guards no wire of its own."
        )
        detail = f"{rating:g} A fitted in place of {device.rating_a:g} A"
        yield replace(
            _mishap(f"fuse:{device.id}:{rating:g}", "wrong fuse", device.id, detail, ok, reason, rating),
            hottest_wire=wire,
            hottest_c=celsius,
            hottest_best_c=celsius,
            limit_c=limit,
        )


def remote_left_on(rig: Rig, power: PowerResult) -> Iterator[FaultResult]:
    """Everything awake, nothing playing, engine off: does the engine still crank after a session's time?"""
    if not rig.family("battery") or not rig.family("amplifier"):
        return
    left_h = rig.limits.session_h
    found = next(s for s in power.sessions if (s.engine, s.programme) == LEFT_ON)
    hours = found.hours_to_no_crank_h
    lasts = hours > left_h
    idle = sum(
        s.amps_a
        for name, s in power.case(*LEFT_ON).items.items()
        if rig.items[name].part.family not in ("battery", "charger")
    )
    if hours == inf:
        reason = f"{idle:.1f} A idles away; after {found.horizon_h:.0f} h the engine still cranks."
    else:
        reason = f"{idle:.1f} A idles away; after {hours:.1f} h the engine no longer cranks."
    detail = "all awake, engine off, nothing playing"
    yield _mishap("remote:on", "remote left on", "system", detail, lasts, reason, idle)


def _mishap(
    name: str, kind: FaultKind, where: str, detail: str, ok: bool, reason: str, amps_a: float
) -> FaultResult:  # fmt: skip
    """What comes of a mishap in which nothing opens, nothing goes dark and nothing takes another way."""
    return FaultResult(
        id=name,
        kind=kind,
        where=where,
        detail=detail,
        verdict="no harm" if ok else "not cleared",
        reason=reason,
        openings=(),
        fault_a=amps_a,
        hottest_wire=None,
        hottest_c=0.0,
        hottest_best_c=0.0,
        limit_c=0.0,
        dark=(),
        own_branch=(),
        dips_v={},
        detour_a={},
        provisional=False,
        typical_only=False,
    )
