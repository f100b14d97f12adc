"""Where a wire leaves a sheet: the item at its other end as a broken outline, with sheet and zone on every row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.drawing import fonts
from loomwright.drawing.boxes import TEXT_MM, Build, End, Line, Shape
from loomwright.drawing.flow import Drawn
from loomwright.drawing.layout import Side
from loomwright.drawing.marks import Stroke, Text, rectangle
from loomwright.drawing.pieces import Piece, Pieces

_OUTLINE = Stroke(0.25, "pencil", "dashed")
_ROOM = "00/H0"
_WORDS_MM = 34.0


@dataclass(frozen=True, slots=True)
class Ghost:
    """A piece that stands on another sheet, as a sheet shows it: on its left (WEST) or its right (EAST)."""

    id: str
    piece: Piece
    side: Side
    wires: tuple[Drawn, ...]


def ghosts(whole: Pieces, here: frozenset[str]) -> tuple[tuple[Ghost, ...], tuple[Ghost, ...]]:
    """The ghosts on the left and on the right of a sheet that holds some of the pieces."""
    found: dict[tuple[Side, str], list[Drawn]] = {}
    for d in whole.wires:
        left, right = whole.owner[d.left], whole.owner[d.right]
        if right in here and left not in here:
            found.setdefault(("WEST", left), []).append(d)
        elif left in here and right not in here:
            found.setdefault(("EAST", right), []).append(d)
    order = {name: k for k, name in enumerate(whole.pieces)}
    made = [
        Ghost(f"{name}|ghost {side}", whole.pieces[name], side, tuple(wires))
        for (side, name), wires in sorted(found.items(), key=lambda kv: order[kv[0][1]])
    ]
    return tuple(g for g in made if g.side == "WEST"), tuple(g for g in made if g.side == "EAST")


def shape(ghost: Ghost, ends: Sequence[End], references: Mapping[str, str]) -> Shape:
    """Name of the item, and for each wire its terminal and where that is drawn; no reference yet leaves its room."""
    terminals = {t.name: k for k, t in enumerate(ghost.piece.item.part.terminals)}
    ends = sorted(ends, key=lambda e: terminals.get(e.terminal, 999))
    on_right = ghost.side == "EAST"
    name = Line(fonts.named(ghost.piece.item.id, _WORDS_MM, TEXT_MM, "semibold"), "semibold", "pencil")
    names_mm = max(fonts.width_mm(e.terminal, TEXT_MM) for e in ends)
    core = max(name.width_mm + 2.4, names_mm + fonts.width_mm(_ROOM, TEXT_MM, "semibold") + 5.0)
    build = Build(list(ends) if on_right else [], [] if on_right else list(ends), core)
    build.y = 1.2
    build.words((name,), build.middle, build.y, "middle")
    build.y += TEXT_MM
    rows = build.rows(build.west, build.east)
    for y, w, e in rows:
        end = w or e
        assert end is not None
        wire = end.joint.rpartition("@")[0]
        near, far = (build.left + 1.4, build.right - 1.4) if on_right else (build.right - 1.4, build.left + 1.4)
        base = y + TEXT_MM / 2
        build.marks.append(Text((near, base), end.terminal, TEXT_MM, "start" if on_right else "end", role="pencil"))
        build.marks.append(
            Text((far, base), references.get(wire, ""), TEXT_MM, "end" if on_right else "start", "semibold")
        )
    build.y += 0.8
    build.marks.insert(0, rectangle(build.left, 0, core, build.y, _OUTLINE))
    return build.finish()
