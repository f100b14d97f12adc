"""Disconnects: what each contact carries, which half stays live when they are parted, and what then stands still."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.facts import harness
from loomwright.facts.amplifiers import programme_fraction
from loomwright.loom import nets
from loomwright.loom.results import ContactUse, Disconnect, Half
from loomwright.power.channels import channel_loads, rated_output_w
from loomwright.power.results import PowerResult
from loomwright.rig.model import AmplifierSpec, ConnectorSpec, Item, Rig, Wire
from loomwright.rig.once import once
from loomwright.rig.shape import Shape, shape_of, signal_part

LOADED_SHARE = 0.05
"""A contact that carries less of its rating does not warm its neighbours: 5 % of the amperes is 0.25 % of the heat."""
LEAST_A = 1e-3
"""Less is said as nothing."""
DRAWS = ("amplifier", "processor", "source", "accessory")


def disconnects(rig: Rig, power: PowerResult, colours: Mapping[str, str]) -> tuple[Disconnect, ...]:
    """Every connector, in the order of the rig; ``colours`` by wire."""
    speaker = speaker_amps_a(rig)
    at: dict[str, Wire] = {}
    for wire in rig.wires:
        at.setdefault(wire.start, wire)
        at.setdefault(wire.end, wire)
    return tuple(_disconnect(rig, power, i, at, speaker, colours) for i in rig.family("connector"))


def _disconnect(
    rig: Rig,
    power: PowerResult,
    item: Item,
    at: Mapping[str, Wire],
    speaker: Mapping[str, float],
    colours: Mapping[str, str],
) -> Disconnect:
    spec = item.part.spec
    assert isinstance(spec, ConnectorSpec)
    apart = parted(shape_of(rig))[item.id]
    uses = []
    for n in range(1, spec.contacts + 1):
        a, b = at.get(f"{item.id}.a{n}"), at.get(f"{item.id}.b{n}")
        one = a or b
        amps = 0.0
        if a is not None and b is not None:
            amps = max(_amps_a(power, f"contact:{item.id}.{n}"), speaker.get(a.id, 0.0))
        uses.append(
            ContactUse(
                n, a.id if a else None, b.id if b else None, one.kind if one else None, amps,
                colours.get(a.id, "") if a else "", colours.get(b.id, "") if b else "",
            )
        )
    loaded = sum(u.amps_a > LOADED_SHARE * spec.contact_a for u in uses)
    return Disconnect(
        id=item.id,
        part=item.part.id,
        place=item.place,
        contacts=tuple(uses),
        spare=sum(u.kind is None for u in uses),
        contact_a=spec.contact_a,
        usable_a=spec.contact_a * harness.contact_share(max(loaded, 1)),
        loaded=loaded,
        sockets=None if spec.halves == "alike" else item.sockets,
        live=apart.live,
        lost=apart.lost,
        no_return=apart.no_return,
        key=item.key,
        keyings=spec.keyings,
        face=face(spec.contacts),
    )


def _amps_a(power: PowerResult, key: str) -> float:
    """Most current through a joint in the cases that a rig must stand for ever [A]."""
    found = [
        abs(case.joints[key].amps_a) for (_, programme), case in power.cases.items()
        if programme != "sine" and case.solved and key in case.joints
    ]  # fmt: skip
    most = max((a for a in found if math.isfinite(a)), default=0.0)
    return most if most >= LEAST_A else 0.0


@dataclass(frozen=True, slots=True)
class Parted:
    """What follows when a connector is parted: halves that stay live, items that stand still, items that keep their
    feed and lose their return.
    """

    live: tuple[Half, ...]
    lost: tuple[str, ...]
    no_return: tuple[str, ...]


@once
def parted(shape: Shape) -> Mapping[str, Parted]:
    """What the parting of each connector does, by its id."""
    return {
        i.id: Parted(live_halves(shape, i), lost_without(shape, i), no_return_without(shape, i))
        for i in shape.family("connector")
    }


def live_halves(shape: Shape, item: Item) -> tuple[Half, ...]:
    """The halves of a connector that a source still feeds when it is parted."""
    fed = nets.reached(nets.links(shape, nets.POWER, item.id), nets.ends_of(shape, nets.SOURCES))
    return tuple(h for h in _HALVES if any(_on(t, item, h) for t in fed))


_HALVES: tuple[Half, ...] = ("a", "b")


def _on(terminal: str, item: Item, half: Half) -> bool:
    head, _, name = terminal.partition(".")
    return head == item.id and name.startswith(half)


def lost_without(shape: Shape, item: Item) -> tuple[str, ...]:
    """Items that stand still when a connector is parted: their feed, their return or what drives them is gone."""
    whole, parted = _whole(shape), _working(shape, item.id)
    return tuple(i for i in shape.items if i in whole and i not in parted and i != item.id)


def no_return_without(shape: Shape, item: Item) -> tuple[str, ...]:
    """Items that keep their feed and lose their return when a connector is parted: current then seeks another way."""
    feeds, backs = _supplies(shape, item.id)
    before_feeds, before_backs = _supplies(shape, None)
    return tuple(i for i in before_feeds if i in before_backs and i in feeds and i not in backs)


@once
def _whole(shape: Shape) -> frozenset[str]:
    """What works while nothing is parted."""
    return _working(shape, None)


def _supplies(shape: Shape, without: str | None) -> tuple[dict[str, None], dict[str, None]]:
    """Items that draw and are fed; items that draw and have a return. Insertion order is that of the shape."""
    fed = nets.reached(nets.links(shape, nets.POWER, without), nets.ends_of(shape, nets.SOURCES))
    back = nets.reached(nets.links(shape, nets.GROUND, without), nets.ends_of(shape, nets.RETURNS))
    drawing = [i.id for i in shape.items.values() if i.part.family in DRAWS]
    return (
        {i: None for i in drawing if f"{i}.supply+" in fed},
        {i: None for i in drawing if f"{i}.supply-" in back},
    )


def _working(shape: Shape, without: str | None) -> frozenset[str]:
    feeds, backs = _supplies(shape, without)
    working = {i for i in feeds if i in backs}
    along = nets.links(shape, nets.SPEAKER, without)
    outs = [
        f"{i.id}.{t.name}"
        for i in shape.items.values()
        if i.id in working
        for t in i.part.terminals
        if t.kind == "speaker"
    ]
    played = nets.reached(along, outs)
    working |= {i.id for i in shape.family("driver") if {f"{i.id}.+", f"{i.id}.-"} <= played}
    return frozenset(working)


def speaker_amps_a(rig: Rig) -> Mapping[str, float]:
    """Amperes in each speaker wire at `loud` [A], from what its channel can make into its load."""
    return _speaker_amps_a(signal_part(rig))


@once
def _speaker_amps_a(rig: Rig) -> Mapping[str, float]:
    amps: dict[str, float] = defaultdict(float)
    share = programme_fraction("loud")
    for item in rig.family("amplifier"):
        spec = item.part.spec
        assert isinstance(spec, AmplifierSpec)
        loads = channel_loads(rig)[item.id]
        for channel, ohm in enumerate(loads, 1):
            if ohm is None or ohm <= 0.0:
                continue
            alone = tuple(ohm if k == channel else None for k in range(1, len(loads) + 1))
            amperes = math.sqrt(share * rated_output_w(item, alone) / ohm)
            for ref in (f"{item.id}.ch{channel}+", f"{item.id}.ch{channel}-"):
                hot = nets.reached(nets.links(shape_of(rig), nets.SPEAKER), [ref])
                for wire in rig.wires:
                    if wire.kind == "speaker" and wire.start in hot:
                        amps[wire.id] = max(amps[wire.id], amperes)
    return amps


def face(contacts: int) -> tuple[tuple[int, ...], ...]:
    """Numbers of the contacts as they look from the mating side of half a: one row up to three, else two.

    The wire side is the mirror image, left for right.
    """
    if contacts <= 3:
        return (tuple(range(1, contacts + 1)),)
    half = math.ceil(contacts / 2)
    return (tuple(range(1, half + 1)), tuple(range(half + 1, contacts + 1)))


def wire_side(mating: tuple[tuple[int, ...], ...]) -> tuple[tuple[int, ...], ...]:
    """The same face from behind, where the wires go in."""
    return tuple(tuple(reversed(row)) for row in mating)
