"""Every series-parallel arrangement, held against brute force over all trees and against counts in print."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from itertools import combinations

import pytest

from loomwright.sound.arrangements import Net, networks, shares

Case = tuple[Fraction, tuple[Fraction, ...]]
"""Ohms of a network, and the share of its volts that each driver gets, in the order of the drivers."""
OHMS = (2, 3, 5, 7, 11, 13)


@cache
def brute(drivers: tuple[int, ...]) -> frozenset[Case]:
    """Every binary tree over some drivers, each node series or parallel, as ohms and shares; shares are 0 elsewhere."""
    if len(drivers) == 1:
        return frozenset({(Fraction(OHMS[drivers[0]]), tuple(Fraction(int(d == drivers[0])) for d in range(6)))})
    found = set()
    for size in range(len(drivers) - 1):
        for more in combinations(drivers[1:], size):
            left = (drivers[0], *more)
            right = tuple(d for d in drivers if d not in left)
            for r1, s1 in brute(left):
                for r2, s2 in brute(right):
                    a, b = r1 / (r1 + r2), r2 / (r1 + r2)
                    found.add((r1 + r2, tuple(x * a + y * b for x, y in zip(s1, s2, strict=True))))
                    found.add((r1 * r2 / (r1 + r2), tuple(x + y for x, y in zip(s1, s2, strict=True))))
    return frozenset(found)


def ohms(net: Net, of: dict[int, list[int]]) -> Case:
    """A network with ohms for its drivers, taken in turn from those of each kind."""
    if net.op is None:
        driver = of[net.kind].pop()
        return Fraction(OHMS[driver]), tuple(Fraction(int(d == driver)) for d in range(6))
    parts = [ohms(b, of) for b in net.branches]
    if net.op == "series":
        total = sum((r for r, _ in parts), Fraction(0))
        weights = [r / total for r, _ in parts]
    else:
        total = 1 / sum((1 / r for r, _ in parts), Fraction(0))
        weights = [Fraction(1)] * len(parts)
    each = list(zip(weights, parts, strict=True))
    return total, tuple(sum((w * s[d] for w, (_, s) in each), Fraction(0)) for d in range(6))


@pytest.mark.parametrize("n", range(1, 7))
def test_unlike_drivers_give_what_brute_force_gives(n: int) -> None:
    ours = [ohms(net, {k: [k] for k in range(n)}) for net in networks((1,) * n)]
    assert len(set(ours)) == len(ours)
    assert set(ours) == brute(tuple(range(n)))


@pytest.mark.parametrize(
    "counts", [(2,), (3,), (4,), (5,), (6,), (2, 1), (2, 2), (3, 2), (4, 2), (2, 2, 2), (3, 2, 1)]
)
def test_like_drivers_give_what_brute_force_gives_up_to_swapping(counts: tuple[int, ...]) -> None:
    """Swapping like drivers turns one network of unlike ones into another; each class is there once."""
    n = sum(counts)
    kind_of = [k for k, c in enumerate(counts) for _ in range(c)]

    def forms(nets: tuple[Net, ...], names: bool) -> set[object]:
        return {form(net, names) for net in nets}

    def form(net: Net, names: bool) -> object:
        if net.op is None:
            return ("driver", kind_of[net.kind] if names else net.kind)
        return (net.op, tuple(sorted((form(b, names) for b in net.branches), key=repr)))

    ours = networks(counts)
    assert len(forms(ours, names=False)) == len(ours)
    assert forms(ours, names=False) == forms(networks((1,) * n), names=True)


@pytest.mark.parametrize(("n", "count"), [*enumerate((1, 2, 4, 10, 24, 66, 180, 522), 1)])
def test_counts_of_like_drivers_are_those_in_print(n: int, count: int) -> None:
    """J. Riordan and C. E. Shannon, The number of two-terminal series-parallel networks, J. Math. Phys. 21 (1942)."""
    assert len(networks((n,))) == count


def test_drivers_are_spread_over_like_channels_once() -> None:
    """Two like drivers on two like channels: both on one (series or parallel) or one each. Unlike channels: each of the
    two may take both: five ways.
    """
    assert len(list(shares((2,), (0, 0)))) == 3
    assert len(list(shares((2,), (0, 1)))) == 5


def test_unlike_drivers_are_spread_over_channels() -> None:
    """Two unlike drivers, two like channels: together in two ways on one, or one each."""
    assert len(list(shares((1, 1), (0, 0)))) == 3
