"""Power in tables: cases by item, wires, charge balance, bass hits."""

from __future__ import annotations

import math
from typing import Any

from loomwright.drawing import figures
from loomwright.drawing.figures import amps, unit
from loomwright.papers.cells import Column, Value, table
from loomwright.power.headroom import TOP
from loomwright.power.results import CaseResult, ItemState
from loomwright.rig.model import PROGRAMMES, EngineState, Item, Programme, Rig
from loomwright.study import Study

_ORDER = ("battery", "charger", "dcdc", "amplifier", "processor", "source", "accessory")
NO_CHARGER = "Nothing charges in this rig: with the engine idling or cruising all is as with it off, and is left out."


def _cases(rig: Rig) -> tuple[tuple[EngineState, Programme], ...]:
    return tuple((e, p) for e in rig.engine_states() for p in PROGRAMMES)


def speaking_items(rig: Rig) -> tuple[Item, ...]:
    """Items with a state of their own, sources first."""
    known = [i for i in rig.items.values() if i.part.family in _ORDER]
    return tuple(sorted(known, key=lambda i: (_ORDER.index(i.part.family), list(rig.items).index(i.id))))


def cases(study: Study) -> list[dict[str, Any]]:
    """One grid for each quantity: items down, engine and programme across."""
    items = [i for i in speaking_items(study.rig) if any(i.id in c.items for c in study.power.cases.values())]
    amplifiers = [i for i in items if i.part.family == "amplifier"]
    grids = [
        _grid(study, "Volts at the item's own terminals", "V", items, lambda s: s.volts_v, decimals=2),
        _grid(study, "Current into the item (out of it: minus)", "A", items, lambda s: s.amps_a, decimals=1),
        _grid(study, "Watts into the item", "W", items, lambda s: s.watts_w, decimals=0),
    ]
    if amplifiers:
        grids.append(_grid(study, "Audio watts the amplifier makes", "W", amplifiers, lambda s: s.output_w, decimals=0))
        grids.append(_headroom(study))
    return [g for g in grids if g["rows"]]


def _grid(study: Study, title: str, unit_: str, items: list[Item], of: Any, decimals: int) -> dict[str, Any]:
    rows = []
    for item in items:
        row = []
        for key in _cases(study.rig):
            case = study.power.cases.get(key)
            state: ItemState | None = case.items.get(item.id) if case else None
            row.append("" if state is None else _mark(case, state, figures.fixed(of(state), decimals)))
        rows.append({"name": item.id, "cells": row})
    return {"title": title, "unit": unit_, "states": study.rig.engine_states(), "rows": rows}


def _mark(case: CaseResult | None, state: ItemState, text: str) -> str:
    if case is not None and not case.solved:
        return text + "*"
    return text + "!" if state.below_minimum else text


def _headroom(study: Study) -> dict[str, Any]:
    row = []
    for key in _cases(study.rig):
        case = study.power.cases.get(key)
        if case is None:
            row.append("")
        else:
            row.append(f">{TOP:g}" if math.isinf(case.headroom) else figures.three(case.headroom))
    return {"title": "Headroom: the programme can grow by this factor before volts collapse", "unit": "×",
            "states": study.rig.engine_states(), "rows": [{"name": "all amplifiers", "cells": row}]}  # fmt: skip


def remarks(study: Study) -> list[str]:
    """What the signs in the grids mean, and which cases have no operating point."""
    found = [] if study.rig.family("charger") else [NO_CHARGER]
    lost = [(k, c) for k, c in study.power.cases.items() if not c.solved and k[0] in study.rig.engine_states()]
    if lost:
        found.append(
            "* No operating point: the loads ask for more than the wiring can give. Shown is the last state that "
            "exists, at the part of the programme that headroom names."
        )
    for (engine, programme), case in lost:
        whose = f"; {case.lost} goes first" if case.lost else ""
        found.append(f"Engine {engine}, {programme}: lost at {figures.three(case.headroom)} of the programme{whose}.")
    if any(s.below_minimum for c in study.power.cases.values() for s in c.items.values()):
        found.append("! Below the least volts of the item: it shuts down.")
    return found


def wires(study: Study) -> dict[str, Any]:
    """Every wire that carries power: size, current, temperature against limit, drop."""
    columns = (
        Column("Wire", strong=True), Column("From", share=1.0), Column("To", share=1.0), Column("Size"),
        Column("Length", "mm", True), Column("Most", "A", True), Column("May carry", "A", True),
        Column("Hottest", "°C", True), Column("Limit", "°C", True), Column("Drop", "mV", True),
    )  # fmt: skip
    rows: list[list[Value]] = []
    for wire in study.rig.wires:
        states = [c.wires[wire.id] for k, c in study.power.cases.items() if k[1] != "sine" and wire.id in c.wires]
        if not states or wire.kind in ("line", "speaker"):
            continue
        worst = max(states, key=lambda s: s.temperature_c)
        bolted = wire.size is not None and wire.size.system == "bolted"
        size = wire.size.label if wire.size else "open"
        if wire.metal.startswith("cca"):
            size += f" {wire.metal.upper()}"
        rows.append([
            wire.id, wire.start, wire.end, size, None if bolted else wire.length_mm,
            max(abs(s.amps_a) for s in states), None if bolted or math.isinf(worst.ampacity_a) else worst.ampacity_a,
            None if bolted else f"{worst.temperature_c:.0f}", None if bolted else f"{worst.limit_c:.0f}",
            max(abs(s.drop_mv) for s in states),
        ])  # fmt: skip
    return table(columns, rows)


def balance(study: Study) -> dict[str, Any]:
    """What the charger can give and what is drawn."""
    columns = (
        Column("Engine", strong=True), Column("Programme"), Column("Charger can give", "A", True),
        Column("Drawn", "A", True), Column("Into the batteries", "A", True), Column("Left over", "A", True),
    )  # fmt: skip
    shown = [b for b in study.power.balance if b.engine in study.rig.engine_states()]
    return table(
        columns, [[b.engine, b.programme, b.available_a, b.drawn_a, b.battery_a, b.surplus_a] for b in shown]
    )


def sessions(study: Study) -> list[str]:
    """One sentence for each session."""
    out = []
    for s in study.power.sessions:
        if s.engine not in study.rig.engine_states() and s.engine != study.rig.limits.session_engine:
            continue
        if math.isinf(s.hours_to_no_crank_h):
            out.append(
                f"Engine {s.engine}, {s.programme}: cranks after all {figures.three(s.horizon_h)} hours looked at."
            )
        else:
            hours = unit(figures.three(s.hours_to_no_crank_h), "h")
            out.append(f"Engine {s.engine}, {s.programme}: after {hours} the engine no longer cranks.")
    return out


def bass(study: Study) -> dict[str, Any]:
    """Lowest volts and dip of every amplifier in every engine state."""
    amplifiers = [i.id for i in study.rig.family("amplifier")]
    columns = [Column("Amplifier", strong=True)]
    hits = [hit for hit in study.power.bass if hit.engine in study.rig.engine_states()]
    for hit in hits:
        columns += [Column(f"{hit.engine}, lowest", "V", True), Column(f"{hit.engine}, dip", "V", True)]
    rows: list[list[Value]] = []
    for name in amplifiers:
        row: list[Value] = [name]
        for hit in hits:
            low, dip = hit.items.get(name), hit.dip_v.get(name)
            row += [None if low is None else figures.fixed(low, 2), None if dip is None else figures.fixed(dip, 2)]
        rows.append(row)
    return table(columns, rows)


def key_figures(study: Study) -> list[dict[str, str]]:
    """The few figures that say most, for the first page."""
    out = []
    rig, power = study.rig, study.power
    engine, programme = rig.limits.session_engine, "loud"
    case = power.cases.get((engine, "loud"))
    amplifiers = {i.id for i in rig.family("amplifier")}
    if case:
        states = {k: s for k, s in case.items.items() if k in amplifiers}
        if states:
            low = min(states, key=lambda k: (states[k].volts_v, k))
            out.append(
                _key(figures.fixed(states[low].volts_v, 2), "V", f"lowest amplifier, {low}, engine {engine}, loud")
            )
            most = max(states, key=lambda k: (states[k].drop_v, k))
            limit = figures.volts(rig.limits.drop_v)
            words = f"most lost on the way, to {most}; wanted at most {limit}"
            out.append(_key(figures.fixed(states[most].drop_v, 2), "V", words))
        head = f">{TOP:g}" if math.isinf(case.headroom) else figures.three(case.headroom)
        out.append(_key(head, "×", f"headroom before volts collapse, engine {engine}, {programme}"))
    for s in power.sessions:
        if s.engine == rig.limits.session_engine and s.programme == rig.limits.session_programme:
            endless = math.isinf(s.hours_to_no_crank_h)
            value = f">{figures.three(s.horizon_h)}" if endless else figures.three(s.hours_to_no_crank_h)
            out.append(_key(value, "h", f"until no crank, engine {s.engine}, {s.programme}; "
                                        f"wanted {unit(figures.three(rig.limits.session_h), 'h')}"))  # fmt: skip
    hottest = None
    for wire in rig.wires:
        if any(wire.id in c.wires for c in power.cases.values()) and wire.size and wire.size.system != "bolted":
            state = power.worst_wire(wire.id)
            if hottest is None or state.temperature_c - state.limit_c > hottest[1].temperature_c - hottest[1].limit_c:
                hottest = (wire.id, state)
    if hottest:
        name, state = hottest
        label = f"wire nearest its limit of {state.limit_c:.0f} °C: {name}, {amps(abs(state.amps_a))}"
        out.append(_key(f"{state.temperature_c:.0f}", "°C", label))
    return out


def _key(value: str, unit_: str, label: str) -> dict[str, str]:
    return {"value": value, "unit": unit_, "label": label}
