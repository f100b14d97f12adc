"""Limbs in series brought together: one chain from junction to junction, its impedance a plain sum."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from loomwright.sound.netlist import Limb


@dataclass(frozen=True, slots=True)
class Chain:
    """Limbs one after another from node ``a`` to node ``b``; each with whether it is passed from its own a to its b."""

    a: str
    b: str
    limbs: tuple[tuple[Limb, bool], ...]


def chains(limbs: Sequence[Limb], keep: Collection[str]) -> tuple[Chain, ...]:
    """All limbs as chains that end at junctions and at the kept nodes; loose ends are left out."""
    left = {k: limb for k, limb in enumerate(limbs) if limb.a != limb.b}
    near = _near(left)
    loose = [n for n, ways in near.items() if len(ways) == 1 and n not in keep]
    while loose:
        node = loose.pop()
        for k in near.pop(node):
            limb = left.pop(k)
            other = limb.b if limb.a == node else limb.a
            near[other].remove(k)
            if len(near[other]) == 1 and other not in keep:
                loose.append(other)
    inner = {n for n, ways in near.items() if len(ways) == 2 and n not in keep}
    found, seen = [], set[int]()
    starts = [n for n in near if n not in inner] + [n for n in near if n in inner]
    for start in starts:
        for first in near[start]:
            if first in seen:
                continue
            node, k, passed = start, first, []
            while True:
                seen.add(k)
                limb = left[k]
                passed.append((limb, limb.a == node))
                node = limb.b if limb.a == node else limb.a
                onward = [j for j in near[node] if j not in seen]
                if node not in inner or node == start or not onward:
                    break
                k = onward[0]
            found.append(Chain(start, node, tuple(passed)))
    return tuple(found)


def _near(limbs: dict[int, Limb]) -> dict[str, list[int]]:
    near: dict[str, list[int]] = defaultdict(list)
    for k, limb in limbs.items():
        near[limb.a].append(k)
        near[limb.b].append(k)
    return dict(near)
