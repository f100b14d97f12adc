"""Covers: which wire is sheathed, and which hazards of a run stay unanswered."""

from __future__ import annotations

from loomwright.facts import workmanship
from loomwright.protection.graph import is_bolted
from loomwright.rig.model import Rig, Run, Wire

SHEATHS = ("braided sleeve", "convoluted tube", "conduit")
"""Covers that count as a sheath for the distance rule: closed along the whole length, and tough."""


def covers_on(rig: Rig, wire: Wire, run: Run) -> tuple[str, ...]:
    """Every cover that a wire has in a run: its own and the run's."""
    return (*wire.cover, *run.cover)


def sheathed(rig: Rig, wire: Wire) -> bool:
    """Whether a wire is sheathed from end to end, by its own cover or by that of every run it takes."""
    if is_bolted(wire) or any(c in SHEATHS for c in wire.cover):
        return True
    return bool(wire.route) and all(any(c in SHEATHS for c in rig.runs[k].cover) for k in wire.route)


def unanswered(rig: Rig, wire: Wire, run: Run) -> tuple[str, ...]:
    """Hazards of a run that no cover on this wire answers, in the order of the run."""
    have = covers_on(rig, wire, run)
    return tuple(h for h in run.hazards if not any(c in have for c in workmanship.covers(h)))


def places_of(rig: Rig, wire: Wire) -> frozenset[str]:
    """Every place that a wire touches: those of its ends and of its runs."""
    ends = {rig.item_of(ref).place for ref in (wire.start, wire.end)}
    return frozenset(ends | {p for k in wire.route for p in rig.runs[k].between})


def run_name(rig: Rig, index: int) -> str:
    """How a finding names a run: by its number in the file, from 1."""
    return f"run {index + 1}"


def between(run: Run) -> str:
    """``seat to left_case``."""
    return f"{run.between[0]} to {run.between[1]}"
