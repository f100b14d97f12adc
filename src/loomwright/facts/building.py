"""The build: torques of ring lugs, bench times, the small fuse of the first power-up, what a reading may differ by."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from loomwright.facts import batteries, tables
from loomwright.facts.names import unknown
from loomwright.facts.tables import Mark, Row


@dataclass(frozen=True, slots=True)
class LugTorque:
    """Tightening torque of a ring lug by its stud."""

    stud_mm: float
    torque_nm: float
    source: str
    mark: Mark


def lug_torque(stud_mm: float) -> LugTorque | None:
    """Torque for a metric stud; None where the table has no such thread."""
    for row in tables.rows("building", "building.torque").values():
        if row.number("stud_mm") == stud_mm:
            return LugTorque(stud_mm, row.number("torque_nm"), row.source, row.mark)
    return None


def time_row(work: str) -> Row:
    """The row of a piece of work: ``time_min`` holds the least and the most. Raises UnknownName."""
    found = tables.rows("building", "building.time")
    if work not in found:
        raise unknown("piece of work", work, found)
    return found[work]


def tolerance(what: str, cell: str) -> float:
    """What a reading may differ by: a cell of a row of ``building.tolerance``."""
    return tables.row("building", f"building.tolerance.{what}").number(cell)


def volts_that_pass_v(rest_tables: Iterable[str], drop_v: float = 0.0) -> tuple[float, float] | None:
    """Volts that pass with nothing charging [V]: any of these batteries from half to full, freshly charged or not.

    ``drop_v`` is what is lost on the way to where the meter is. None without a battery.
    """
    tables = tuple(rest_tables)
    if not tables:
        return None
    half = min(batteries.rest_v(t, tolerance("charge", "charge_pct")) for t in tables)
    full = max(batteries.rest_v(t, 100.0) for t in tables) + tolerance("surface", "volts_v")
    meter = tolerance("meter", "volts_v")
    return half - drop_v - meter, full + meter


def small_fuse_a() -> float:
    """Usual rating of the small fuse at the first power-up [A]."""
    return tables.row("building", "building.small_fuse.usual").number("current_a")


def small_fuse_headroom() -> float:
    """The least that the small fuse is rated, over the quiet current."""
    return tables.row("building", "building.small_fuse.headroom").number("factor")


def lamp_w() -> float:
    """The lamp that may stand in for the small fuse [W]."""
    return tables.row("building", "building.small_fuse.lamp").number("power_w")


def capacitor_wait_s() -> float:
    """How long reservoirs are left to discharge [s]."""
    return tables.row("building", "building.wait.capacitors").number("time_s")
