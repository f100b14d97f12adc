"""Time-current charts: the bands of devices in series, and the line past which their wire takes harm."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from functools import lru_cache

import numpy as np

from loomwright.drawing import figures, scales
from loomwright.drawing.captions import device_words
from loomwright.drawing.marks import Sheet, Stroke, weight_for_mm2
from loomwright.drawing.plot import LINE_MM, Plot, Tag, sheet
from loomwright.facts import adiabatic
from loomwright.power import heat
from loomwright.protection import curves, damage
from loomwright.protection.results import Device
from loomwright.rig.model import Wire
from loomwright.study import Study

_SLOWEST_S, _QUICKEST_S = 10_000.0, 0.001
_ANGLES_DEG = (45.0, -45.0, 80.0, -80.0)
_LEFT_MM, _RIGHT_MM = 16.0, 28.0
_APART = 0.06  # lines nearer than this share of the current cannot be told apart in print


@dataclass(frozen=True, slots=True)
class _Curve:
    device: Device
    fast: tuple[tuple[float, float], ...]
    typical: tuple[tuple[float, float], ...]
    slow: tuple[tuple[float, float], ...]
    last_a: float


def chains(study: Study) -> tuple[tuple[str, ...], ...]:
    """The series chains worth a chart: as in the protection result, each once, none that is part of another."""
    found = sorted({c for c in study.protection.chains if c}, key=lambda c: (-len(c), c))
    kept: list[tuple[str, ...]] = []
    for chain in found:
        if not any(_within(chain, other) for other in kept):
            kept.append(chain)
    order = {c: k for k, c in enumerate(study.protection.chains)}
    return tuple(sorted(kept, key=lambda c: order[c]))


def _within(chain: tuple[str, ...], other: tuple[str, ...]) -> bool:
    return any(other[k : k + len(chain)] == chain for k in range(len(other) - len(chain) + 1))


def draw(study: Study, chain: Sequence[str], width_mm: float = 174.0, plot_mm: float = 78.0) -> Sheet:
    """The chart of one chain, battery side first.

    A band runs from the quickest to the slowest opening, the full line in it is the typical one. Broken edges: beyond
    the last gate, on constant I2t. A band whose gates rest on memory is said to be provisional.
    """
    devices = [study.protection.devices[d] for d in chain]
    curve_list = [_curve(d) for d in devices if d.rating_a > 0]
    wires = _alike(study, _wires(study, chain))
    normal_a = _steady_a(study, chain[-1])
    prospective = [
        (d.id, study.power.prospective_a[d.id]) for d in devices if study.power.prospective_a.get(d.id, 0) > 0
    ]
    lows = [c.device.rating_a * c.device.count for c in curve_list] + ([normal_a] if normal_a > 0.05 else [])
    highs = [a for _, a in prospective] + [c.last_a for c in curve_list]
    rows = len(curve_list) + len(wires) + len(prospective[-1:]) + (1 if normal_a > 0.05 else 0)
    top = 9.8 + LINE_MM * rows
    height = top + plot_mm + 9.5
    plot = Plot(
        scales.log_scale(
            min(lows, default=1.0) * 0.8, max(highs, default=1000.0) * 1.1, _LEFT_MM, width_mm - _RIGHT_MM
        ),
        scales.Scale(_QUICKEST_S, _SLOWEST_S, top + plot_mm, top, logarithmic=True),
    )
    plot.axes("Current [A]", "Time [s]")
    tags = [tag for k, c in enumerate(curve_list) for tag in _draw_band(plot, c, _ANGLES_DEG[k % 4])]
    tags += [tag for wire, ids in wires for tag in _draw_wire(plot, study, wire, ids)]
    if normal_a > 0.05:
        x = plot.upright(normal_a, Stroke(0.25, "copper"))
        tags.append(Tag(x, f"steady at most {figures.amps(normal_a)}", "copper"))
    for _, amps in prospective[-1:]:
        x = plot.upright(amps, Stroke(0.35, "copper", "dashed"))
        tags.append(Tag(x, f"bolted fault {figures.amps(amps)}", "copper"))
    plot.tags_above(tags, width_mm)
    return sheet(
        width_mm, height, "Battery → " + " → ".join(chain), plot, "Band: quickest to slowest. Line in it: typical."
    )


def _steady_a(study: Study, device_id: str) -> float:
    """Largest steady current of a device over the cases a rig must stand for ever [A]."""
    states = [c.devices.get(device_id) for key, c in study.power.cases.items() if key[1] != "sine"]
    return max((abs(s.amps_a) for s in states if s is not None), default=0.0)


def _curve(device: Device) -> _Curve:
    made = curves.curve(device.type, device.rating_a, device.temperature_c)
    whole = device.rating_a * device.count

    def values(line: curves.Line) -> tuple[tuple[float, float], ...]:
        return tuple((math.exp(m) * whole, math.exp(s)) for m, s in zip(line.log_multiple, line.log_s, strict=True))

    return _Curve(device, values(made.fastest), values(made.typical), values(made.slowest), made.last_multiple * whole)


def _draw_band(plot: Plot, c: _Curve, angle_deg: float) -> Iterator[Tag]:
    endless = _SLOWEST_S * 1e3
    outline = [(c.fast[0][0], endless), *c.fast, *reversed(c.slow), (c.slow[0][0], endless)]
    plot.band(outline, angle_deg, 1.6)
    provisional = c.device.provisional
    for values in (c.fast, c.slow):
        whole = ((values[0][0], endless), *values)
        inside, beyond = _split(whole, c.last_a)
        plot.line(inside, Stroke(0.25, "ink", "dashed" if provisional else "solid"))
        plot.line(beyond, Stroke(0.25, "ink", "dotted"))
    plot.line(((c.typical[0][0], endless), *c.typical), Stroke(0.5))
    count = f"{c.device.count} × " if c.device.count > 1 else ""
    words = f"{c.device.id}, {count}{device_words(c.device.type, c.device.rating_a)}"
    if provisional:
        words += " (provisional)"
    yield Tag(plot.x.at(c.slow[0][0]), words, weight="semibold")


def _split(
    values: Sequence[tuple[float, float]], at_a: float
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """The part of a line up to a current, and the part beyond it."""
    inside = [v for v in values if v[0] <= at_a * (1 + 1e-9)]
    beyond = [v for v in values if v[0] > at_a * (1 + 1e-9)]
    if inside and beyond:
        a, b = inside[-1], beyond[0]
        if b[0] / a[0] > 1 + 1e-9 and at_a > a[0]:
            share = math.log(at_a / a[0]) / math.log(b[0] / a[0])
            inside.append((at_a, a[1] * (b[1] / a[1]) ** share))
        beyond.insert(0, inside[-1])
    return inside, beyond


def _wires(study: Study, chain: Sequence[str]) -> Iterator[Wire]:
    """For each device of the chain the thinnest wire it guards on the way to this load, each wire once."""
    seen: set[str] = set()
    loads = _loads(study, chain[-1])
    for device in chain:
        guarded = [
            w for w in study.rig.wires
            if w.size is not None and w.size.system != "bolted"
            and w.id in study.protection.guards and device in study.protection.guards[w.id].devices
            and _leads_to(study, w, loads)
        ]  # fmt: skip
        if guarded:
            thinnest = min(guarded, key=lambda w: (w.size.area_mm2 if w.size else 0.0, w.id))
            if thinnest.id not in seen:
                seen.add(thinnest.id)
                yield thinnest


def _loads(study: Study, device: str) -> frozenset[str]:
    """Items at the far end of a chain: the item of its last device, and what hangs on the ways beyond it."""
    last = study.protection.devices[device]
    found, waiting = {last.item}, [last.downstream]
    seen = {last.upstream, last.downstream}
    while waiting:
        for wire in study.rig.wires_at(waiting.pop()):
            for ref in (wire.start, wire.end):
                if ref not in seen and wire.kind == "power":
                    seen.add(ref)
                    item = study.rig.item_of(ref)
                    found.add(item.id)
                    if item.part.family in ("connector", "switch", "relay", "splice"):
                        waiting += [f"{item.id}.{t.name}" for t in item.part.terminals]
    return frozenset(found)


def _leads_to(study: Study, wire: Wire, loads: frozenset[str]) -> bool:
    """True unless the wire ends at a load of another chain."""
    ends = [study.rig.item_of(ref) for ref in (wire.start, wire.end)]
    return all(i.id in loads for i in ends if i.part.family in ("amplifier", "processor", "source", "accessory"))


def _alike(study: Study, wires: Iterable[Wire]) -> list[tuple[Wire, str]]:
    """Wires whose lines would lie on one another drawn as one: the wire that stands least, and the ids of all."""
    found: list[list[Wire]] = []
    lines: dict[str, np.ndarray[tuple[int], np.dtype[np.float64]]] = {}
    for wire in wires:
        lines[wire.id] = np.array([a for a, _ in damage_line(study, wire)])
        for others in found:
            same = others[0].size, others[0].metal, others[0].insulation_c
            apart = np.max(np.abs(lines[others[0].id] / lines[wire.id] - 1.0))
            if same == (wire.size, wire.metal, wire.insulation_c) and apart < _APART:
                others.append(wire)
                break
        else:
            found.append([wire])
    return [(min(ws, key=lambda w: float(lines[w.id].sum())), ", ".join(w.id for w in ws)) for ws in found]


def _draw_wire(plot: Plot, study: Study, wire: Wire, ids: str) -> Iterator[Tag]:
    size = wire.size
    assert size is not None
    values = damage_line(study, wire)
    pieces = plot.line(values, Stroke(weight_for_mm2(size.area_mm2), "ink"))
    if pieces:
        limit = adiabatic.limit_c(wire.insulation_c, 1.0)
        x = min((p for piece in pieces for p in piece), key=lambda p: p[1])[0]
        yield Tag(x, f"harm to {ids}, {size.label} ({figures.unit(f'{limit:.0f}', '°C')} within 5 s)")


def damage_line(study: Study, wire: Wire) -> tuple[tuple[float, float], ...]:
    """Current and time at which a wire, hot from `loud`, reaches its limit for that length of time: pairs [A, s]."""
    wires = heat.wire_heat(study.rig)
    store = damage.store(wires)
    k = wires.ids.index(wire.id)
    start = min(study.power.worst_wire(wire.id).temperature_c, float(wire.insulation_c))
    return _harm(tuple(float(np.asarray(getattr(store, f.name))[k]) for f in fields(store)), start, wire.insulation_c)


@lru_cache(maxsize=256)
def _harm(store: tuple[float, ...], start_c: float, insulation_c: int) -> tuple[tuple[float, float], ...]:
    """That line for a heat store of one wire: wires alike, and a wire in several charts, have one line."""
    one = damage.Store(*(np.array([value]) for value in store))
    times = np.geomspace(_QUICKEST_S, _SLOWEST_S, 57)
    limits = np.array([adiabatic.limit_c(insulation_c, float(t)) for t in times])
    low, high = np.zeros(len(times)), np.full(len(times), 1e6)
    for _ in range(50):
        middle = (low + high) / 2
        reached = damage.after_c(one, np.full((len(times), 1), start_c), middle[:, None], times)[:, 0]
        low, high = np.where(reached < limits, middle, low), np.where(reached < limits, high, middle)
    return tuple((float(a), float(t)) for a, t in zip(high, times, strict=True))
