"""Routing, slack, sleeves, holes, contacts and the ring-out: figures of the harness trade."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from loomwright.facts import tables
from loomwright.facts.names import unknown


def _row(table: str, name: str) -> tables.Row:
    found = tables.rows("harness", f"harness.{table}")
    if name not in found:
        raise unknown(table.replace("_", " "), name, found)
    return found[name]


@cache
def hazard_weight(hazard: str) -> float:
    """What a hazard adds to the cost of a run, against one that nothing threatens."""
    return _row("route", hazard).number("weight")


@cache
def covered_share() -> float:
    """Share of that weight which is left where a cover answers the hazard."""
    return _row("route", "covered").number("share")


@cache
def beside_feed_weight() -> float:
    """How much dearer a run with feeds is to a line lead."""
    return _row("route", "beside_feed").number("weight")


def usual_colour(what: str) -> str:
    """Letters of the usual colour: power, ground, remote, line, speaker_plus, speaker_minus."""
    return _row("usual_colour", what).text()


def wrong_colours(kind: str) -> tuple[str, ...]:
    """Colours that say the opposite of what a wire carries; none for most kinds."""
    found = tables.rows("harness", "harness.wrong_colour")
    return tuple(str(c) for c in found[kind].cells["value"]) if kind in found else ()


def slack_mm(what: str) -> float:
    """Usual spare length [mm]: ``service``, ``comes_off``, or ``least``, the shortest wire that can be made."""
    return _row("slack", what).number("length_mm")


def braid_for(diameter_mm: float) -> str | None:
    """Nominal size of the expandable braid that sits best: the smallest that opens far enough."""
    for row in tables.rows("harness", "harness.braid").values():
        if row.number("from_mm") <= diameter_mm <= row.number("to_mm") * 0.8:
            return row.name
    return None


@dataclass(frozen=True, slots=True)
class Tube:
    """A convoluted tube: nominal size, and outside over its ribs [mm]."""

    name: str
    outside_mm: float


def tube_for(diameter_mm: float) -> Tube | None:
    """The smallest convoluted tube that a bundle goes into; None where none is large enough."""
    fill = _row("cover", "tube_fill").number("share")
    for row in tables.rows("harness", "harness.tube").values():
        if diameter_mm <= fill * row.number("inside_mm"):
            return Tube(row.name, row.number("outside_mm"))
    return None


def wall_mm(cover: str) -> float:
    """Thickness that a thin cover adds on each side [mm]: ``braid`` or ``heat``."""
    return _row("cover", f"{cover}_wall").number("length_mm")


@dataclass(frozen=True, slots=True)
class Grommet:
    """A grommet: its bore and the hole it sits in [mm]."""

    bore_mm: float
    hole_mm: float


def grommet_for(diameter_mm: float) -> Grommet | None:
    """The smallest grommet that a bundle goes through; None where none is large enough."""
    for row in tables.rows("harness", "harness.grommet").values():
        if diameter_mm <= row.number("bore_mm"):
            return Grommet(row.number("bore_mm"), row.number("hole_mm"))
    return None


@cache
def insulation_g_per_cm3() -> float:
    """Density of wire insulation [g/cm3]."""
    return _row("material", "insulation").number()


@cache
def line_lead_mm() -> float:
    """Outside diameter of a screened line lead [mm]."""
    return _row("material", "line_lead").number("outside_mm")


def contact_share(loaded: int) -> float:
    """Share of its rating that a contact may carry where so many are loaded: straight between the rows, flat beyond."""
    found = tables.rows("harness", "harness.contact_share").values()
    points = [(r.number("contacts"), r.number("share")) for r in found]
    for (n0, s0), (n1, s1) in pairwise(points):
        if loaded <= n1:
            return s0 + (s1 - s0) * (max(loaded, n0) - n0) / (n1 - n0)
    return points[-1][1]


def reel_lengths_mm() -> tuple[float, ...]:
    """Lengths in which wire is sold [mm], rising."""
    return _row("reel", "lengths").numbers("length_mm")


@cache
def reel_spare_share() -> float:
    """What is bought on top of what is needed, as a share."""
    return _row("reel", "spare").number("share")


def ring_out(what: str, cell: str = "weight") -> float:
    """A figure of the ring-out: see the rows of ``harness.ring_out``."""
    return _row("ring_out", what).number(cell)
