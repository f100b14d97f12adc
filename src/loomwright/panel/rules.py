"""The rules of a panel, judged on a layout as it stands. The solver knows the same rules; this is the plain telling."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from loomwright.facts import panel as facts
from loomwright.panel import shapes
from loomwright.panel.bodies import Body
from loomwright.panel.boxes import EXACT_MM, overlap
from loomwright.panel.results import Box, Broken, Covered, LaidItem, Rule
from loomwright.rig.plan import SIDES, Panel, SideName

OPPOSITE: dict[SideName, SideName] = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
_RULE_OF: dict[str, Rule] = {"wires": "wires", "heat": "heat", "plug": "plug"}


def broken(panel: Panel, bodies: Sequence[Body], items: Sequence[LaidItem]) -> tuple[Broken, ...]:
    """Every rule that a layout breaks, in the order of its items."""
    on = {b.id: b for b in bodies}
    found: list[Broken] = []
    for n, item in enumerate(items):
        found += _alone(panel, on[item.id], item)
        for other in items[n + 1 :]:
            found += _pair(panel, on, item, other)
    return tuple(found)


def covered(panel: Panel, items: Sequence[LaidItem]) -> tuple[Covered, ...]:
    """What lies under something on spacers. It is reached by undoing the spacers of that one thing, or it is not."""
    out = []
    for under in items:
        over = [i for i in items if under.layer == 1 and i.layer == 2 and overlap(under.box_mm, i.box_mm)]
        out += [Covered(under.id, i.id, len(i.drills), len(over) == 1) for i in over]
    return tuple(out)


def edge_box(panel: Panel, body: Body, item: LaidItem) -> Box:
    """The body with the distances that it must keep from the edge."""
    left, top, right, bottom = item.box_mm
    m = {s: body.margin_mm(panel, s, item.turn_deg) for s in SIDES}
    return left - m["left"], top - m["top"], right + m["right"], bottom + m["bottom"]


def free_box(body: Body, item: LaidItem) -> Box:
    """The body with its wires and plugs."""
    left, top, right, bottom = item.box_mm
    m = {s: body.need_mm(s, item.turn_deg, "wires", "plug") for s in SIDES}
    return left - m["left"], top - m["top"], right + m["right"], bottom + m["bottom"]


def _alone(panel: Panel, body: Body, item: LaidItem) -> Iterator[Broken]:
    yield from _on_board(panel, body, item)
    top = item.foot_mm + item.height_mm
    lid = panel.space_mm - facts.room("lid_mm")
    if top > lid + EXACT_MM:
        yield Broken("height", (item.id,), f"{item.id} stands {top:.0f} mm high under {lid:.0f} mm.", top, lid)
    if item.reach_mm and top + item.reach_mm > panel.space_mm + EXACT_MM:
        need = top + item.reach_mm
        yield Broken(
            "reach", (item.id,), f"{item.id} needs {need:.0f} mm of height to pull a fuse or work its handle.", need,
            panel.space_mm,
        )  # fmt: skip
    if item.turn_deg not in body.turns:
        yield Broken("turn", (item.id,), f"{item.id} lies at {item.turn_deg} degrees.", 0.0, float(item.turn_deg))
    if item.layer == 2 and not body.may_stand:
        yield Broken(
            "spacers", (item.id,),
            f"{item.id} is too heavy or too warm for spacers: {body.mass_g:.0f} g.",
            facts.room("spacer_g"), body.mass_g
        )  # fmt: skip


def _on_board(panel: Panel, body: Body, item: LaidItem) -> Iterator[Broken]:
    """Inside the edge with its distances, and clear of notches, holes, keep-outs and the cable entry."""
    board = shapes.board(panel)
    edge, free = edge_box(panel, body, item), free_box(body, item)
    if board.room_mm(edge, free, panel.edge_mm) >= -EXACT_MM:
        return
    off = board.room_mm(item.box_mm, item.box_mm, 0.0)
    if off < -EXACT_MM:
        what = (
            "the room round the cable entry"
            if board.gather_mm(item.box_mm) < -EXACT_MM
            else "the edge, a hole or a keep-out"
        )
        yield Broken("board", (item.id,), f"{item.id} reaches {-off:.0f} mm over {what}.", 0.0, round(off, 1))
        return
    inside = board.inside_mm(edge)
    if inside < -EXACT_MM:
        left, top, right, bottom = item.box_mm
        width, height = panel.size_mm
        there = {"left": left, "top": top, "right": width - right, "bottom": height - bottom}
        need = {s: float(body.margin_mm(panel, s, item.turn_deg)) for s in SIDES}
        side = min(SIDES, key=lambda s: there[s] - need[s])
        wires = body.need_mm(side, item.turn_deg, "wires", "plug")
        yield Broken(
            "wires" if wires >= need[side] else "screws", (item.id,),
            f"{item.id} stands {need[side] + inside:.0f} mm from the edge on its {side}; "
            f"{need[side]:.0f} mm are needed.",
            need[side], round(need[side] + inside, 1), side,
        )  # fmt: skip
        return
    where = "the cable entry" if board.gather_mm(free) < -EXACT_MM else "a hole, a notch or a keep-out"
    spare = board.apart_mm(free, panel.edge_mm)
    yield Broken("wires", (item.id,), f"The wires of {item.id} lack {-spare:.0f} mm to {where}.", -spare, 0.0)


def _pair(panel: Panel, on: Mapping[str, Body], a: LaidItem, b: LaidItem) -> Iterator[Broken]:
    yield from _tools(a, b)
    yield from _tools(b, a)
    if a.layer != b.layer:
        up, down = (a, b) if a.layer == 2 else (b, a)
        if on[down.id].low(panel):
            yield from _spacers(up, down)
            return
        if overlap(a.box_mm, b.box_mm):
            need = down.height_mm + facts.room("under_mm")
            yield Broken(
                "under", (down.id, up.id), f"{down.id} is too high to lie under {up.id}.", need, panel.spacer_mm or 0.0
            )  # fmt: skip
            return
    if overlap(a.box_mm, b.box_mm):
        yield Broken("overlap", (a.id, b.id), f"{a.id} and {b.id} overlap.", 0.0, -1.0)
        return
    mine, other = on[a.id], on[b.id]
    best: tuple[float, float, float, SideName] | None = None
    for side in SIDES:
        there = _apart(a.box_mm, b.box_mm, side)
        need = float(mine.room_mm(side, a.turn_deg) + other.room_mm(OPPOSITE[side], b.turn_deg))
        if best is None or there - need > best[0]:
            best = there - need, need, there, side
    assert best is not None
    short, need, there, side = best
    if short < -EXACT_MM:
        rule = _why(mine, other, side, a.turn_deg, b.turn_deg)
        yield Broken(
            rule, (a.id, b.id), f"{a.id} and {b.id} stand {max(there, 0.0):.0f} mm apart; {need:.0f} mm are needed.",
            need, there, side,
        )  # fmt: skip


def _why(a: Body, b: Body, side: SideName, turn_a: int, turn_b: int) -> Rule:
    """What asks for the most room between two items."""
    asked = {
        what: a.need_mm(side, turn_a, what) + b.need_mm(OPPOSITE[side], turn_b, what)
        for what in ("wires", "heat", "plug")
    }
    most = max(asked, key=lambda w: asked[w])
    return _RULE_OF[most] if asked[most] else "overlap"


def _apart(a: Box, b: Box, side: SideName) -> float:
    """How far b lies beyond that side of a."""
    return {"left": a[0] - b[2], "right": b[0] - a[2], "top": a[1] - b[3], "bottom": b[1] - a[3]}[side]


def _tools(a: LaidItem, b: LaidItem) -> Iterator[Broken]:
    """The way of a screwdriver to a's adjusters, past b."""
    half = facts.room("tool_mm") / 2.0
    for room in a.rooms:
        if room.what != "screwdriver" or not overlap(room.box_mm, b.box_mm):
            continue
        axis = a.foot_mm + room.height_mm
        if b.foot_mm < axis + half and b.foot_mm + b.height_mm > axis - half:
            there = max(_apart(a.box_mm, b.box_mm, room.side), 0.0)
            yield Broken(
                "screwdriver", (a.id, b.id), f"{b.id} stands {there:.0f} mm in front of the adjusters of {a.id}.",
                room.depth_mm, there, room.side,
            )  # fmt: skip


def pads(item: LaidItem) -> tuple[Box, ...]:
    """The feet of what stands on spacers."""
    half = facts.room("spacer_pad_mm") / 2.0
    return tuple((d.at_mm[0] - half, d.at_mm[1] - half, d.at_mm[0] + half, d.at_mm[1] + half) for d in item.drills)


def _spacers(up: LaidItem, down: LaidItem) -> Iterator[Broken]:
    if any(overlap(p, down.box_mm) for p in pads(up)):
        yield Broken("spacers", (up.id, down.id), f"A spacer of {up.id} comes down on {down.id}.", 0.0, -1.0)
