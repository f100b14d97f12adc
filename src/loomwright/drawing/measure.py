"""What a drawing is like to read, measured on what was drawn: from the SVG alone, knowing nothing of how it was made.

It counts wires that run through boxes, words on words or on lines, wires that merge to the eye, and what lies off the
sheet; and it tells bends and crossings of wires, and the height of the smallest capitals.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.etree import ElementTree

from loomwright.drawing import fonts
from loomwright.drawing.marks import Point, Text, Weight

Box = tuple[float, float, float, float]

CLEAR_MM = 0.8
"""White between two wires side by side, at least: less is one wire to the eye at arm's length."""
_BESIDE_MM = 0.6  # side by side for less than this is a corner
_JOINS_MM = 0.35  # an end or corner so near another wire looks joined to it
_INSIDE_MM = 0.35  # a wire so deep in a box runs through it
_NUMBERS = re.compile(r"-?\d+(?:\.\d+)?")
_WEIGHTS: dict[str, Weight] = {"": "regular", "400": "regular", "600": "semibold", "700": "bold"}
_BOXES = ("item", "ghost", "place", "card")


@dataclass(frozen=True, slots=True)
class Line:
    """One straight piece of a stroke, and the wire it belongs to, if it does."""

    start: Point
    end: Point
    width_mm: float
    wire: str = ""

    @property
    def level(self) -> bool:
        return abs(self.start[1] - self.end[1]) < 1e-3

    @property
    def upright(self) -> bool:
        return abs(self.start[0] - self.end[0]) < 1e-3

    @property
    def box(self) -> Box:
        across = 0.0 if self.level else self.width_mm / 2
        down = 0.0 if self.upright else self.width_mm / 2
        x1, x2 = sorted((self.start[0], self.end[0]))
        y1, y2 = sorted((self.start[1], self.end[1]))
        return (x1 - across, y1 - down, x2 + across, y2 + down)


@dataclass(frozen=True, slots=True)
class Measured:
    """What was found. All lists but ``bends`` and ``crossings`` should be empty."""

    wires: frozenset[str]
    through_boxes: tuple[tuple[str, str], ...]     # wire, box
    text_on_text: tuple[tuple[str, str], ...]
    text_on_line: tuple[str, ...]
    merged: tuple[tuple[str, str], ...]
    off_sheet: tuple[str, ...]
    bends: int
    crossings: int
    smallest_mm: float


@dataclass(slots=True)
class _Drawn:
    lines: list[Line] = field(default_factory=list)
    runs: list[tuple[str, tuple[Point, ...]]] = field(default_factory=list)
    texts: list[tuple[str, Box, float]] = field(default_factory=list)
    boxes: dict[str, list[Box]] = field(default_factory=dict)
    wires: set[str] = field(default_factory=set)


def measure(svg: str) -> Measured:
    """Measure a drawing by its SVG, in millimetres."""
    root = ElementTree.fromstring(svg)
    drawn = _Drawn()
    for element in root:
        _read(element, drawn, "", "")
    width, height = (float(v) for v in root.attrib["viewBox"].split()[2:])
    wired = [k for k in drawn.lines if k.wire]
    return Measured(
        wires=frozenset(drawn.wires),
        through_boxes=tuple(_through(wired, drawn.boxes)),
        text_on_text=tuple(_on_text(drawn.texts)),
        text_on_line=tuple(_on_line(drawn)),
        merged=tuple(sorted(set(_beside(wired)) | set(_joined(drawn.runs, wired)))),
        off_sheet=tuple(_off(drawn, width, height)),
        bends=sum(_bends(points) for _, points in drawn.runs),
        crossings=_crossings(wired),
        smallest_mm=min((size for _, _, size in drawn.texts), default=0.0),
    )


def _read(element: ElementTree.Element, drawn: _Drawn, wire: str, box: str) -> None:
    tag = element.tag.rpartition("}")[2]
    if tag == "g":
        kind, ref = element.get("class", ""), element.get("data-ref", "")
        if kind == "wire":
            wire = ref
            drawn.wires.add(ref)
        elif kind in _BOXES:
            box = f"{element.get('id', ref)}"
        for child in element:
            _read(child, drawn, wire, box)
        return
    found: list[Box] = []
    if tag == "text":
        text = _text(element)
        found.append(fonts.box(text))
        if text.text.strip():
            drawn.texts.append((text.text, found[0], text.size_mm))
    else:
        points = _points(tag, element)
        stroke = float(element.get("stroke-width", "0"))
        closed = tag in ("polygon", "circle")
        pieces = [
            Line(a, b, stroke, "" if closed else wire)
            for a, b in itertools.pairwise((*points, points[0]) if closed and points else points)
        ]
        found += [k.box for k in pieces]
        if stroke:
            drawn.lines += pieces
        if wire and not closed and points:
            drawn.runs.append((wire, points))
    if box and found:
        drawn.boxes.setdefault(box, []).extend(found)


def _text(element: ElementTree.Element) -> Text:
    weight = _WEIGHTS[element.get("font-weight", "")]
    size = float(element.get("font-size", "0")) * fonts.face(weight).cap_height
    anchor = element.get("text-anchor", "start")
    turn = -90.0 if "rotate" in element.get("transform", "") else 0.0
    at = (float(element.get("x", "0")), float(element.get("y", "0")))
    return Text(at, element.text or "", size, "middle" if anchor == "middle" else "end" if anchor == "end" else "start",
                weight, turn_deg=turn)  # fmt: skip


def _points(tag: str, element: ElementTree.Element) -> tuple[Point, ...]:
    if tag in ("polyline", "polygon"):
        numbers = [float(v) for v in _NUMBERS.findall(element.get("points", ""))]
        return tuple(zip(numbers[::2], numbers[1::2], strict=True))
    if tag == "circle":
        x, y, r = (float(element.get(k, "0")) for k in ("cx", "cy", "r"))
        return ((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r))
    if tag == "path":
        x1, y1, *_, x2, y2 = (float(v) for v in _NUMBERS.findall(element.get("d", "")))
        return ((x1, y1), (x2, y2))
    return ()


def _overlap(a: Box, b: Box, by_mm: float = 0.0) -> bool:
    return (
        min(a[2], b[2]) - max(a[0], b[0]) > by_mm and min(a[3], b[3]) - max(a[1], b[1]) > by_mm
    )  # fmt: skip


def _through(wired: list[Line], boxes: dict[str, list[Box]]) -> Iterator[tuple[str, str]]:
    hulls = {
        name: (min(b[0] for b in found), min(b[1] for b in found), max(b[2] for b in found), max(b[3] for b in found))
        for name, found in boxes.items()
    }
    seen = set()
    for k in wired:
        x1, y1, x2, y2 = k.box
        for name, b in hulls.items():
            inside = _overlap(
                (x1, y1, x2, y2),
                (b[0] + _INSIDE_MM, b[1] + _INSIDE_MM, b[2] - _INSIDE_MM, b[3] - _INSIDE_MM),
            )
            if inside and (k.wire, name) not in seen:
                seen.add((k.wire, name))
                yield k.wire, name


def _on_text(texts: list[tuple[str, Box, float]]) -> Iterator[tuple[str, str]]:
    lined = sorted(texts, key=lambda t: t[1][0])
    for i, (text, a, _) in enumerate(lined):
        for other, b, _ in lined[i + 1 :]:
            if b[0] >= a[2]:
                break
            if _overlap(a, b, 1e-3):
                yield text, other


def _on_line(drawn: _Drawn) -> Iterator[str]:
    lined = sorted(((k.box, k) for k in drawn.lines), key=lambda p: p[0][0])
    texts = sorted(drawn.texts, key=lambda t: t[1][0])
    widest = max((b[2] - b[0] for b, _ in lined), default=0.0)
    first = 0
    for text, box, _ in texts:
        while first < len(lined) and lined[first][0][0] < box[0] - widest:
            first += 1
        for b, k in itertools.islice(lined, first, None):
            if b[0] >= box[2]:
                break
            if _overlap(box, b, 1e-3) and (k.level or k.upright or _slants_into(k, box)):
                yield text
                break


def _slants_into(k: Line, box: Box) -> bool:
    """Whether a slanting line has a point in a box."""
    steps = 24
    return any(
        box[0] < k.start[0] + (k.end[0] - k.start[0]) * s / steps < box[2]
        and box[1] < k.start[1] + (k.end[1] - k.start[1]) * s / steps < box[3]
        for s in range(steps + 1)
    )


def _beside(wired: list[Line]) -> Iterator[tuple[str, str]]:
    """Pairs of wires that lie side by side with too little white between."""
    for level in (True, False):
        lines = [k for k in wired if (k.level if level else k.upright and not k.level)]
        across, along = (1, 0) if level else (0, 1)
        lines.sort(key=lambda k: k.start[across])
        for i, a in enumerate(lines):
            for b in lines[i + 1 :]:
                apart = b.start[across] - a.start[across] - (a.width_mm + b.width_mm) / 2
                if b.start[across] - a.start[across] > CLEAR_MM + 3.0:
                    break
                if a.wire == b.wire or apart >= CLEAR_MM - 1e-3:
                    continue
                shared = min(max(a.start[along], a.end[along]), max(b.start[along], b.end[along])) - max(
                    min(a.start[along], a.end[along]), min(b.start[along], b.end[along])
                )
                if shared > _BESIDE_MM:
                    yield min(a.wire, b.wire), max(a.wire, b.wire)


def _joined(runs: list[tuple[str, tuple[Point, ...]]], wired: list[Line]) -> Iterator[tuple[str, str]]:
    """Pairs of wires where an end or a corner of one lies on the other."""
    corners = [(wire, p) for wire, points in runs for p in (points if len(points) < 12 else _corners(points))]
    for wire, (x, y) in corners:
        for k in wired:
            if k.wire != wire and (k.level or k.upright):
                x1, x2 = sorted((k.start[0], k.end[0]))
                y1, y2 = sorted((k.start[1], k.end[1]))
                if x1 - _JOINS_MM < x < x2 + _JOINS_MM and y1 - _JOINS_MM < y < y2 + _JOINS_MM:
                    yield min(wire, k.wire), max(wire, k.wire)


def _corners(points: tuple[Point, ...]) -> list[Point]:
    """Ends and right-angled corners of a run; not the points of its bows."""
    inner = (q for p, q, r in zip(points, points[1:], points[2:], strict=False) if _turns(p, q, r))
    return [points[0], *inner, points[-1]]


def _turns(p: Point, q: Point, r: Point) -> bool:
    first, then = Line(p, q, 0.0), Line(q, r, 0.0)
    return (first.level and then.upright) or (first.upright and then.level)


def _bends(points: tuple[Point, ...]) -> int:
    return sum(_turns(p, q, r) for p, q, r in zip(points, points[1:], points[2:], strict=False))


def _crossings(wired: list[Line]) -> int:
    """Places where one wire passes over another, with a bow or plainly."""
    uprights = sorted((k for k in wired if k.upright and not k.level), key=lambda k: k.start[0])
    found = set()
    for k in wired:
        if k.upright and not k.level:
            continue
        x1, x2 = sorted((k.start[0], k.end[0]))
        y1, y2 = sorted((k.start[1], k.end[1]))
        for u in uprights:
            x = u.start[0]
            if x > x2:
                break
            top, low = sorted((u.start[1], u.end[1]))
            if u.wire != k.wire and x1 <= x <= x2 and top <= y2 and y1 <= low:
                found.add((*sorted((u.wire, k.wire)), round(x, 1), round((y1 + y2) / 6.0)))
    return len(found)


def _off(drawn: _Drawn, width: float, height: float) -> Iterator[str]:
    boxes = [(text, box) for text, box, _ in drawn.texts] + [(k.wire or "line", k.box) for k in drawn.lines]
    for name, (x1, y1, x2, y2) in boxes:
        if x1 < -0.4 or y1 < -0.4 or x2 > width + 0.4 or y2 > height + 0.4:
            yield name
