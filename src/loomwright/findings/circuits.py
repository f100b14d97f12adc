"""Loudspeaker circuits of a rig: channels, the nets of their wiring, and what of it does not close."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from loomwright.findings.ways import METAL, Through, ways_of
from loomwright.rig.model import Item, Kind, PassiveSpec, Rig
from loomwright.rig.once import once
from loomwright.rig.shape import signal_part

THROUGH: frozenset[Through] = METAL | {"switch", "relay"}
SPEAKER: tuple[Kind, ...] = ("speaker",)


@dataclass(frozen=True, slots=True)
class Channel:
    """Two terminals between which an amplifier or a source unit drives a loudspeaker."""

    item: str
    name: str
    ends: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Open:
    """What hangs together and does not close: channels, drivers, and those of their terminals that no wire is on."""

    channels: tuple[Channel, ...]
    drivers: tuple[str, ...]
    bare: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The items in it, each once."""
        return tuple(dict.fromkeys((*(c.item for c in self.channels), *self.drivers)))

    @property
    def bridges(self) -> bool:
        """Whether it is a loudspeaker between plus of one channel and minus of another, with nothing else amiss."""
        two = len(self.channels) == 2 and len({c.item for c in self.channels}) == 1 and not self.drivers
        return two and len(self.bare) == 2 and {b[-1] for b in self.bare} == {"+", "-"}


def channels(rig: Rig) -> Iterator[Channel]:
    """Every channel; a bridged pair is one, from plus of its first to minus of its second."""
    for item in rig.family("amplifier", "source"):
        second = {pair[1] for pair in item.bridged}
        first = dict(item.bridged)
        for name in (t.name.removesuffix("+") for t in item.part.terminals if t.kind == "speaker"):
            if name.endswith("-") or name.startswith("hi"):
                continue
            number = int(name.removeprefix("ch")) if name.startswith("ch") else 0
            if number in second:
                continue
            minus = f"ch{first[number]}" if number in first else name
            title = f"{name} with {minus}" if number in first else name
            yield Channel(item.id, title, (f"{item.id}.{name}+", f"{item.id}.{minus}-"))


class Circuits:
    """The loudspeaker wiring of one rig: nets joined by drivers and passive parts."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.ways = ways_of(rig)
        self._nets: dict[str, str] = {}
        self.channels = tuple(channels(rig))
        self.edges: dict[str, tuple[str, str]] = {}
        for item in rig.family("driver", "passive"):
            if (ends := _ends(item)) is not None:
                self.edges[item.id] = (self.net(ends[0]), self.net(ends[1]))
        for item in rig.family("amplifier", "processor"):
            for plus in (f"{item.id}.{t.name}" for t in item.part.terminals if t.name.startswith("hi")):
                if plus.endswith("+") and self.wired(plus):
                    self.edges[plus] = (self.net(plus), self.net(f"{plus[:-1]}-"))
        self._held = {self.net(end) for c in self.channels for end in c.ends} | {
            self.net(f"{i.id}.{t.name}") for i in rig.family("amplifier") for t in i.part.terminals
            if t.name.startswith("ch")
        }  # fmt: skip
        self._alive = self._pruned()

    def net(self, terminal: str) -> str:
        """One name for all that a terminal is joined to by wires."""
        if terminal not in self._nets:
            self._nets[terminal] = min(self.ways.reach(terminal, THROUGH, SPEAKER))
        return self._nets[terminal]

    def wired(self, terminal: str) -> bool:
        """Whether a wire lands on a terminal."""
        return bool(self.ways.wires_at(terminal))

    def closes(self, channel: Channel) -> bool:
        """Whether there is a way through drivers or passive parts from one end of a channel to the other."""
        start, end = (self.net(e) for e in channel.ends)
        return end in _joined(start, self.edges.values())

    @cached_property
    def open(self) -> tuple[Open, ...]:
        """Channels and drivers with a wire on them that are in no closed circuit, gathered by what hangs together."""
        group: dict[str, str] = {}
        ties = [*self.edges.values(), *((self.net(a), self.net(b)) for a, b in (c.ends for c in self._begun()))]
        for net in sorted({n for tie in ties for n in tie}):
            group[net] = min(_joined(net, ties))
        lost: dict[str, list[Channel]] = defaultdict(list)
        dead: dict[str, list[str]] = defaultdict(list)
        for channel in self._begun():
            if not self.closes(channel):
                lost[group[self.net(channel.ends[0])]].append(channel)
        for item in self.rig.family("driver"):
            ends = _ends(item)
            if ends and item.id not in self._alive and any(self.wired(e) for e in ends):
                dead[group[self.edges[item.id][0]]].append(item.id)
        return tuple(self._gathered(lost[g], dead[g]) for g in sorted({*lost, *dead}))

    def _begun(self) -> list[Channel]:
        """Channels with a wire on them; a bridged pair on the wrong terminals has a finding of its own."""
        inner = {
            f"{i.id}.ch{a}+"
            for i in self.rig.family("amplifier") for a, b in i.bridged
            if self.wired(f"{i.id}.ch{a}-") or self.wired(f"{i.id}.ch{b}+")
        }  # fmt: skip
        return [c for c in self.channels if any(self.wired(e) for e in c.ends) and c.ends[0] not in inner]

    def _gathered(self, lost: list[Channel], dead: list[str]) -> Open:
        ends = [e for c in lost for e in c.ends]
        ends += [f"{d}.{t.name}" for d in dead for t in self.rig.items[d].part.terminals]
        return Open(tuple(lost), tuple(dead), tuple(e for e in ends if not self.wired(e)))

    def _pruned(self) -> frozenset[str]:
        """Drivers and parts that are left when everything that hangs on one end alone is taken off."""
        alive = dict(self.edges)
        while True:
            uses: Mapping[str, int] = _uses(alive.values())
            off = [i for i, nets in alive.items() if any(n not in self._held and uses[n] < 2 for n in nets)]
            if not off:
                return frozenset(alive)
            for name in off:
                del alive[name]


def circuits_of(rig: Rig) -> Circuits:
    """The loudspeaker circuits of a rig."""
    return _circuits(signal_part(rig))


@once
def _circuits(rig: Rig) -> Circuits:
    return Circuits(rig)


def _ends(item: Item) -> tuple[str, str] | None:
    """The two ends of a driver or of a part in a loudspeaker circuit."""
    if isinstance(item.part.spec, PassiveSpec):
        signal = all(t.kind == "speaker" for t in item.part.terminals)
        return (f"{item.id}.a", f"{item.id}.b") if signal else None
    return (f"{item.id}.+", f"{item.id}.-")


def _uses(edges: Iterable[tuple[str, str]]) -> Mapping[str, int]:
    found: dict[str, int] = defaultdict(int)
    for a, b in edges:
        found[a] += 1
        found[b] += 1
    return found


def _joined(start: str, edges: Iterable[tuple[str, str]]) -> set[str]:
    """Every net that edges lead to from one."""
    ties = tuple(edges)
    reached, waiting = {start}, [start]
    while waiting:
        here = waiting.pop()
        for a, b in ties:
            there = b if a == here else a if b == here else here
            if there not in reached:
                reached.add(there)
                waiting.append(there)
    return reached


def missing_wire(found: Open) -> tuple[str, str] | None:
    """The two terminals that one wire would join to close a circuit; None where it is not as plain as that."""
    if len(found.bare) != 2 or len(found.channels) != 1 or len(found.drivers) != 1:
        return None
    mine = [b for b in found.bare if b in found.channels[0].ends]
    theirs = [b for b in found.bare if b.startswith(f"{found.drivers[0]}.")]
    if len(mine) != 1 or len(theirs) != 1 or mine[0][-1] != theirs[0][-1]:
        return None
    return mine[0], theirs[0]


def stops(circuits: Circuits, terminal: str) -> bool:
    """Whether a way ends on a pin of a connector or a leg of a splice with nothing beyond."""
    item = circuits.rig.item_of(terminal)
    if item.part.family == "splice":
        legs = [f"{item.id}.{t.name}" for t in item.part.terminals]
        return circuits.wired(terminal) and sum(circuits.wired(leg) for leg in legs) == 1
    return item.part.family == "connector" and not circuits.wired(terminal)
