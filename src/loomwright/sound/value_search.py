"""The search for parts of a crossover: two elements at a time run through all the values that are sold.

In a ladder the volts and amps at the amplifier, for each volt of the driver, are straight-line functions of every
single series impedance or shunt admittance. So two elements need four solutions of the whole ladder, and all their
pairs of values follow by multiplication.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from loomwright.sound.alignments import Element
from loomwright.sound.frequencies import Complexes, Floats
from loomwright.sound.rungs import Rung, element_ohm

SWEEPS = 6
FLOOR_DB = -30.0
"""Below this nobody minds whether the level is right."""
SHORT_DB_PER_OHM = 100.0
"""What an impedance under the least costs."""


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """What is searched for: elements before fixed rungs and a driver, and the level that they should make, (F,)."""

    book: tuple[Element, ...]
    fixed: tuple[Rung, ...]
    driver_ohm: Complexes
    frequency_hz: Floats
    goal_db: Floats
    least_ohm: float


def search(task: Task, lists: Sequence[Sequence[float]], start: Sequence[float]) -> tuple[float, ...]:
    """Values of the elements, each from its own list, that come nearest to the goal; ``start`` is where to begin.

    A pair is gone through again only where another element has changed since.
    """
    arms = [_arm(e.across, element_ohm(e.kind, np.array(v)[:, None], task.frequency_hz))
            for e, v in zip(task.book, lists, strict=True)]  # fmt: skip
    chosen = [list(v).index(s) for v, s in zip(lists, start, strict=True)]
    after = [_arm(r.across, r.impedance_ohm(task.frequency_hz)) for r in task.fixed]
    count = len(arms)
    pairs = list(combinations(range(count), 2)) or [(0, 0)]
    changed, seen, now = [0] * count, dict.fromkeys(pairs, -1), 0
    for _ in range(SWEEPS):
        before = now
        for i, j in pairs:
            if all(changed[k] <= seen[i, j] for k in range(count) if k not in (i, j)) and seen[i, j] >= 0:
                continue
            scores = _scores(task, arms, chosen, after, i, j)
            at = int(np.argmin(scores))
            a, b = divmod(at, scores.shape[1])
            if scores[a, b] < scores[chosen[i], chosen[j] if i != j else 0] - 1e-9:
                now += 1
                for k, n in ((j, b), (i, a)) if i != j else ((i, a),):
                    if chosen[k] != n:
                        chosen[k], changed[k] = n, now
            seen[i, j] = now
        if now == before:
            break
    return tuple(lists[k][n] for k, n in enumerate(chosen))


def _arm(across: bool, ohm: Complexes) -> Complexes:
    """What a ladder's solution is straight in: impedance in series, admittance across."""
    return 1.0 / ohm if across else ohm


def _scores(
    task: Task, arms: Sequence[Complexes], chosen: Sequence[int], after: Sequence[Complexes], i: int, j: int
) -> Floats:
    """R.m.s. error of every pair of values of two elements, (A, B) [dB]; (A, 1) for one element."""
    rungs = [*(arm[n] for arm, n in zip(arms, chosen, strict=True)), *after]
    sides = [*(e.across for e in task.book), *(r.across for r in task.fixed)]
    nothing, whole = np.zeros_like(task.driver_ohm), np.ones_like(task.driver_ohm)

    def solved(x: Complexes, y: Complexes) -> tuple[Complexes, Complexes]:
        volts, amps = whole, 1.0 / task.driver_ohm
        for k in range(len(rungs) - 1, -1, -1):
            arm = x if k == i else y if k == j else rungs[k]
            if sides[k]:
                amps = amps + volts * arm
            else:
                volts = volts + amps * arm
        return volts, amps

    one = solved(nothing, nothing)
    two = solved(whole, nothing)
    first = arms[i]
    if i == j:
        made = [(a + first * (b - a))[:, None, :] for a, b in zip(one, two, strict=True)]
    else:
        three, four = solved(nothing, whole), solved(whole, whole)
        made = [
            (a + first * (b - a))[:, None, :] + (c - a + first * (d - c - b + a))[:, None, :] * arms[j][None, :, :]
            for a, b, c, d in zip(one, two, three, four, strict=True)
        ]
    volts2 = made[0].real ** 2 + made[0].imag ** 2
    level = np.maximum(-10.0 * np.log10(volts2), FLOOR_DB)
    error = np.sqrt(np.mean((level - np.maximum(task.goal_db, FLOOR_DB)) ** 2, axis=2))
    if task.least_ohm > 0.0:
        amps2 = made[1].real ** 2 + made[1].imag ** 2
        least = np.sqrt(np.min(volts2 / np.maximum(amps2, 1e-30), axis=2))
        error = error + SHORT_DB_PER_OHM * np.maximum(0.0, task.least_ohm - least)
    return np.asarray(error)
