"""How long to cut a wire: what the rig reckons with, and what squaring the ends takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loomwright.facts import conductors, ends, harness, tables
from loomwright.loom.results import LengthFrom
from loomwright.panel.lengths import OnBoards, length_mm
from loomwright.power.heat import outside_of
from loomwright.rig.model import Kind, Rig, Wire, WireSize

STEP_MM = 5.0
"""Cut lengths are rounded up to this."""


@dataclass(frozen=True, slots=True)
class Length:
    """Length that the rig reckons with, the slack in it, and the length to cut [mm]."""

    source: LengthFrom
    length_mm: float
    slack_mm: float
    cut_mm: float


def length(rig: Rig, wire: Wire, on_boards: OnBoards | None = None) -> Length:
    """Length of one wire; ``on_boards`` is what of it lies on panels.

    What a technician measured counts as it is; from the runs and the boards, slack is in it already.
    """
    source: LengthFrom = "measured" if wire.length_given else "runs" if wire.route else "one place"
    installed = wire.length_mm
    if not wire.length_given and on_boards is not None:
        installed = length_mm(rig, wire, on_boards)
        source = "panel" if on_boards.whole else "panel and runs"
    whole = installed + ends.squaring_mm()
    return Length(source, installed, wire.slack_mm, math.ceil(round(whole / STEP_MM, 6)) * STEP_MM)


def diameter_mm(wire: Wire) -> float:
    """Diameter over the insulation, or over the jacket of a line lead [mm]; 0 for a bolted joint."""
    return across_mm(wire.kind, wire.size)


def across_mm(kind: Kind, size: WireSize | None) -> float:
    """The same by kind and size of the wire [mm]."""
    if kind == "line":
        return harness.line_lead_mm()
    if size is None or size.system == "bolted":
        return 0.0
    return outside_of(size.area_mm2)


def mass_g_per_m(wire: Wire) -> float:
    """Mass of a metre [g]: metal by its density, the rest of the section as insulation."""
    if wire.size is None or wire.size.system == "bolted":
        return 0.0
    metal = wire.size.area_mm2 * tables.row("conductors", f"conductor.density.{wire.metal}").number()
    outside = diameter_mm(wire)
    rest = max(math.pi / 4.0 * outside**2 - math.pi / 4.0 * wire.size.diameter_mm**2, 0.0)
    return metal + rest * harness.insulation_g_per_cm3()


def resistance_mohm(wire: Wire) -> float:
    """Conductor from end to end at 20 C [mOhm]; what was measured counts first."""
    if wire.measured_mohm is not None:
        return wire.measured_mohm
    if wire.size is None or wire.size.system == "bolted":
        return 0.0
    per_m = conductors.resistance_mohm_per_m(wire.size.area_mm2, wire.metal, 20.0, wire.size.system)
    return per_m * wire.length_mm / 1000.0

