"""Moves with wires and joints: a size up, the return doubled, a poor joint remade."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from loomwright.advice.moves import Move, Shop, new_id, total
from loomwright.advice.point import Case
from loomwright.advice.slopes import Slopes
from loomwright.facts import conductors, joints
from loomwright.facts.conductors import SizeRow
from loomwright.findings.trees import feed_way, return_way
from loomwright.findings.ways import ways_of
from loomwright.findings.words import listing
from loomwright.power.network import wire_mohm
from loomwright.protection.graph import is_bolted
from loomwright.remedies.stock import fit, joint_key
from loomwright.rig.changes import Change, NewWire, WireKey
from loomwright.rig.edit import Value
from loomwright.rig.model import Rig, Wire

SIZES_UP = 2
"""So many sizes up are tried."""
POOR_MOHM = 0.5
"""A joint that gains less than this when remade is left alone [mOhm]."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Wires that carry one stream together, and what to call them."""

    name: str
    wires: tuple[Wire, ...]


def stretches(rig: Rig) -> tuple[Stretch, ...]:
    """What all amplifiers share, feed and return; then each amplifier's own wires."""
    ways, wires = ways_of(rig), {w.id: w for w in rig.wires}
    feeds: dict[str, tuple[str, ...]] = {}
    returns: dict[str, tuple[str, ...]] = {}
    for item in rig.family("amplifier"):
        there, home = feed_way(ways, item), return_way(ways, item)
        feeds[item.id] = there.wires if there else ()
        returns[item.id] = home.wires if home else ()

    def lying(ids: tuple[str, ...]) -> tuple[Wire, ...]:
        return tuple(w for i in ids if (w := wires[i]).size is not None and not is_bolted(w))

    found = []
    feed, back = lying(_shared(feeds)), lying(_shared(returns))
    found += [Stretch("main feed", feed)] if feed else []
    found += [Stretch("main return", back)] if back else []
    found += [Stretch("main feed and return", (*feed, *back))] if feed and back else []
    for name in feeds:
        own = tuple(dict.fromkeys((*lying(feeds[name]), *lying(returns[name]))))
        own = tuple(w for w in own if w not in feed and w not in back)
        found += [Stretch(f"feed and return of {name}", own)] if own else []
    return tuple(found)


def _shared(ways: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    some = [set(w) for w in ways.values() if w]
    first = next((w for w in ways.values() if w), ())
    return tuple(i for i in first if len(some) > 1 and all(i in s for s in some))


def wire_moves(shop: Shop, slopes: Slopes, row: int, goal: int) -> Iterator[Move]:
    """Every stretch one size up and two, as far as its terminals take them."""
    for stretch in stretches(shop.study.rig):
        for steps in range(1, SIZES_UP + 1):
            move = _up(shop, stretch, steps, slopes, row, goal)
            if move is not None:
                yield move


def _up(shop: Shop, stretch: Stretch, steps: int, slopes: Slopes, row: int, goal: int) -> Move | None:
    changes: list[Change] = []
    copper, prices, guess, said = 0.0, list[float | None](), 0.0, dict[str, list[str]]()
    at = {lever.id: k for k, lever in enumerate(slopes.levers)}
    for wire in stretch.wires:
        sizes = list(shop.sizes_up(wire))
        if len(sizes) < steps or not shop.stock.goes_in(wire, sizes[steps - 1].area_mm2):
            return None
        assert wire.size is not None
        size, area = sizes[steps - 1], wire.size.area_mm2
        changes += fit(wire, size=size.label)
        copper += shop.copper_g(wire.metal, size.area_mm2 - area, wire.length_mm)
        prices.append(shop.wire_price(size.label, wire.metal, wire.length_mm))
        k = at.get(f"joint:{wire.id}@{wire.start}")
        if k is not None:  # a milliohm more in its branch is a milliohm more, in a joint or in the wire
            guess += float(slopes.value[row, goal, k]) * _less_mohm(shop, wire, size, slopes.cases[row])
        said.setdefault(f"{wire.size.label.rpartition(' ')[0]} to {size.label}", []).append(wire.id)
    words = "; ".join(f"{listing(ids)} {change}" for change, ids in said.items())
    title = f"{stretch.name[0].upper()}{stretch.name[1:]}: {words}"
    return Move(f"{stretch.name} {steps} up", "wire", title, tuple(changes), copper, total(prices), guess)


def _less_mohm(shop: Shop, wire: Wire, size: SizeRow, case: Case) -> float:
    """Change of a wire's resistance with another size, as warm as it is in a case; negative where it falls [mohm].

    What was measured on the old wire goes with it.
    """
    state = shop.study.power.case(*case).wires.get(wire.id)
    hot = 1.0 + conductors.ALPHA20 * ((state.temperature_c if state else 20.0) - 20.0)
    new = conductors.resistance_mohm_per_m(size.area_mm2, wire.metal, 20.0, size.system) * wire.length_mm / 1000.0
    return (new - wire_mohm(wire)) * hot


def doubled(shop: Shop) -> Iterator[Move]:
    """The main return twice, and the main feed: a second wire beside each, end to end."""
    rig = shop.study.rig
    for stretch in stretches(rig):
        if stretch.name != "main return":
            continue
        changes, copper, prices = list[Change](), 0.0, list[float | None]()
        for wire in stretch.wires:
            if any(len(rig.wires_at(ref)) >= rig.terminal(ref).max_wires for ref in (wire.start, wire.end)):
                changes = []
                break
            assert wire.size is not None
            name = new_id((w.id for w in rig.wires), wire.id)
            changes.append(NewWire(name, wire.start, wire.end, wire.size.label, _like(wire)))
            copper += shop.copper_g(wire.metal, wire.size.area_mm2, wire.length_mm)
            prices.append(shop.wire_price(wire.size.label, wire.metal, wire.length_mm))
        if changes:
            named = listing(w.id for w in stretch.wires)
            yield Move("main return doubled", "wire", f"Main return doubled: a second wire beside {named}",
                       tuple(changes), copper, total(prices))  # fmt: skip


def _like(wire: Wire) -> tuple[tuple[str, Value], ...]:
    keys: list[tuple[str, Value]] = []
    if wire.metal != "copper":
        keys.append(("metal", wire.metal))
    if wire.length_given:
        keys.append(("length_mm", wire.length_mm))
    if wire.insulation_c != 105:
        keys.append(("insulation_c", wire.insulation_c))
    if wire.cover:
        keys.append(("cover", list(wire.cover)))
    return tuple(keys)


def joint_moves(shop: Shop, slopes: Slopes, row: int, goal: int) -> Iterator[Move]:
    """Every end of a power wire that is poorer than its terminal is made for, remade."""
    rig = shop.study.rig
    at = {lever.id: k for k, lever in enumerate(slopes.levers)}
    for wire in rig.wires:
        if wire.kind not in ("power", "ground") or is_bolted(wire) or wire.measured_mohm is not None:
            continue
        for ref, name in zip((wire.start, wire.end), wire.joints, strict=True):
            usual = rig.terminal(ref).joint
            gain = joints.joint(name).mohm - joints.joint(usual).mohm
            k = at.get(f"joint:{wire.id}@{ref}")
            if gain < POOR_MOHM or k is None:
                continue
            yield Move(
                f"joint {wire.id} at {ref}", "joint",
                f"{wire.id} at {ref} remade: {usual} for {name}",
                (WireKey(wire.id, joint_key(wire, ref), usual),), 0.0, 0.0,
                -gain * float(slopes.value[row, goal, k]),
            )  # fmt: skip
