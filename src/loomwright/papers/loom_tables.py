"""The loom in tables: every wire, bundles and runs, pinouts, the cutting plan, what to buy, the ring-out."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Sequence
from typing import Any

from loomwright.drawing.captions import device_words
from loomwright.drawing.figures import NOTHING, fixed, three, unit
from loomwright.facts import colours
from loomwright.loom.cut_plan import CutPlan
from loomwright.loom.results import Bundle, LoomWire, WireEnd
from loomwright.loom.shopping import Buy, Consumable
from loomwright.papers.cells import Column, Value, table
from loomwright.study import Study

KINDS = {"power": "feed", "ground": "return", "remote": "remote", "line": "line", "speaker": "speaker"}
_SHORT = {"copper": "", "tinned copper": ", tinned", "cca10": ", CCA10", "cca15": ", CCA15"}


def wires(study: Study) -> list[dict[str, Any]]:
    """Every wire that is cut, by what it carries: cut length, how each end is made, what guards it."""
    columns = (
        Column("Wire", strong=True), Column("Size"), Column("Colour"), Column("Cut", "mm", True),
        Column("From, and the end it gets", share=1.0), Column("Strip", "mm", True),
        Column("To, and the end it gets", share=1.0), Column("Strip", "mm", True), Column("Runs"),
        Column("Fuse", share=0.42),
    )  # fmt: skip
    found: dict[str, list[list[Value]]] = defaultdict(list)
    for w in study.loom.wires:
        a, b = w.ends
        found[w.kind].append([
            w.id, w.size + _SHORT[w.metal], colours.words(w.colour) + f" {w.colour}", fixed(w.cut_mm, 0), _end(a),
            _strip(a), _end(b), _strip(b), ", ".join(map(str, w.runs)) or NOTHING, guard(study, w.id),
        ])  # fmt: skip
    heads = {"power": "Feeds", "ground": "Returns", "remote": "Remote", "line": "Line leads", "speaker": "Speaker wire"}
    return [{"title": heads[k], "table": table(columns, found[k])} for k in KINDS if k in found]


def _end(end: WireEnd) -> str:
    if not end.fits:
        return f"{end.terminal}: no end fits; {end.would_fit}" if end.would_fit else f"{end.terminal}: no end fits"
    words = f"{end.terminal}: {end.end}"
    if end.colour and end.end.startswith("ferrule"):
        words += f", {colours.words(end.colour)} collar"
    if end.pull_n is not None:
        words += f", holds {unit(three(end.pull_n), 'N')}"
    if end.shrink:
        words += f"; heat-shrink {end.shrink}, {unit(f'{end.shrink_mm:g}', 'mm')} long"
    return words


def _strip(end: WireEnd) -> str:
    return f"{end.strip_mm:g}" if end.strip_mm else NOTHING


def guard(study: Study, wire_id: str) -> str:
    """The device that guards a wire, with its rating; a dash for wires that carry no supply."""
    found = study.protection.guards.get(wire_id)
    if found is None:
        return NOTHING
    if not found.devices:
        return "nothing" if math.isinf(found.rating_a) else "its source's limit"
    known = study.protection.devices
    return ", ".join(f"{d} {known[d].rating_a:g} A" if d in known else d for d in found.devices)


def bundles(found: Sequence[Bundle]) -> list[dict[str, Any]]:
    """One block for each run: what lies in it, how thick it is, what it passes, where it is held."""
    return [
        {
            "run": str(b.run), "between": f"{b.between[0]} to {b.between[1]}", "wires": ", ".join(b.wires),
            "section": [[p.wire, p.x_mm, p.y_mm, p.diameter_mm] for p in b.section], "diameter_mm": b.diameter_mm,
            "facts": table((Column("What"), Column("How much")), _about(b)),
        }
        for b in found
    ]  # fmt: skip


def _about(b: Bundle) -> list[list[Value]]:
    def mm(value: float, decimals: int = 0) -> str:
        return unit(fixed(value, decimals), "mm")

    rows: list[list[Value]] = [
        ["Length of the run", mm(b.length_mm)],
        ["Bare, and with its covers", f"{mm(b.diameter_mm, 1)}, {mm(b.covered_mm, 1)}"],
        ["Covers", ", ".join(b.covers) or "none"],
        ["Bend no tighter than", mm(b.bend_mm)],
        ["Held at least every", f"{mm(b.support_mm)}, {b.ties} ties"],
        ["Mass", unit(fixed(b.mass_g, 0), "g")],
        ["Loaded wires, derating", f"{b.loaded}, × {b.derating:.2f}"],
    ]
    if b.grommet_mm is not None:
        rows.insert(3, ["Grommet", f"bore {mm(b.grommet_mm, 1)}, hole {mm(b.hole_mm, 1)}"])
    if b.hole_there_mm is not None:
        rows.insert(4, ["Hole that is there", mm(b.hole_there_mm, 1)])
    if b.connector is not None and b.connector_mm is not None:
        rows.append([f"{b.connector} needs a hole of", mm(b.connector_mm, 1)])
    return rows


def cutting(plan: CutPlan) -> dict[str, Any]:
    """The plan over the spools in stock, each in the order of cutting, with what is left."""
    columns = (
        Column("Spool", strong=True), Column("On it", "mm", True), Column("Cut in this order", share=1.0),
        Column("Used", "mm", True), Column("Left", "mm", True), Column("Left, measured", share=0.0),
    )  # fmt: skip
    return table(columns, [
        [c.spool, fixed(c.length_mm, 0), ", ".join(c.wires), fixed(c.used_mm, 0), fixed(c.remnant_mm, 0), ""]
        for c in plan.cuts
    ])  # fmt: skip


def to_buy(found: Sequence[Buy]) -> dict[str, Any]:
    """Wire by kind: metres with their spare, reels, and what it is for."""
    columns = (
        Column("Wire", strong=True), Column("Colour"), Column("Needed", "m", True), Column("Buy", "m", True),
        Column("Reels"), Column("For", share=1.0),
    )  # fmt: skip
    return table(columns, [
        [f"{b.size} {b.metal}, {b.insulation_c} °C{', screened' if b.screened else ''}",
         f"{colours.words(b.colour)} {b.colour}", fixed(b.needed_mm / 1000.0, 2), fixed(b.buy_mm / 1000.0, 0),
         f"{b.reels} × {unit(f'{b.reel_mm / 1000.0:g}', 'm')}", ", ".join(b.wires)] for b in found
    ])  # fmt: skip


def small_parts(found: Sequence[Consumable]) -> dict[str, Any]:
    """Ends, shrink, covers, ties, labels by count."""
    columns = (Column("Small part", strong=True, share=1.0), Column("Count", "", True), Column("Length", "mm", True))
    return table(columns, [
        [c.what, str(c.count), None if c.length_mm is None else fixed(c.length_mm, 0)] for c in found
    ])  # fmt: skip


def fuses(study: Study) -> dict[str, Any]:
    """Fuses and breakers by type and rating, and where they go."""
    found: dict[str, list[str]] = defaultdict(list)
    count: Counter[str] = Counter()
    for device in sorted(study.protection.devices.values(), key=lambda d: d.id):
        words = device_words(device.type, device.rating_a)
        found[words].append(device.id)
        count[words] += device.count
    columns = (Column("Fuse or breaker", strong=True), Column("Fitted", "", True), Column("Where", share=1.0))
    return table(columns, [[words, str(count[words]), ", ".join(found[words])] for words in sorted(found)])


def label_texts(found: Sequence[LoomWire]) -> list[list[str]]:
    """The lines of every label, both ends of a wire one after the other."""
    return [text.split("\n") for w in found for text in w.labels]
