"""The order of the steps: every dependency kept, else by stage and as written down. Same steps, same order."""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from loomwright.steps.results import PHASES, Step


def in_order(steps: Sequence[Step]) -> tuple[Step, ...]:
    """Steps sorted so that each comes after all that it waits for, and numbered from 1.

    Raises
    ------
    ValueError
        Where an id is used twice, a step waits for one that is not there, or steps wait for each other.
    """
    known = {s.id: k for k, s in enumerate(steps)}
    if len(known) < len(steps):
        raise ValueError("two steps with one id")
    waits: list[int] = []
    then: dict[int, list[int]] = defaultdict(list)
    for k, step in enumerate(steps):
        first = {a.step for a in step.after}
        if missing := first - known.keys():
            raise ValueError(f"{step.id} waits for {', '.join(sorted(missing))}, which is not there")
        waits.append(len(first))
        for name in first:
            then[known[name]].append(k)
    ready = [(PHASES.index(s.phase), k) for k, s in enumerate(steps) if waits[k] == 0]
    heapq.heapify(ready)
    done: list[Step] = []
    while ready:
        _, k = heapq.heappop(ready)
        done.append(replace(steps[k], number=len(done) + 1))
        for later in then[k]:
            waits[later] -= 1
            if waits[later] == 0:
                heapq.heappush(ready, (PHASES.index(steps[later].phase), later))
    if len(done) < len(steps):
        raise ValueError("steps that wait for each other")
    return tuple(done)
