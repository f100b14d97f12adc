"""The way of a wire along the runs."""

from __future__ import annotations

import heapq
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.facts import harness, workmanship
from loomwright.rig.model import Run

LEAD_MM = 150.0
"""Length of a wire whose two ends share a place, where the file gives none [mm]. Common practice."""


@dataclass(frozen=True, slots=True)
class Way:
    """Run indexes in order, their length together [mm], and what the way costs: length times the weight of each run."""

    runs: tuple[int, ...]
    length_mm: float
    cost_mm: float


class Routes:
    """Best ways between places, each worked out once.

    A run costs its length times its weight: a hazard makes it dearer, less so where a cover answers it, and a run to
    keep apart from dearer still. Of two ways that cost the same, the one with fewer runs, then the one whose runs stand
    first in the file.
    """

    def __init__(self, runs: Sequence[Run]) -> None:
        self._next: dict[str, list[tuple[str, int, float, float]]] = {}
        for k, run in enumerate(runs):
            a, b = run.between
            cost = run.length_mm * weight(run)
            self._next.setdefault(a, []).append((b, k, run.length_mm, cost))
            self._next.setdefault(b, []).append((a, k, run.length_mm, cost))
        self._from: dict[tuple[str, frozenset[int]], Mapping[str, Way]] = {}

    def way(self, start: str, end: str, apart: frozenset[int] = frozenset()) -> Way | None:
        """The way from one place to another; None where no runs join them. ``apart`` are runs to keep out of."""
        if start == end:
            return Way((), 0.0, 0.0)
        if (start, apart) not in self._from:
            self._from[start, apart] = self._all_from(start, apart)
        return self._from[start, apart].get(end)

    def _all_from(self, start: str, apart: frozenset[int]) -> Mapping[str, Way]:
        done: dict[str, Way] = {}
        dearer = harness.beside_feed_weight()
        queue: list[tuple[float, int, tuple[int, ...], float, str]] = [(0.0, 0, (), 0.0, start)]
        while queue:
            cost, count, runs, length, here = heapq.heappop(queue)
            if here in done:
                continue
            done[here] = Way(runs, length, cost)
            for there, k, more, dear in self._next.get(here, ()):
                if there not in done:
                    price = dear * dearer if k in apart else dear
                    heapq.heappush(queue, (cost + price, count + 1, (*runs, k), length + more, there))
        return done


def weight(run: Run) -> float:
    """What a millimetre of a run costs, against one that nothing threatens."""
    total = 1.0
    for hazard in run.hazards:
        answered = any(c in run.cover for c in workmanship.covers(hazard))
        total += harness.hazard_weight(hazard) * (harness.covered_share() if answered else 1.0)
    return total
