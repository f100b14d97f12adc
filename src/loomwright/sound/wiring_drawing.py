"""How to wire a network of drivers: which terminals to join, and where each driver stands in the drawing."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from loomwright.sound.arrangements import Net
from loomwright.sound.wiring_results import Lead, Placed


def draw(net: Net, drivers: Sequence[str], plus: str, minus: str) -> tuple[tuple[Placed, ...], tuple[Lead, ...]]:
    """Places and leads for a network between two terminals of an amplifier, drivers taken from left to right.

    Terminals that lie on one conductor are wired one after the other, each lead from terminal to terminal.
    """
    conductors: list[list[str]] = [[plus], [minus]]
    placed: list[Placed] = []
    left = list(drivers)

    def lay(part: Net, start: int, end: int, column: int, row: int) -> tuple[int, int]:
        """Put a part between two conductors; gives the columns and rows that it takes."""
        if part.op is None:
            name = left.pop(0)
            conductors[start].append(f"{name}.+")
            conductors[end].append(f"{name}.-")
            placed.append(Placed(name, column, row))
            return 1, 1
        wide, high = 0, 0
        here = start
        for n, branch in enumerate(part.branches):
            if part.op == "parallel":
                columns, rows = lay(branch, start, end, column, row + high)
                wide, high = max(wide, columns), high + rows
                continue
            there = end
            if n < len(part.branches) - 1:
                conductors.append([])
                there = len(conductors) - 1
            columns, rows = lay(branch, here, there, column + wide, row)
            wide, high, here = wide + columns, max(high, rows), there
        return wide, high

    lay(net, 0, 1, 0, 0)
    leads = [Lead(a, b) for conductor in conductors for a, b in pairwise(conductor)]
    return tuple(placed), tuple(leads)
