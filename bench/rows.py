"""A row of the table, and the two ways to set a target."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """One measurement. ``target`` is text such as ``<= 1.2``; ``met`` says whether the value keeps to it."""

    name: str
    value: float
    unit: str
    target: str
    met: bool


def at_most(name: str, value: float, unit: str, limit: float) -> Row:
    """A row whose value must not be above ``limit``."""
    return Row(name, value, unit, f"<= {limit:g}", value <= limit)


def at_least(name: str, value: float, unit: str, limit: float) -> Row:
    """A row whose value must not be below ``limit``."""
    return Row(name, value, unit, f">= {limit:g}", value >= limit)
