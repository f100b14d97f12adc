"""Pieces and wires on as many sheets as it takes to read them: laid out, cut by what belongs together, referred.

A set is laid out in one strip where words then stand at least ``LEAST_MM`` high. Otherwise each group gets strips of
its own, a group that is too wide is cut where the fewest wires are interrupted, and strips that go on one sheet lie
one over the other. A wire that is interrupted ends on both strips at a ghost of the item at its other end, with that
end's sheet and zone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from loomwright.drawing import frame, ghosts, untangle
from loomwright.drawing.boxes import TEXT_MM, End, Shape
from loomwright.drawing.captions import stroke
from loomwright.drawing.flow import Drawn
from loomwright.drawing.ghosts import Ghost
from loomwright.drawing.layout import Box, Graph, Link, Manner, Placed, layout
from loomwright.drawing.marks import Point
from loomwright.drawing.pieces import Piece, Pieces

LEAST_MM = frame.SMALL_MM  # height of capitals
_SMALLEST = LEAST_MM / TEXT_MM
_LARGEST = 1.2
_CLEAR_MM = 5.5  # no words on the centring marks
_BETWEEN_MM = 10.0  # from strip to strip, on paper
_FULL = 0.5  # boxes that fill more of a sheet than this leave no room for wires
_EVEN = 14.0  # so many interrupted wires is a wholly one-sided cut worth
_WIRE_MM = 9.0  # about what wires need between two columns
_MANY = 24  # that many boxes go into no strip

_MANNERS: tuple[Manner, ...] = ("straight", "wide", "close")  # the next where wires merge

Make = Callable[[Piece, Sequence[End], Sequence[End]], Shape]
EndOf = Callable[[Drawn, str, bool], End]


@dataclass(frozen=True, slots=True)
class Content:
    """What is to be drawn: the pieces, and how a box and a wire's end look.

    ``grouped`` keeps what belongs together on sheets of its own; otherwise all of it is cut where it is cheapest.
    """

    whole: Pieces
    make: Make
    end: EndOf
    grouped: bool = True


@dataclass(frozen=True, slots=True)
class Strip:
    """Pieces laid out together, with the ghosts of those they are wired to; about its own upper left corner."""

    names: tuple[str, ...]
    group: str
    ghosts: tuple[Ghost, ...]
    ends: Mapping[str, tuple[list[End], list[End]]]
    shapes: Mapping[str, Shape]
    places: Placed


@dataclass(frozen=True, slots=True)
class Laid:
    """One sheet: its strips, from the top, and where their corners lie on the paper."""

    strips: tuple[Strip, ...]
    size: frame.SheetSize
    scale: float
    at: tuple[Point, ...]

    @property
    def groups(self) -> tuple[str, ...]:
        """What the strips are about, each once."""
        return tuple(dict.fromkeys(s.group for s in self.strips))


def lay(content: Content, paper: frame.Paper) -> tuple[Laid, ...]:
    """The sheets of a set, in reading order."""
    whole = content.whole
    names = tuple(whole.pieces)
    if not names:
        return ()
    shapes = _Shapes(content, frame.room(paper, _CLEAR_MM))
    groups = whole.groups() if content.grouped else ("",)
    if shapes.filled(names) < _FULL and shapes.width_mm(names) <= shapes.limit_mm:
        one = _laid(shapes, names, groups[0])
        if _scale((one,), shapes.room) >= _SMALLEST:
            return (_on((one,), paper),)
    out: list[Laid] = []
    for group in groups:
        strips = _fitted(shapes, tuple(n for n in names if not group or whole.pieces[n].group == group), group)
        strips.sort(key=lambda s: names.index(s.names[0]))
        out += _stacked([(s,) for s in strips], shapes.room, paper)
    return tuple(_stacked([s.strips for s in out], shapes.room, paper))


class _Shapes:
    """Boxes made once, and about how wide some of them lie side by side."""

    def __init__(self, content: Content, room: frame.Room) -> None:
        self.content = content
        self.room = room
        self.limit_mm = room.width_mm / _SMALLEST
        self.ends: dict[str, tuple[list[End], list[End]]] = {}
        whole = content.whole
        for d in whole.wires:
            for ref, west in ((d.right, True), (d.left, False)):
                self.ends.setdefault(whole.owner[ref], ([], []))[0 if west else 1].append(content.end(d, ref, west))
        self.made = {n: content.make(p, *self.ends[n]) for n, p in whole.pieces.items()}
        self.joins = [(whole.owner[d.left], whole.owner[d.right]) for d in whole.wires]

    def filled(self, names: Sequence[str]) -> float:
        """Share of a sheet that the boxes of some pieces take, drawn as small as is allowed."""
        area = sum(self.made[n].width_mm * self.made[n].height_mm for n in names)
        return area * _SMALLEST**2 / (self.room.width_mm * self.room.height_mm)

    def columns(self, names: Sequence[str]) -> dict[str, int]:
        """The column of each piece by the longest way from the left; 0 is for ghosts."""
        order = {n: k for k, n in enumerate(names)}
        column = dict.fromkeys(names, 1)
        pairs = {(order[a], order[b]) for a, b in self.joins if a in order and b in order}
        for a, b in sorted(p for p in pairs if p[0] < p[1]):
            column[names[b]] = max(column[names[b]], column[names[a]] + 1)
        return column

    def width_mm(self, names: Sequence[str]) -> float:
        """About the width of a strip, ghosts counted in."""
        here = frozenset(names)
        column = self.columns(names)
        widest: dict[int, float] = {}
        for n in names:
            widest[column[n]] = max(widest.get(column[n], 0.0), self.made[n].width_mm)
        left, right = ghosts.ghosts(self.content.whole, here)
        found = [
            max((ghosts.shape(g, self.ghost_ends(g), {}).width_mm for g in side), default=0.0) for side in (left, right)
        ]
        between = sum(map(bool, found)) + len(widest) - 1
        return sum(found) + sum(widest.values()) + between * _WIRE_MM

    def ghost_ends(self, ghost: Ghost) -> list[End]:
        """The ends of its wires at a ghost."""
        west = ghost.side == "EAST"
        return [self.content.end(d, d.right if west else d.left, west) for d in ghost.wires]


def _laid(shapes: _Shapes, names: tuple[str, ...], group: str) -> Strip:
    whole = shapes.content.whole
    here = frozenset(names)
    left, right = ghosts.ghosts(whole, here)
    made = {n: shapes.made[n] for n in names}
    ends = {n: shapes.ends[n] for n in names}
    for g in (*left, *right):
        found = shapes.ghost_ends(g)
        ends[g.id] = (found, []) if g.side == "EAST" else ([], found)
        made[g.id] = ghosts.shape(g, found, {})
    boxes = [Box(g.id, made[g.id].width_mm, made[g.id].height_mm, made[g.id].ports, "FIRST") for g in left]
    boxes += [Box(n, made[n].width_mm, made[n].height_mm, made[n].ports) for n in names]
    boxes += [Box(g.id, made[g.id].width_mm, made[g.id].height_mm, made[g.id].ports, "LAST") for g in right]
    links = [
        Link(d.wire.id, f"{d.wire.id}|left", f"{d.wire.id}|right")
        for d in whole.wires
        if whole.owner[d.left] in here or whole.owner[d.right] in here
    ]
    places = _apart(Graph(tuple(boxes), tuple(links)), {d.wire.id: stroke(d.wire).width_mm for d in whole.wires})
    return Strip(names, group, (*left, *right), ends, made, places)


def _apart(graph: Graph, widths_mm: Mapping[str, float]) -> Placed:
    """The graph placed so that no two wires merge to the eye; where that cannot be had, with as few as can be."""
    found: list[tuple[int, Placed]] = []
    for manner in _MANNERS:
        places = layout(graph, manner)
        boxes = [
            (x, y, x + b.width_mm, y + b.height_mm) for b in graph.boxes for x, y in (places.boxes[b.id],)
        ]  # fmt: skip
        links, bad = untangle.untangled(places.links, widths_mm, boxes)
        found.append((bad, replace(places, links=links)))
        if not bad:
            break
    return min(found, key=lambda f: f[0])[1]


def _scale(strips: Sequence[Strip], room: frame.Room) -> float:
    """How large some strips can be drawn in a room, one over the other."""
    high = room.height_mm - _BETWEEN_MM * (len(strips) - 1)
    wide = max(s.places.width_mm for s in strips)
    return min(_LARGEST, room.width_mm / wide, high / sum(s.places.height_mm for s in strips))


def _on(strips: Sequence[Strip], paper: frame.SheetSize) -> Laid:
    """Strips on a sheet, spread over its height, each in the middle of its width."""
    room = frame.room(paper, _CLEAR_MM)
    scale = _scale(strips, room)
    free = room.height_mm - scale * sum(s.places.height_mm for s in strips)
    gap = free / (len(strips) + 1) if len(strips) == 1 else max(_BETWEEN_MM, free / (len(strips) + 1))
    y = room.y + (free - gap * (len(strips) - 1)) / 2
    at = []
    for s in strips:
        at.append((room.x + (room.width_mm - scale * s.places.width_mm) / 2, y))
        y += scale * s.places.height_mm + gap
    return Laid(tuple(strips), paper, scale, tuple(at))


def _fitted(shapes: _Shapes, names: tuple[str, ...], group: str) -> list[Strip]:
    """Some pieces in as few strips as they need."""
    if len(names) > 1 and (len(names) > _MANY or shapes.width_mm(names) > shapes.limit_mm):
        parts = _cut(shapes, names, shapes.columns(names))
    else:
        strip = _laid(shapes, names, group)
        if len(names) == 1 or _scale((strip,), shapes.room) >= _SMALLEST:
            return [strip]
        axis = 0 if strip.places.width_mm > shapes.limit_mm else 1
        parts = _cut(shapes, names, {n: strip.places.boxes[n][axis] for n in names})
    return [s for part in parts for s in _fitted(shapes, part, group)]


def _cut(
    shapes: _Shapes, names: tuple[str, ...], place: Mapping[str, float]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Two parts, one with the lesser places, where few wires are interrupted and the halves are even."""
    area = {n: shapes.made[n].width_mm * shapes.made[n].height_mm for n in names}
    total = sum(area.values())
    order = {n: k for k, n in enumerate(names)}
    lined = sorted(names, key=lambda n: (place[n], order[n]))
    best: tuple[float, frozenset[str]] = (float("inf"), frozenset(lined[:1]))
    for k in range(1, len(lined)):
        part = frozenset(lined[:k])
        here = [(a in part, b in part) for a, b in shapes.joins if a in order and b in order]
        uneven = abs(sum(area[n] for n in part) / total - 0.5) * 2.0
        cost = sum(a != b for a, b in here) + _EVEN * uneven**2
        best = min(best, (cost, part), key=lambda c: c[0])
    part = _mended(shapes, names, best[1])
    return tuple(n for n in names if n in part), tuple(n for n in names if n not in part)


def _mended(shapes: _Shapes, names: tuple[str, ...], part: frozenset[str]) -> frozenset[str]:
    """The same part, with single pieces put over where that saves interrupted wires and both halves still go."""
    joins = [(a, b) for a, b in shapes.joins if a in names and b in names and a != b]
    for n in names:
        moved = part ^ {n}
        if not moved or len(moved) == len(names):
            continue
        mine = [(b if a == n else a) for a, b in joins if n in (a, b)]
        saved = sum((o in part) != (n in part) for o in mine) - sum((o in moved) != (n in moved) for o in mine)
        halves = (tuple(m for m in names if m in moved), tuple(m for m in names if m not in moved))
        if saved > 0 and all(shapes.width_mm(h) <= shapes.limit_mm for h in halves):
            part = moved
    return part


def _stacked(parts: Sequence[tuple[Strip, ...]], room: frame.Room, paper: frame.Paper) -> list[Laid]:
    """Strips on sheets, in their order, what belongs together on one sheet as far as it goes on it."""
    out: list[Laid] = []
    for strips in parts:
        both = (*out[-1].strips, *strips) if out else strips
        if out and out[-1].size == paper and _scale(both, room) >= _SMALLEST:
            out[-1] = _on(both, paper)
            continue
        large = (z for z in frame.upward(paper) if _scale(strips, frame.room(z, _CLEAR_MM)) >= _SMALLEST)
        out.append(_on(strips, next(large, "A0")))
    return out


def references(laid: Sequence[Laid], first: int) -> Mapping[str, str]:
    """By port: the sheet and zone where it lies. The first sheet has the number ``first``."""
    found = {}
    for number, sheet in enumerate(laid, first):
        for strip, (x0, y0) in zip(sheet.strips, sheet.at, strict=True):
            for name in strip.names:
                shape = strip.shapes[name]
                x, y = strip.places.boxes[name]
                for p in shape.ports:
                    across = x + (0.0 if p.side == "WEST" else shape.width_mm)
                    spot = (x0 + across * sheet.scale, y0 + (y + p.y_mm) * sheet.scale)
                    found[p.id] = f"{number}/{frame.zone(sheet.size, spot)}"
    return found


def referred(sheet: Laid, spots: Mapping[str, str]) -> Laid:
    """The sheet with its references written."""
    return replace(sheet, strips=tuple(_referred(s, spots) for s in sheet.strips))


def _referred(strip: Strip, spots: Mapping[str, str]) -> Strip:
    shapes = dict(strip.shapes)
    for g in strip.ghosts:
        west, east = strip.ends[g.id]
        side = "right" if g.side == "EAST" else "left"
        refs = {d.wire.id: spots[f"{d.wire.id}|{side}"] for d in g.wires}
        shapes[g.id] = ghosts.shape(g, west or east, refs)
    return replace(strip, shapes=shapes)
