"""Panels: what fits, what can be reached and cooled, how long the wires are."""

from __future__ import annotations

import math
from collections.abc import Iterator

from loomwright.facts import harness
from loomwright.facts import panel as facts
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, count, listing
from loomwright.panel.lengths import OnBoards, length_mm
from loomwright.panel.links import gap_mm
from loomwright.panel.results import Broken, Laid, Rule
from loomwright.study import Study

LONGER = 1.25
"""A power wire whose way on the board makes it so much longer than the volts are reckoned with is worth a word."""
ABOVE_MM = 100.0


def _broken(study: Study, *rules: Rule) -> Iterator[tuple[Laid, Broken]]:
    for layout in study.boards:
        for b in layout.broken:
            if b.rule in rules:
                yield layout, b


def _to_move(study: Study, say: Say, rule: Rule) -> Iterator[Finding]:
    """Every item that stands too near something, and by how much."""
    for layout, b in _broken(study, rule):
        move = math.ceil(b.needed_mm - b.there_mm)
        yield say((layout.panel.id, *b.items), b.text, f"Move {b.items[-1]} {amount(move, 'mm')} away.")


@check(
    "E961", "Items overlap on a panel", "Fix",
    why="Two bodies cannot be in one place, and nothing stands beyond the edge of the board, over a hole or in "
        "the room "
    "where the wires leave.",
    remedy="Move one of them, or have the panel placed.",
    source="the sizes of the parts", mark="calculated",
)  # fmt: skip
def overlap(study: Study, say: Say) -> Iterator[Finding]:
    """Bodies that overlap each other or reach over the board."""
    for layout, b in _broken(study, "overlap", "board"):
        yield say(
            (layout.panel.id, *b.items), b.text,
            f"Move {b.items[-1]}: loomwright panel RIG --place finds a layout that is free.",
        )  # fmt: skip


@check(
    "E962", "Screw too near the edge of a board", "Fix",
    why="A screw near the edge splits plywood and tears out of soft sheet when the vehicle shakes.",
    remedy="Move the item inwards, or screw it to a larger board.",
    source="joinery practice", mark="common practice",
)  # fmt: skip
def near_edge(study: Study, say: Say) -> Iterator[Finding]:
    """Items whose screws or bodies stand too near the edge."""
    for layout, b in _broken(study, "screws"):
        move = math.ceil(b.needed_mm - b.there_mm)
        yield say((layout.panel.id, *b.items), b.text, f"Move {b.items[0]} {move} mm away from the {b.side} edge.")


@check(
    "E963", "No room to bend the wires of a panel", "Fix",
    why="A wire that is bent at once behind its terminal works the screw loose and breaks its strands; leads that "
    "pass by need a lane of their own.",
    remedy="Leave the room in front of the terminals free.",
    source="cable makers: bend radius over outside diameter; panel building trade", mark="common practice",
)  # fmt: skip
def no_bend(study: Study, say: Say) -> Iterator[Finding]:
    """Items too near each other, or to the edge, for the wires between them."""
    yield from _to_move(study, say, "wires")


@check(
    "E964", "No air at the hot side of an item", "Fix",
    why="An amplifier gives its heat off by its fins. With something in front of them it runs hot and shuts down, on "
    "the hottest day and at the loudest.",
    remedy="Leave the gap that its maker asks for free.",
    source="amplifier makers: 25 to 50 mm at the fins", mark="common practice",
)  # fmt: skip
def no_air(study: Study, say: Say) -> Iterator[Finding]:
    """Something in the heat gap."""
    yield from _to_move(study, say, "heat")


@check(
    "E965", "Plug that no hand can take hold of", "Fix",
    why="A connector that cannot be pulled straight is pulled by its wires.",
    remedy="Leave the room in front of it free.",
    source="harness trade", mark="common practice",
)  # fmt: skip
def no_hand(study: Study, say: Say) -> Iterator[Finding]:
    """Something in front of a connector."""
    yield from _to_move(study, say, "plug")


@check(
    "E966", "Adjusters that no screwdriver reaches", "Fix",
    why="Gains are set while the system plays. What cannot be reached then is set once by guess, and never again.",
    remedy="Turn the amplifier, or clear the way in front of its adjusters.",
    source="audio installation trade", mark="common practice",
)  # fmt: skip
def no_screwdriver(study: Study, say: Say) -> Iterator[Finding]:
    """A body in the way of a screwdriver."""
    for layout, b in _broken(study, "screwdriver"):
        yield say(
            (layout.panel.id, *b.items), f"{b.text} {amount(b.needed_mm, 'mm')} of free way are needed.",
            f"Move {b.items[1]} {amount(math.ceil(b.needed_mm - b.there_mm), 'mm')} away, or turn {b.items[0]}.",
        )  # fmt: skip


@check(
    "E967", "Fuse or handle that no hand reaches", "Fix",
    why="A fuse is changed at the roadside, a switch is thrown when it smells of burning. Both need room for a hand.",
    remedy="Mount it where the space is higher, or outside.",
    source="panel building trade", mark="common practice",
)  # fmt: skip
def no_reach(study: Study, say: Say) -> Iterator[Finding]:
    """Fuses and handles without the height above them."""
    for layout, b in _broken(study, "reach"):
        yield say(
            (layout.panel.id, *b.items), f"{b.text} The space of {layout.panel.id} has {amount(b.there_mm, 'mm')}.",
            f"Give the space {amount(math.ceil(b.needed_mm - b.there_mm), 'mm')} more height, or mount "
            f"{b.items[0]} elsewhere.",
        )  # fmt: skip


@check(
    "E968", "Item too high for its space", "Fix",
    why="The lid does not close, or rests on the item and shakes on it.",
    remedy="Choose a lower part, or a place with more height.",
    source="the sizes of the parts", mark="calculated",
)  # fmt: skip
def too_high(study: Study, say: Say) -> Iterator[Finding]:
    """Items that stand higher than the space allows."""
    for layout, b in _broken(study, "height"):
        yield say(
            (layout.panel.id, *b.items), b.text,
            f"Choose a part that is {amount(math.ceil(b.needed_mm - b.there_mm), 'mm')} lower, or put it in a "
            f"higher space.",
        )  # fmt: skip


@check(
    "E969", "Second layer that does not stand", "Fix",
    why="What stands on spacers must clear what is under it, its spacers must come down on the board, and it must be "
    "light enough not to shake them loose.",
    remedy="Use longer spacers, move it, or mount it on the board.",
    source="panel building trade", mark="common practice",
)  # fmt: skip
def bad_layer(study: Study, say: Say) -> Iterator[Finding]:
    """Spacers that come down on something, something too high under them, something too heavy on them."""
    for layout, b in _broken(study, "under", "spacers"):
        remedy = (
            f"Use spacers of {amount(math.ceil(b.needed_mm), 'mm')}, or move {b.items[0]}." if b.rule == "under"
            else f"Mount {b.items[0]} on the board itself." if len(b.items) == 1
            else f"Move {b.items[0]} so that its spacers stand beside {b.items[1]}."
        )  # fmt: skip
        yield say((layout.panel.id, *b.items), b.text, remedy)


@check(
    "E970", "Fuses under something on spacers", "Know",
    why="They are reached by undoing the spacers' screws, not at a glance.",
    remedy="Put something without fuses under it, or write on the lid what lies there.",
    source="panel building trade", mark="common practice",
    unless="Fix where more than one thing has to come off.",
)  # fmt: skip
def covered_fuses(study: Study, say: Say) -> Iterator[Finding]:
    """Fuses and handles that are covered, and anything that is covered twice."""
    for layout in study.boards:
        for c in layout.covered:
            if layout.item(c.under).reach_mm or not c.reachable:
                yield say(
                    (layout.panel.id, c.under, c.over),
                    f"{c.under} lies under {c.over}: {count(c.screws, 'screw')} to undo before a fuse can be changed.",
                    f"Move {c.over} over something without fuses.",
                    severity="Know" if c.reachable else "Fix",
                )


@check(
    "E971", "Item of a panel without a place on it", "Know",
    why="Nothing can be drilled, and the wires there are reckoned without their way on the board.",
    remedy="Have the panel placed, or say where it lies.",
    source="this program", mark="common practice",
)  # fmt: skip
def not_placed(study: Study, say: Say) -> Iterator[Finding]:
    """Items that the rig puts on a panel but nowhere on it."""
    for layout in study.boards:
        if layout.unplaced:
            yield say(
                (layout.panel.id, *layout.unplaced),
                f"{count(len(layout.unplaced), 'item')} of {layout.panel.id} without a place: "
                f"{listing(layout.unplaced)}.",
                f"Type loomwright panel RIG --place --panel {layout.panel.id}.",
            )


@check(
    "E975", "Too little slack to pull a panel out", "Fix",
    why="Gains are set with the panel out and playing. Short wires then pull at their terminals, or keep it in.",
    remedy="Give its place the slack, as a loop that is tied up behind the panel.",
    source="audio installation trade", mark="common practice",
)  # fmt: skip
def no_slack(study: Study, say: Say) -> Iterator[Finding]:
    """Panels that are to come out farther than their wires allow."""
    rig = study.rig
    for layout in study.boards:
        panel = layout.panel
        there = rig.places[panel.place].slack_mm
        has = harness.slack_mm("service") if there is None else there
        on = {i.id for i in layout.items}
        wires = [
            w.id for w in rig.wires
            if w.route and not w.length_given and {w.start.partition(".")[0], w.end.partition(".")[0]} & on
        ]  # fmt: skip
        if wires and panel.pull_out_mm > has:
            yield say(
                (panel.id, panel.place, *wires),
                f"{panel.id} is to come out {amount(panel.pull_out_mm, 'mm')}; {count(len(wires), 'wire')} that "
                f"come in by "
                f"a run have {amount(has, 'mm')} to spare.",
                f"Set slack_mm = {panel.pull_out_mm:g} at {panel.place}.",
            )


@check(
    "E976", "Warm items close together", "Know",
    why="Each heats the air that the other wants to be cooled by.",
    remedy="Put something cool between them, or leave a gap.",
    source="audio installation trade", mark="common practice",
)  # fmt: skip
def warm_pair(study: Study, say: Say) -> Iterator[Finding]:
    """Pairs of warm items nearer than is good."""
    near = facts.worth("near_mm")
    for layout in study.boards:
        warm = [i for i in layout.items if i.warm]
        for n, a in enumerate(warm):
            for b in warm[n + 1 :]:
                gap = gap_mm(a, b)
                if 0.0 <= gap < near:
                    yield say(
                        (layout.panel.id, a.id, b.id), f"{a.id} and {b.id} stand {amount(gap, 'mm')} apart.",
                        f"Leave {amount(near, 'mm')} between them.",
                    )  # fmt: skip


@check(
    "E977", "Wire shorter than the way on its board", "Fix",
    why="It was measured, or guessed, before the items had their places: it does not reach.",
    remedy="Take the length out, so that it follows from the board.",
    source="the places of the items", mark="calculated",
)  # fmt: skip
def too_short(study: Study, say: Say) -> Iterator[Finding]:
    """Wires of given length that do not even reach straight from terminal to terminal."""
    rig = study.rig
    for layout in study.boards:
        at = {t.ref: t.at_mm for i in layout.items for t in i.terminals}
        for one in layout.least:
            wire = rig.wire(one.wire)
            if not one.both or not wire.length_given or wire.start not in at or wire.end not in at:
                continue
            straight = math.dist(at[wire.start], at[wire.end])
            if wire.length_mm < straight:
                yield say(
                    (layout.panel.id, wire.id),
                    f"{wire.id} is {amount(wire.length_mm, 'mm')} long; straight across are {amount(straight, 'mm')}.",
                    f"Take length_mm out of {wire.id}, or give it {amount(math.ceil(one.length_mm), 'mm')}.",
                )


@check(
    "E978", "Item lies at a turn that is not wished", "Know",
    why="The rig says which turns suit it, for its fins, its terminals or its adjusters.",
    remedy="Turn it, or change what is wished.",
    source="the rig", mark="common practice",
)  # fmt: skip
def wrong_turn(study: Study, say: Say) -> Iterator[Finding]:
    """Items that lie otherwise than their wishes say."""
    for layout, b in _broken(study, "turn"):
        spot = study.rig.items[b.items[0]].spot
        welcome = listing(f"{t}" for t in spot.turns) if spot is not None else ""
        yield say(
            (layout.panel.id, *b.items),
            f"{b.text} Welcome are {welcome} degrees.",
            f"Turn {b.items[0]}, or take turns out.",
        )


@check(
    "E979", "Item on a panel that stands elsewhere", "Fix",
    why="Lengths and temperatures come from the item's place, the holes from its panel: they must be one.",
    remedy="Give the item the place of its panel.",
    source="the rig", mark="calculated",
)  # fmt: skip
def other_place(study: Study, say: Say) -> Iterator[Finding]:
    """Items whose place is not that of their panel."""
    for item in study.rig.items.values():
        if item.spot is not None and study.rig.panels[item.spot.panel].place != item.place:
            panel = study.rig.panels[item.spot.panel]
            yield say(
                (item.id, panel.id), f"{item.id} is at {item.place}; its panel {panel.id} at {panel.place}.",
                f"Set place = \"{panel.place}\" for {item.id}, or take panel out.",
            )  # fmt: skip


def much_longer(study: Study, layout: Laid) -> list[tuple[str, float, float]]:
    """Feeds and returns with no length of their own: each with its length as reckoned and with its way on the board."""
    found = []
    for one in layout.least:
        wire = study.rig.wire(one.wire)
        if one.kind not in ("power", "ground") or wire.length_given:
            continue
        whole = length_mm(study.rig, wire, OnBoards(one.length_mm, one.both))
        if whole > LONGER * wire.length_mm and whole - wire.length_mm > 300.0:
            found.append((wire.id, wire.length_mm, whole))
    return found


@check(
    "E980", "Way on a board not in the volts", "Know",
    why="The volts are reckoned with the length of the runs. A long way on the board on top of it loses more.",
    remedy="State the length, or the item's tail.",
    source="the places of the items", mark="calculated",
)  # fmt: skip
def longer(study: Study, say: Say) -> Iterator[Finding]:
    """Feeds and returns that are much longer with their way on the board."""
    for layout in study.boards:
        found = much_longer(study, layout)
        if found:
            name, reckoned, whole = max(found, key=lambda f: (f[2] - f[1], f[0]))
            yield say(
                (layout.panel.id, *(f[0] for f in found)),
                f"{count(len(found), 'wire')}; {name} the most: {amount(whole, 'mm')} with its way on the board, "
                f"reckoned "
                f"with {amount(reckoned, 'mm')}.",
                f"Give {name} its length, {amount(math.ceil(whole), 'mm')} (length_mm), or its item a tail (tail_mm).",
            )


@check(
    "E981", "Warm item under another on an upright board", "Know",
    why="Warm air rises: the upper one breathes what the lower one has heated.",
    remedy="Put them side by side, or the warmer one on top.",
    source="physics: natural convection", mark="common practice",
)  # fmt: skip
def warm_below(study: Study, say: Say) -> Iterator[Finding]:
    """Warm items straight under other items that give off heat, on boards that stand."""
    for layout in study.boards:
        if not layout.panel.upright:
            continue
        for low in layout.items:
            for high in layout.items:
                if not (low.warm and high.warm) or low is high:
                    continue
                a, b = low.box_mm, high.box_mm
                gap = a[1] - b[3]
                if 0.0 <= gap < ABOVE_MM and a[0] < b[2] and b[0] < a[2]:
                    yield say(
                        (layout.panel.id, low.id, high.id), f"{low.id} stands {amount(gap, 'mm')} under {high.id}.",
                        f"Leave {amount(ABOVE_MM, 'mm')} between them, or put them side by side.",
                    )  # fmt: skip
