"""What the items of a network do in a case: EMFs, draws and limits, as arrays for the solver."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loomwright.facts.amplifiers import programme_fraction
from loomwright.power.amplifier import STATED_AT_V, supply_w
from loomwright.power.circuit import Drive
from loomwright.power.network import Network
from loomwright.power.sources import battery_line, charger_limit_a, engine_rpm, regulator_v
from loomwright.rig.model import (
    AmplifierSpec,
    BatterySpec,
    ChargerSpec,
    DcdcSpec,
    EngineState,
    IsolatorSpec,
    Item,
    LoadSpec,
    Programme,
    Rig,
)

UNLIMITED_A = 1e6


def drive(
    network: Network,
    cases: Sequence[tuple[EngineState, Programme]],
    *,
    brown_out: bool = False,
) -> Drive:
    """What every item does in each case of (engine, programme).

    Parameters
    ----------
    brown_out : bool
        True: an amplifier or load below its least volts draws like a resistance and so lets go, as a real one does
        when it shuts down; used while a fault pulls the volts down. False: watts are asked for at any voltage.
    """
    rig, n = network.rig, len(cases)
    runs = np.array([engine != "off" for engine, _ in cases])
    outputs = network.rated_outputs_w
    emf = np.empty((n, len(network.batteries)))
    for k, name in enumerate(network.batteries):
        emf[:, k] = _emf_v(rig.items[name], rig)
    amps, watts, siemens = (np.zeros((n, len(network.loads))) for _ in range(3))
    sag = np.zeros(len(network.loads))
    for k, port in enumerate(network.loads):
        spec = rig.items[port.item].part.spec
        if isinstance(spec, AmplifierSpec):
            amps[:, k] = spec.idle_a
            watts[:, k] = [supply_w(spec, outputs[port.item], programme_fraction(p)) for _, p in cases]
            sag[k] = spec.rated_v if spec.supply == "sagging" else (spec.min_v if brown_out else 0.0)
        elif isinstance(spec, LoadSpec):
            on = runs if spec.runs == "engine" else 1.0
            if spec.law == "power":
                watts[:, k] = spec.draw_w * on
                sag[k] = spec.min_v if brown_out else 0.0
            elif spec.law == "current":
                amps[:, k] = spec.draw_w / STATED_AT_V * on
                sag[k] = spec.min_v if brown_out else 0.0
            else:
                siemens[:, k] = spec.draw_w / STATED_AT_V**2 * on
    volts = np.zeros((n, len(network.sources)))
    limit = np.zeros((n, len(network.sources)))
    for k, port in enumerate(network.sources):
        item = rig.items[port.item]
        spec = item.part.spec
        temperature = rig.places[item.place].temperature_c
        if isinstance(spec, BatterySpec):
            volts[:, k] = _emf_v(item, rig)
            limit[:, k] = UNLIMITED_A if network.settled else 0.0
        elif isinstance(spec, ChargerSpec):
            volts[:, k] = regulator_v(spec, temperature)
            limit[:, k] = [charger_limit_a(spec, engine_rpm(rig.vehicle, engine)) for engine, _ in cases]
        elif isinstance(spec, DcdcSpec):
            volts[:, k] = spec.output_v
            limit[:, k] = spec.limit_a * runs
        elif isinstance(spec, IsolatorSpec):
            volts[:, k] = -spec.drop_v
            limit[:, k] = UNLIMITED_A
    return Drive(emf, amps, watts, siemens, sag, volts, limit)


def _emf_v(item: Item, rig: Rig) -> float:
    spec = item.part.spec
    assert isinstance(spec, BatterySpec)
    return battery_line(spec, item.charge_pct, rig.places[item.place].temperature_c).emf_v
