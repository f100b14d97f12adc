"""Folds a wide diagram into two rows. A wire from one row to the other is interrupted at a flag in each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from loomwright.drawing.layout import Box, Graph, Link, Placed, Port, Side, layout
from loomwright.drawing.marks import Point

FLAG_MM = 13.0  # the arrow of a flag, without the wire's id
FLAG_HEIGHT_MM = 7.8
FLAG_PORT_MM = 4.9
_GAP_MM = 12.0
_WIRE_MM = 8.0  # about what a wire needs between two columns besides its label
_SURELY = 1.06  # a guessed width this much too large is too large: guesses come out within about a sixth
_CROSSING_MM = 14.0  # how much wider a row may be to save one interrupted wire


@dataclass(frozen=True, slots=True)
class Flag:
    """Where a wire is interrupted: on the left (WEST) or right (EAST) of a row, at its box's upper left corner."""

    wire: str
    at: Point
    side: Side  # side of the row it stands on
    other_row: int


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Where everything lies: as :class:`Placed`, but a wire may be in two pieces."""

    width_mm: float
    height_mm: float
    boxes: Mapping[str, Point]
    pieces: Mapping[str, tuple[tuple[Point, ...], ...]]
    labels: Mapping[str, Point]
    flags: tuple[Flag, ...] = ()


def arrange(graph: Graph, id_mm: Mapping[str, float], fits: Callable[[float, float], bool]) -> Arrangement:
    """Place a graph in one row, or in two where one does not fit and two are less wide.

    ``id_mm`` is the width of each wire's id, for its flags; ``fits`` says whether a size is small enough.
    """
    guess = _guess(graph)
    guessed_mm = max((x + b.width_mm for b in graph.boxes for x in (guess[b.id],)), default=0.0)
    if len(graph.boxes) >= 4 and not fits(guessed_mm / _SURELY, 1.0):  # one row is out of the question
        two = _folded(graph, guess, guessed_mm, id_mm)
        if two is not None and fits(two.width_mm, two.height_mm):
            return two
    placed = layout(graph)
    one = Arrangement(
        placed.width_mm, placed.height_mm, placed.boxes, {k: (v,) for k, v in placed.links.items()}, placed.labels
    )
    if fits(one.width_mm, one.height_mm) or len(graph.boxes) < 4:
        return one
    two = _folded(graph, {k: x for k, (x, _) in placed.boxes.items()}, placed.width_mm, id_mm)
    return one if two is None or two.width_mm > 0.85 * one.width_mm else two


def moved(places: Arrangement, by_mm: float) -> Arrangement:
    """The same arrangement, further down and to the right."""
    if not by_mm:
        return places
    return Arrangement(
        places.width_mm, places.height_mm,
        {k: (x + by_mm, y + by_mm) for k, (x, y) in places.boxes.items()},
        {k: tuple([tuple([(x + by_mm, y + by_mm) for x, y in run]) for run in v]) for k, v in places.pieces.items()},
        {k: (x + by_mm, y + by_mm) for k, (x, y) in places.labels.items()},
        tuple(replace(f, at=(f.at[0] + by_mm, f.at[1] + by_mm)) for f in places.flags),
    )  # fmt: skip


def _guess(graph: Graph) -> dict[str, float]:
    """About where each box would begin in one row: columns by the longest way from the left [mm]."""
    owner = {p.id: b.id for b in graph.boxes for p in b.ports}
    order = {b.id: k for k, b in enumerate(graph.boxes)}
    column = dict.fromkeys(order, 0)
    pairs = {(owner[k.source], owner[k.target]) for k in graph.links}
    for a, b in sorted(((a, b) for a, b in pairs if order[a] < order[b]), key=lambda p: (order[p[0]], order[p[1]])):
        column[b] = max(column[b], column[a] + 1)
    widths = [
        max((b.width_mm for b in graph.boxes if column[b.id] == c), default=0.0)
        for c in range(max(column.values(), default=0) + 1)
    ]
    label = max((k.label_mm[0] for k in graph.links if k.label_mm), default=0.0) + _WIRE_MM
    return {name: sum(widths[:c]) + c * label for name, c in column.items()}


def _folded(graph: Graph, left: Mapping[str, float], width_mm: float, id_mm: Mapping[str, float]) -> Arrangement | None:
    second = _cut(graph, left, width_mm)
    if not second:
        return None
    owner = {p.id: b.id for b in graph.boxes for p in b.ports}
    rows: list[Placed] = []
    for row in (1, 2):
        boxes = [b for b in graph.boxes if (b.id in second) == (row == 2)]
        links: list[Link] = []
        for link in graph.links:
            at_source = (owner[link.source] in second) == (row == 2)
            at_target = (owner[link.target] in second) == (row == 2)
            if at_source and at_target:
                links.append(link)
            elif at_source:
                flag = _flag_box(link, "EAST", id_mm)
                boxes.append(flag)
                links.append(replace(link, target=flag.ports[0].id))
            elif at_target:
                flag = _flag_box(link, "WEST", id_mm)
                boxes.append(flag)
                links.append(Link(link.id, flag.ports[0].id, link.target))
        rows.append(layout(Graph(tuple(boxes), tuple(links))))
    return _stacked(rows)


def _flag_box(link: Link, side: Side, id_mm: Mapping[str, float]) -> Box:
    facing: Side = "WEST" if side == "EAST" else "EAST"
    port = Port(f"{link.id}|flag {side}", facing, FLAG_PORT_MM)
    return Box(
        f"{link.id}|box {side}",
        FLAG_MM + id_mm[link.id],
        FLAG_HEIGHT_MM,
        (port,),
        "LAST" if side == "EAST" else "FIRST",
    )


def _cut(graph: Graph, left: Mapping[str, float], width_mm: float) -> frozenset[str]:
    """The boxes of the second row: those right of the cut that gives two even rows and few interrupted wires."""
    owner = {p.id: b.id for b in graph.boxes for p in b.ports}
    right = {b.id: left[b.id] + b.width_mm for b in graph.boxes}
    best: tuple[float, frozenset[str]] = (float("inf"), frozenset())
    for cut in sorted(set(left.values()))[1:]:
        second = frozenset(b for b in left if left[b] >= cut)
        crossing = sum((owner[k.source] in second) != (owner[k.target] in second) for k in graph.links)
        widest = max(max(right[b] for b in left if b not in second), width_mm - cut)
        best = min(best, (widest + _CROSSING_MM * crossing, second), key=lambda c: c[0])
    return best[1]


def _stacked(rows: list[Placed]) -> Arrangement:
    width = max(r.width_mm for r in rows)
    boxes: dict[str, Point] = {}
    pieces: dict[str, tuple[tuple[Point, ...], ...]] = {}
    labels: dict[str, Point] = {}
    flags: list[Flag] = []
    dy = 0.0
    for number, row in enumerate(rows, 1):
        dx = (width - row.width_mm) / 2
        for name, (x, y) in row.boxes.items():
            wire, found, side = name.rpartition("|box ")
            if found:
                flags.append(Flag(wire, (x + dx, y + dy), "EAST" if side == "EAST" else "WEST", 3 - number))
            else:
                boxes[name] = (x + dx, y + dy)
        for wire, points in row.links.items():
            pieces[wire] = (*pieces.get(wire, ()), tuple((x + dx, y + dy) for x, y in points))
        labels.update({k: (x + dx, y + dy) for k, (x, y) in row.labels.items()})
        dy += row.height_mm + _GAP_MM
    return Arrangement(width, dy - _GAP_MM, boxes, pieces, labels, tuple(sorted(flags, key=lambda f: (f.wire, f.side))))
