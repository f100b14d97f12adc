"""The power diagram of a rig: sources left, loads right, feed above return, figures of one case on every wire."""

from __future__ import annotations

from loomwright.drawing import boxes, captions, figures, flow, fonts, frame, shapes, wiring
from loomwright.drawing.marks import Group, Mark, Sheet, Text, placed
from loomwright.drawing.tiers import Arrangement
from loomwright.errors import LoomwrightError
from loomwright.power.results import CaseResult
from loomwright.rig.model import EngineState, Item, Programme
from loomwright.study import Study

MOST_BOXES = 150
_LARGEST = 1.4  # 2.5 mm capitals become 3.5 mm, the next size up
_SMALLEST = 0.66  # 2.5 mm capitals become 1.65 mm: read at arm's length


class TooLarge(LoomwrightError, ValueError):
    """The rig has more items than one sheet can show."""


def draw(
    study: Study, engine: EngineState = "cruise", programme: Programme = "music", size: frame.SheetSize | None = None
) -> Sheet:
    """The power single-line diagram with the volts and amperes of one case.

    Without a ``size`` the smallest of A4, A3, A2.. is taken on which it reads. A diagram too wide for A3 is folded
    into two rows.

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
    labels = {d.wire.id: captions.label(d, case) for d in wires}
    ends = wiring.ends(wires)
    made = {i: _shape(study, rig.items[i], ends[i], case) for i in items}
    marks, places = wiring.compose(rig, made, wires, labels, lambda w, h: _scale("A3", w, h) >= _SMALLEST)
    return _on_sheet(study, marks, places, case, engine, programme, size)


def _shape(
    study: Study, item: Item, ends: tuple[list[boxes.End], list[boxes.End]], case: CaseResult | None
) -> boxes.Shape:
    west, east = ends
    content = captions.content(study, item, case, [e.terminal for e in (*east, *west)])
    return shapes.shape(content, west, east)


def _on_sheet(
    study: Study, marks: list[Mark], places: Arrangement, case: CaseResult | None,
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
    notes = _notes(study, case, bool(places.flags))
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


def _scale(size: frame.SheetSize, width_mm: float, height_mm: float) -> float:
    room = frame.room(size)
    return min(_LARGEST, room.width_mm / width_mm, room.height_mm / height_mm)


def _fit(places: Arrangement, size: frame.SheetSize | None) -> tuple[frame.SheetSize, float]:
    sizes: tuple[frame.SheetSize, ...] = (size,) if size else ("A4", "A3", "A2", "A1", "A0")
    for candidate in sizes:
        scale = _scale(candidate, places.width_mm, places.height_mm)
        if scale >= (1.0 if candidate == "A4" and not size else _SMALLEST):
            return candidate, scale
    return sizes[-1], _scale(sizes[-1], places.width_mm, places.height_mm)


def _notes(study: Study, case: CaseResult | None, folded: bool) -> list[str]:
    notes = [
        "Full lines feed, broken lines return; in a bow they cross and do not join. Thicker: more metal.",
        "Volts against the minus post of the reference battery. → way of the current.",
        "Remote, line and speaker wires are not on this sheet.",
    ]
    if folded:
        notes.append("Arrows: the wire goes on in the row named.")
    if case is not None and not case.solved:
        notes.insert(0, f"This case has no operating point: shown at {figures.three(case.load_factor)} of it.")
    if any(p.provisional for p in study.protection.devices.values()):
        notes.append("Some time-current gates rest on memory: provisional.")
    return notes
