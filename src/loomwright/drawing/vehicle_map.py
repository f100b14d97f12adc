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
_CARD_MM = 43.0  # words of a run
_PLACE_MM = 30.0
_PAPER = (1.0 / 10.0, 1.0 / 14.0, 1.0 / 20.0, 1.0 / 28.0, 0.0)  # paper for a run's length, as far as there is room
_CLEAR_MM = 5.5
_STEP_MM = 7.0
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


@dataclass(frozen=True, slots=True)
class _Parts:
    """The boxes of places, as they stand once and as they stand again; the cards of runs by number."""

    rig: Rig
    places: Mapping[str, _Shape]
    again: Mapping[str, _Shape]
    cards: Mapping[int, _Shape]
    bundles: Mapping[int, Bundle]


def drafts(study: Study, paper: frame.Paper) -> tuple[Draft, ...]:
    """One sheet where the map goes on it; else the runs in rows, on one or more. None where the rig has no runs."""
    rig = study.rig
    if not rig.runs:
        return ()
    bundles = {b.run: b for b in study.loom.bundles}
    colour = {w.id: w.colour for w in study.loom.wires}
    parts = _Parts(
        rig, {p: _place(rig, p) for p in rig.places}, {p: _again(p) for p in rig.places},
        {k: _run(run, k, bundles.get(k), colour) for k, run in enumerate(rig.runs, 1)}, bundles,
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
    sizes = (
        z for z in frame.upward(paper)
        if frame.room(z, _CLEAR_MM).width_mm >= widest + 4 * _STEP_MM and frame.room(z, _CLEAR_MM).height_mm >= highest
    )  # fmt: skip
    size = next(sizes, "A0")
    room = frame.room(size, _CLEAR_MM)
    sheets: list[list[Mark]] = [[]]
    y = 0.0
    seen: set[str] = set()
    for chain in _chains(parts, room.width_mm):
        marks, wide, high = _chain(parts, chain, seen)
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
    battery = rig.vehicle.start_battery
    home = rig.items[battery].place if battery in rig.items else rig.runs[0].between[0]
    known = [home]
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

    def box(place: str) -> _Shape:
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
            pen = _pen(parts.bundles.get(number))
            ends = ((x, x + _STEP_MM), (x + _STEP_MM + card.width_mm, x + 2 * _STEP_MM + card.width_mm))
            lines = tuple(Path(((a, high / 2), (b, high / 2)), pen) for a, b in ends)
            title = _title(parts.rig, number)
            marks.append(Group(lines, "run", f"{number}", title))
            card_at = (x + _STEP_MM, (high - card.height_mm) / 2)
            marks.append(Group(placed(card.marks, *card_at), "card", f"run {number}", title))
            x = ends[1][1]
    return marks, x, high


def _title(rig: Rig, number: int) -> str:
    a, b = rig.runs[number - 1].between
    return f"run {number}: {a} to {b}"


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
        pen = _pen(parts.bundles.get(k))
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


def _pen(bundle: Bundle | None) -> Stroke:
    if bundle is None:
        return Stroke(0.25, "pencil", "dashed")
    widths = ((6.0, 0.7), (12.0, 1.0), (20.0, 1.4), (float("inf"), 2.0))
    return Stroke(next(w for most, w in widths if bundle.diameter_mm < most))


def _again(place: str) -> _Shape:
    """A place that stands elsewhere already: its name in a broken outline."""
    name = fonts.shortened(place, _PLACE_MM, _TITLE_MM, "semibold")
    wide, high = fonts.width_mm(name, _TITLE_MM, "semibold") + 4.0, _TITLE_MM + 4.4
    outline = rectangle(0.0, 0.0, wide, high, Stroke(0.25, "pencil", "dashed"))
    return _Shape((outline, Text((2.0, 2.0 + _TITLE_MM), name, _TITLE_MM, "start", "semibold", "pencil")), wide, high)


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
    across = f"bundle {bundle.diameter_mm:.1f}"
    if bundle.covered_mm > bundle.diameter_mm + 0.05:
        across += f", covered {bundle.covered_mm:.1f}"
    across = figures.unit(across, "mm")
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

