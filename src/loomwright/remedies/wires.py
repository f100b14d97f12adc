"""Remedies that put another wire in place of one: size, metal, insulation."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from loomwright.facts import conductors, workmanship
from loomwright.findings.conductors import better_insulation_c, copper_size, least_speaker_mm2
from loomwright.findings.covers import sheathed
from loomwright.findings.model import Finding
from loomwright.findings.returns import copper_mm2
from loomwright.findings.sizes import CLAD, Sizes
from loomwright.findings.steady import worst_wire
from loomwright.findings.trees import feed_way, return_way
from loomwright.findings.ways import ways_of
from loomwright.findings.words import listing
from loomwright.protection.graph import is_bolted
from loomwright.protection.sizing import settle
from loomwright.remedies.model import Remedy, makes
from loomwright.remedies.stock import Stock, fit, fit_carrying
from loomwright.rig.changes import Change, WireKey
from loomwright.rig.model import Wire


@makes("E501")
def carries_enough(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The smallest size that carries what the wire carries; or leave it to be chosen."""
    (wire,) = stock.named(finding.where)
    state = worst_wire(stock.study, wire.id)
    row = stock.carrying(wire, abs(state.amps_a)) if state else None
    if row is not None:
        copper = " copper" if wire.metal in CLAD else ""
        yield Remedy(f"Fit {row.label}{copper} as {wire.id}", fit_carrying(wire, row))
        yield Remedy(f"Let the size of {wire.id} be chosen", fit(wire, size="auto"))


@makes("E401")
def as_heavy_as_the_feed(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The return in the size of its feed."""
    *returns, feed = stock.named(finding.where)
    changes: list[Change] = []
    sizes = []
    for wire in returns:
        share = copper_mm2(replace(wire, size=feed.size)) / max(copper_mm2(feed), 1e-9) if feed.size else 0.0
        full = feed.size.area_mm2 / share if feed.size and share > 0 else float("inf")
        row = stock.least(wire, lambda r, full=full: r.area_mm2 * conductors.SAME_SIZE >= full)  # type: ignore[misc]
        if row is None:
            return
        sizes.append(row.label)
        changes += fit(wire, size=row.label)
    yield Remedy(f"Run {listing(w.id for w in returns)} in {listing(dict.fromkeys(sizes))}", tuple(changes))


@makes("E503")
def copper(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """Copper where the metal is known, thick enough for what it carries."""
    wires, sizes = stock.named(finding.where), Sizes(stock.rig)
    if wires and all(w.metal in CLAD for w in wires):
        made = [(w, copper_size(stock.study, sizes, w)) for w in wires]
        changes = [
            c for w, size in made
            for c in (fit(w, metal="copper") if w.size and w.size.label == size else fit(w, metal="copper", size=size))
        ]
        yield Remedy(f"Replace {listing(w.id for w in wires)} by copper", tuple(changes))


@makes("E504")
def gauge(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """AWG of the number that it was bought as; or a mark that says what it is, where that alone will do."""
    wires = [w for w in stock.named(finding.where) if w.size and w.size.system == "SAE"]
    if not wires:
        return
    names = listing(w.id for w in wires)
    full = [conductors.parse_size(w.size.label.replace("SAE", "AWG")) for w in wires if w.size]
    if all(stock.goes_in(w, row.area_mm2) for w, row in zip(wires, full, strict=True)):
        changes = [c for w, row in zip(wires, full, strict=True) for c in fit(w, size=row.label)]
        yield Remedy(f"Replace {names} by {listing(dict.fromkeys(r.label for r in full))}", tuple(changes))
    if finding.severity == "Know":
        marks = tuple(WireKey(w.id, "as_sold", w.size.label) for w in wires if w.size)
        yield Remedy(f"Mark {names} as SAE", marks)


@makes("E506")
def strong_enough(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """The least size for strength."""
    wires = stock.named(finding.where)
    changes: list[Change] = []
    sizes = []
    for wire in wires:
        least = (
            least_speaker_mm2(stock.rig, wire)
            if wire.kind == "speaker"
            else workmanship.min_conductor_mm2(in_sheath=sheathed(stock.rig, wire))
        )
        row = stock.least(wire, lambda r, least=least: r.area_mm2 >= 0.98 * least)  # type: ignore[misc]
        if row is None:
            return
        sizes.append(row.label)
        changes += fit(wire, size=row.label)
    yield Remedy(f"Run {listing(w.id for w in wires)} in {listing(dict.fromkeys(sizes))}", tuple(changes))


@makes("E507")
def insulation(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """Insulation that stands the place."""
    wires = stock.named(finding.where)
    better_c = better_insulation_c(max(stock.rig.wire_temperature_c(w) for w in wires))
    if better_c is not None:
        changes = [c for w in wires for c in fit(w, insulation_c=better_c)]
        title = f"Use insulation rated {better_c} \u00b0C for {listing(w.id for w in wires)}"
        yield Remedy(title, tuple(changes))


@makes("E514", "E951")
def tinned(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """Tinned copper of the same size."""
    wires = stock.named(finding.where)
    changes = [c for w in wires for c in fit(w, metal="tinned copper")]
    yield Remedy(f"Use tinned copper for {listing(w.id for w in wires)}", tuple(changes))


@makes("E804")
def less_drop(stock: Stock, finding: Finding) -> Iterator[Remedy]:
    """Sizes that keep the drop within the limit: the wires on the way are sized anew, none of them thinner."""
    rig = stock.rig
    ways = ways_of(rig)
    amps = [rig.items[ref] for ref in finding.where if ref in rig.items]
    on_way = {w for item in amps for way in (feed_way(ways, item), return_way(ways, item)) if way for w in way.wires}
    asked = [w for w in rig.wires if w.id in on_way and not is_bolted(w)]
    freed = replace(rig, wires=tuple(replace(w, size=None) if w in asked else w for w in rig.wires))
    made, choices = settle(freed)
    grown = [(old, made.wire(old.id)) for old in asked if _thicker(old, made.wire(old.id))]
    if grown and all(c.met for c in choices):
        changes = [c for old, new in grown if new.size for c in fit(old, size=new.size.label)]
        yield Remedy(f"Thicken {listing(old.id for old, _ in grown)}", tuple(changes))


def _thicker(old: Wire, new: Wire) -> bool:
    return bool(old.size and new.size and new.size.area_mm2 > old.size.area_mm2 * conductors.SAME_SIZE)

