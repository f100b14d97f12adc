"""The map of the runs: places and the ways between them, each with its bundle, covers, holes and hazards.

A rig has no geometry: the map follows from how the runs hang together and how long they are, and says so.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.drawing import frame, map_cards
from loomwright.drawing.boxes import TEXT_MM
from loomwright.drawing.drafts import Draft, Look, on_paper
from loomwright.drawing.layout import Box, Graph, Link, Placed, Port, layout
from loomwright.drawing.map_cards import MapShape
from loomwright.drawing.marks import Group, Mark, Path, Sheet, placed
from loomwright.loom.loom import wire_colours
from loomwright.loom.results import Bundle
from loomwright.rig.model import Rig
from loomwright.study import Study

_PAPER = (1.0 / 10.0, 1.0 / 14.0, 1.0 / 20.0, 1.0 / 28.0, 0.0)  # paper for a run's length, as far as there is room
_CLEAR_MM = 5.5
_STEP_MM = 7.0
_SMALLEST = frame.SMALL_MM / TEXT_MM
_NOTES = (
    "Schematic: the rig holds no geometry. Longer runs are drawn longer as far as there is room.",
    "Circle: section of the bundle, wires in their colours, as packed; drawn in one scale. Diameters are least values.",
    "Look behind before you drill: tanks, lines, looms. Line leads cross feeds at right angles.",
)


@dataclass(frozen=True, slots=True)
class _Parts:
    """The boxes of places, as they stand once and as they stand again; the cards of runs by number."""

    rig: Rig
    places: Mapping[str, MapShape]
    again: Mapping[str, MapShape]
    cards: Mapping[int, MapShape]
    bundles: Mapping[int, Bundle]


def drafts(study: Study, paper: frame.Paper) -> tuple[Draft, ...]:
    """One sheet where the map goes on it; else the runs in rows, on one or more. None where the rig has no runs."""
    rig = study.rig
    if not rig.runs:
        return ()
    bundles = {b.run: b for b in study.loom.bundles}
    colour = wire_colours(rig)
    parts = _Parts(
        rig, {p: map_cards.place_box(rig, p) for p in rig.places}, {p: map_cards.again(p) for p in rig.places},
        {k: map_cards.run_card(run, k, bundles.get(k), colour) for k, run in enumerate(rig.runs, 1)}, bundles,
    )  # fmt: skip
    room = frame.room(paper, _CLEAR_MM)
    for share in _PAPER:
        if _wide(parts, share) * _SMALLEST <= room.width_mm:
            places = _laid(parts, share)
            scale = min(1.0, room.width_mm / places.width_mm, room.height_mm / places.height_mm)
            if scale >= _SMALLEST:
                x = room.x + (room.width_mm - places.width_mm * scale) / 2
                y = room.y + (room.height_mm - places.height_mm * scale) / 2
                return (_draft(rig, paper, placed(_marks(parts, places), x, y, scale), 0, 1),)
    return _in_rows(parts, paper)


def _draft(rig: Rig, size: frame.SheetSize, marks: tuple[Mark, ...], k: int, count: int) -> Draft:
    words = "Vehicle map of runs" + (f", {k + 1} of {count}" if count > 1 else "")

    def finish(number: int, total: int) -> Sheet:
        return on_paper(rig, size, Look(words, "", _NOTES), marks, number, total)

    return Draft(f"map_{k + 1}" if count > 1 else "map", words, finish)


def _in_rows(parts: _Parts, paper: frame.Paper) -> tuple[Draft, ...]:
    """The runs one after the other in rows; a place that stands in another row already has a broken outline here."""
    widest = max(c.width_mm for c in parts.cards.values()) + 2 * max(s.width_mm for s in parts.places.values())
    highest = max(s.height_mm for s in (*parts.cards.values(), *parts.places.values()))
    size: frame.SheetSize = "A0"
    for size in frame.upward(paper):
        room = frame.room(size, _CLEAR_MM)
        if room.width_mm >= widest + 4 * _STEP_MM and room.height_mm >= highest:
            break
    room = frame.room(size, _CLEAR_MM)
    sheets: list[list[Mark]] = [[]]
    y = 0.0
    seen: set[str] = set()
    chains = [_chain(parts, c, seen) for c in _chains(parts, room.width_mm)]
    for marks, wide, high in (*chains, *_alone(parts, seen, room.width_mm)):
        if y and y + high > room.height_mm:
            sheets.append([])
            y = 0.0
        sheets[-1] += placed(marks, room.x + (room.width_mm - wide) / 2, room.y + y)
        y += high + _STEP_MM
    return tuple(_draft(parts.rig, size, tuple(m), k, len(sheets)) for k, m in enumerate(sheets))


def _chains(parts: _Parts, limit_mm: float) -> list[list[tuple[str, int, str]]]:
    """The runs as chains from place to place, none wider than there is room for."""
    rig = parts.rig
    left = dict(enumerate(rig.runs, 1))
    known = [_home(rig)]
    out: list[list[tuple[str, int, str]]] = []
    while left:
        at = next((p for p in known if any(p in r.between for r in left.values())), None)
        if at is None:
            at = next(iter(left.values())).between[0]
            known.append(at)
        chain: list[tuple[str, int, str]] = []
        wide = parts.places[at].width_mm
        while True:
            number = next((k for k, r in left.items() if at in r.between), None)
            if number is None:
                break
            a, b = rig.runs[number - 1].between
            there = b if a == at else a
            wide += parts.cards[number].width_mm + parts.places[there].width_mm + 2 * _STEP_MM
            if chain and wide > limit_mm:
                break
            chain.append((at, number, there))
            del left[number]
            known.append(there)
            at = there
        out.append(chain)
    return out


def _chain(
    parts: _Parts, chain: Sequence[tuple[str, int, str]], seen: set[str]
) -> tuple[list[Mark], float, float]:
    """Marks, width and height of one chain."""

    def box(place: str) -> MapShape:
        shape = parts.again[place] if place in seen else parts.places[place]
        seen.add(place)
        return shape

    boxes = [(chain[0][0], box(chain[0][0])), *((there, box(there)) for _, _, there in chain)]
    high = max(s.height_mm for s in (*(s for _, s in boxes), *(parts.cards[k] for _, k, _ in chain)))
    marks: list[Mark] = []
    x = 0.0
    for n, (place, shape) in enumerate(boxes):
        marks.append(Group(placed(shape.marks, x, (high - shape.height_mm) / 2), "place", place, f"place {place}"))
        x += shape.width_mm
        if n < len(chain):
            number = chain[n][1]
            card = parts.cards[number]
            pen = map_cards.pen(parts.bundles.get(number))
            ends = ((x, x + _STEP_MM), (x + _STEP_MM + card.width_mm, x + 2 * _STEP_MM + card.width_mm))
            lines = tuple(Path(((a, high / 2), (b, high / 2)), pen) for a, b in ends)
            title = _title(parts.rig, number)
            marks.append(Group(lines, "run", f"{number}", title))
            card_at = (x + _STEP_MM, (high - card.height_mm) / 2)
            marks.append(Group(placed(card.marks, *card_at), "card", f"run {number}", title))
            x = ends[1][1]
    return marks, x, high


def _alone(parts: _Parts, seen: set[str], limit_mm: float) -> list[tuple[list[Mark], float, float]]:
    """Rows of the places that no run leads to: marks, width and height of each."""
    out: list[tuple[list[Mark], float, float]] = []
    marks: list[Mark] = []
    x = high = 0.0
    for place, shape in ((p, s) for p, s in parts.places.items() if p not in seen):
        if marks and x + shape.width_mm > limit_mm:
            out.append((marks, x - _STEP_MM, high))
            marks, x, high = [], 0.0, 0.0
        marks.append(Group(placed(shape.marks, x, 0.0), "place", place, f"place {place}"))
        x += shape.width_mm + _STEP_MM
        high = max(high, shape.height_mm)
    return [*out, (marks, x - _STEP_MM, high)] if marks else out


def _title(rig: Rig, number: int) -> str:
    a, b = rig.runs[number - 1].between
    return f"run {number}: {a} to {b}"


def _home(rig: Rig) -> str:
    """The place that the map begins from: where the starting battery is."""
    battery = rig.vehicle.start_battery
    return rig.items[battery].place if battery is not None and battery in rig.items else rig.runs[0].between[0]


def _column(rig: Rig) -> dict[str, int]:
    """How far each place lies right (or left) of the one where the starting battery is, in runs."""
    near: dict[str, list[str]] = defaultdict(list)
    for run in rig.runs:
        a, b = run.between
        near[a].append(b)
        near[b].append(a)
    column: dict[str, int] = {}
    for root in (_home(rig), *near):
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


def _long(parts: _Parts, number: int, share: float) -> float:
    return max(parts.cards[number].width_mm, parts.rig.runs[number - 1].length_mm * share)


def _wide(parts: _Parts, share: float) -> float:
    """About the width of the map."""
    column = _column(parts.rig)
    places: dict[int, float] = defaultdict(float)
    runs: dict[int, float] = defaultdict(float)
    for p, c in column.items():
        places[c] = max(places[c], parts.places[p].width_mm)
    for k, a, _ in _ways(parts.rig):
        runs[column[a]] = max(runs[column[a]], _long(parts, k, share))
    return sum(places.values()) + sum(runs.values()) + 10.0 * len(runs)


def _laid(parts: _Parts, share: float) -> Placed:
    ways = _ways(parts.rig)
    ports: dict[str, list[Port]] = defaultdict(list)
    for side in ("EAST", "WEST"):
        here: dict[str, list[int]] = defaultdict(list)
        for k, a, b in ways:
            here[a if side == "EAST" else b].append(k)
        for place, numbers in here.items():
            step = parts.places[place].height_mm / (len(numbers) + 1)
            ports[place] += [
                Port(f"{k}|{side}", "EAST" if side == "EAST" else "WEST", round(step * n, 2))
                for n, k in enumerate(numbers, 1)
            ]
    nodes = [Box(f"place {p}", s.width_mm, s.height_mm, tuple(ports[p])) for p, s in parts.places.items()]
    for k, card in parts.cards.items():
        middle = card.height_mm / 2
        ends = (Port(f"{k}|in", "WEST", middle), Port(f"{k}|out", "EAST", middle))
        nodes.append(Box(f"run {k}", _long(parts, k, share), card.height_mm, ends))
    links = [
        link
        for k, _, _ in ways
        for link in (Link(f"{k}|1", f"{k}|EAST", f"{k}|in"), Link(f"{k}|2", f"{k}|out", f"{k}|WEST"))
    ]
    return layout(Graph(tuple(nodes), tuple(links)), "straight")


def _marks(parts: _Parts, places: Placed) -> list[Mark]:
    out: list[Mark] = []
    for k, card in parts.cards.items():
        pen = map_cards.pen(parts.bundles.get(k))
        lines: list[Mark] = [Path(places.links[f"{k}|{n}"], pen) for n in (1, 2)]
        y = places.boxes[f"run {k}"][1]
        ends = (places.links[f"{k}|1"][-1], places.links[f"{k}|2"][0])
        left = (ends[0][0] + ends[1][0] - card.width_mm) / 2
        middle = y + card.height_mm / 2
        for a, b in ((ends[0][0], left), (left + card.width_mm, ends[1][0])):
            if b - a > 1e-6:
                lines.append(Path(((a, middle), (b, middle)), pen))
        title = _title(parts.rig, k)
        out.append(Group(tuple(lines), "run", f"{k}", title))
        out.append(Group(placed(card.marks, left, y), "card", f"run {k}", title))
    for p, shape in parts.places.items():
        out.append(Group(placed(shape.marks, *places.boxes[f"place {p}"]), "place", p, f"place {p}"))
    return out
