"""Remedies on loudspeaker wiring."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings.circuits import circuits_of, missing_wire
from loomwright.findings.model import Finding
from loomwright.remedies.model import Remedy, makes
from loomwright.remedies.stock import Stock
from loomwright.rig.changes import ItemKey, NewWire, WireKey
from loomwright.rig.edit import Value
from loomwright.rig.model import AmplifierSpec, Wire


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
    for found in circuits_of(rig).open:
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


@makes("E916")
def the_right_way_round(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The wires at a reversed driver, exchanged; none where a crossover may ask for it."""
    (driver,) = finding.where
    if finding.severity == "Know":
        return
    other = {f"{driver}.+": f"{driver}.-", f"{driver}.-": f"{driver}.+"}
    changes = [
        WireKey(w.id, key, other[ref])
        for w in stock.rig.wires
        for key, ref in (("from", w.start), ("to", w.end))
        if ref in other
    ]
    yield Remedy(f"Exchange the wires at {driver}.+ and {driver}.-", tuple(changes))


@makes("E914")
def say_bridged(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The pair that one loudspeaker lies across, said to be bridged, where the amplifier can be."""
    item = stock.rig.items[finding.where[0]]
    spec = item.part.spec
    ends = [t.rpartition(".ch")[2] for t in finding.where[1:]]
    plus, minus = ([int(e[:-1]) for e in ends if e[-1] == sign] for sign in "+-")
    if not isinstance(spec, AmplifierSpec) or spec.bridged_4ohm_w is None or len(plus) != 1 or len(minus) != 1:
        return
    if minus[0] != plus[0] + 1 or plus[0] % 2 == 0 or {plus[0], minus[0]} & {n for p in item.bridged for n in p}:
        return
    pairs = [*(list(p) for p in item.bridged), [plus[0], minus[0]]]
    yield Remedy(
        f"Say that ch{plus[0]} and ch{minus[0]} of {item.id} are bridged", (ItemKey(item.id, "bridged", pairs),)
    )


@makes("E936")
def gain_as_on_the_card(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The gain at which the tone of the gain card gives its volts."""
    found = [x for x in stock.study.sound.levels.values() if f"{x.channel.partition('+')[0]}+" == finding.where[1]]
    item = stock.rig.items[finding.where[0]]
    for levels in found:
        gain = levels.gain
        number = int(finding.where[1].rpartition(".ch")[2].rstrip("+"))
        least = min(max(gain.input_v, gain.low_v), gain.high_v)
        gains = [*item.gains_v]
        gains[number - 1] = float(f"{least:.3g}")
        yield Remedy(
            f"Set the gain of {levels.channel} to {gains[number - 1]:g} V in", (ItemKey(item.id, "gains_v", gains),)
        )
