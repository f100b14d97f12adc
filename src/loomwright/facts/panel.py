"""The panel: sides of terminals, room round things, what a layout is worth."""

from __future__ import annotations

from functools import cache

from loomwright.facts import tables


@cache
def room(name: str) -> float:
    """Room that something needs [mm], or the ratio that gives it: a row of ``panel.room``."""
    return tables.rows("panel", "panel.room")[name].number()


@cache
def worth(name: str) -> float:
    """What something is worth in a layout: a row of ``panel.worth``."""
    return tables.rows("panel", "panel.worth")[name].number()


@cache
def sides(family: str) -> dict[str, str]:
    """Side of each group of terminals of a family, at turn 0."""
    return {name: row.text() for name, row in tables.rows("panel", f"panel.side.{_named(family)}").items()}


def family(name: str) -> tables.Row:
    """Feet, adjusters, fuses and heat of a family: holes and distances in mm."""
    return tables.rows("panel", "panel.family")[_named(name)]


def _named(family: str) -> str:
    """The name of a family's row: ``source`` is what every row calls its origin."""
    return "source_unit" if family == "source" else family
