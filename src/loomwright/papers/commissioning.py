"""The commissioning sheet: what to measure before hand-over, where, with what the study predicts and what passes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from loomwright.drawing.captions import device_words
from loomwright.drawing.figures import amps
from loomwright.facts import batteries, building
from loomwright.power.results import CaseResult, ItemState
from loomwright.protection.graph import graph_of, is_bolted
from loomwright.rig.model import BatterySpec, EngineState, LoadSpec, Programme, Rig
from loomwright.rig.shape import shape_of
from loomwright.study import Study

Quantity = Literal["V", "mV", "A", "mA"]
LEAST_MV, LEAST_JOINT_MV = 1.0, 2.0
"""What drops less at `loud` is not on the sheet: a segment, a joint in one."""
SETTINGS: dict[Quantity, str] = {"V": "V DC, 20 V", "mV": "mV DC, 200 mV", "A": "clamp, A DC", "mA": "mA DC"}
AT_REST = "At rest"
_FULL: Programme = "loud"
_QUIET: Programme = "quiet"


@dataclass(frozen=True, slots=True)
class Measurement:
    """One measurement: where the leads go, how the meter is set, what is predicted, and the band that passes."""

    number: int
    group: str
    what: str
    red: str          # lead, or what the clamp goes round
    black: str        # empty for a clamp
    setting: str
    expected: float
    low: float        # what passes
    high: float
    unit: Quantity
    note: str = ""


@dataclass(frozen=True, slots=True)
class Pull:
    """One fuse or breaker pulled, everything else in: what must go dark, and what must stay on."""

    device: str
    rating: str
    dark: tuple[str, ...]
    stays: tuple[str, ...]


def measurements(study: Study) -> tuple[Measurement, ...]:
    """Everything to measure, in the order of doing: at rest, engine off, then running; drops last.

    Predictions are those of the study's cases; what a reading may differ by is in the data as ``building.tolerance``.
    """
    found = [*_at_rest(study)]
    for engine in study.rig.engine_states():
        for programme in (_QUIET, _FULL):
            found += _in_case(study, engine, programme)
    found += _drops(study)
    return tuple(_numbered(found))


def _numbered(found: list[Measurement]) -> Iterator[Measurement]:
    for n, m in enumerate(found, 1):
        yield Measurement(n, m.group, m.what, m.red, m.black, m.setting, m.expected, m.low, m.high, m.unit, m.note)


def _made(
    group: str, what: str, red: str, black: str, expected: float, low: float, high: float, unit: Quantity,
    setting: str = "", note: str = "",
) -> Measurement:  # fmt: skip
    return Measurement(0, group, what, red, black, setting or SETTINGS[unit], expected, low, high, unit, note)


def _at_rest(study: Study) -> Iterator[Measurement]:
    group = AT_REST
    for item in study.rig.family("battery"):
        spec = item.part.spec
        assert isinstance(spec, BatterySpec)
        volts = batteries.rest_v(spec.rest_table, item.charge_pct)
        low, high = building.volts_that_pass_v([spec.rest_table]) or (volts, volts)
        yield _made(group, f"Volts of {item.id}", f"{item.id}.plus", f"{item.id}.minus", volts, low, high, "V",
                    note=f"predicted {item.charge_pct:g} % charged; half charged to full passes")  # fmt: skip
    most = building.tolerance("drain", "current_ma")
    meant = "; ".join(_always(study))
    note = f"More while it runs by its own switch: {meant}." if meant else ""
    for item in study.rig.family("battery"):
        yield _made(group, f"Drain on {item.id}", "meter in series with the minus lead", "", 0.0, 0.0, most, "mA",
                    "10 A socket, then mA", note)  # fmt: skip


def _always(study: Study) -> Iterator[str]:
    """What no remote wire and no key switches off, with what it draws."""
    case = study.power.cases.get(("off", _QUIET))
    for item in study.rig.items.values():
        if isinstance(item.part.spec, LoadSpec) and item.part.spec.runs == "always" and case and item.id in case.items:
            yield f"{item.id} {amps(case.items[item.id].amps_a)}"


def _in_case(study: Study, engine: EngineState, programme: Programme) -> Iterator[Measurement]:
    case = study.power.cases.get((engine, programme))
    if case is None or not case.solved:
        return
    group = f"Engine {engine}, {programme}"
    for family, ends in (("battery", ("plus", "minus")), ("amplifier", ("supply+", "supply-"))):
        for item in study.rig.items.values():
            state = case.items.get(item.id)
            if item.part.family == family and state is not None:
                charged = family == "battery" and state.amps_a > 0.05
                what = f"Charging volts of {item.id}" if charged else f"Volts at {item.id}"
                low, high = _band(study, engine, state)
                yield _made(group, what, f"{item.id}.{ends[0]}", f"{item.id}.{ends[1]}", state.volts_v, low, high, "V")
    share = building.tolerance("current", "share")
    more = building.tolerance("current", "current_a")
    for name in sorted(case.devices):
        device = study.protection.devices.get(name)
        if device is not None and device.way and programme == _FULL:
            drawn = abs(case.devices[name].amps_a)
            yield _made(group, f"Current through {name}", f"the lead at {device.downstream}", "", drawn,
                        max(0.0, (1.0 - share) * drawn - more), (1.0 + share) * drawn + more, "A")  # fmt: skip


def _band(study: Study, engine: EngineState, state: ItemState) -> tuple[float, float]:
    """Volts that pass: any battery from half to full with the engine off, else the doubt about what charges it."""
    specs = [i.part.spec for i in study.rig.family("battery")]
    tables = [s.rest_table for s in specs if isinstance(s, BatterySpec)]
    found = building.volts_that_pass_v(tables, max(0.0, state.drop_v)) if engine == "off" else None
    if found is not None:
        return min(found[0], state.volts_v), max(found[1], state.volts_v)
    wide = building.tolerance("charging", "volts_v")
    return state.volts_v - wide, state.volts_v + wide


def _drops(study: Study) -> Iterator[Measurement]:
    """Segments first, then the joints in them that drop enough to be read."""
    engine: EngineState = "idle" if "idle" in study.rig.engine_states() else "off"
    case = study.power.cases.get((engine, _FULL))
    if case is None or not case.solved:
        return
    group = f"Drops, engine {engine}, {_FULL}"
    for wire in study.rig.wires:
        state = case.wires.get(wire.id)
        if state is None or is_bolted(wire) or wire.kind not in ("power", "ground") or abs(state.drop_mv) < LEAST_MV:
            continue
        yield _drop(group, f"{wire.id}, end to end", wire.start, wire.end, abs(state.drop_mv))
    yield from _joints(study, case, group)


def _joints(study: Study, case: CaseResult, group: str) -> Iterator[Measurement]:
    for name in sorted(case.devices):
        device, drop = study.protection.devices.get(name), abs(case.devices[name].drop_mv)
        if device is not None and device.way and drop >= LEAST_MV:
            yield _drop(group, f"{name}, fuse and clips", device.upstream, device.downstream, drop)
    for key, joint in case.joints.items():
        drop = abs(joint.drop_mv)
        kind, _, place = key.partition(":")
        if kind == "contact" and drop >= LEAST_JOINT_MV:
            item, _, number = place.rpartition(".")
            yield _drop(group, f"Contact {number} of {item}", f"{item}.a{number}", f"{item}.b{number}", drop)
    for key, joint in case.joints.items():
        wire_id, at, ref = key.rpartition("@")
        if at and abs(joint.drop_mv) >= LEAST_JOINT_MV and _speaks(study.rig, wire_id):
            yield _drop(group, f"End of {wire_id} at {ref}", ref, f"strands of {wire_id}", abs(joint.drop_mv))


def _speaks(rig: Rig, wire_id: str) -> bool:
    return any(w.id == wire_id and w.kind in ("power", "ground") and not is_bolted(w) for w in rig.wires)


def _drop(group: str, what: str, red: str, black: str, drop_mv: float) -> Measurement:
    most = (1.0 + building.tolerance("drop", "share")) * drop_mv
    return _made(group, what, red, black, drop_mv, 0.0,
                 most + building.tolerance("drop_meter", "volts_mv"), "mV")  # fmt: skip


def pulls(study: Study) -> tuple[Pull, ...]:
    """Every fuse and breaker pulled alone, nearest the battery last: what the wiring says must go dark."""
    graph = graph_of(shape_of(study.rig))
    order = list(study.rig.items)
    found = []
    for device in study.protection.devices.values():
        dark, count = graph.dark([device.id]), f"{device.count} × " if device.count > 1 else ""
        on = graph.on_when_whole
        found.append(
            Pull(
                device.id, count + device_words(device.type, device.rating_a),
                tuple(i for i in order if i in dark), tuple(i for i in order if i in on and i not in dark),
            )
        )
    return tuple(sorted(found, key=lambda p: (len(p.dark), p.device)))
