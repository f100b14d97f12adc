"""Loudspeaker circuits: does each one close, from one terminal of a channel through a driver to the other?"""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings.circuits import SPEAKER, THROUGH, circuits_of, missing_wire, stops
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.ways import ways_of
from loomwright.findings.words import count, listing
from loomwright.rig.model import AmplifierSpec, Item
from loomwright.study import Study


@check(
    "E906",
    "Loudspeaker wired on one side only",
    "Fix",
    why="A loudspeaker needs two wires. With one it is silent, and the free end may touch metal and take the output "
    "stage along.",
    remedy="Run the missing wire, or take the other one out.",
    source="a circuit has a way out and a way back (calculated from the wiring)",
    mark="calculated",
)
def one_sided(study: Study, say: Say) -> Iterator[Finding]:
    """Channels and drivers of which one terminal has a wire and the other has none, gathered by circuit."""
    for found in circuits_of(study.rig).open:
        if not found.bare or found.bridges:
            continue
        what = [f"{c.name} of {c.item}" for c in found.channels if set(c.ends) & set(found.bare)]
        what += [d for d in found.drivers if any(b.startswith(f"{d}.") for b in found.bare)]
        pair = missing_wire(found)
        yield say(
            (*found.names, *found.bare),
            f"{listing(what)}: no wire on {listing(found.bare)}; {count(len(found.bare), 'terminal')} of "
            f"{2 * len(what)}.",
            f"Run a wire from {pair[0]} to {pair[1]}." if pair else f"Wire {listing(found.bare)}.",
        )


@check(
    "E907",
    "Channel that leads to no loudspeaker",
    "Fix",
    why="Both wires are there, but no way through a loudspeaker joins them: a plug without its other half, a splice "
    "that was forgotten, or two ends on one side. It stays silent, and its load is not reckoned.",
    remedy="Follow both wires to their ends, and run what is missing.",
    source="a circuit has a way out and a way back (calculated from the wiring)",
    mark="calculated",
)
def open_channel(study: Study, say: Say) -> Iterator[Finding]:
    """Channels and drivers with a wire on each terminal that are in no closed circuit, gathered by circuit."""
    circuits = circuits_of(study.rig)
    for found in circuits.open:
        if found.bare:
            continue
        what = [*(f"{c.name} of {c.item}" for c in found.channels), *found.drivers]
        ends = [e for c in found.channels for e in c.ends]
        ends += [f"{d}.{t.name}" for d in found.drivers for t in study.rig.items[d].part.terminals]
        ends_at = sorted({t for e in ends for t in circuits.ways.reach(e, THROUGH, SPEAKER) if stops(circuits, t)})
        where = f"; the way stops at {listing(ends_at)}" if ends_at else ""
        wires = sorted({w.id for e in ends for w in circuits.ways.wires_at(e)})
        yield say(
            (*found.names, *wires),
            f"{listing(what)}: {count(len(wires), 'wire')} ({listing(wires)}), and no way through a loudspeaker from "
            f"one terminal to the other{where}.",
            f"Run a wire on from {listing(ends_at)}." if ends_at else f"Wire {listing(what)} to a loudspeaker.",
        )


@check(
    "E908",
    "Loudspeakers not written down",
    "Know",
    why="Without its loudspeakers an amplifier is taken with 4 Ω on every channel: its draw, its heat and the drill "
    "are then a guess.",
    remedy="Add the drivers and their wires to the rig.",
    source="the rule of this program for an amplifier with nothing on it",
    mark="calculated",
)
def no_loudspeakers(study: Study, say: Say) -> Iterator[Finding]:
    """Amplifiers with nothing on any channel, and drivers without a wire, in one line."""
    rig = study.rig
    ways = ways_of(rig)

    def idle(item: Item) -> bool:
        names = [t.name for t in item.part.terminals if t.kind == "speaker" and not t.name.startswith("hi")]
        ends = [f"{item.id}.{name}" for name in names]
        return not any(ways.wires_at(e) for e in ends)

    amps = [i for i in rig.family("amplifier") if idle(i)]
    drivers = [i.id for i in rig.family("driver") if idle(i)]
    if not amps and not drivers:
        return
    empty = sum(i.part.spec.channels for i in amps if isinstance(i.part.spec, AmplifierSpec))
    told = [f"nothing on the {count(empty, 'channel')} of {listing(i.id for i in amps)}"] if amps else []
    told += [f"no wire on {count(len(drivers), 'driver')}: {listing(drivers)}"] if drivers else []
    yield say(
        (*(i.id for i in amps), *drivers),
        f"{'; '.join(told)[:1].upper()}{'; '.join(told)[1:]}.",
        f"Write down what hangs on {listing([*(i.id for i in amps), *drivers])}.",
    )
