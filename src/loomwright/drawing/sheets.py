"""All the drawings of a rig, each on paper of one size: what papers, pages and the command line show and write."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from loomwright.drawing import frame, hookup, pages, single_line
from loomwright.drawing.frame import Paper
from loomwright.drawing.marks import Group, placed
from loomwright.drawing.marks import Sheet as Drawing
from loomwright.study import Study

ENDINGS = ("svg", "pdf", "png")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One drawing on one sheet of paper. ``id`` is unique among the sheets of a rig, and is a file's name.

    Each group of kind ``wire`` in the drawing has the wire's id as its ``ref`` (``data-ref`` in SVG).
    """

    id: str
    title: str
    drawing: Drawing


def sheets(study: Study, paper: Paper = "A3") -> tuple[Sheet, ...]:
    """Every drawing of a rig, in reading order; empty where there is nothing to draw. Landscape paper."""
    out: list[Sheet] = []
    try:
        out.append(Sheet("single_line", "Power single-line diagram", single_line.draw(study, size=paper)))
    except single_line.TooLarge:
        pass
    drawn = hookup.draw(study.rig, "signals", study)
    if drawn is not None:
        out.append(Sheet("signals", "Remote, line and speaker wires", _on_paper(study, drawn, paper)))
    return tuple(out)


def _on_paper(study: Study, drawn: Drawing, paper: Paper) -> Drawing:
    room = frame.room(paper)
    scale = min(1.4, room.width_mm / drawn.width_mm, room.height_mm / drawn.height_mm)
    title = frame.Title(study.rig.title, "Remote, line and speaker wires", stage=study.rig.stage)
    dx = room.x + (room.width_mm - drawn.width_mm * scale) / 2
    dy = room.y + (room.height_mm - drawn.height_mm * scale) / 2
    marks = (Group(frame.frame(paper, title), "frame"), Group(placed(drawn.marks, dx, dy, scale), "diagram"))
    return Drawing(*frame.SIZES_MM[paper], marks, f"{study.rig.title}: remote, line and speaker wires")


def write(made: tuple[Sheet, ...], folder: Path) -> tuple[Path, ...]:
    """Write each sheet as SVG, PDF and PNG into a folder; gives the files written."""
    return tuple(pages.write(sheet.drawing, folder / f"{sheet.id}.{ending}") for sheet in made for ending in ENDINGS)
