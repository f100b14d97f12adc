"""Boxes joined by wires: where each wire ends on a box, how all of it is placed, and the marks that come of it."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from loomwright.drawing import fonts, hops, tiers
from loomwright.drawing.boxes import LINE_MM, TEXT_MM, THIN, End, Shape
from loomwright.drawing.captions import LABEL_GAP_MM, Label, stroke
from loomwright.drawing.flow import Drawn
from loomwright.drawing.layout import Box, Graph, Link
from loomwright.drawing.marks import Group, Mark, Path, Point, Text, line, placed
from loomwright.drawing.tiers import Arrangement, Flag
from loomwright.rig.model import Rig

_ID_MM = 30.0  # ids longer than this are cut on wires, in their middle


def name(d: Drawn) -> str:
    """The id of a wire as it stands on its ends."""
    return fonts.named(d.wire.id, _ID_MM, TEXT_MM, "semibold")


def ends(wires: Iterable[Drawn]) -> dict[str, tuple[list[End], list[End]]]:
    """The wire ends on each item that has any: those on its left and those on its right."""
    found: dict[str, tuple[list[End], list[End]]] = {}
    for d in wires:
        for ref, left in ((d.right, True), (d.left, False)):
            item_id, _, terminal = ref.partition(".")
            port = f"{d.wire.id}|right" if left else f"{d.wire.id}|left"
            end = End(port, terminal, "WEST" if left else "EAST", name(d), stroke(d.wire), f"{d.wire.id}@{ref}")
            found.setdefault(item_id, ([], []))[0 if left else 1].append(end)
    return found


def compose(
    rig: Rig, made: Mapping[str, Shape], wires: Sequence[Drawn], labels: Mapping[str, Label],
    fits: Callable[[float, float], bool], edge_mm: float = 0.0,
) -> tuple[list[Mark], Arrangement]:  # fmt: skip
    """The marks of boxes (in the order wished for, from the top) and of the wires between them, and where they lie.

    A wire without a label among ``labels`` is drawn bare. ``fits`` says whether a size [mm] goes in one row. All of it
    lies ``edge_mm`` off the upper left corner.
    """
    graph = Graph(
        tuple(Box(i, shape.width_mm, shape.height_mm, shape.ports) for i, shape in made.items()),
        tuple(Link(d.wire.id, f"{d.wire.id}|left", f"{d.wire.id}|right", _room(labels.get(d.wire.id))) for d in wires),
    )
    id_mm = {d.wire.id: fonts.width_mm(name(d), TEXT_MM, "semibold") + 2.4 for d in wires}
    places = tiers.moved(tiers.arrange(graph, id_mm, fits), edge_mm)
    by_id = {d.wire.id: d for d in wires}
    bowed = hops.hopped(places.pieces)
    marks: list[Mark] = [_wire_group(d, places, bowed[d.wire.id], labels.get(d.wire.id)) for d in wires]
    marks += [_flag(f, by_id[f.wire], id_mm[f.wire]) for f in places.flags]
    for i, shape in made.items():
        marks += item_marks(rig, i, shape, places.boxes[i])
    return marks, places


def item_marks(rig: Rig, item_id: str, shape: Shape, at: Point) -> tuple[Mark, ...]:
    """A box in its place: the item, then its joints and free terminals."""
    title = f"{item_id}: {rig.items[item_id].part.title}"
    return (Group(placed(shape.marks, *at), "item", item_id, title), *placed(shape.ends, *at))


def _room(label: Label | None) -> tuple[float, float] | None:
    return None if label is None else (label.width_mm, label.height_mm)


def _wire_group(d: Drawn, places: Arrangement, bowed: Sequence[tuple[Point, ...]], label: Label | None) -> Group:
    pen = stroke(d.wire)
    wire = d.wire
    marks: list[Mark] = [Path(points, pen) for points in bowed]
    size = wire.size.label if wire.size else "size open"
    if label is not None:
        marks += _words(label, places.pieces[wire.id], places.labels[wire.id], pen.width_mm / 2)
        size = ", ".join(label.above)
    return Group(tuple(marks), "wire", wire.id, f"{wire.id}: {wire.start} to {wire.end}, {size}")


def _words(label: Label, pieces: Sequence[Sequence[Point]], at: Point, half_mm: float) -> Iterator[Text]:
    """The words of a label over and under its wire."""
    x = at[0] + label.width_mm / 2
    y = _height_at(pieces, x, at[1] + label.height_mm / 2)
    for k, text in enumerate(reversed(label.above)):
        yield Text((x, y - half_mm - LABEL_GAP_MM - k * LINE_MM), text, TEXT_MM, "middle")
    if label.below:
        yield Text((x, y + half_mm + 1.0 + TEXT_MM), label.below, TEXT_MM, "middle")


def _height_at(pieces: Sequence[Sequence[Point]], x: float, near: float) -> float:
    """The height of the level part of a wire at x that lies nearest to ``near``."""
    levels = [
        a[1]
        for points in pieces
        for a, b in itertools.pairwise(points)
        if abs(a[1] - b[1]) < 1e-6 and min(a[0], b[0]) <= x <= max(a[0], b[0])
    ]
    return min(levels, key=lambda v: abs(v - near), default=near)


def _flag(flag: Flag, d: Drawn, id_mm: float) -> Group:
    """Where a wire goes on in the other row: its id on a stub, and an arrow that names the row."""
    pen = stroke(d.wire)
    x, y = flag.at
    y += tiers.FLAG_PORT_MM
    arrow_x = x + id_mm if flag.side == "EAST" else x
    stub_x = x if flag.side == "EAST" else x + tiers.FLAG_MM
    end_x = arrow_x + tiers.FLAG_MM
    half, tip = 2.7, 2.4
    outline = ((arrow_x, y - half), (end_x - tip, y - half), (end_x, y), (end_x - tip, y + half), (arrow_x, y + half))
    marks: tuple[Mark, ...] = (
        line(stub_x, y, stub_x + id_mm, y, pen),
        Text((stub_x + id_mm / 2, y - pen.width_mm / 2 - LABEL_GAP_MM), name(d), TEXT_MM, "middle", "semibold"),
        Path(outline, THIN, "raised", closed=True),
        Text((arrow_x + 1.2, y + TEXT_MM / 2), f"row {flag.other_row}", TEXT_MM),
    )
    return Group(marks, "flag", d.wire.id, f"{d.wire.id} goes on in row {flag.other_row}")
