"""How hot each wire gets while a fault lasts: heat stored in the wire, less what it sheds.

The wire is one heat store per metre. It sheds in proportion to its rise, at the rate that holds it at its
insulation's rating
when it carries its (derated) table ampacity, so that the end of a long overload agrees with the table. Without loss the
formula is that of IEC 60364-4-43 and IEC 60949; resistance grows with temperature in both.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.facts import conductors
from loomwright.power.circuit import Floats
from loomwright.power.heat import WireHeat

SHORT_S = 5.0
"""Up to this time no heat is taken to leave the copper (IEC 60364-4-43)."""


@dataclass(frozen=True)
class Store:
    """Per wire, (W,): shed [W/(m K)], what the wire takes up over seconds and over minutes [J/(m K)], r20 [ohm/m]."""

    shed_w_per_m_k: Floats
    metal_j_per_m_k: Floats
    whole_j_per_m_k: Floats
    ohm_per_m_20c: Floats
    ambient_c: Floats


def store(wires: WireHeat) -> Store:
    """Heat store of each wire."""
    alpha = conductors.ALPHA20
    at_limit = wires.ohm_per_m_20c * (1 + alpha * (wires.limit_c - 20.0))
    rise = np.maximum(wires.limit_c - wires.ambient_c, 1.0)
    shed = wires.ampacity_a**2 * at_limit / rise
    return Store(
        shed,
        wires.metal_j_per_m_k,
        wires.metal_j_per_m_k + wires.cover_j_per_m_k,
        wires.ohm_per_m_20c,
        wires.ambient_c,
    )


def after_c(wires: Store, start_c: Floats, amps_a: Floats, seconds: Floats) -> Floats:
    """Conductor temperature after carrying a current for a time, (..., W) [C].

    start_c, amps_a : (..., W); seconds : (...,) or (..., 1). Exact for C dT/dt = I2 r20 (1 + alpha (T - 20)) - h (T
    - ambient),
    with the copper's own heat capacity up to 5 s, the whole wire's beyond 60 s, and between them in proportion on a
    log scale.
    """
    t = seconds[..., None] if np.ndim(seconds) == np.ndim(amps_a) - 1 else seconds
    share = np.clip(np.log(np.maximum(t, 1e-12) / SHORT_S) / np.log(60.0 / SHORT_S), 0.0, 1.0)
    capacity = wires.metal_j_per_m_k + share * (wires.whole_j_per_m_k - wires.metal_j_per_m_k)
    made = amps_a**2 * wires.ohm_per_m_20c
    alpha = conductors.ALPHA20
    shed = np.where(t <= SHORT_S, 0.0, wires.shed_w_per_m_k)
    rate = (made * alpha - shed) / capacity
    power = (made * (1 + alpha * (start_c - 20.0)) - shed * (start_c - wires.ambient_c)) / capacity
    x = np.clip(rate * t, -700.0, 60.0)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        grown = np.where(np.abs(x) < 1e-9, t, np.expm1(x) / np.where(rate == 0, 1.0, rate))
        result = start_c + power * grown
    return np.asarray(np.minimum(np.nan_to_num(result, nan=1e4, posinf=1e4), 1e4))
