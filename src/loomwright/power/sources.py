"""Batteries and charging sources as lines of volts against amperes."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from loomwright.facts import batteries
from loomwright.rig.model import BatterySpec, ChargerSpec, EngineState, Vehicle


@dataclass(frozen=True, slots=True)
class BatteryLine:
    """A battery now: its resting EMF, and its resistance when it gives and when it takes.

    Giving is ohmic. Taking has two bounds: ``discharge_ohm`` again for the first seconds, and ``charge_ohm`` once the
    EMF has risen under charge, when it takes what its state of charge lets it accept.
    """

    emf_v: float
    discharge_ohm: float
    charge_ohm: float


def battery_line(spec: BatterySpec, charge_pct: float, temperature_c: float, age_factor: float = 1.0) -> BatteryLine:
    """The line of a battery at a state of charge and a temperature.

    Settled charging current: ``acceptance_c`` times the ampere-hours at 80 % charge and ``charge_min_v``, in
    proportion to what is missing, never under 2 % of that at full (common practice).
    """
    emf = batteries.rest_v(spec.rest_table, charge_pct)
    factor = batteries.resistance_factor(spec.chemistry, charge_pct, temperature_c)
    ohm = spec.resistance_mohm * age_factor * factor / 1000.0
    missing = min(max((100.0 - charge_pct) / 20.0, 0.02), 3.0)
    accepted_a = min(spec.acceptance_c * spec.capacity_ah * missing, spec.max_charge_a)
    rise = max(spec.charge_min_v - emf, 0.2)
    return BatteryLine(emf, ohm, max(rise / accepted_a, ohm))


def engine_rpm(vehicle: Vehicle, engine: EngineState) -> float:
    """Engine speed in a state [rpm]."""
    return {"off": 0.0, "idle": vehicle.idle_rpm, "cruise": vehicle.cruise_rpm}[engine]


def charger_limit_a(spec: ChargerSpec, rpm: float) -> float:
    """Most that a charging source gives at an engine speed, hot [A]. Straight lines between its points; 0 below half
    the first.
    """
    if rpm <= 0:
        return 0.0
    points = sorted(zip(spec.rpm, spec.current_a, strict=True))
    if rpm <= points[0][0]:
        return points[0][1] * max(0.0, 2.0 * rpm / points[0][0] - 1.0)
    for (r0, a0), (r1, a1) in itertools.pairwise(points):
        if rpm <= r1:
            return a0 + (a1 - a0) * (rpm - r0) / (r1 - r0)
    return points[-1][1]


def regulator_v(spec: ChargerSpec, temperature_c: float) -> float:
    """Set volts of a regulator, compensated from 25 C [V]."""
    return spec.regulator_v + spec.temperature_mv_per_c / 1000.0 * (temperature_c - 25.0)
