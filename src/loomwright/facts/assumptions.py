"""What is taken for granted where a rig says nothing: rows of facts/data/assumptions.toml."""

from __future__ import annotations

from loomwright.facts import tables
from loomwright.facts.names import unknown


def number(row: str, cell: str) -> float:
    """One number by its row and column. Raises UnknownName.

    >>> number("line_lead.screen", "resistance_mohm_per_m")
    30.0
    """
    return _row(row).number(cell)


def numbers(row: str, cell: str) -> tuple[float, ...]:
    """A list of numbers by its row and column."""
    return _row(row).numbers(cell)


def _row(name: str) -> tables.Row:
    path, _, last = name.rpartition(".")
    try:
        return tables.rows("assumptions", f"assumption.{path}")[last]
    except KeyError:
        known = [
            f"{p}.{r}"
            for p in tables.load("assumptions")["assumption"]
            for r in tables.rows("assumptions", f"assumption.{p}")
        ]
        raise unknown("assumption", name, known) from None
