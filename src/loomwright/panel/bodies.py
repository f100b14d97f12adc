"""Items as the panel sees them: a body and the room that it needs on each side, at every turn.

All is rounded up to whole millimetres, so that what the solver places is what the rules judge.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from loomwright.facts import harness
from loomwright.facts import panel as facts
from loomwright.panel.results import Box, Class, Drill, LaidItem, LaidTerminal, RoomBox, RoomFor
from loomwright.rig.model import Item, Rig, Wire
from loomwright.rig.once import once
from loomwright.rig.plan import SIDES, Panel, Plan, Point, SideName, turned, turned_side

SOLDERED = ("bolted",)
AUTO_MM2 = 4.0
"""Conductor that is reckoned with where the rig has not settled a size yet."""


@dataclass(frozen=True, slots=True)
class Tool:
    """The way of a screwdriver: a strip along a side, at turn 0."""

    side: SideName
    from_mm: int
    to_mm: int
    height_mm: float
    depth_mm: int


@dataclass(frozen=True, slots=True)
class Body:
    """One item of a panel at turn 0. ``sides`` says for each side what it must be free for, and how far [mm]."""

    id: str
    part: str
    plan: Plan
    width_mm: int
    depth_mm: int
    height_mm: float
    sides: tuple[tuple[SideName, RoomFor, int], ...]
    tools: tuple[Tool, ...]
    mass_g: float
    turns: tuple[int, ...]
    layer: int | None
    fixed: bool

    def size_mm(self, turn_deg: int) -> tuple[int, int]:
        """Width and depth after a turn."""
        return (self.depth_mm, self.width_mm) if turn_deg % 180 else (self.width_mm, self.depth_mm)

    def need_mm(self, side: SideName, turn_deg: int, *what: RoomFor) -> int:
        """Room that it needs on a side as it lies; for the given things only, where any are given."""
        return max(
            (d for s, w, d in self.sides if turned_side(s, turn_deg) == side and (not what or w in what)), default=0
        )

    def room_mm(self, side: SideName, turn_deg: int) -> int:
        """All the room that is its own on a side as it lies; half the gap between two bodies at least."""
        return max(self.need_mm(side, turn_deg), math.ceil(facts.room("body_gap_mm") / 2.0))

    def screw_inset_mm(self, side: SideName, turn_deg: int) -> float:
        """From a side as it lies to the nearest screw; infinite where it has none."""
        w, d = self.size_mm(turn_deg)
        at = [turned(h, self.plan.width_mm, self.plan.depth_mm, turn_deg) for h in self.plan.holes_mm]
        away = {"left": [x for x, _ in at], "top": [y for _, y in at],
                "right": [w - x for x, _ in at], "bottom": [d - y for _, y in at]}[side]  # fmt: skip
        return min(away, default=math.inf)

    def margin_mm(self, panel: Panel, side: SideName, turn_deg: int) -> int:
        """Distance that its side as it lies must keep from the edge of the board."""
        screws = panel.screw_edge_mm - self.screw_inset_mm(side, turn_deg)
        return math.ceil(max(panel.edge_mm, screws, self.need_mm(side, turn_deg, "wires", "plug"), 0.0))

    def tool_boxes(self, turn_deg: int) -> tuple[tuple[SideName, Box, Tool], ...]:
        """The ways of screwdrivers as it lies, from its upper left corner."""
        out = []
        w, d = self.width_mm, self.depth_mm
        for t in self.tools:
            box = {
                "left": (-t.depth_mm, t.from_mm, 0, t.to_mm), "right": (w, t.from_mm, w + t.depth_mm, t.to_mm),
                "top": (t.from_mm, -t.depth_mm, t.to_mm, 0), "bottom": (t.from_mm, d, t.to_mm, d + t.depth_mm),
            }[t.side]  # fmt: skip
            a, b = turned((box[0], box[1]), w, d, turn_deg), turned((box[2], box[3]), w, d, turn_deg)
            out.append((
                turned_side(t.side, turn_deg),
                (min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])), t,
            ))  # fmt: skip
        return tuple(out)

    @property
    def may_stand(self) -> bool:
        """Whether it may stand on spacers: it has feet to stand on, is light enough and gives off little heat."""
        return len(self.plan.holes_mm) >= 2 and self.mass_g <= facts.room("spacer_g") and not self.plan.warm

    def low(self, panel: Panel) -> bool:
        """Whether it goes under something on spacers."""
        return panel.spacer_mm is not None and self.height_mm + facts.room("under_mm") <= panel.spacer_mm


@once
def all_bodies(rig: Rig) -> dict[str, tuple[Body, ...]]:
    """The items of each panel, in the order of the rig."""
    return {
        p: tuple(body(rig, i) for i in rig.items.values() if i.spot is not None and i.spot.panel == p and i.part.plan)
        for p in rig.panels
    }


def body(rig: Rig, item: Item) -> Body:
    """One item, with the wires that land on it."""
    plan, spot = item.part.plan, item.spot
    assert plan is not None
    assert spot is not None
    wires = [w for w in rig.wires if w.size is None or w.size.system not in SOLDERED]
    return Body(
        id=item.id,
        part=item.part.id,
        plan=plan,
        width_mm=math.ceil(plan.width_mm),
        depth_mm=math.ceil(plan.depth_mm),
        height_mm=plan.height_mm,
        sides=tuple(_sides(item, plan, wires)),
        tools=tuple(_tools(plan)),
        mass_g=item.part.mass_g or 0.0,
        turns=(spot.turn_deg,) if spot.fixed else spot.turns,
        layer=spot.layer if spot.layer is not None else 1 if spot.fixed else None,
        fixed=spot.fixed,
    )


def _sides(item: Item, plan: Plan, wires: Iterable[Wire]) -> Iterable[tuple[SideName, RoomFor, int]]:
    together: dict[tuple[SideName, Class, str], list[Wire]] = {}
    for w in wires:
        for ref, other in ((w.start, w.end), (w.end, w.start)):
            owner, _, name = ref.partition(".")
            if owner == item.id and not (item.part.family == "connector" and name.startswith("b")):
                key = plan.terminal(name).side, class_of(w), other.partition(".")[0]
                together.setdefault(key, []).append(w)
    bent = {
        side: bent_mm([some for (s, _, _), some in together.items() if s == side])
        for side in dict.fromkeys(s for s, _, _ in together)
    }
    plugs = {plan.terminal(t.name).side for t in plan.terminals if t.name.startswith("b")}
    for side in SIDES:
        if side in bent:
            yield side, "wires", math.ceil(bent[side])
        if item.part.family == "connector" and side in plugs:
            yield side, "plug", math.ceil(facts.room("plug_mm"))
        if side in plan.heat_sides and plan.heat_gap_mm:
            yield side, "heat", math.ceil(plan.heat_gap_mm)


def _tools(plan: Plan) -> Iterable[Tool]:
    half = facts.room("tool_mm") / 2.0
    for a in plan.adjusters:
        yield Tool(a.side, math.floor(a.from_mm - half), math.ceil(a.to_mm + half), a.height_mm, math.ceil(a.driver_mm))


def diameter_mm(wire: Wire) -> float:
    """Over the insulation, or over the jacket of a line lead [mm]."""
    from loomwright.power.heat import outside_of

    if wire.kind == "line":
        return harness.line_lead_mm()
    if wire.size is not None and wire.size.system == "bolted":
        return 0.0
    return outside_of(AUTO_MM2 if wire.size is None else wire.size.area_mm2)


def bundle_mm(thick_mm: float, count: int) -> float:
    """Width of so many wires tied round [mm]: 1.2 x the diameter x the root of the number."""
    return thick_mm * (1.2 * math.sqrt(count) if count > 1 else 1.0)


def bent_mm(leads: Sequence[Sequence[Wire]]) -> float:
    """What the leads of one side take in front of it: straight out, bent aside, then lane by lane [mm]."""
    thick = max(diameter_mm(w) for wires in leads for w in wires)
    lanes = sum(bundle_mm(max(map(diameter_mm, wires)), len(wires)) for wires in leads)
    between = facts.room("wire_gap_mm") * (len(leads) - 1) + facts.room("spare_lane_mm")
    return facts.room("lead_out_mm") + facts.room("bend_ratio") * thick + lanes + between


def class_of(wire: Wire) -> Class:
    """Power (feeds and returns), speaker, line or remote."""
    if wire.kind == "power" or wire.kind == "ground":
        return "power"
    return wire.kind


def foot_mm(panel: Panel, layer: int) -> float:
    """Height of an item's underside above the board."""
    return panel.spacer_mm or 0.0 if layer == 2 else 0.0


def lay(body: Body, panel: Panel, at_mm: Point, turn_deg: int, layer: int) -> LaidItem:
    """An item where it lies."""
    plan, (x, y) = body.plan, at_mm
    width, depth = body.size_mm(turn_deg)
    whole = (x, y, x + width, y + depth)

    def on_board(p: Point) -> Point:
        a, b = turned(p, plan.width_mm, plan.depth_mm, turn_deg)
        return round(x + a, 3), round(y + b, 3)

    rooms = [
        RoomBox(what, turned_side(side, turn_deg), beside(whole, turned_side(side, turn_deg), deep), deep)
        for side, what, deep in body.sides
    ]
    rooms += [
        RoomBox("screwdriver", side, (x + b[0], y + b[1], x + b[2], y + b[3]), t.depth_mm, t.height_mm)
        for side, b, t in body.tool_boxes(turn_deg)
    ]
    if plan.reach_mm:
        rooms.append(RoomBox("fuses", "top", whole, plan.reach_mm))
    return LaidItem(
        id=body.id, part=body.part, at_mm=at_mm, size_mm=(float(width), float(depth)), height_mm=plan.height_mm,
        turn_deg=turn_deg, layer=2 if layer == 2 else 1, foot_mm=foot_mm(panel, layer),
        terminals=tuple(
            LaidTerminal(f"{body.id}.{t.name}", turned_side(t.side, turn_deg), on_board(t.at_mm))
            for t in plan.terminals
        ),
        rooms=tuple(rooms), drills=tuple(Drill(body.id, on_board(h), plan.hole_mm) for h in plan.holes_mm),
        reach_mm=plan.reach_mm, warm=plan.warm, fixed=body.fixed,
    )  # fmt: skip


def beside(box: Box, side: SideName, deep: float) -> Box:
    """The strip in front of one side of a box."""
    left, top, right, bottom = box
    return {
        "left": (left - deep, top, left, bottom), "right": (right, top, right + deep, bottom),
        "top": (left, top - deep, right, top), "bottom": (left, bottom, right, bottom + deep),
    }[side]  # fmt: skip
