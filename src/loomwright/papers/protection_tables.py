"""Protection in tables: the drill, guards, devices in series, choices."""

from __future__ import annotations

import math
from collections import Counter
from typing import Any, get_args

from loomwright.drawing.captions import device_words
from loomwright.facts.adiabatic import copper_melts_c
from loomwright.papers.cells import Column, Value, table
from loomwright.protection.results import FaultKind, FaultResult, Verdict
from loomwright.study import Study

VERDICT_WORDS: dict[Verdict, str] = {
    "burned": "wire damaged",
    "not cleared": "not cleared",
    "spread": "cleared, took others down",
    "cleared": "cleared alone",
    "no harm": "no harm",
}
WORST_FIRST: tuple[Verdict, ...] = ("burned", "not cleared", "spread", "cleared", "no harm")
KIND_WORDS: dict[FaultKind, str] = {
    "chafe": "Wire rubbed through to the frame or ground",
    "amplifier": "Fault inside an amplifier",
    "lost return": "Return wire lost",
    "loose joint": "Joint worked loose",
    "wrong fuse": "Fuse swapped for the next sizes up",
    "remote left on": "Remote left on, engine off",
}


def verdict_counts(study: Study) -> list[dict[str, Any]]:
    """How many faults ended in each verdict, worst first."""
    counts = Counter(f.verdict for f in study.protection.drill)
    return [{"word": VERDICT_WORDS[v], "count": counts[v]} for v in WORST_FIRST]


def drill(study: Study) -> list[dict[str, Any]]:
    """One part for each kind of fault: what did harm or opened something, worst first; the harmless ones counted."""
    parts = []
    for kind in get_args(FaultKind):
        faults = [f for f in study.protection.drill if f.kind == kind]
        if not faults:
            continue
        faults.sort(key=lambda f: (WORST_FIRST.index(f.verdict), -(f.hottest_c - f.limit_c), f.id))
        counts = Counter(f.verdict for f in faults)
        summary = ", ".join(f"{counts[v]} {VERDICT_WORDS[v]}" for v in WORST_FIRST if counts[v])
        harmless = Counter(f.where for f in faults if f.verdict == "no harm")
        parts.append({
            "title": KIND_WORDS[kind], "summary": f"{len(faults)} faults: {summary}",
            "faults": [_fault(f) for f in faults if f.verdict != "no harm"],
            "harmless": ", ".join(f"{where} × {n}" if n > 1 else where for where, n in harmless.items()),
        })  # fmt: skip
    return parts


def _fault(fault: FaultResult) -> dict[str, Any]:
    notes = []
    if fault.provisional:
        notes.append("provisional")
    if fault.typical_only:
        notes.append("typical, not proved")
    dark = [d for d in fault.dark if d not in fault.own_branch]
    hot = ""
    if fault.hottest_wire is not None:
        hot = f"{fault.hottest_wire}: {_span(fault.hottest_best_c, fault.hottest_c, fault.limit_c)}"
    return {
        "rank": WORST_FIRST.index(fault.verdict),
        "verdict": VERDICT_WORDS[fault.verdict],
        "where": fault.where,
        "detail": fault.detail,
        "reason": fault.reason,
        "hot": hot,
        "dark": ", ".join(dark),
        "notes": ", ".join(notes),
    }


def _span(best: float, worst: float, limit: float) -> str:
    """Hottest end temperatures against the limit: from the quickest to the slowest end."""
    if worst >= copper_melts_c():
        first = "melts" if best >= copper_melts_c() else f"{best:.0f} °C or melts"
        return f"{first}, limit {limit:.0f} °C"
    if abs(worst - best) < 1.0:
        return f"{worst:.0f} of {limit:.0f} °C"
    return f"{best:.0f} to {worst:.0f} of {limit:.0f} °C"


def guards(study: Study) -> dict[str, Any]:
    """Which device guards each wire, and what the wire can carry."""
    columns = (
        Column("Wire", strong=True), Column("Size"), Column("Guarded by", share=1.0), Column("Rating", "A", True),
        Column("Most, steady", "A", True), Column("May carry", "A", True), Column("Unguarded length", "mm", True),
    )  # fmt: skip
    rows: list[list[Value]] = []
    for wire in study.rig.wires:
        guard = study.protection.guards.get(wire.id)
        if guard is None:
            continue
        rows.append([
            wire.id, wire.size.label if wire.size else "open", _guarded(guard.devices, guard.rating_a),
            None if math.isinf(guard.rating_a) or not guard.rating_a else f"{guard.rating_a:g}", guard.continuous_a,
            None if math.isinf(guard.ampacity_a) else guard.ampacity_a, guard.stub_mm or None,
        ])  # fmt: skip
    return table(columns, rows)


def _guarded(devices: tuple[str, ...], rating_a: float) -> str:
    if devices:
        return ", ".join(devices)
    return "nothing" if math.isinf(rating_a) else "what its output can give"


def devices(study: Study) -> dict[str, Any]:
    """Every over-current device: type, rating, place, what it can break."""
    columns = (
        Column("Device", strong=True), Column("Type and rating", share=1.0), Column("At", "°C", True),
        Column("Most, steady", "A", True), Column("Usable", "A", True), Column("Bolted fault after it", "A", True),
        Column("Can break", "A", True), Column("Data"),
    )  # fmt: skip
    rows: list[list[Value]] = []
    for device in sorted(study.protection.devices.values(), key=lambda d: d.id):
        states = [
            c.devices[device.id] for k, c in study.power.cases.items() if k[1] != "sine" and device.id in c.devices
        ]
        count = f"{device.count} × " if device.count > 1 else ""
        rows.append([
            device.id, count + device_words(device.type, device.rating_a), f"{device.temperature_c:.0f}",
            max((abs(s.amps_a) for s in states), default=None), states[0].usable_a if states else None,
            study.power.prospective_a.get(device.id),
            None if math.isinf(device.interrupting_a) else device.interrupting_a,
            "provisional" if device.provisional else "",
        ])  # fmt: skip
    return table(columns, rows)


def pairs(study: Study) -> dict[str, Any]:
    """Devices in series: does only the nearer one open."""
    columns = (
        Column("Nearer the battery", strong=True), Column("Nearer the load", strong=True),
        Column("Bolted fault", "A", True), Column("Melting I²t ratio", "", True), Column("Verdict", share=1.0),
    )  # fmt: skip
    rows: list[list[Value]] = []
    for pair in study.protection.pairs:
        verdict = (
            "selective, proved by the gates" if pair.proved
            else "selective by typical figures, not proved" if pair.typical
            else "both may open"
        )  # fmt: skip
        if pair.provisional:
            verdict += " (provisional)"
        rows.append([pair.upstream, pair.downstream, pair.prospective_a, pair.ratio_i2t, verdict])
    return table(columns, rows)


def choices(study: Study) -> dict[str, Any]:
    """What was left open in the rig and what it became."""
    columns = (Column("Where", strong=True), Column("Chosen"), Column("Reason", share=1.0), Column("Met"))
    return table(columns, [[c.where, c.chosen, c.reason, "yes" if c.met else "no"] for c in study.protection.choices])
