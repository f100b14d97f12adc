"""Ends and disconnects: what fits, what a contact may carry among others, what happens when halves are parted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import combinations

from loomwright.findings.channels import against_their_like
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, count, listing
from loomwright.loom.disconnects import disconnects
from loomwright.loom.ends import ends_of
from loomwright.loom.loom import minus_wires
from loomwright.loom.polarity import polarity
from loomwright.loom.results import Disconnect
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import Item, Rig
from loomwright.rig.once import once
from loomwright.study import Study

Look = tuple[tuple[str, str], ...]
"""What a connector carries, contact by contact: kind, and which way round."""


@once
def every_disconnect(study: Study) -> tuple[Disconnect, ...]:
    """Every connector of the rig and what it carries, worked out once for all checks."""
    return disconnects(study.rig, study.power, {})


@check(
    "E611",
    "No end fits wire and terminal",
    "Fix",
    why="A lug that is drilled out, a wire that is thinned, a ferrule a size too small: each is a joint that runs hot.",
    remedy="Choose a stud, a terminal or a wire size for which an end is made.",
    source="terminal-makers' tables of lugs, ferrules and crimp terminals, their studs and wires",
    mark="published",
)
def no_end_fits(study: Study, say: Say) -> Iterator[Finding]:
    """Wire ends for which no lug, ferrule, terminal or splice is made, gathered by item; contacts have E605."""
    rig = study.rig
    found: dict[str, list[tuple[str, str, str, float]]] = defaultdict(list)
    for wire in rig.wires:
        if wire.size is None or is_bolted(wire):
            continue
        for end in ends_of(rig, wire):
            item = rig.item_of(end.terminal)
            if not end.fits and item.part.family != "connector":
                found[item.id].append((wire.id, end.end, end.would_fit, wire.size.area_mm2))
    for item_id, misfits in sorted(found.items()):
        wires = sorted({m[0] for m in misfits})
        wire_id, name, cure, area = misfits[0]
        yield say(
            (item_id, *wires),
            f"No {name} for {wire_id} of {amount(area, 'mm2')} at {item_id}.",
            f"For {listing(wires)} at {item_id}: {cure}.",
        )


@check(
    "E612",
    "Contacts overloaded among their neighbours",
    "Fix",
    why="A contact's rating is for one alone. Its loaded neighbours warm it: twelve in one body carry little more than "
    "half each.",
    remedy="Use a connector with larger contacts, or share the wires between two.",
    source="connector article: derating for count; straight between its points",
    mark="common practice",
)
def crowded_contacts(study: Study, say: Say) -> Iterator[Finding]:
    """Connectors with a contact over its rating for so many loaded, though not over its rating alone (E604)."""
    for d in every_disconnect(study):
        over = [c for c in d.contacts if d.usable_a * 1.01 < c.amps_a <= d.contact_a * 1.01]
        if over:
            most = max(over, key=lambda c: (c.amps_a, -c.number))
            yield say(
                (d.id, *(f"{d.id}.a{c.number}" for c in over)),
                f"Contact {most.number} of {d.id} carries {amount(most.amps_a, 'A')}; with "
                f"{count(d.loaded, 'loaded contact')} each may carry {amount(d.usable_a, 'A')} of its "
                f"{amount(d.contact_a, 'A')}.",
                f"Move wires from {d.id} to a connector of their own, or use contacts for "
                f"{amount(most.amps_a * d.contact_a / d.usable_a, 'A')}.",
            )


@check(
    "E613",
    "Connectors that can be swapped",
    "Fix",
    why="Two connectors alike side by side will be swapped one day, in the dark. What then meets is decided here, not "
    "there.",
    remedy="Key them differently, use two kinds, or change the contacts so that a swap does no harm.",
    source="common practice",
    mark="common practice",
    unless="Know where a swap only changes channels over",
)
def swappable(study: Study, say: Say) -> Iterator[Finding]:
    """Pairs of equal connectors with equal keying in one place whose contacts do not carry the same."""
    rig = study.rig
    looks = {i.id: _look(rig, i) for i in rig.family("connector")}
    mild: list[str] = []
    for a, b in combinations(rig.family("connector"), 2):
        if (a.part.id, a.key, a.place) != (b.part.id, b.key, b.place):
            continue
        differ = [
            n for n, (x, y) in enumerate(zip(looks[a.id], looks[b.id], strict=True), 1) if x != y and x[0] and y[0]
        ]
        if differ:
            n = differ[0]
            x, y = looks[a.id][n - 1], looks[b.id][n - 1]
            yield say(
                (a.id, b.id),
                f"{a.id} and {b.id} at {a.place} are alike; swapped, {count(len(differ), 'contact')} would join "
                f"unlike wires: in contact {n} {' '.join(filter(None, x))} meets {' '.join(filter(None, y))}.",
                f"Give {b.id} another key than {a.id}, or use another kind.",
            )
        elif any(x[0] in ("line", "speaker") and y[0] for x, y in zip(looks[a.id], looks[b.id], strict=True)):
            mild += [i.id for i in (a, b) if i.id not in mild]
    if mild:
        yield say(
            mild,
            f"{count(len(mild), 'connector')} alike and side by side carry signals: {listing(mild)}; swapped, the "
            "sound comes out of the wrong place.",
            "Mark each pair of halves with a colour of its own, or key them differently.",
            severity="Know",
        )


def _look(rig: Rig, item: Item) -> Look:
    """Kind and polarity on each contact of half a."""
    by_end: Mapping[str, str] = {ref: w.kind for w in rig.wires for ref in (w.start, w.end)}
    minus = _minus(rig)
    out = []
    for n in range(1, sum(t.name.startswith("a") for t in item.part.terminals) + 1):
        kind = by_end.get(f"{item.id}.a{n}") or by_end.get(f"{item.id}.b{n}") or ""
        sign = ("minus" if f"{item.id}.a{n}" in minus else "plus") if kind == "speaker" else ""
        out.append((kind, sign))
    return tuple(out)


def _minus(rig: Rig) -> frozenset[str]:
    ids = minus_wires(rig)
    return frozenset(ref for w in rig.wires if w.id in ids for ref in (w.start, w.end))


@check(
    "E614",
    "Live half with the pins",
    "Fix",
    why="When it is parted the half that is still fed must not have bare pins: a pin on the frame is a short.",
    remedy="Put the sockets on the half that the battery feeds.",
    source="common practice",
    mark="common practice",
)
def live_pins(study: Study, say: Say) -> Iterator[Finding]:
    """Connectors with pins on a half that stays live, unless both stay live."""
    for d in every_disconnect(study):
        if d.sockets is None or len(d.live) != 1 or d.live[0] == d.sockets:
            continue
        feeds = [c for c in d.contacts if c.kind == "power"]
        yield say(
            (d.id,),
            f"Half {d.live[0]} of {d.id} stays live when it is parted, {count(len(feeds), 'feed')}, and carries the "
            "pins.",
            f"Put the sockets of {d.id} on half {d.live[0]}.",
        )


@check(
    "E615",
    "Parted, the feed stays and the return goes",
    "Fix",
    why="An amplifier with its feed and without its return draws through the screens of its line leads, which burn.",
    remedy="Lead feed and return through the same connector, the return on the contact that parts last.",
    source="physics: current takes what way is left",
    mark="calculated",
)
def return_goes_first(study: Study, say: Say) -> Iterator[Finding]:
    """Connectors that take an item's return away and leave it its feed."""
    for d in every_disconnect(study):
        if d.no_return:
            yield say(
                (d.id, *d.no_return),
                f"Without {d.id}, {count(len(d.no_return), 'item')} keep a feed and have no return: "
                f"{listing(d.no_return)}.",
                f"Lead the feed of {listing(d.no_return)} through {d.id} too.",
            )


@check(
    "E616",
    "Speaker pair split over two connectors",
    "Know",
    why="With half a pair parted, an output hangs on one leg and picks up what lies beside it; halves of different "
    "pairs get mixed.",
    remedy="Lead both wires of a driver through one connector, on contacts side by side.",
    source="common practice",
    mark="common practice",
)
def split_pair(study: Study, say: Say) -> Iterator[Finding]:
    """Items with speaker terminals whose plus and minus go straight to different connectors."""
    rig = study.rig
    to: dict[str, str] = {}
    for wire in rig.wires:
        if wire.kind == "speaker":
            for here, there in ((wire.start, wire.end), (wire.end, wire.start)):
                if rig.item_of(there).part.family == "connector":
                    to[here] = there.partition(".")[0]
    for ref in sorted(to):
        if ref.endswith("+") and (other := to.get(ref[:-1] + "-")) and other != to[ref]:
            item = ref.partition(".")[0]
            yield say(
                (item, to[ref], other),
                f"{ref} goes through {to[ref]} and {ref[:-1]}- through {other}: 1 pair in 2 connectors.",
                f"Lead both wires of {ref[:-1].rstrip('.')} through {to[ref]}.",
            )


@check(
    "E617",
    "Driver reversed against its channel",
    "Know",
    why="A reversed driver takes bass away from its neighbours, unless the crossover asks for it: between the ways of "
    "a second-order network it may be right.",
    remedy="Change its two wires over, unless the crossover asks for the turn.",
    source="physics of loudspeakers",
    mark="calculated",
)
def reversed_driver(study: Study, say: Say) -> Iterator[Finding]:
    """Drivers whose plus hangs on the minus of their channel, in one line; E916 tells of those unlike their like."""
    told = {name for name, _, _ in against_their_like(study)}
    wrong = [p for p in polarity(study.rig) if p.right is False and p.driver not in told]
    if wrong:
        names = [p.driver for p in wrong]
        yield say(
            names,
            f"{count(len(names), 'driver')} with plus on the minus of the channel: "
            f"{listing(f'{p.driver} on {p.channel}' for p in wrong)}.",
            f"Change the two wires over at {listing(names)}, or note that the crossover asks for it.",
        )
