"""What lies on the boards of each wire, for whoever cuts it."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.panel.results import PanelResult
from loomwright.rig.model import Rig, Wire


@dataclass(frozen=True, slots=True)
class OnBoards:
    """How much of a wire lies on boards [mm]. ``whole`` where both its ends are on one board: that is all of it."""

    length_mm: float
    whole: bool


def on_boards(panels: PanelResult) -> dict[str, OnBoards]:
    """Wires that lie on a board, those of all panels together."""
    out: dict[str, OnBoards] = {}
    for layout in panels.layouts:
        for one in layout.lengths:
            before = out.get(one.wire)
            out[one.wire] = OnBoards(one.length_mm + (before.length_mm if before else 0.0), one.both)
    return out


def length_mm(rig: Rig, wire: Wire, there: OnBoards) -> float:
    """Length of a wire that nobody measured: from terminal to terminal on a board, or runs and way to the entry.

    The runs begin at the cable entry; what lies on the board takes the place of the item's tail.
    """
    if there.whole:
        return there.length_mm + wire.slack_mm
    tails = 0.0
    if wire.route:
        for ref in (wire.start, wire.end):
            item = rig.item_of(ref)
            tails += item.tail_mm if item.spot is not None and item.spot.at_mm is not None else 0.0
    return wire.length_mm - tails + there.length_mm
