"""All the drawings of a rig, each on paper of one size: what papers, pages and the command line show and write."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from loomwright.drawing import faces, full_wiring, pages, vehicle_map, wire_sets
from loomwright.drawing.drafts import Draft
from loomwright.drawing.frame import Paper
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
    wires, signal = _of_the_rig(study, paper)
    power, runs = wire_sets.power(study, paper), vehicle_map.drafts(study, paper)
    return _numbered(*power, *wires, *signal, *faces.drafts(study, paper), *runs)


def diagrams(study: Study, paper: Paper = "A3") -> tuple[Sheet, ...]:
    """Those drawings but the faces of connectors: where the faces stand somewhere else."""
    wires, signal = _of_the_rig(study, paper)
    return _numbered(*wire_sets.power(study, paper), *wires, *signal, *vehicle_map.drafts(study, paper))


def with_boards(study: Study, paper: Paper = "A3") -> tuple[Sheet, ...]:
    """Every drawing of a rig and of its panels, but the faces of connectors."""
    return *diagrams(study, paper), *boards(study, paper)


def _of_the_rig(study: Study, paper: Paper) -> tuple[tuple[Draft, ...], tuple[Draft, ...]]:
    """Wiring and signal, which need no volts and no loom: laid out first, they are while others work those out."""
    return full_wiring.drafts(study, paper), wire_sets.signal(study, paper)


def _numbered(*made: Draft) -> tuple[Sheet, ...]:
    return tuple(Sheet(d.id, d.title, d.finish(k, len(made))) for k, d in enumerate(made, 1))


def boards(study: Study, paper: Paper = "A3") -> tuple[Sheet, ...]:
    """A drawing of each finished panel that anything stands on."""
    if not study.rig.panels:
        return ()
    from loomwright.drawing import board

    made = [one for one in study.panels.layouts if one.items]
    return tuple(
        Sheet(
            f"panel_{one.panel.id}", f"Panel {one.panel.id}",
            board.draw(one, study.given.title, paper, study.given.stage, f"{n} / {len(made)}"),
        )
        for n, one in enumerate(made, 1)
    )  # fmt: skip


def write(made: tuple[Sheet, ...], folder: Path) -> tuple[Path, ...]:
    """Write each sheet as SVG, PDF and PNG into a folder; gives the files written."""
    return tuple(pages.write(sheet.drawing, folder / f"{sheet.id}.{ending}") for sheet in made for ending in ENDINGS)
