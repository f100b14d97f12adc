"""Nominal loads on amplifier channels, band by band.

A two-way crossover hangs two drivers on one channel, yet each band sees one of them. So lows are taken with every
capacitor open, highs with every coil open; a driver without either counts with the lows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from loomwright.power.channels import channel_loads
from loomwright.rig.model import PassiveSpec, Rig
from loomwright.rig.once import once
from loomwright.rig.shape import signal_part


def band_loads(rig: Rig) -> Mapping[str, tuple[float | None, ...]]:
    """Least nominal ohms that each channel of each amplifier sees in any band; None where nothing is wired."""
    return _band_loads(signal_part(rig))


@once
def _band_loads(rig: Rig) -> Mapping[str, tuple[float | None, ...]]:
    low = channel_loads(_without(rig, "capacitor"))
    high = channel_loads(_without(rig, "coil"))
    plain = channel_loads(_without(rig, "capacitor", "coil"))
    return {
        amp: tuple(_least(a, b, c) for a, b, c in zip(low[amp], high[amp], plain[amp], strict=True)) for amp in low
    }


def _without(rig: Rig, *elements: str) -> Rig:
    """The rig with passive parts of some kinds open."""
    items = {
        k: v
        for k, v in rig.items.items()
        if not (isinstance(v.part.spec, PassiveSpec) and v.part.spec.element in elements)
    }
    return replace(rig, items=items)


def _least(low: float | None, high: float | None, plain: float | None) -> float | None:
    """The lower of lows and highs, where the highs are those that a capacitor feeds."""
    fed = high
    if high is not None and plain is not None:
        siemens = 1.0 / high - 1.0 / plain if high > 0 and plain > 0 else 0.0
        fed = 1.0 / siemens if siemens > 1e-9 else None
    found = [x for x in (low, fed) if x is not None]
    return min(found, default=None)
