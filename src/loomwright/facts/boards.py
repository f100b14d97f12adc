"""Boards and sheets: what each material stands, how far its thickness may be off, how it grows."""

from __future__ import annotations

from functools import cache

from loomwright.facts import tables


def material(name: str) -> tables.Row:
    """One material: heat it stands, growth, how much thinner and thicker it may be, density, whether it has a grain."""
    return tables.rows("boards", "boards.material")[name]


@cache
def rule(name: str) -> float:
    """A row of ``boards.rule``."""
    return tables.rows("boards", "boards.rule")[name].number()
