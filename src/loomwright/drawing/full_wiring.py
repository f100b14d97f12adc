"""The wiring diagram: every wire, feed and return, signal and speaker, with its label and colour at both ends."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.drawing import captions, figures, frame, panels, set_marks, shapes, sheet_set, wiring
from loomwright.drawing.boxes import End, Shape
from loomwright.drawing.drafts import Draft, Look, on_paper
from loomwright.drawing.flow import Drawn
from loomwright.drawing.marks import Sheet
from loomwright.drawing.pieces import FEEDS, SIGNALS, Piece, pieces
from loomwright.drawing.sheet_set import Content, Laid
from loomwright.facts import colours
from loomwright.loom.loom import wire_colours
from loomwright.rig.model import ConnectorSpec, Item, Wire
from loomwright.study import Study

_PANELS = ("amplifier", "processor", "source", "passive")
_WORDS: Mapping[str, str] = {FEEDS: "feeds", SIGNALS: "signals"}


def drafts(study: Study, paper: frame.Paper) -> tuple[Draft, ...]:
    """The sheets of the wiring diagram."""
    rig = study.rig
    colour = wire_colours(rig)

    def make(piece: Piece, west: Sequence[End], east: Sequence[End]) -> Shape:
        return shape(study, piece, west, east)

    def end(d: Drawn, ref: str, west: bool) -> End:
        return end_of(d, ref, colour.get(d.wire.id, ""), west)

    content = Content(pieces(rig, rig.wires), make, end)
    laid = sheet_set.lay(content, paper)
    return tuple(_draft(study, content, laid, k, colour) for k in range(len(laid)))


def _draft(study: Study, content: Content, laid: Sequence[Laid], k: int, colour: Mapping[str, str]) -> Draft:
    sheet = laid[k]
    several = len(laid) > 1
    words = "Wiring diagram" + (f": {group_words(sheet, laid)}" if several else "")

    def finish(number: int, total: int) -> Sheet:
        done = sheet_set.referred(sheet, sheet_set.references(laid, number - k))
        look = Look(words, "", _notes(sheet, colour))
        return on_paper(
            study.rig, sheet.size, look, set_marks.marks(content.whole, done), number, total
        )

    return Draft(f"wiring_{k + 1}" if several else "wiring", words, finish)


def group_words(sheet: Laid, laid: Sequence[Laid]) -> str:
    """What a sheet of a set is about; numbered where several are about the same."""
    names = [_WORDS.get(g, g) for g in sheet.groups]
    said = " and ".join(names) if len(names) < 3 else ", ".join(names[:-1]) + " and " + names[-1]
    same = [s for s in laid if s.groups == sheet.groups]
    return said if len(same) == 1 else f"{said}, {same.index(sheet) + 1} of {len(same)}"


def end_of(d: Drawn, ref: str, colour: str, west: bool) -> End:
    """A wire's end: label and colour at both; size and length at the left one."""
    wire = d.wire
    port = f"{wire.id}|{'right' if west else 'left'}"
    note = "" if west else note_of(wire)
    return End(
        port, ref.partition(".")[2], "WEST" if west else "EAST", wiring.name(d), captions.stroke(wire),
        f"{wire.id}@{ref}", colour, note,
    )  # fmt: skip


def note_of(wire: Wire) -> str:
    """Size, metal where it is not copper, and length."""
    if wire.size is None:
        return "size open"
    if wire.size.system == "bolted":
        return "bolted"
    metal = "" if wire.metal == "copper" else f" {wire.metal.upper() if wire.metal.startswith('cca') else 'tinned'}"
    return f"{wire.size.label}{metal} {figures.length(wire.length_mm) if wire.length_mm else 'length open'}"


def shape(study: Study, piece: Piece, west: Sequence[End], east: Sequence[End]) -> Shape:
    """The box of a piece: name, what it is, its fuses, where it is, and its terminals in their order."""
    item = piece.item
    found = captions.content(study, item, None, [e.terminal for e in (*west, *east)])
    place = f"at {item.place}"
    if item.part.family in _PANELS:
        return panels.panel(item, west, east, (*found.devices, place))
    said = (contacts_words(item, piece.contacts), place) if piece.contacts else (*found.figures, place)
    title = "" if item.part.family in ("connector", "splice") else None
    words = shapes.Content(item, tuple(s for s in said if s), found.devices, found.empty, title)
    return shapes.shape(words, west, east)


def contacts_words(item: Item, contacts: Sequence[int]) -> str:
    """Which contacts of a connector are drawn, where they are not all."""
    spec = item.part.spec
    assert isinstance(spec, ConnectorSpec)
    return "" if len(contacts) == spec.contacts else f"{ranges(contacts)} of {spec.contacts}"


def ranges(numbers: Sequence[int]) -> str:
    """Numbers in short.

    >>> ranges((1, 2, 3, 5, 8, 9))
    '1 to 3, 5, 8, 9'
    """
    out: list[str] = []
    k = 0
    while k < len(numbers):
        last = k
        while last + 1 < len(numbers) and numbers[last + 1] == numbers[last] + 1:
            last += 1
        if last - k >= 2:
            out.append(f"{numbers[k]} to {numbers[last]}")
        else:
            out += [str(n) for n in numbers[k : last + 1]]
        k = last + 1
    return ", ".join(out)


def _notes(sheet: Laid, colour: Mapping[str, str]) -> list[str]:
    used = {c for s in sheet.strips for w in s.places.links for c in (colour.get(w, ""),) if c}
    single = sorted({p for c in used for p in colours.parts(c)})
    legend = ", ".join(f"{p} {colours.words(p)}" for p in single)
    notes = [f"Colours: {legend}."] if legend else []
    if any(s.ghosts for s in sheet.strips):
        notes.append("Broken outline: on the sheet and in the zone named, 2/B4.")
    notes += [
        "Broken lines return, dotted lines are remote leads. Thicker: more metal.",
        "In a bow wires cross and do not join; a dot joins.",
        "Isolate the battery before you touch a wire.",
    ]
    return notes
