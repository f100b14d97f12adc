"""A way to wire loudspeakers, written into the rig: what the picked drivers have to any channel, and to one another,
goes; the wires of the way come.

What a driver has through plugs stays on its side of the plugs. Drivers in one place are joined there, so that one
contact of a plug serves them; what lies in several places is joined at the channel.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from loomwright.errors import InputError, Problem
from loomwright.rig import edit
from loomwright.rig.model import AmplifierSpec, ConnectorSpec, DriverSpec, Rig, Wire
from loomwright.rig.terminals import mate
from loomwright.sound.wiring_offers import offer
from loomwright.sound.wiring_results import Arrangement

USUAL_SIZE = "16 AWG"
Lead = tuple[str, str]


@dataclass(frozen=True, slots=True)
class _Reach:
    """A driver's terminal, where its plugs begin on the amplifier's side, and the wires up to there."""

    terminal: str
    place: str
    near: str
    chain: tuple[str, ...]


def rejoined(text: str, rig: Rig, way: Arrangement) -> str:
    """The text of a rig with the drivers and channels of a way wired as it says.

    A wire that is there already stays as it is. New ones take the size of the thickest one that goes, and their length
    from the runs.

    Parameters
    ----------
    rig : Rig
        As read from ``text``.

    Raises
    ------
    InputError
        Where something else hangs on one of the terminals, another driver or a crossover, or a terminal, such as the
        contact of a plug, takes fewer wires than the way brings there.
    """
    wires = {w.id: w for w in rig.wires if w.kind == "speaker"}
    channels = {t for c in way.channels for t in _ends(rig, c.channel)}
    drivers = dict.fromkeys(s.driver for c in way.channels for s in c.shares)
    reaches = {r.terminal: r for d in drivers for sign in "+-" for r in [_reach(rig, tuple(wires.values()), d, sign)]}
    ends = {*channels, *reaches, *(r.near for r in reaches.values())}
    chains = {w for r in reaches.values() for w in r.chain}
    between = {
        w.id for w in wires.values()
        if w.id not in chains and (w.start in ends or w.end in ends)
        and all(t in ends or isinstance(rig.item_of(t).part.spec, AmplifierSpec) for t in (w.start, w.end))
    }  # fmt: skip
    strange = [w for w in wires.values() if w.id not in chains | between and (w.start in ends or w.end in ends)]
    if strange:
        raise InputError([_hangs(rig, w, ends) for w in strange])
    leads = [lead for net in _nets(way) for lead in _leads(net, channels, reaches)]
    served = {w for r in reaches.values() if any(r.near in lead for lead in leads) for w in r.chain}
    there = {frozenset((wires[w].start, wires[w].end)): w for w in sorted(between)}
    stay = served | {there[frozenset(lead)] for lead in leads if frozenset(lead) in there}
    goes = [w for w in wires if w in (between | chains) - stay]
    full = _too_many(rig, [*leads, *((wires[w].start, wires[w].end) for w in sorted(served))])
    if full:
        raise InputError(full)
    size = _size(wires, goes or sorted(stay))
    for name in goes:
        text = edit.remove_wire(text, name)
    names = iter([*goes, *_fresh({w.id for w in rig.wires} | set(rig.items), len(leads))])
    for lead in leads:
        if frozenset(lead) not in there:
            text = edit.add_wire(text, next(names), *lead, size)
    return text


def _ends(rig: Rig, channel: str) -> Lead:
    amplifier, _, number = channel.rpartition(".ch")
    found = offer(rig, amplifier, int(number.partition("+")[0]))
    return found.plus, found.minus


def _reach(rig: Rig, wires: Collection[Wire], driver: str, sign: str) -> _Reach:
    at = terminal = f"{driver}.{sign}"
    steps: list[tuple[str, Wire]] = []
    while True:
        landing = [(w, w.end if w.start == at else w.start) for w in wires if at in (w.start, w.end)]
        onward = [(w, t) for w, t in landing if w not in (x for _, x in steps)]
        on = [(w, t) for w, t in onward if isinstance(rig.item_of(t).part.spec, ConnectorSpec)]
        if len(on) != 1:
            break
        wire, contact = on[0]
        item, _, name = contact.rpartition(".")
        steps.append((at, wire))
        at = f"{item}.{mate(name)}"
    if steps and any(isinstance(rig.item_of(t).part.spec, DriverSpec) for _, t in onward):
        # from driver to driver through plugs: the longest wire on the way belongs to neither side
        middle = max((*(w for _, w in steps), *(w for w, _ in onward)), key=lambda w: (w.length_mm, w.id))
        cut = next((k for k, (_, w) in enumerate(steps) if w is middle), len(steps))
        at = steps[cut][0] if cut < len(steps) else at
        steps = steps[:cut]
    return _Reach(terminal, rig.items[driver].place, at, tuple(w.id for _, w in steps))


def _nets(way: Arrangement) -> list[list[str]]:
    """Terminals that the leads of a way join, one list for each joint."""
    nets: list[list[str]] = []
    for lead in (x for c in way.channels for x in c.leads):
        touched = [n for n in nets if lead.start in n or lead.end in n]
        whole = list(dict.fromkeys([*(t for n in touched for t in n), lead.start, lead.end]))
        nets = [*(n for n in nets if n not in touched), whole]
    return nets


def _leads(net: Sequence[str], channels: set[str], reaches: Mapping[str, _Reach]) -> Iterator[Lead]:
    """The wires of one joint: from driver to driver in each place, and one from each place on."""
    places: dict[str, list[_Reach]] = {}
    for terminal in net:
        if terminal in reaches:
            places.setdefault(reaches[terminal].place, []).append(reaches[terminal])
    gates = []
    for some in places.values():
        gate = max(some, key=lambda r: len(r.chain))
        row = [gate, *(r for r in some if r is not gate)]
        yield from ((a.terminal, b.terminal) for a, b in pairwise(row))
        gates.append(gate.near)
    channel = next((t for t in net if t in channels), None)
    if channel is None:
        yield from pairwise(gates)
    else:
        yield from ((channel, gate) for gate in gates)


def _hangs(rig: Rig, wire: Wire, ends: set[str]) -> Problem:
    here, there = (wire.start, wire.end) if wire.start in ends else (wire.end, wire.start)
    return Problem(
        rig.file, f"wire {wire.id}", "the picked drivers and channels alone", f"{here} is wired to {there}",
        f"Take {wire.id} out first, or pick what hangs on {there.rpartition('.')[0]} too.",
    )  # fmt: skip


def _too_many(rig: Rig, leads: Sequence[Lead]) -> list[Problem]:
    found = []
    for at, count in Counter(t for lead in leads for t in lead).items():
        item = rig.item_of(at)
        most = item.part.terminal(at[len(item.id) + 1 :]).max_wires
        if count > most:
            remedy = "Pick a way with fewer wires there, or join them on the rig page."
            found.append(Problem(rig.file, at, f"at most {most} wires", f"{count} in this way", remedy))
    return found


def _size(wires: Mapping[str, Wire], names: Sequence[str]) -> str:
    sizes = [size for n in names if (size := wires[n].size) is not None]
    return max(sizes, key=lambda s: s.area_mm2).label if sizes else USUAL_SIZE


def _fresh(taken: set[str], count: int) -> list[str]:
    free = (f"S{n}" for n in range(1, len(taken) + count + 1))
    return [n for n in free if n not in taken][:count]
