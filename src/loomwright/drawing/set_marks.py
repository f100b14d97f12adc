"""The marks of one sheet of a set: wires with their ends as one group each, boxes, ghosts."""

from __future__ import annotations

from collections import defaultdict

from loomwright.drawing import hops
from loomwright.drawing.boxes import Shape
from loomwright.drawing.captions import stroke
from loomwright.drawing.marks import Group, Mark, Path, placed
from loomwright.drawing.pieces import Pieces
from loomwright.drawing.sheet_set import Laid, Strip


def marks(whole: Pieces, laid: Laid) -> tuple[Mark, ...]:
    """Everything on a sheet, on the paper. Groups of kind ``wire`` hold all of a wire, their ref is the wire's id."""
    out: list[Mark] = []
    for strip, at in zip(laid.strips, laid.at, strict=True):
        out += placed(_strip(whole, strip), *at, laid.scale)
    return tuple(out)


def _strip(whole: Pieces, strip: Strip) -> list[Mark]:
    places = strip.places
    runs = {w: (points,) for w, points in places.links.items()}
    bowed = hops.hopped(runs)
    stubs: dict[str, list[Mark]] = defaultdict(list)
    boxes: list[Mark] = []
    for name, shape in strip.shapes.items():
        boxes.append(_box(whole, strip, name, shape))
        for group in shape.ends:
            if group.kind == "joint":
                stubs[group.ref.rpartition("@")[0]] += placed(group.marks, *places.boxes[name])
            else:
                boxes += placed((group,), *places.boxes[name])
    out: list[Mark] = []
    for d in whole.wires:
        wire = d.wire
        if wire.id not in places.links:
            continue
        pen = stroke(wire)
        own: list[Mark] = [Path(points, pen) for points in bowed[wire.id]]
        size = wire.size.label if wire.size else "size open"
        title = f"{wire.id}: {wire.start} to {wire.end}, {size}"
        out.append(Group((*own, *stubs[wire.id]), "wire", wire.id, title))
    return [*out, *boxes]


def _box(whole: Pieces, strip: Strip, name: str, shape: Shape) -> Group:
    marks = placed(shape.marks, *strip.places.boxes[name])
    if name in whole.pieces:
        item = whole.pieces[name].item
        return Group(marks, "item", item.id, f"{item.id}: {item.part.title}")
    item = next(g.piece.item for g in strip.ghosts if g.id == name)
    return Group(marks, "ghost", item.id, f"{item.id}, drawn elsewhere")
