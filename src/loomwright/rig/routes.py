"""The way of a wire along the runs."""

from __future__ import annotations

import heapq
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.rig.model import Run

LEAD_MM = 150.0
"""Length of a wire whose two ends share a place, where the file gives none [mm]. Common practice."""


@dataclass(frozen=True, slots=True)
class Way:
    """Run indexes in order, and their length together [mm]."""

    runs: tuple[int, ...]
    length_mm: float


class Routes:
    """Shortest ways between places, each worked out once.

    Shortest by length; of two equally long, the one with fewer runs, then the one whose runs stand first in the file.
    """

    def __init__(self, runs: Sequence[Run]) -> None:
        self._next: dict[str, list[tuple[str, int, float]]] = {}
        for k, run in enumerate(runs):
            a, b = run.between
            self._next.setdefault(a, []).append((b, k, run.length_mm))
            self._next.setdefault(b, []).append((a, k, run.length_mm))
        self._from: dict[str, Mapping[str, Way]] = {}

    def way(self, start: str, end: str) -> Way | None:
        """The way from one place to another; None where no runs join them."""
        if start == end:
            return Way((), 0.0)
        if start not in self._from:
            self._from[start] = self._all_from(start)
        return self._from[start].get(end)

    def _all_from(self, start: str) -> Mapping[str, Way]:
        done: dict[str, Way] = {}
        queue: list[tuple[float, int, tuple[int, ...], str]] = [(0.0, 0, (), start)]
        while queue:
            length, count, runs, here = heapq.heappop(queue)
            if here in done:
                continue
            done[here] = Way(runs, length)
            for there, k, more in self._next.get(here, ()):
                if there not in done:
                    heapq.heappush(queue, (length + more, count + 1, (*runs, k), there))
        return done
