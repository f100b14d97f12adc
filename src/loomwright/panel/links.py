"""What ties items of a panel together: wires between the same two sides, as one link with a mass per millimetre."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.facts import panel as facts
from loomwright.facts import tables
from loomwright.panel.bodies import AUTO_MM2, Body, bundle_mm, class_of, diameter_mm
from loomwright.panel.boxes import meet, overlap
from loomwright.panel.results import Box, Class, Cost, LaidItem
from loomwright.rig.model import Rig, Wire
from loomwright.rig.plan import Panel, Point, SideName, turned

MG_PER_G = 1000
_OUT: Mapping[SideName, tuple[int, int]] = {"left": (-1, 0), "right": (1, 0), "top": (0, -1), "bottom": (0, 1)}


@dataclass(frozen=True, slots=True)
class Link:
    """Wires between two points of the board. ``to`` is None where they leave by the cable entry.

    ``from_at`` and ``to_at`` are whole millimetres from the upper left corner of the item at turn 0: where the lead has
    come out of its terminals and begins to bend. ``mg_per_mm`` is the conductor mass of all its wires together.
    """

    start: str
    from_at: tuple[int, int]
    to: str | None
    to_at: tuple[int, int]
    kind: Class
    mg_per_mm: int
    wires: tuple[str, ...]
    refs: tuple[tuple[str, ...], ...]  # terminals of each wire that lie on this board


def links(rig: Rig, panel: Panel, bodies: Sequence[Body]) -> tuple[Link, ...]:
    """The links of one panel, in the order of the rig's wires."""
    on = {b.id: b for b in bodies}
    found: dict[tuple[str, str, str, str, str], list[tuple[Wire, str, str | None]]] = {}
    for w in rig.wires:
        if w.size is not None and w.size.system == "bolted":
            continue
        a, b = w.start.partition(".")[0], w.end.partition(".")[0]
        ends = [ref for ref, i in ((w.start, a), (w.end, b)) if i in on and not loose(rig, ref)]
        if not ends or a == b:
            continue
        first, second = ends[0], ends[1] if len(ends) > 1 else None
        key = (*_side(on, first), *(_side(on, second) if second is not None else ("", "")), class_of(w))
        found.setdefault(key, []).append((w, first, second))
    return tuple(_link(on, key, wires) for key, wires in found.items())


def loose(rig: Rig, ref: str) -> bool:
    """Whether a wire's end is on the half of a connector that comes off, and so does not lie on the board."""
    item, _, name = ref.partition(".")
    return rig.items[item].part.family == "connector" and name.startswith("b")


def _side(on: Mapping[str, Body], ref: str) -> tuple[str, str]:
    item, _, name = ref.partition(".")
    return item, on[item].plan.terminal(name).side


def _link(
    on: Mapping[str, Body], key: tuple[str, str, str, str, str], wires: Sequence[tuple[Wire, str, str | None]]
) -> Link:
    thick = max(diameter_mm(w) for w, _, _ in wires)
    out = facts.room("lead_out_mm") + facts.room("bend_ratio") * thick + bundle_mm(thick, len(wires)) / 2.0

    def middle(refs: Sequence[str]) -> tuple[int, int]:
        found = [on[r.partition(".")[0]].plan.terminal(r.partition(".")[2]) for r in refs]
        sx, sy = _OUT[found[0].side]
        x, y = (sum(t.at_mm[k] for t in found) / len(found) for k in (0, 1))
        return round(x + sx * out), round(y + sy * out)

    seconds = [b for _, _, b in wires if b is not None]
    return Link(
        start=key[0],
        from_at=middle([a for _, a, _ in wires]),
        to=key[2] or None,
        to_at=middle(seconds) if seconds else (0, 0),
        kind=class_of(wires[0][0]),
        mg_per_mm=max(1, round(sum(g_per_mm(w) for w, _, _ in wires) * MG_PER_G)),
        wires=tuple(w.id for w, _, _ in wires),
        refs=tuple((a,) if b is None else (a, b) for _, a, b in wires),
    )


def g_per_mm(wire: Wire) -> float:
    """Conductor mass of a millimetre [g]."""
    area = AUTO_MM2 if wire.size is None else wire.size.area_mm2
    return area * tables.row("conductors", f"conductor.density.{wire.metal}").number() / 1000.0


def ends_of(
    link: Link, panel: Panel, on: Mapping[str, Body], laid: Mapping[str, LaidItem]
) -> tuple[Point, Point] | None:
    """Both ends of a link as items lie, in whole millimetres; None where one of them is not placed."""
    out: list[Point] = []
    for item, at in ((link.start, link.from_at), (link.to, link.to_at)):
        if item is None:
            out.append((round(panel.entry_mm[0]), round(panel.entry_mm[1])))
        elif item not in laid:
            return None
        else:
            body, there = on[item], laid[item]
            x, y = turned(at, body.width_mm, body.depth_mm, there.turn_deg)
            out.append((there.at_mm[0] + x, there.at_mm[1] + y))
    return out[0], out[1]


def cost(panel: Panel, bodies: Sequence[Body], all_links: Sequence[Link], items: Sequence[LaidItem]) -> Cost:
    """What a layout costs: copper by gauge and distance at right angles, meeting ways, warm neighbours."""
    on, laid = {b.id: b for b in bodies}, {i.id: i for i in items}
    copper = 0.0
    ways: list[tuple[Class, Box]] = []
    for link in all_links:
        ends = ends_of(link, panel, on, laid)
        if ends is None:
            continue
        (ax, ay), (bx, by) = ends
        copper += link.mg_per_mm * (abs(ax - bx) + abs(ay - by)) / MG_PER_G
        if link.kind in ("power", "line"):
            ways.append((link.kind, (min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))))
    crossings = sum(
        meet(a, b) for n, (one, a) in enumerate(ways) for two, b in ways[n + 1 :] if one != two
    )  # fmt: skip
    near = facts.worth("near_mm")
    warm = [i for i in items if i.warm]
    hot = sum(gap_mm(a, b) < near for n, a in enumerate(warm) for b in warm[n + 1 :])
    high = [i for i in items if i.layer == 2]
    hidden = sum(
        bool(i.reach_mm) and overlap(i.box_mm, up.box_mm) for i in items if i.layer == 1 for up in high
    )  # fmt: skip
    total = (
        copper + crossings * facts.worth("crossing_g") + hot * facts.worth("heat_g")
        + len(high) * facts.worth("spacers_g") + hidden * facts.worth("cover_g")
    )  # fmt: skip
    return Cost(round(copper, 3), crossings, hot, len(high), hidden, round(total, 3))


def gap_mm(a: LaidItem, b: LaidItem) -> float:
    """How far two bodies are apart along the better of the two directions; below 0 where they overlap."""
    p, q = a.box_mm, b.box_mm
    return max(p[0] - q[2], q[0] - p[2], p[1] - q[3], q[1] - p[3])
