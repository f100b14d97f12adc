"""Contacts that stay live or are used up, ends that no sleeve covers; and what a case takes with it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from loomwright.findings.disconnects import every_disconnect
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, count, listing
from loomwright.loom.ends import ends_of, wants_sleeve
from loomwright.loom.lengths import diameter_mm
from loomwright.protection.graph import is_bolted
from loomwright.study import Study

MANY = 6
"""A connector of so many contacts is expected to keep one in reserve."""


@check(
    "E618",
    "No spare contact left",
    "Know",
    why="The next wire, or the one contact that breaks, then means another hole and another connector.",
    remedy="Use the next larger connector of the kind, and plug its spare contacts.",
    source="common practice",
    mark="common practice",
)
def no_spare(study: Study, say: Say) -> Iterator[Finding]:
    """Connectors of six contacts or more with every one in use."""
    for d in every_disconnect(study):
        if len(d.contacts) >= MANY and d.spare == 0:
            yield say(
                (d.id,),
                f"All {len(d.contacts)} contacts of {d.id} are in use.",
                f"Use the next larger connector for {d.id}, or accept that the next wire needs its own.",
            )


@check(
    "E619",
    "Both halves live, one with pins",
    "Know",
    why="Fed from both sides, a parted connector has bare live pins on one half, whichever way round it is built.",
    remedy="Isolate both sources before it is parted, cap the half with the pins, or use halves that are alike and "
    "shrouded.",
    source="common practice",
    mark="common practice",
)
def both_live(study: Study, say: Say) -> Iterator[Finding]:
    """Connectors of pins and sockets whose two halves stay fed when parted."""
    for d in every_disconnect(study):
        if d.sockets is not None and len(d.live) == 2:
            pins = "b" if d.sockets == "a" else "a"
            yield say(
                (d.id,),
                f"Parted, both halves of {d.id} stay live, 2 of 2; half {pins} has the pins.",
                f"Put a cap on half {pins} of {d.id}, and a note on its label: live when parted.",
            )


@check(
    "E620",
    "No heat-shrink closes on both",
    "Know",
    why="A sleeve that goes over the barrel and does not shrink onto the wire lets water in and slides off.",
    remedy="Use a lug of the next smaller barrel, adhesive sleeve in two layers, or tape that bonds to itself.",
    source="heat-shrink size guide: 20 to 30 % larger than the widest part; sizes partly from memory",
    mark="from memory",
)
def no_sleeve(study: Study, say: Say) -> Iterator[Finding]:
    """Ends with a bare barrel or joint for which no sleeve is made, gathered by item."""
    rig = study.rig
    found: dict[str, list[str]] = defaultdict(list)
    thin: dict[str, float] = {}
    for wire in rig.wires:
        if wire.size is None or is_bolted(wire):
            continue
        for end in ends_of(rig, wire):
            if end.fits and wants_sleeve(end) and not end.shrink:
                item = end.terminal.partition(".")[0]
                found[item].append(wire.id)
                thin.setdefault(item, diameter_mm(wire))
    for item, ends in sorted(found.items()):
        wires = sorted(set(ends))
        yield say(
            (item, *wires),
            f"No sleeve goes over the end at {item} and grips {wires[0]}, {amount(thin[item], 'mm')} thick; "
            f"{count(len(ends), 'end')}.",
            f"Choose a smaller barrel for {listing(wires)} at {item}, or bind the end with tape that bonds to itself.",
            provisional=True,
        )


@check(
    "E621",
    "A case takes more with it than it holds",
    "Know",
    why="With the case at home the vehicle still drives. What else falls silent then is asked for on the first "
    "evening.",
    remedy="Tell the owner, or feed and drive those items past the case.",
    source="the wiring itself",
    mark="calculated",
)
def takes_more(study: Study, say: Say) -> Iterator[Finding]:
    """Places that come off, with items elsewhere that stand still without them."""
    rig = study.rig
    off = {p.id for p in rig.places.values() if p.comes_off}
    found: dict[str, dict[str, None]] = {}
    for d in every_disconnect(study):
        inside = {rig.items[i].place for i in d.lost} & off
        for place in sorted(inside):
            others = {i: None for i in d.lost if rig.items[i].place not in off}
            found.setdefault(place, {}).update(others)
    for place, items in sorted(found.items()):
        if items:
            yield say(
                (place, *items),
                f"Without {place}, {count(len(items), 'item')} elsewhere {'stands' if len(items) == 1 else 'stand'} "
                f"still: {listing(items)}.",
                f"Tell the owner that {listing(items)} {'needs' if len(items) == 1 else 'need'} {place}.",
            )
