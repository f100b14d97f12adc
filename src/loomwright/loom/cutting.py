"""Cutting stock with unlike spools, to a proven optimum.

First comes what can be cut at most, then the shortest set of spools that could hold it by length alone (CP-SAT), then a
way to lay the pieces on them: by filling spool after spool as full as sums allow, and where that fails by CP-SAT. A set
that is proven not to hold the pieces is struck out, and with it every smaller one; the next shortest is tried.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from itertools import combinations
from typing import TYPE_CHECKING, Any

from loomwright.errors import EngineMissing

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

EFFORT = 4.0
"""Most work for one question, in the solver's own measure, which is the same on every machine."""
TRIES = 40
SETS = 60
"""Most sets of spools that are tried for one kind of wire."""
BY_TRIAL = 10
"""Up to so many spools every set is looked at, without the solver, which takes longer to load."""
Counts = list[list[int]]


def best_cut(
    kinds: Sequence[tuple[int, int]], rooms: Sequence[int], allowed: Sequence[Sequence[bool]]
) -> tuple[Counts, bool, int]:
    """How many of each kind to cut from each spool.

    Parameters
    ----------
    kinds : sequence of (int, int)
        Length [mm] and number of pieces.
    rooms : sequence of int
        Length on each spool [mm].
    allowed : sequence of sequence of bool
        Whether a kind may come from a spool; one row for each kind.

    Returns
    -------
    counts, proven, bound
        Pieces by kind and spool; whether no cut is better (least length left uncut, then least length opened);
        and the length [mm] below which no cut can open spools.

    Raises
    ------
    EngineMissing
        Where OR-tools is not installed.
    """
    # In steps of the lengths' common divisor: what is left over below one step is of no use to any piece.
    step = math.gcd(*(length for length, _ in kinds))
    case = _Case(
        [length // step for length, _ in kinds], [n for _, n in kinds], list(rooms), [r // step for r in rooms], allowed
    )
    every = list(range(len(rooms)))
    laid = case.fill(every)
    sure = True
    if laid is None:
        laid, sure = case.most(every)
        case.counts = [sum(row) for row in laid]
    bound, struck = 0, list[set[int]]()
    for _ in range(SETS):
        chosen = case.shortest(struck)
        if chosen is None:
            break
        length = sum(rooms[k] for k in chosen)
        bound = bound if struck and not sure else length
        found, known = case.lay(chosen)
        if found is not None:
            return found, sure, bound
        sure = sure and known
        struck.append(set(chosen))
    return laid, False, bound


class _Case:
    """One kind of wire, all lengths in whole steps."""

    def __init__(
        self,
        sizes: list[int],
        counts: list[int],
        rooms: list[int],
        floors: list[int],
        allowed: Sequence[Sequence[bool]],
    ) -> None:
        self.sizes, self.counts, self.rooms, self.floors, self.allowed = sizes, counts, rooms, floors, allowed

    def fill(self, chosen: Sequence[int]) -> Counts | None:
        """All pieces on these spools, one spool after the other filled as full as sums allow; None where it fails."""
        rng = random.Random(1)
        order = sorted(chosen, key=lambda k: (self.floors[k], k))
        for attempt in range(TRIES):
            left = list(self.counts)
            laid = [[0] * len(self.rooms) for _ in self.sizes]
            for k in order:
                for i in self._fullest(k, left, rng if attempt else None):
                    left[i] -= 1
                    laid[i][k] += 1
            if not any(left):
                return laid
            rng.shuffle(order)
        return None

    def _fullest(self, k: int, left: Sequence[int], rng: random.Random | None) -> list[int]:
        """Kinds, once for each piece, that fill a spool best; long pieces first. Sums are bits of whole numbers."""
        pieces = [i for i, n in enumerate(left) for _ in range(n) if self.allowed[i][k]]
        pieces.sort(key=lambda i: (self.sizes[i] * (rng.uniform(0.6, 1.4) if rng else 1.0), i))
        room = (1 << (self.floors[k] + 1)) - 1
        sums = [1]
        for i in pieces:
            sums.append((sums[-1] | sums[-1] << self.sizes[i]) & room)
        total = sums[-1].bit_length() - 1
        used: list[int] = []
        for n in range(len(pieces) - 1, -1, -1):
            size = self.sizes[pieces[n]]
            if total >= size and sums[n] >> (total - size) & 1:
                used.append(pieces[n])
                total -= size
        return used

    def most(self, chosen: Sequence[int]) -> tuple[Counts, bool]:
        """The most length that can be cut from these spools, and whether that is proven."""
        kit, model, count = self._model(chosen)
        model.maximize(sum(s * v for s, row in zip(self.sizes, count, strict=True) for v in row))
        solver, status = _solved(kit, model)
        if status not in (kit.OPTIMAL, kit.FEASIBLE):  # pragma: no cover - to cut nothing is a solution
            return [[0] * len(self.rooms) for _ in self.sizes], False
        return self._read(solver, count), bool(status == kit.OPTIMAL)

    def lay(self, chosen: Sequence[int]) -> tuple[Counts | None, bool]:
        """All pieces on these spools, or None; and whether that None is proven."""
        found = self.fill(chosen)
        if found is not None:
            return found, True
        kit, model, count = self._model(chosen)
        for row, n in zip(count, self.counts, strict=True):
            model.add(sum(row) == n)
        solver, status = _solved(kit, model)
        if status in (kit.OPTIMAL, kit.FEASIBLE):
            return self._read(solver, count), True
        return None, bool(status == kit.INFEASIBLE)

    def shortest(self, struck: Sequence[set[int]]) -> list[int] | None:
        """The shortest set of spools that is long enough by sums, and no part of one that was struck out."""
        needs = self._needs()
        if len(self.rooms) <= BY_TRIAL:
            return self._by_trial(needs, struck)
        kit = _kit()
        model = kit.CpModel()
        opened = [model.new_bool_var(f"opened {k}") for k in range(len(self.rooms))]
        for pattern, need in needs:
            model.add(sum(f * o for f, o, p in zip(self.floors, opened, pattern, strict=True) if p) >= need)
        for out in struck:
            model.add(sum(o for k, o in enumerate(opened) if k not in out) >= 1)
        # Of two sets as long as each other, the one with fewer spools.
        each = len(self.rooms) + 1
        model.minimize(sum((room * each + 1) * o for room, o in zip(self.rooms, opened, strict=True)))
        solver, status = _solved(kit, model)
        if status not in (kit.OPTIMAL, kit.FEASIBLE):
            return None
        return [k for k, o in enumerate(opened) if solver.value(o)]

    def _needs(self) -> list[tuple[tuple[bool, ...], int]]:
        """Sets of spools, and the length that must find room on each: pieces that may come from nowhere else."""
        patterns = {tuple(map(bool, row)) for row in self.allowed} | {(True,) * len(self.rooms)}
        return [
            (pattern, sum(
                s * n for s, n, row in zip(self.sizes, self.counts, self.allowed, strict=True)
                if all(p for p, r in zip(pattern, row, strict=True) if r)
            ))
            for pattern in sorted(patterns)
        ]  # fmt: skip

    def _by_trial(self, needs: Sequence[tuple[tuple[bool, ...], int]], struck: Sequence[set[int]]) -> list[int] | None:
        def good(chosen: tuple[int, ...]) -> bool:
            there = set(chosen)
            return not any(there <= out for out in struck) and all(
                sum(self.floors[k] for k in chosen if pattern[k]) >= need for pattern, need in needs
            )

        every = range(len(self.rooms))
        sets = [c for n in range(len(self.rooms) + 1) for c in combinations(every, n) if good(c)]
        best = min(sets, key=lambda c: (sum(self.rooms[k] for k in c), len(c), c), default=None)
        return None if best is None else list(best)

    def _model(self, chosen: Sequence[int]) -> tuple[Any, cp_model.CpModel, list[list[Any]]]:
        kit = _kit()
        model: cp_model.CpModel = kit.CpModel()
        there = set(chosen)
        count = [
            [model.new_int_var(0, n, f"{i} from {k}") if may and k in there else 0 for k, may in enumerate(row)]
            for i, (n, row) in enumerate(zip(self.counts, self.allowed, strict=True))
        ]
        for row, n in zip(count, self.counts, strict=True):
            model.add(sum(row) <= n)
        for k in chosen:
            model.add(sum(s * row[k] for s, row in zip(self.sizes, count, strict=True)) <= self.floors[k])
        return kit, model, count

    @staticmethod
    def _read(solver: cp_model.CpSolver, count: list[list[Any]]) -> Counts:
        return [[v if isinstance(v, int) else int(solver.value(v)) for v in row] for row in count]


def _kit() -> Any:
    try:
        from ortools.sat.python import cp_model
    except ImportError as error:
        raise EngineMissing("The cutting plan needs the ortools package: type `pip install ortools`.") from error
    return cp_model


def _solved(kit: Any, model: cp_model.CpModel) -> tuple[cp_model.CpSolver, Any]:
    """The model solved, the same way each time, and the solver's verdict."""
    solver: cp_model.CpSolver = kit.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = EFFORT
    return solver, solver.solve(model)
