"""Faces of the connectors: every half from its wire side and its mating side, and what each contact carries.

A mating side is the mirror image of its own wire side, and of the other half's mating side: contact meets contact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loomwright.drawing import figures, fonts, frame, stripes
from loomwright.drawing.boxes import TEXT_MM
from loomwright.drawing.drafts import Draft, Look, on_paper
from loomwright.drawing.marks import (
    Anchor,
    Circle,
    Group,
    Mark,
    Path,
    Role,
    Sheet,
    Stroke,
    Text,
    line,
    placed,
    rectangle,
)
from loomwright.loom.disconnects import wire_side
from loomwright.loom.results import ContactUse, Disconnect, Half
from loomwright.rig.model import Rig
from loomwright.study import Study

WIDE_MM = 184.0
_GAP_MM = 8.0  # between columns
_BELOW_MM = 5.0  # from card to card
_TITLE_MM = 3.5
_PITCH_MM = 6.6
_ROW_MM = 8.4
_RING_MM = 2.3
_LINE_MM = 5.2
_THIN, _LIVE, _FINE = Stroke(0.25), Stroke(0.7), Stroke(0.18)
_A_MM, _B_MM, _KIND_MM, _AMPS_MM = 13.0, 81.0, 147.0, 171.0
_HEADS: tuple[tuple[float, Anchor, str], ...] = (
    (_A_MM, "start", "half a"), (_A_MM + 14.0, "start", "colour"), (_A_MM + 35.0, "start", "goes to"),
    (_B_MM, "start", "half b"), (_B_MM + 14.0, "start", "colour"), (_B_MM + 35.0, "start", "goes to"),
    (_KIND_MM, "start", "carries"), (_AMPS_MM, "end", "loud A"), (WIDE_MM, "end", "most A"),
)  # fmt: skip
NOTES = (
    "Faces are schematic: the numbers moulded on the part decide. Heavy outline: this half stays live when parted.",
    "Disc: pin. Double ring: socket. Broken ring: spare. Under a contact on the wire side: the colour of its wire.",
    "Mating sides face you; what is left on half a is right on half b. A live half must have the sockets.",
    "Isolate the battery before you part or join a connector.",
)


@dataclass(frozen=True, slots=True)
class _Card:
    marks: tuple[Mark, ...]
    height_mm: float


def drafts(study: Study, paper: frame.Paper) -> tuple[Draft, ...]:
    """As many sheets as the connectors of a rig take; none where there is no connector."""
    cards = [_card(study.rig, d) for d in study.loom.disconnects]
    if not cards:
        return ()
    tallest = max(c.height_mm for c in cards)
    size: frame.SheetSize = "A0"
    for size in frame.upward(paper):
        if frame.room(size).height_mm >= tallest:
            break
    sheets = _columns(cards, size)
    return tuple(_draft(study.rig, size, marks, k, len(sheets)) for k, marks in enumerate(sheets))


def cards(study: Study) -> tuple[tuple[str, Sheet], ...]:
    """Each connector by its id, on a sheet of its own that is no larger than it needs."""
    made = [(d.id, _card(study.rig, d)) for d in study.loom.disconnects]
    return tuple((i, Sheet(WIDE_MM, c.height_mm, c.marks, f"{study.rig.title}: connector {i}")) for i, c in made)


def _draft(rig: Rig, size: frame.SheetSize, marks: Sequence[Mark], k: int, count: int) -> Draft:
    words = "Connector faces" + (f", {k + 1} of {count}" if count > 1 else "")

    def finish(number: int, total: int) -> Sheet:
        return on_paper(rig, size, Look(words, "", NOTES), marks, number, total)

    return Draft(f"faces_{k + 1}" if count > 1 else "faces", words, finish)


def _columns(cards: Sequence[_Card], size: frame.SheetSize) -> list[list[Mark]]:
    """The cards one under the other in columns, column after column, sheet after sheet."""
    room = frame.room(size)
    count = max(1, int((room.width_mm + _GAP_MM) // (WIDE_MM + _GAP_MM)))
    left = room.x + (room.width_mm - count * WIDE_MM - (count - 1) * _GAP_MM) / 2
    sheets: list[list[Mark]] = [[]]
    column, y = 0, 0.0
    for card in cards:
        if y and y + card.height_mm > room.height_mm:
            column, y = column + 1, 0.0
            if column == count:
                sheets.append([])
                column = 0
        sheets[-1] += placed(card.marks, left + column * (WIDE_MM + _GAP_MM), room.y + y)
        y += card.height_mm + _BELOW_MM
    return sheets


def _card(rig: Rig, d: Disconnect) -> _Card:
    part = rig.items[d.id].part
    key = f", key {d.key} of {d.keyings}" if d.keyings > 1 else ""
    marks: list[Mark] = [
        Text((0.0, _TITLE_MM), fonts.named(d.id, 60.0, _TITLE_MM, "semibold"), _TITLE_MM, weight="semibold"),
        Text((WIDE_MM, _TITLE_MM), fonts.shortened(f"at {d.place}{key}", 60.0, TEXT_MM), TEXT_MM, "end"),
        Text((WIDE_MM / 2, _TITLE_MM), fonts.shortened(part.title, 62.0, TEXT_MM), TEXT_MM, "middle", role="pencil"),
        line(0.0, 5.4, WIDE_MM, 5.4, _THIN),
    ]
    y = 7.4
    halves: tuple[Half, Half] = ("a", "b")
    for k, half in enumerate(halves):
        marks += _half(d, half, k * WIDE_MM / 2 + (k * 5.0), y)
    y += 2 * TEXT_MM + 5.4 + _face_high(d) + 3.0
    marks += [Text((x, y + TEXT_MM), head, TEXT_MM, anchor, role="pencil") for x, anchor, head in _HEADS]
    y += TEXT_MM + 1.8
    for use in d.contacts:
        marks.append(line(0.0, y, WIDE_MM, y, _FINE))
        marks += _row(rig, d, use, y)
        y += _LINE_MM
    marks.append(line(0.0, y, WIDE_MM, y, _FINE))
    for words in _said(d):
        for text in fonts.wrapped(words, WIDE_MM, TEXT_MM, 2):
            y += 4.2
            marks.append(Text((0.0, y), text, TEXT_MM))
    return _Card((Group(tuple(marks), "card", d.id, f"connector {d.id}"),), y + 1.0)


def _said(d: Disconnect) -> list[str]:
    said = []
    if d.sockets is not None and d.live and d.sockets not in d.live:
        said.append(f"The live half {d.live[0]} has pins: sockets belong there.")
    if d.lost:
        said.append(f"Parted, it stops {', '.join(d.lost)}.")
    if d.no_return:
        said.append(f"Parted, these keep their feed and lose their return: {', '.join(d.no_return)}.")
    return said


def _face_high(d: Disconnect) -> float:
    return len(d.face) * _ROW_MM + 1.0


def _half(d: Disconnect, half: Half, x: float, y: float) -> list[Mark]:
    """Both sides of one half under its heading; wire sides lie outward, mating sides face each other."""
    live = half in d.live
    has = "" if d.sockets is None else ", sockets" if d.sockets == half else ", pins"
    state = "stays LIVE when parted" if live else "dead when parted"
    marks: list[Mark] = [
        Text((x, y + TEXT_MM), f"half {half}{has}: {state}", TEXT_MM, weight="semibold" if live else "regular")
    ]
    mating = d.face if half == "a" else wire_side(d.face)
    views = [("wire side", wire_side(mating), False), ("mating side", mating, True)]
    y += TEXT_MM + 1.6
    wide = len(d.face[0]) * _PITCH_MM + 2.0
    for k, (words, rows, faces_you) in enumerate(views if half == "a" else views[::-1]):
        left = x + k * max(wide + 3.0, 28.0)
        marks.append(Text((left, y + TEXT_MM), words, TEXT_MM, role="pencil"))
        marks += _face(d, half, rows, left, y + TEXT_MM + 3.2, mating=faces_you, live=live)
    return marks


def _face(
    d: Disconnect, half: Half, rows: Sequence[Sequence[int]], left: float, top: float, *, mating: bool, live: bool
) -> list[Mark]:
    wide, high = len(d.face[0]) * _PITCH_MM + 2.0, _face_high(d)
    marks: list[Mark] = [rectangle(left, top, wide, high, _LIVE if live else _THIN, "raised")]
    if d.keyings > 1:
        marks.append(_notch(d, left, top, wide, turned=(half == "b") == mating))
    uses = {u.number: u for u in d.contacts}
    for r, row in enumerate(rows):
        short = (len(d.face[0]) - len(row)) * _PITCH_MM if row and rows is not d.face and row[0] != min(row) else 0.0
        for c, number in enumerate(row):
            x = left + 1.0 + short + (c + 0.5) * _PITCH_MM
            y = top + 1.0 + r * _ROW_MM + _RING_MM + 0.6
            marks += _contact(d, half, uses[number], x, y, mating=mating)
    return marks


def _notch(d: Disconnect, left: float, top: float, wide: float, *, turned: bool) -> Mark:
    """Where the key sits on the upper edge: its number counted from the left of half a's mating side."""
    share = d.key / (d.keyings + 1)
    x = left + wide * (1.0 - share if turned else share)
    return Path(((x - 1.2, top), (x + 1.2, top), (x, top - 1.6)), Stroke(0.25), "ink", closed=True)


def _contact(d: Disconnect, half: Half, use: ContactUse, x: float, y: float, *, mating: bool) -> list[Mark]:
    wire = use.a_wire if half == "a" else use.b_wire
    colour = use.a_colour if half == "a" else use.b_colour
    pin = mating and d.sockets is not None and d.sockets != half and wire is not None
    dashed = Stroke(0.25, "pencil", "dotted")
    marks: list[Mark] = [Circle((x, y), _RING_MM, dashed if wire is None else _THIN, "ink" if pin else "raised")]
    if mating and wire is not None and d.sockets == half:
        marks.append(Circle((x, y), _RING_MM + 0.5, _THIN))
    role: Role = "raised" if pin else "pencil" if wire is None else "ink"
    marks.append(Text((x, y + 1.1), str(use.number), frame.SMALL_MM, "middle", "semibold" if pin else "regular", role))
    if not mating and colour:
        marks += stripes.stripe(colour, x, y + _RING_MM + 1.4, 4.8, 1.2)
    return [Group(tuple(marks), "wire", wire, f"{wire} on contact {use.number}")] if wire else marks


def _row(rig: Rig, d: Disconnect, use: ContactUse, y: float) -> list[Mark]:
    base = y + (_LINE_MM + TEXT_MM) / 2
    marks: list[Mark] = [Text((0.0, base), str(use.number), TEXT_MM, weight="semibold")]
    for half, wire, colour, x in (("a", use.a_wire, use.a_colour, _A_MM), ("b", use.b_wire, use.b_colour, _B_MM)):
        if wire is None:
            marks.append(Text((x, base), "spare" if use.kind is None else "no wire", TEXT_MM, role="pencil"))
            continue
        w = rig.wire(wire)
        there = w.end if w.start == f"{d.id}.{half}{use.number}" else w.start
        cells: list[Mark] = [
            Text((x, base), fonts.named(wire, 13.0, TEXT_MM, "semibold"), TEXT_MM, weight="semibold"),
            Text((x + 35.0, base), fonts.named(there, 31.0, TEXT_MM), TEXT_MM),
        ]
        if colour:
            cells += stripes.stripe(colour, x + 17.0, base - TEXT_MM / 2, 6.0, 1.6)
            cells.append(Text((x + 21.0, base), colour, TEXT_MM))
        marks.append(Group(tuple(cells), "wire", wire, f"{wire} to {there}"))
    if use.kind is not None:
        amps = figures.fixed(use.amps_a, 1) if use.amps_a else figures.NOTHING
        marks.append(Text((_KIND_MM, base), use.kind, TEXT_MM))
        marks.append(Text((_AMPS_MM, base), amps, TEXT_MM, "end"))
        marks.append(Text((WIDE_MM, base), figures.fixed(d.usable_a, 1), TEXT_MM, "end"))
    return marks
