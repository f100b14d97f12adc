"""A circuit of admittances between two nodes, solved by taking one node out after another.

Taking a node out joins all its neighbours with each other (star to mesh): exact, and with nothing to subtract, so that
a milliohm beside a megohm loses no digits. Admittances are arrays that broadcast: (F,) for what is fixed, (D, F) for
what is drawn anew in every draw. Only what depends on the draws costs their number.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.sound.frequencies import Complexes

LEAST_OHM = 1e-6
"""An ideal join; and in series with every reactance, so that no loop is without loss [ohm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Branch:
    """An admittance between two nodes [S], (F,) or (D, F)."""

    id: str
    a: str
    b: str
    siemens: Complexes


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """A solved circuit: 1 V at ``plus``, 0 V at ``minus``."""

    impedance_ohm: Complexes | None
    """What the source sees, (F,) or (D, F); None where nothing joins plus and minus."""
    volts: Mapping[str, Complexes]
    """Volts at the nodes that were asked for; nodes that nothing reaches are left out."""

    def across(self, a: str, b: str) -> Complexes | None:
        """Volts from node ``a`` to node ``b``; None where the circuit does not reach both."""
        if a not in self.volts or b not in self.volts:
            return None
        return self.volts[a] - self.volts[b]


def solve(branches: Sequence[Branch], plus: str, minus: str, wanted: Iterable[str] | None = None) -> Solution:
    """Solve a circuit driven from ``plus`` to ``minus``.

    Parameters
    ----------
    wanted : names of nodes
        Whose volts are needed; all where left out.
    """
    near = _reached({plus: {}, **_meet(branches)}, plus)
    one = np.ones(1, dtype=np.complex128)
    if minus not in near:
        volts = dict.fromkeys(near, one) if wanted is None else {n: one for n in wanted if n in near}
        return Solution(None, volts)
    taken = _eliminate(near, {plus, minus})
    through = near[plus].get(minus)
    volts = {plus: one, minus: np.zeros(1, dtype=np.complex128)}
    need = _needed(taken, wanted)
    for node, ways, total in reversed(taken):
        if node not in need:
            continue
        if len(ways) == 1:
            volts[node] = volts[next(iter(ways))]
            continue
        parts = [y * volts[other] for other, y in ways.items() if other != minus]
        summed = parts[0]
        for part in parts[1:]:
            summed = summed + part
        volts[node] = summed / total
    return Solution(None if through is None else 1.0 / through, volts)


def _meet(branches: Sequence[Branch]) -> dict[str, dict[str, Complexes]]:
    """Neighbours of every node, parallel branches added up."""
    near: dict[str, dict[str, Complexes]] = {}
    for branch in branches:
        if branch.a == branch.b:
            continue
        for a, b in ((branch.a, branch.b), (branch.b, branch.a)):
            there = near.setdefault(a, {})
            there[b] = there[b] + branch.siemens if b in there else branch.siemens
    return near


def _reached(near: Mapping[str, Mapping[str, Complexes]], plus: str) -> dict[str, dict[str, Complexes]]:
    """What hangs together with ``plus``."""
    reached, todo = {plus}, [plus]
    while todo:
        for other in near[todo.pop()]:
            if other not in reached:
                reached.add(other)
                todo.append(other)
    return {n: dict(ways) for n, ways in near.items() if n in reached}


def collapse(branches: Sequence[Branch], keep: Collection[str]) -> tuple[Branch, ...]:
    """Branches that join the kept nodes as the given ones do, every other node taken out."""
    near = _meet(branches)
    order = {n: k for k, n in enumerate(near)}
    _eliminate(near, keep)
    return tuple(
        Branch(f"{a} {b}", a, b, y) for a in near for b, y in near[a].items() if order[a] < order[b]
    )


def _eliminate(
    near: dict[str, dict[str, Complexes]], keep: Collection[str]
) -> list[tuple[str, dict[str, Complexes], Complexes]]:
    """Take out every node that is not kept, the cheapest first; each with its ways at that time and their sum."""
    left = {n: k for k, n in enumerate(near) if n not in keep}
    taken = []
    while left:
        node = min(left, key=lambda n: (len(near[n]), sum(y.size for y in near[n].values()), left[n]))
        del left[node]
        ways = near.pop(node)
        if not ways:
            continue
        for other in ways:
            del near[other][node]
        total = _sum(list(ways.values()))
        taken.append((node, ways, total))
        ends = list(ways)
        for k, a in enumerate(ends):
            share = ways[a] / total if k + 1 < len(ends) else ways[a]
            for b in ends[k + 1 :]:
                y = share * ways[b]
                both = near[a][b] + y if b in near[a] else y
                near[a][b] = near[b][a] = both
    return taken


def _sum(values: list[Complexes]) -> Complexes:
    total = values[0]
    for value in values[1:]:
        total = total + value
    return total


def _needed(
    taken: Sequence[tuple[str, Mapping[str, Complexes], Complexes]], wanted: Iterable[str] | None
) -> set[str]:
    """Nodes whose volts have to be worked out, so that those of the wanted ones can be."""
    if wanted is None:
        return {node for node, _, _ in taken}
    need = set(wanted)
    for node, ways, _ in taken:
        if node in need:
            need.update(ways)
    return need
