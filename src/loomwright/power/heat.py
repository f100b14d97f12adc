"""How hot a wire gets: a heat balance, the published ampacity table, and the more cautious of the two.

Heat balance in the manner of IEC 60287: natural convection around a horizontal cylinder (Churchill and Chu, 1975),
radiation, and the insulation as a thermal resistance. The formulas and outside diameters are from memory; against
the 105 C column of 33 CFR 183.425 the balance is 7 to 18 % optimistic, which is why the table has a say too.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from loomwright.facts import adiabatic, ampacity, assumptions, conductors
from loomwright.power.bundles import bundle_counts
from loomwright.power.circuit import Floats
from loomwright.rig.model import Rig
from loomwright.rig.once import once

STEFAN_BOLTZMANN = 5.670374419e-8
GRAVITY = 9.80665
CEILING_C = 1500.0


@dataclass(frozen=True)
class WireHeat:
    """What heats and cools each wire of a rig, one entry per wire. Shapes (W,)."""

    ids: tuple[str, ...]
    area_mm2: Floats
    conductor_mm: Floats
    outside_mm: Floats
    ohm_per_m_20c: Floats
    ambient_c: Floats
    limit_c: Floats
    bundle_factor: Floats
    ampacity_a: Floats  # derated for ambient and bundle
    metal_j_per_m_k: Floats  # taken up by the bare conductor of a metre
    cover_j_per_m_k: Floats  # by its insulation (from memory)
    curve_log_a: Floats  # (96, W) log of the steady current alone in air ..
    curve_log_k: Floats  # (96, W) .. against the log of the conductor's rise

    @cached_property
    def in_one_row(self) -> tuple[Floats, Floats]:
        """Every wire's curve in one sorted row, each beyond the end of the last: how far each is moved (W,), and the
        row (96 W,).
        """
        apart = np.arange(len(self.ids)) * (self.curve_log_a[-1].max() - self.curve_log_a[0].min() + 1.0)
        return apart, (self.curve_log_a + apart).T.ravel()


def outside_mm(area_mm2: Floats) -> Floats:
    """Diameter over the insulation [mm], log-log between four sizes (from memory)."""
    x = np.log(np.maximum(area_mm2, 0.05))
    lx = np.log(assumptions.numbers("wire.outside", "area_mm2"))
    ly = np.log(assumptions.numbers("wire.outside", "diameter_mm"))
    inside = np.interp(x, lx, ly)
    low = ly[0] + (x - lx[0]) * (ly[1] - ly[0]) / (lx[1] - lx[0])
    high = ly[-1] + (x - lx[-1]) * (ly[-1] - ly[-2]) / (lx[-1] - lx[-2])
    return np.asarray(np.exp(np.where(x < lx[0], low, np.where(x > lx[-1], high, inside))))


@lru_cache(maxsize=1024)
def outside_of(area_mm2: float) -> float:
    """Diameter over the insulation of one wire [mm]."""
    return float(outside_mm(np.array([area_mm2]))[0])


@once
def wire_heat(rig: Rig) -> WireHeat:
    """Collect the wires that carry direct current (power, ground and remote, not bolted)."""
    wires = [w for w in rig.wires if w.kind in ("power", "ground", "remote") and w.size and w.size.system != "bolted"]
    counts = bundle_counts(rig)
    areas = np.array([w.size.area_mm2 for w in wires if w.size])
    sizes = [w.size for w in wires if w.size]
    conductor = np.array([z.diameter_mm for z in sizes])
    outside = outside_mm(areas)
    ohm = np.array(
        [
            conductors.resistance_mohm_per_m(z.area_mm2, w.metal, 20.0, z.system) / 1000.0
            for w, z in zip(wires, sizes, strict=True)
        ]
    )
    ambient = np.array([rig.wire_temperature_c(w) for w in wires])
    curve_log_a, curve_log_k = _curves(*(tuple(x.tolist()) for x in (ohm, conductor, outside, ambient)))
    return WireHeat(
        ids=tuple(w.id for w in wires),
        area_mm2=areas,
        conductor_mm=conductor,
        outside_mm=outside,
        ohm_per_m_20c=ohm,
        ambient_c=ambient,
        limit_c=np.array([float(w.insulation_c) for w in wires]),
        bundle_factor=np.array([ampacity.bundle_factor(counts[w.id], rig.bundle_basis) for w in wires]),
        ampacity_a=np.array(
            [
                ampacity.ampacity_a(
                    z.area_mm2, w.metal, w.insulation_c, rig.wire_temperature_c(w), counts[w.id], rig.bundle_basis
                )
                for w, z in zip(wires, sizes, strict=True)
            ]
        ),
        metal_j_per_m_k=areas * np.array([adiabatic.capacity_j_per_cm3_k(w.metal) for w in wires]),
        cover_j_per_m_k=np.maximum(np.pi / 4 * outside**2 - areas, 0.0)
        * assumptions.number("wire.insulation", "capacity_j_per_cm3_k"),
        curve_log_a=curve_log_a,
        curve_log_k=curve_log_k,
    )


def shed_w_per_m(surface_c: Floats, ambient_c: Floats, outside_mm: Floats) -> Floats:
    """Heat that a metre of wire gives to still air at a surface temperature [W/m]."""
    d = outside_mm / 1000.0
    rise = np.maximum(surface_c - ambient_c, 0.0)
    film_k = (surface_c + ambient_c) / 2.0 + 273.15
    conductivity = 0.0241 + 7.3e-5 * (film_k - 273.15)
    viscosity = 1.33e-5 + 9.2e-8 * (film_k - 273.15)
    prandtl = 0.71
    rayleigh = GRAVITY / film_k * rise * d**3 / viscosity**2 * prandtl
    nusselt = (0.60 + 0.387 * rayleigh ** (1 / 6) / (1 + (0.559 / prandtl) ** (9 / 16)) ** (8 / 27)) ** 2
    convection = nusselt * conductivity / d * rise
    emissivity = assumptions.number("wire.surface", "emissivity")
    radiation = emissivity * STEFAN_BOLTZMANN * ((surface_c + 273.15) ** 4 - (ambient_c + 273.15) ** 4)
    return np.asarray(np.pi * d * (convection + np.maximum(radiation, 0.0)))


def balance_c(wires: WireHeat, amps_a: Floats) -> Floats:
    """Conductor temperature where heat made equals heat shed, alone in still air, [C].

    amps_a : (..., W). A bundle is taken in by raising the current by 1 / its factor. Capped at 1500 C. Read off
    each wire's curve of current against temperature, log-log between 96 points (within 0.05 K below 200 C).
    """
    current = np.abs(amps_a) / wires.bundle_factor
    with np.errstate(divide="ignore"):
        x = np.log(current)
    points, count = wires.curve_log_a.shape
    if not count:
        return current
    first, last = wires.curve_log_a[0], wires.curve_log_a[-1]
    apart, row = wires.in_one_row
    within = np.minimum(np.maximum(x, first), last)
    wire = np.arange(count)
    upper = np.clip(np.searchsorted(row, within + apart) - wire * points, 1, points - 1)
    low_a, low_k = wires.curve_log_a[upper - 1, wire], wires.curve_log_k[upper - 1, wire]
    slope = (wires.curve_log_k[upper, wire] - low_k) / (wires.curve_log_a[upper, wire] - low_a)
    rise = np.where(x < first, 0.0, np.exp(slope * (within - low_a) + low_k))
    return np.asarray(np.minimum(wires.ambient_c + rise, CEILING_C))


@lru_cache(maxsize=64)
def _curves(
    ohm_per_m: tuple[float, ...], conductor_mm: tuple[float, ...], outside_mm: tuple[float, ...],
    ambient_c: tuple[float, ...],
) -> tuple[Floats, Floats]:  # fmt: skip
    """:func:`_curve`, the same for wires of the same sizes in the same places however long they are."""
    return _curve(*(np.array(x) for x in (ohm_per_m, conductor_mm, outside_mm, ambient_c)))


def _curve(
    area_ohm_per_m: Floats, conductor_mm: Floats, outside_mm: Floats, ambient_c: Floats
) -> tuple[Floats, Floats]:
    """Log of steady current against log of the conductor's rise, two (96, W) arrays, current rising."""
    surface_rise = np.geomspace(1e-3, CEILING_C, 96)[:, None]
    shed = shed_w_per_m(ambient_c + surface_rise, ambient_c, outside_mm)
    resistivity = assumptions.number("wire.insulation", "resistivity_k_m_per_w")
    through = resistivity * np.log(np.maximum(outside_mm / conductor_mm, 1.01)) / (2 * np.pi)
    rise = surface_rise + shed * through
    ohm = area_ohm_per_m * (1 + conductors.ALPHA20 * (ambient_c + rise - 20.0))
    return np.log(np.sqrt(shed / ohm)), np.log(rise)


def table_c(wires: WireHeat, amps_a: Floats) -> Floats:
    """Conductor temperature that the ampacity table implies: rise in proportion to the square of current [C]."""
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(wires.ampacity_a > 0, np.abs(amps_a) / wires.ampacity_a, np.where(amps_a == 0, 0.0, np.inf))
    room = np.maximum(wires.limit_c - wires.ambient_c, 0.0)
    with np.errstate(invalid="ignore", over="ignore"):
        rise = np.where(share == 0, 0.0, room * share**2)
    return np.asarray(np.minimum(wires.ambient_c + np.nan_to_num(rise, nan=CEILING_C, posinf=CEILING_C), CEILING_C))


def cautious_c(wires: WireHeat, amps_a: Floats) -> tuple[Floats, Floats, Floats]:
    """Temperature for verdicts, with the balance's and the table's own, each (..., W) [C]."""
    by_balance, by_table = balance_c(wires, amps_a), table_c(wires, amps_a)
    return np.maximum(by_balance, by_table), by_balance, by_table
