"""The solver itself: against the formulas for series and parallel, and against what any network of this kind obeys."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.sound.circuit import Branch, collapse, solve

ADMITTANCE = st.builds(
    complex, st.floats(1e-4, 10.0), st.floats(-5.0, 5.0)
)  # a positive real part: nothing in a speaker lead gives power


@dataclass(frozen=True)
class Tree:
    """A leaf, or pieces in series or in parallel."""

    kind: str
    siemens: complex = 0j
    parts: tuple[Tree, ...] = ()

    def total(self) -> complex:
        if self.kind == "leaf":
            return self.siemens
        found = [p.total() for p in self.parts]
        return sum(found) if self.kind == "parallel" else 1 / sum(1 / y for y in found)

    def branches(self, a: str, b: str, path: str = "") -> list[Branch]:
        if self.kind == "leaf":
            return [Branch(path, a, b, np.array([self.siemens]))]
        if self.kind == "parallel":
            return [x for k, p in enumerate(self.parts) for x in p.branches(a, b, f"{path}{k}")]
        ends = [a, *(f"{path}n{k}" for k in range(len(self.parts) - 1)), b]
        pieces = zip(self.parts, ends[:-1], ends[1:], strict=True)
        return [x for k, (p, i, j) in enumerate(pieces) for x in p.branches(i, j, f"{path}{k}")]


TREES = st.recursive(
    ADMITTANCE.map(lambda y: Tree("leaf", y)),
    lambda inner: st.builds(
        Tree, st.sampled_from(["series", "parallel"]), st.just(0j), st.lists(inner, min_size=2, max_size=3).map(tuple)
    ),
    max_leaves=12,
)
NETS = st.lists(
    st.tuples(st.integers(0, 5), st.integers(0, 5), ADMITTANCE), min_size=1, max_size=14
).map(lambda rows: [Branch(str(k), f"n{a}", f"n{b}", np.array([y])) for k, (a, b, y) in enumerate(rows)])


@given(TREES)
def test_series_and_parallel(tree: Tree) -> None:
    found = solve(tree.branches("plus", "minus"), "plus", "minus").impedance_ohm
    assert found is not None
    assert found[0] == pytest.approx(1 / tree.total(), rel=1e-9)


@given(NETS)
def test_nothing_is_lost_or_made(net: list[Branch]) -> None:
    """What goes in is what the branches take, and no current stays at a node."""
    solved = solve(net, "n0", "n1")
    if solved.impedance_ohm is None:
        return
    taken = sum(
        complex((abs(solved.volts[b.a] - solved.volts[b.b]) ** 2 * b.siemens.conj())[0])
        for b in net
        if b.a in solved.volts
    )
    assert taken == pytest.approx(complex((1 / solved.impedance_ohm).conj()[0]), rel=1e-8)
    for node, volts in solved.volts.items():
        if node not in ("n0", "n1"):
            away = [(volts - solved.volts[b.b if b.a == node else b.a]) * b.siemens for b in net if node in (b.a, b.b)]
            assert abs(sum(complex(x[0]) for x in away)) < 1e-8 * max(1.0, *(abs(complex(x[0])) for x in away))


@given(NETS)
def test_either_way_round_and_collapsed_it_is_the_same(net: list[Branch]) -> None:
    there, back = solve(net, "n0", "n1").impedance_ohm, solve(net, "n1", "n0").impedance_ohm
    short = solve(collapse(net, ("n0", "n1")), "n0", "n1").impedance_ohm
    if there is None or back is None or short is None:
        assert there is back is short is None
        return
    assert back == pytest.approx(there, rel=1e-8)
    assert short == pytest.approx(there, rel=1e-8)


def test_a_milliohm_beside_a_megohm_loses_no_digits() -> None:
    net = [Branch(str(k), a, b, np.array([1 / ohm + 0j])) for k, (a, b, ohm) in enumerate(
        [("p", "x", 1e-6), ("x", "y", 1e6), ("y", "m", 1e-6), ("x", "m", 1e-3)]
    )]  # fmt: skip
    found = solve(net, "p", "m").impedance_ohm
    assert found is not None
    assert found[0].real == pytest.approx(1e-6 + 1 / (1 / 1e-3 + 1 / (1e6 + 1e-6)), rel=1e-12)


def test_nodes_that_hang_loose_take_the_volts_of_what_they_hang_on() -> None:
    half = np.array([0.5 + 0j])
    net = [Branch("a", "p", "x", half), Branch("b", "x", "m", half), Branch("c", "x", "loose", half)]
    assert solve(net, "p", "m").volts["loose"] == pytest.approx([0.5])
