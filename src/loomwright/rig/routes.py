"""The way of a wire along the runs."""

from __future__ import annotations

import heapq
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

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
        self._from: dict[tuple[str, frozenset[int], frozenset[int]], Mapping[str, Way]] = {}

    def way(
        self, start: str, end: str, apart: frozenset[int] = frozenset(), shut: frozenset[int] = frozenset()
    ) -> Way | None:
        """The way from one place to another; None where no runs join them.

        ``apart`` are runs to keep out of where there is another way, ``shut`` those that may not be taken.
        """
        if start == end:
            return Way((), 0.0, 0.0)
        if (start, apart, shut) not in self._from:
            self._from[start, apart, shut] = self._all_from(start, apart, shut)
        return self._from[start, apart, shut].get(end)

    def over(self, stops: Sequence[str], apart: frozenset[int] = frozenset()) -> tuple[Way | None, tuple[str, str]]:
        """The way from the first of some places to the last over all between, leg by leg, each run taken once.

        With None, the two places that no runs join, or none but those taken already.
        """
        runs: list[int] = []
        length = cost = 0.0
        for a, b in pairwise(stops):
            leg = self.way(a, b, apart, frozenset(runs))
            if leg is None:
                return None, (a, b)
            runs += leg.runs
            length += leg.length_mm
            cost += leg.cost_mm
        return Way(tuple(runs), length, cost), (stops[0], stops[-1])

    def _all_from(self, start: str, apart: frozenset[int], shut: frozenset[int]) -> Mapping[str, Way]:
        done: dict[str, Way] = {}
        dearer = harness.beside_feed_weight()
        queue: list[tuple[float, int, tuple[int, ...], float, str]] = [(0.0, 0, (), 0.0, start)]
        while queue:
            cost, count, runs, length, here = heapq.heappop(queue)
            if here in done:
                continue
            done[here] = Way(runs, length, cost)
            for there, k, more, dear in self._next.get(here, ()):
                if there not in done and k not in shut:
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
