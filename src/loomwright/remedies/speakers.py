"""Remedies on loudspeaker wiring."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings.circuits import Circuits, missing_wire
from loomwright.findings.model import Finding
from loomwright.remedies.model import Remedy, makes
from loomwright.remedies.stock import Stock
from loomwright.rig.changes import NewWire, WireKey
from loomwright.rig.edit import Value
from loomwright.rig.model import Wire


@makes("E905")
def to_the_outer_terminals(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The one wire that is on a wrong terminal of a bridged pair, moved to the right one."""
    rig, item = stock.rig, stock.rig.items[finding.where[0]]
    for first, second in item.bridged:
        right = (f"{item.id}.ch{first}+", f"{item.id}.ch{second}-")
        wrong = [t for t in (f"{item.id}.ch{first}-", f"{item.id}.ch{second}+") if rig.wires_at(t)]
        empty = [t for t in right if not rig.wires_at(t)]
        if len(wrong) != 1 or len(empty) != 1 or wrong[0][-1] != empty[0][-1]:
            continue
        wires = rig.wires_at(wrong[0])
        changes = tuple(WireKey(w.id, "from" if w.start == wrong[0] else "to", empty[0]) for w in wires)
        yield Remedy(f"Move {wires[0].id} to {empty[0]}", changes)


@makes("E906")
def missing(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The wire that is missing, like the one beside it."""
    rig = stock.rig
    for found in Circuits(rig).open():
        pair = missing_wire(found)
        if pair is None or not set(found.bare) <= set(finding.where):
            continue
        driver = found.drivers[0]
        beside = [w for w in rig.wires if driver in (w.start.partition(".")[0], w.end.partition(".")[0])]
        if len(beside) == 1 and found.channels[0].item in (beside[0].start.partition(".")[0],
                                                           beside[0].end.partition(".")[0]):  # fmt: skip
            name = _next_id([w.id for w in rig.wires] + list(rig.items), beside[0].id)
            wire = NewWire(name, *pair, beside[0].size.label if beside[0].size else "16 AWG", _like(beside[0]))
            yield Remedy(f"Run a wire from {pair[0]} to {pair[1]}", (wire,))


def _like(wire: Wire) -> tuple[tuple[str, Value], ...]:
    """Keys of a wire that lies beside another."""
    keys: list[tuple[str, Value]] = [("metal", wire.metal)] if wire.metal != "copper" else []
    keys += [("length_mm", wire.length_mm)] if wire.length_given else []
    keys += [("insulation_c", wire.insulation_c)] if wire.insulation_c != 105 else []
    return (*keys, *([("cover", list(wire.cover))] if wire.cover else []))


def _next_id(taken: list[str], like: str) -> str:
    """The first free number with the letters of another: ``S9`` after ``S8``."""
    stem = like.rstrip("0123456789") or "W"
    return next(f"{stem}{n}" for n in range(1, len(taken) + 2) if f"{stem}{n}" not in taken)
