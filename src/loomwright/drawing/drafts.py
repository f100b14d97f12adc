"""A drawing that waits for its number: sheets are laid out first, then numbered, then finished."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loomwright.drawing import fonts, frame
from loomwright.drawing.marks import Group, Mark, Sheet, Text
from loomwright.rig.model import Rig

_LINE_MM = 3.7


@dataclass(frozen=True, slots=True)
class Draft:
    """One sheet: ``finish`` makes it, given its number and how many there are."""

    id: str
    title: str
    finish: Callable[[int, int], Sheet]


@dataclass(frozen=True, slots=True)
class Look:
    """What a sheet says outside its drawing."""

    document: str
    case: str = ""
    notes: Sequence[str] = ()


def on_paper(
    rig: Rig, size: frame.SheetSize, look: Look, marks: Sequence[Mark], number: int, total: int
) -> Sheet:
    """A drawing that lies where it belongs, with frame, zones, title block and notes."""
    width, height = frame.SIZES_MM[size]
    title = frame.Title(
        rig.title, look.document, rig.file.rpartition("/")[2], rig.stage, look.case, f"{number} / {total}"
    )
    return Sheet(
        width, height,
        (
            Group(frame.frame(size, title), "frame"),
            Group(tuple(marks), "diagram"),
            Group(tuple(_notes(size, look.notes)), "notes"),
        ),
        f"{rig.title}: {look.document}",
    )  # fmt: skip


def _notes(size: frame.SheetSize, notes: Sequence[str]) -> list[Mark]:
    """As many notes as there is room for beside the title block; the first matter most."""
    free = frame.notes_room(size)
    words: list[Mark] = []
    y = free.y + _LINE_MM
    for note in notes:
        lines = fonts.wrapped(note, free.width_mm, frame.SMALL_MM, 4)
        if y + (len(lines) - 1) * _LINE_MM > free.y + free.height_mm:
            break
        for text in lines:
            words.append(Text((free.x, y), text, frame.SMALL_MM, role="pencil"))
            y += _LINE_MM
    return words

