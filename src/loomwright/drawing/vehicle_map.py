"""The map of the runs: places and the ways between them, each with its bundle, covers, holes and hazards.

A rig has no geometry: the map follows from how the runs hang together and how long they are, and says so.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.drawing import figures, fonts, frame, stripes
from loomwright.drawing.boxes import LINE_MM, TEXT_MM
from loomwright.drawing.drafts import Draft, Look, on_paper
from loomwright.drawing.layout import Box, Graph, Link, Placed, Port, layout
from loomwright.drawing.marks import Circle, Group, Mark, Path, Sheet, Stroke, Text, placed, rectangle
from loomwright.loom.bundles import THROUGH_HOLE
from loomwright.loom.results import Bundle
from loomwright.rig.model import Rig, Run
from loomwright.study import Study

_TITLE_MM = 3.5
_CARD_MM = 42.0  # words of a run
_PLACE_MM = 30.0
_PAPER = (1.0 / 10.0, 1.0 / 14.0, 1.0 / 20.0, 1.0 / 28.0, 0.0)  # paper for a run's length, as far as there is room
_SMALLEST = frame.SMALL_MM / TEXT_MM
_CASE, _THIN, _FINE = Stroke(0.5), Stroke(0.25), Stroke(0.18)
_NOTES = (
    "Schematic: the rig holds no geometry. Longer runs are drawn longer as far as there is room.",
    "Circle: section of the bundle, wires in their colours, as packed; drawn in one scale. Diameters are least values.",
    "Look behind before you drill: tanks, lines, looms. Line leads cross feeds at right angles.",
)


@dataclass(frozen=True, slots=True)
class _Shape:
    marks: tuple[Mark, ...]
    width_mm: float
    height_mm: float


def drafts(study: Study, paper: frame.Paper) -> tuple[Draft, ...]:
    """One sheet; none where the rig has no runs."""
    rig = study.rig
    if not rig.runs:
        return ()
    bundles = {b.run: b for b in study.loom.bundles}
    colour = {w.id: w.colour for w in study.loom.wires}
    cards = {k: _run(run, k, bundles.get(k), colour) for k, run in enumerate(rig.runs, 1)}
    boxes = {p: _place(rig, p) for p in rig.places}
    sizes: tuple[frame.SheetSize, ...] = (paper, "A3", "A2", "A1", "A0")
    size, share = next(
        ((s, k) for s in sizes for k in _PAPER if _wide(rig, boxes, cards, k) <= frame.room(s, 5.5).width_mm / _SMALLEST),
        ("A0", 0.0),
    )
    while True:
        places = _laid(rig, boxes, cards, share)
        room = frame.room(size, 5.5)
        scale = min(1.0, room.width_mm / places.width_mm, room.height_mm / places.height_mm)
        if scale >= _SMALLEST or size == "A0":
            break
        if share:
            share = _PAPER[_PAPER.index(share) + 1]
        else:
            size = sizes[sizes.index(size) + 1]
    marks = _marks(rig, boxes, cards, bundles, places)
    at = (
        room.x + (room.width_mm - places.width_mm * scale) / 2,
        room.y + (room.height_mm - places.height_mm * scale) / 2,
    )
    whole = placed(marks, *at, scale)

    def finish(number: int, total: int) -> Sheet:
        return on_paper(rig, size, Look("Vehicle map of runs", "", _NOTES), whole, number, total)

    return (Draft("map", "Vehicle map of runs", finish),)


def _column(rig: Rig) -> dict[str, int]:
    """How far each place lies right (or left) of the one where the starting battery is, in runs."""
    near: dict[str, list[str]] = defaultdict(list)
    for run in rig.runs:
        a, b = run.between
        near[a].append(b)
        near[b].append(a)
    column: dict[str, int] = {}
    battery = rig.vehicle.start_battery
    home = rig.items[battery].place if battery in rig.items else next(iter(near))
    for root in (home, *near):
        if root in column:
            continue
        branches = sorted(dict.fromkeys(near[root]), key=lambda b: (-len(_behind(near, root, b)), near[root].index(b)))
        column[root] = 0
        count = {1: 0, -1: 0}
        for branch in branches:
            side = 1 if count[1] <= count[-1] else -1
            behind = [p for p in _behind(near, root, branch) if p not in column]
            count[side] += len(behind)
            todo = deque([(branch, side)]) if branch not in column else deque()
            while todo:
                place, at = todo.popleft()
                if place in column:
                    continue
                column[place] = at
                todo.extend((p, at + side) for p in near[place] if p not in column)
    return column


def _behind(near: Mapping[str, Sequence[str]], root: str, branch: str) -> list[str]:
    """Places that are reached through a branch without coming back to the root."""
    seen, todo = [branch], [branch]
    while todo:
        for p in near[todo.pop()]:
            if p != root and p not in seen:
                seen.append(p)
                todo.append(p)
    return seen


def _ways(rig: Rig) -> list[tuple[int, str, str]]:
    """Each run by its number, with its left and its right place."""
    column = _column(rig)
    order = {p: k for k, p in enumerate(rig.places)}
    out = []
    for k, run in enumerate(rig.runs, 1):
        a, b = sorted(run.between, key=lambda p: (column[p], order[p]))
        out.append((k, a, b))
    return out


def _long(rig: Rig, card: _Shape, number: int, share: float) -> float:
    return max(card.width_mm, rig.runs[number - 1].length_mm * share)


def _wide(rig: Rig, boxes: Mapping[str, _Shape], cards: Mapping[int, _Shape], share: float) -> float:
    """About the width of the map."""
    column = _column(rig)
    places: dict[int, float] = defaultdict(float)
    runs: dict[int, float] = defaultdict(float)
    for p, c in column.items():
        places[c] = max(places[c], boxes[p].width_mm)
    for k, a, _ in _ways(rig):
        runs[column[a]] = max(runs[column[a]], _long(rig, cards[k], k, share))
    return sum(places.values()) + sum(runs.values()) + 10.0 * len(runs)


def _laid(rig: Rig, boxes: Mapping[str, _Shape], cards: Mapping[int, _Shape], share: float) -> Placed:
    ways = _ways(rig)
    ports: dict[str, list[Port]] = defaultdict(list)
    for side in ("EAST", "WEST"):
        here: dict[str, list[int]] = defaultdict(list)
        for k, a, b in ways:
            here[a if side == "EAST" else b].append(k)
        for place, numbers in here.items():
            step = boxes[place].height_mm / (len(numbers) + 1)
            ports[place] += [
                Port(f"{k}|{side}", "EAST" if side == "EAST" else "WEST", round(step * n, 2))
                for n, k in enumerate(numbers, 1)
            ]
    nodes = [Box(f"place {p}", s.width_mm, s.height_mm, tuple(ports[p])) for p, s in boxes.items()]
    for k, card in cards.items():
        middle = card.height_mm / 2
        ends = (Port(f"{k}|in", "WEST", middle), Port(f"{k}|out", "EAST", middle))
        nodes.append(Box(f"run {k}", _long(rig, card, k, share), card.height_mm, ends))
    links = [link for k, _, _ in ways for link in (Link(f"{k}|1", f"{k}|EAST", f"{k}|in"), Link(f"{k}|2", f"{k}|out", f"{k}|WEST"))]
    return layout(Graph(tuple(nodes), tuple(links)), "straight")


def _marks(
    rig: Rig, boxes: Mapping[str, _Shape], cards: Mapping[int, _Shape], bundles: Mapping[int, Bundle], places: Placed
) -> list[Mark]:
    out: list[Mark] = []
    for k, run in enumerate(rig.runs, 1):
        bundle = bundles.get(k)
        pen = _pen(bundle)
        lines: list[Mark] = [Path(places.links[f"{k}|{n}"], pen) for n in (1, 2)]
        x, y = places.boxes[f"run {k}"]
        card = cards[k]
        ends = (places.links[f"{k}|1"][-1], places.links[f"{k}|2"][0])
        left = (ends[0][0] + ends[1][0] - card.width_mm) / 2
        middle = y + card.height_mm / 2
        for a, b in ((ends[0][0], left), (left + card.width_mm, ends[1][0])):
            if b - a > 1e-6:
                lines.append(Path(((a, middle), (b, middle)), pen))
        title = f"run {k}: {run.between[0]} to {run.between[1]}"
        out.append(Group(tuple(lines), "run", f"{k}", title))
        out.append(Group(placed(card.marks, left, y), "card", f"run {k}", title))
    for p, shape in boxes.items():
        out.append(Group(placed(shape.marks, *places.boxes[f"place {p}"]), "place", p, f"place {p}"))
    return out


def _pen(bundle: Bundle | None) -> Stroke:
    if bundle is None:
        return Stroke(0.25, "pencil", "dashed")
    return Stroke(next(w for d, w in ((6.0, 0.7), (12.0, 1.0), (20.0, 1.4), (float("inf"), 2.0)) if bundle.diameter_mm < d))


def _place(rig: Rig, place: str) -> _Shape:
    known = rig.places[place]
    words = [figures.unit(f"{known.temperature_c:.0f}", "°C")]
    words += [w for w, so in (("engine space", known.engine_space), ("wet", known.wet), ("comes off", known.comes_off)) if so]
    items = [i.id for i in rig.items.values() if i.place == place]
    name = fonts.shortened(place, _PLACE_MM, _TITLE_MM, "semibold")
    lines = [*fonts.wrapped(", ".join(words), _PLACE_MM, TEXT_MM, 2), *fonts.wrapped(", ".join(items), _PLACE_MM, TEXT_MM, 9)]
    wide = max(
        fonts.width_mm(name, _TITLE_MM, "semibold"), *(fonts.width_mm(w, TEXT_MM) for w in lines)
    ) + 4.0  # fmt: skip
    marks: list[Mark] = [Text((2.0, 2.0 + _TITLE_MM), name, _TITLE_MM, weight="semibold")]
    y = 2.0 + _TITLE_MM
    for k, text in enumerate(lines):
        y += LINE_MM + (0.6 if k == 0 else 0.0)
        marks.append(Text((2.0, y), text, TEXT_MM, role="pencil" if text in lines[:1] else "ink"))
    high = y + 2.4
    return _Shape((rectangle(0.0, 0.0, wide, high, _CASE), *marks), wide, high)


def _run(run: Run, number: int, bundle: Bundle | None, colour: Mapping[str, str]) -> _Shape:
    said = [w for text in _words(run, bundle) for w in fonts.wrapped(text, _CARD_MM, TEXT_MM, 3)]
    name = f"run {number}"
    across = bundle.covered_mm if bundle is not None else 0.0
    inner = max(fonts.width_mm(name, TEXT_MM, "semibold"), across, *(fonts.width_mm(w, TEXT_MM) for w in said))
    wide = inner + 4.0
    y = 2.0 + TEXT_MM
    marks: list[Mark] = [Text((2.0, y), name, TEXT_MM, weight="semibold")]
    for text in said:
        y += LINE_MM
        marks.append(Text((2.0, y), text, TEXT_MM))
    if bundle is not None:
        y += 2.2 + across
        marks += _section(bundle, wide / 2, y - across / 2, colour)
    high = y + 2.4
    return _Shape((rectangle(0.0, 0.0, wide, high, _THIN, "raised"), *marks), wide, high)


def _words(run: Run, bundle: Bundle | None) -> list[str]:
    """What is said of a run: its length and count, its bundle, covers, hole and hazards."""
    hazards = [f"hazards: {', '.join(run.hazards)}"] if run.hazards else []
    if bundle is None:
        return [f"{figures.length(run.length_mm)}, no wires", *hazards]
    count = len(bundle.wires)
    across = f"bundle {_mm(bundle.diameter_mm)}"
    if bundle.covered_mm > bundle.diameter_mm + 0.05:
        across += f", covered {bundle.covered_mm:.1f}"
    hole = f"hole {_mm(bundle.hole_mm)}"
    covers = [c for c in bundle.covers if c not in THROUGH_HOLE] or ["no sleeve"]
    if bundle.grommet_mm:
        hole += f", grommet {bundle.grommet_mm:g}"
    if bundle.hole_there_mm:
        hole += f", there {bundle.hole_there_mm:g}"
    return [
        f"{figures.length(run.length_mm)}, {count} {'wire' if count == 1 else 'wires'}", across, ", ".join(covers), hole,
        *hazards,
    ]  # fmt: skip


def _section(bundle: Bundle, x: float, y: float, colour: Mapping[str, str]) -> list[Mark]:
    marks: list[Mark] = [Circle((x, y), bundle.covered_mm / 2, _FINE)]
    for p in bundle.section:
        roles = stripes.roles(colour.get(p.wire, ""))
        at = (x + p.x_mm, y + p.y_mm)
        own: list[Mark] = [Circle(at, p.diameter_mm / 2, _FINE, roles[0] if roles else "raised")]
        if len(roles) > 1:
            own.append(Circle(at, p.diameter_mm / 6, None, roles[1]))
        marks.append(Group(tuple(own), "wire", p.wire, p.wire))
    return marks


def _mm(value: float) -> str:
    return figures.unit(f"{value:.1f}", "mm")

