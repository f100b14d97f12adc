"""The power diagram of a rig: sources left, loads right, feed above return, figures of one case on every wire."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

from loomwright.drawing import boxes, figures, flow, fonts, frame, shapes
from loomwright.drawing.boxes import LINE_MM, TEXT_MM, End
from loomwright.drawing.flow import Drawn
from loomwright.drawing.layout import Box, Graph, Link, Placed, layout
from loomwright.drawing.marks import Group, Mark, Path, Point, Sheet, Stroke, Text, placed, weight_for_mm2
from loomwright.errors import LoomwrightError
from loomwright.power.results import CaseResult
from loomwright.rig.model import BatterySpec, EngineState, Item, Programme, Wire
from loomwright.study import Study

MOST_BOXES = 150
_LARGEST = 1.4  # 2.5 mm capitals become 3.5 mm, the next size up
_SMALLEST = 0.72  # 2.5 mm capitals become 1.8 mm, the next size down of ISO 3098
_LABEL_GAP = 1.1
DEVICE_WORDS = {
    "post_mount": "post", "glass_5x20": "glass", "breaker_1": "type I", "breaker_2": "type II", "breaker_3": "type III",
}  # fmt: skip
_NODES = ("fuse_holder", "breaker", "switch", "fused_block", "plain_block", "bus", "frame", "splice")
_ID_MM = 30.0  # ids longer than this are cut on wires


class TooLarge(LoomwrightError, ValueError):
    """The rig has more items than one sheet can show."""


@dataclass(frozen=True, slots=True)
class _Label:
    above: tuple[str, ...]
    below: str
    width_mm: float
    height_mm: float


def draw(
    study: Study, engine: EngineState = "cruise", programme: Programme = "music", size: frame.SheetSize | None = None
) -> Sheet:
    """The power single-line diagram with the volts and amperes of one case.

    Without a ``size`` the smallest of A4, A3, A2.. is taken on which it reads.

    Raises
    ------
    TooLarge
        More than ``MOST_BOXES`` items have power wires.
    """
    rig = study.rig
    wires, heights = flow.drawn_wires(rig)
    if len(heights) > MOST_BOXES:
        raise TooLarge(f"a sheet shows {MOST_BOXES} items with power wires at most; this rig has {len(heights)}")
    case = study.power.cases.get((engine, programme))
    items = sorted(heights, key=lambda i: (-round(heights[i], 6), list(rig.items).index(i)))
    made = {i: _shape(study, rig.items[i], wires, case) for i in items}
    labels = {d.wire.id: _label(d, case) for d in wires}
    graph = Graph(
        tuple(Box(i, made[i].width_mm, made[i].height_mm, made[i].ports) for i in items),
        tuple(
            Link(d.wire.id, f"{d.wire.id}|left", f"{d.wire.id}|right", (label.width_mm, label.height_mm))
            for d, label in ((d, labels[d.wire.id]) for d in wires)
        ),
    )
    places = layout(graph)
    marks: list[Mark] = [_wire_group(d, places, labels[d.wire.id]) for d in wires]
    for i in items:
        item = rig.items[i]
        marks.append(Group(placed(made[i].marks, *places.boxes[i]), "item", i, f"{i}: {item.part.title}"))
    return _on_sheet(study, marks, places, case, engine, programme, size)


def _stroke(wire: Wire) -> Stroke:
    area = wire.size.area_mm2 if wire.size else 2.0
    return Stroke(weight_for_mm2(area), "ink", "solid" if wire.kind == "power" else "long")


def _shape(study: Study, item: Item, wires: Iterable[Drawn], case: CaseResult | None) -> boxes.Shape:
    west: list[End] = []
    east: list[End] = []
    for d in wires:
        for ref, side in ((d.right, "WEST"), (d.left, "EAST")):
            owner, _, terminal = ref.partition(".")
            if owner != item.id:
                continue
            name = fonts.shortened(d.wire.id, _ID_MM, TEXT_MM, "semibold")
            if side == "WEST":
                west.append(End(f"{d.wire.id}|right", terminal, "WEST", name, _stroke(d.wire)))
            else:
                east.append(End(f"{d.wire.id}|left", terminal, "EAST", name, _stroke(d.wire)))
    return shapes.shape(_content(study, item, case, [e.terminal for e in (*east, *west)]), west, east)


def _content(study: Study, item: Item, case: CaseResult | None, terminals: list[str]) -> shapes.Content:
    """The words of a box: figures of the case, and its over-current devices as they stand."""
    said: list[str] = []
    spec = item.part.spec
    if case and item.part.family in _NODES and terminals:
        known = case.node_v.get(f"{item.id}.{'in' if item.part.family.endswith('block') else terminals[0]}")
        if known is not None:
            said.append(figures.volts(known))
    if isinstance(spec, BatterySpec):
        said.append(f"{spec.capacity_ah:g}{figures.THIN_SPACE}Ah, {item.charge_pct:.0f}{figures.THIN_SPACE}% full")
    state = case.items.get(item.id) if case else None
    if state is not None:
        flow_a = abs(state.amps_a)
        if item.part.family == "battery":
            way = "takes" if state.amps_a > 0.05 else "gives" if state.amps_a < -0.05 else "at rest,"
            said.append(f"{figures.volts(state.volts_v)}, {way} {figures.amps(flow_a)}")
        else:
            said.append(f"{figures.volts(state.volts_v)}, {figures.amps(flow_a)}")
        if item.part.family == "amplifier":
            said.append(f"{state.watts_w:.0f}{figures.THIN_SPACE}W in, {state.output_w:.0f}{figures.THIN_SPACE}W out")
        if state.below_minimum:
            said.append("below its least volts")
    devices, empty = _devices(study, item)
    return shapes.Content(item, tuple(said), devices, empty)


def _devices(study: Study, item: Item) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """The over-current devices of an item in words, and the ways that are empty."""
    found = {d.way: d for d in study.protection.devices.values() if d.item == item.id}
    if item.part.family == "fused_block":
        words = {w: f"{w}: {device_words(d.type, d.rating_a)}" for w, d in found.items()}
        ways = range(1, item.part.ways + 1)
        return tuple(words.get(w, f"{w}: empty") for w in ways), tuple(w for w in ways if w not in words)
    texts = []
    for way, device in sorted(found.items()):
        count = f"{device.count} × " if device.count > 1 else ""
        own = "own fuse " if way == 0 else ""
        texts.append(f"{own}{count}{device_words(device.type, device.rating_a)}")
    if not texts and item.part.family in ("fuse_holder", "breaker"):
        texts.append("no fuse fitted")
    return tuple(texts), ()


def device_words(kind: str, rating_a: float) -> str:
    """Type and rating of an over-current device, as short as they are said."""
    return f"{DEVICE_WORDS.get(kind, kind)} {figures.rating(rating_a)}"


def _label(d: Drawn, case: CaseResult | None) -> _Label:
    """Size and length over the wire, amperes with their direction under it."""
    wire = d.wire
    if wire.size is None:
        above: tuple[str, ...] = ("size open", figures.length(wire.length_mm))
    elif wire.size.system == "bolted":
        above = ("bolted",)
    else:
        metal = "" if wire.metal == "copper" else f" {wire.metal.upper() if wire.metal.startswith('cca') else 'tinned'}"
        above = (f"{wire.size.label}{metal}", figures.length(wire.length_mm))
    state = case.wires.get(wire.id) if case else None
    below = ""
    if state is not None:
        to_right = (state.amps_a >= 0) != d.turned
        amps = figures.amps(abs(state.amps_a))
        below = amps if abs(state.amps_a) < 0.05 else f"→ {amps}" if to_right else f"{amps} ←"
    widest = max(fonts.width_mm(text, TEXT_MM) for text in (*above, below))
    half = _stroke(wire).width_mm / 2 + _LABEL_GAP + TEXT_MM + LINE_MM * (len(above) - 1) + 0.6
    return _Label(above, below, widest + 2.0, 2 * half)


def _wire_group(d: Drawn, places: Placed, label: _Label) -> Group:
    points = places.links[d.wire.id]
    stroke = _stroke(d.wire)
    x, y = places.labels[d.wire.id]
    centre = (x + label.width_mm / 2, _height_at(points, x + label.width_mm / 2, y + label.height_mm / 2))
    half = stroke.width_mm / 2
    marks: list[Mark] = [
        Path(points, stroke),
    ]
    for k, text in enumerate(reversed(label.above)):
        marks.append(Text((centre[0], centre[1] - half - _LABEL_GAP - k * LINE_MM), text, TEXT_MM, "middle"))
    if label.below:
        marks.append(Text((centre[0], centre[1] + half + 1.0 + TEXT_MM), label.below, TEXT_MM, "middle"))
    wire = d.wire
    return Group(tuple(marks), "wire", wire.id, f"{wire.id}: {wire.start} to {wire.end}, {', '.join(label.above)}")


def _height_at(points: tuple[Point, ...], x: float, near: float) -> float:
    """The height of the level piece of a wire at x that lies nearest to ``near``."""
    levels = [
        a[1] for a, b in itertools.pairwise(points)
        if abs(a[1] - b[1]) < 1e-6 and min(a[0], b[0]) <= x <= max(a[0], b[0])
    ]  # fmt: skip
    return min(levels, key=lambda v: abs(v - near), default=near)


def _on_sheet(
    study: Study, marks: list[Mark], places: Placed, case: CaseResult | None,
    engine: EngineState, programme: Programme, size: frame.SheetSize | None,
) -> Sheet:  # fmt: skip
    """Choose the sheet, centre the drawing on it, write frame, title block and notes."""
    chosen, scale = _fit(places, size)
    room = frame.room(chosen)
    dx = room.x + (room.width_mm - places.width_mm * scale) / 2
    dy = room.y + (room.height_mm - places.height_mm * scale) / 2
    width, height = frame.SIZES_MM[chosen]
    rig = study.rig
    case_words = f"engine {engine}, {programme}"
    title = frame.Title(
        rig.title, "Power single-line diagram", rig.file.rpartition("/")[2], rig.stage, case_words, "1 / 1"
    )
    notes = _notes(study, case)
    free = frame.notes_room(chosen)
    words: list[Mark] = []
    y = free.y + 3.0
    for note in notes:
        for text in fonts.wrapped(note, free.width_mm, 1.8, 3):
            if y <= free.y + free.height_mm - 1.0:
                words.append(Text((free.x, y), text, 1.8, role="pencil"))
                y += 3.1
    return Sheet(
        width, height,
        (
            Group(frame.frame(chosen, title), "frame"),
            Group(placed(marks, dx, dy, scale), "diagram"),
            Group(tuple(words), "notes"),
        ),
        f"{rig.title}: power single-line diagram",
    )  # fmt: skip


def _fit(places: Placed, size: frame.SheetSize | None) -> tuple[frame.SheetSize, float]:
    sizes: tuple[frame.SheetSize, ...] = (size,) if size else ("A4", "A3", "A2", "A1", "A0")
    scale = 1.0
    chosen = sizes[-1]
    for candidate in sizes:
        room = frame.room(candidate)
        scale = min(_LARGEST, room.width_mm / places.width_mm, room.height_mm / places.height_mm)
        chosen = candidate
        least = 1.0 if candidate == "A4" and not size else _SMALLEST
        if scale >= least:
            break
    return chosen, scale


def _notes(study: Study, case: CaseResult | None) -> list[str]:
    notes = [
        "Full lines feed, broken lines return. The thicker the line, the more metal.",
        "Volts against the minus post of the reference battery. Arrows: way of the current.",
        "Remote, line and speaker wires are not on this sheet.",
    ]
    if case is not None and not case.solved:
        notes.insert(0, f"This case has no operating point: shown at {figures.three(case.load_factor)} of it.")
    if any(p.provisional for p in study.protection.devices.values()):
        notes.append("Some time-current gates rest on memory: provisional.")
    return notes
