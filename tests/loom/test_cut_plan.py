"""The cutting plan: nothing is cut twice, nothing is cut from what is not there, and no plan is better."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from scipy.optimize import linprog

from loomwright import demo
from loomwright.errors import InputError
from loomwright.loom.cut_plan import CutPlan, Piece, fits, pieces, plan
from loomwright.loom.shopping import wire_to_buy
from loomwright.loom.stock_file import Spool, load_stock, parse_stock
from loomwright.rig.file import load
from loomwright.study import Study


def piece(name: str, length: float, colour: str = "WH", heat: int = 105) -> Piece:
    return Piece(name, "16 AWG", "copper", heat, colour, False, length)


def spool(name: str, length: float, colour: str = "WH", heat: int = 105) -> Spool:
    return Spool(name, "16 AWG", "copper", heat, colour, False, length)


def sound(found: CutPlan, wanted: list[Piece], spools: list[Spool]) -> None:
    named = {p.wire: p for p in wanted}
    shelf = {s.id: s for s in spools}
    cut = [w for c in found.cuts for w in c.wires]
    assert sorted([*cut, *(p.wire for p in found.missing)]) == sorted(named)
    for c in found.cuts:
        used = sum(named[w].length_mm for w in c.wires)
        assert used == pytest.approx(c.used_mm)
        assert c.used_mm + c.remnant_mm == pytest.approx(shelf[c.spool].length_mm)
        assert c.remnant_mm >= 0.0
        assert all(fits(named[w], shelf[c.spool]) for w in c.wires)


def lp_bound(wanted: list[Piece], spools: list[Spool]) -> float:
    """Least length of opened spools where pieces and spools may be had in parts: no plan can be below [mm]."""
    n, m = len(wanted), len(spools)
    cost = np.concatenate([np.zeros(n * m), [s.length_mm for s in spools]])
    each = np.zeros((n, n * m + m))
    room = np.zeros((m, n * m + m))
    for a, p in enumerate(wanted):
        for b, s in enumerate(spools):
            each[a, a * m + b] = 1.0 if fits(p, s) else 0.0
            room[b, a * m + b] = p.length_mm
    for b, s in enumerate(spools):
        room[b, n * m + b] = -s.length_mm
    made = linprog(cost, A_ub=room, b_ub=np.zeros(m), A_eq=each, b_eq=np.ones(n), bounds=(0, 1))
    assert made.status == 0
    return float(made.fun)


def test_the_demo_is_proven_and_not_below_the_linear_bound() -> None:
    study = Study(load(demo.path("carnival_trike_planned")))
    wanted, spools = list(pieces(study.loom.wires)), list(load_stock(demo.stock_path()))
    found = plan(wanted, spools)
    sound(found, wanted, spools)
    assert found.proven
    assert found.bound_mm == found.opened_mm
    held = [p for p in wanted if p not in found.missing]
    assert found.opened_mm >= lp_bound(held, spools) - 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_sixty_wires_are_proven(seed: int) -> None:
    rng = random.Random(seed)
    wanted = [piece(f"W{k}", rng.randint(30, 420) * 5.0) for k in range(60)]
    spools = [spool(f"s{k}", float(rng.randint(900, 14_000))) for k in range(14)]
    found = plan(wanted, spools)
    sound(found, wanted, spools)
    assert found.proven
    assert found.opened_mm >= lp_bound([p for p in wanted if p not in found.missing], spools) - 1e-6
    assert found == plan(wanted, spools)


@pytest.mark.parametrize("seed", range(30))
def test_small_cases_against_every_plan_there_is(seed: int) -> None:
    rng = random.Random(seed)
    colours = ["WH", "WH", "RD"]
    wanted = [piece(f"W{k}", rng.randint(1, 9) * 100.0, rng.choice(colours), rng.choice([105, 125])) for k in range(6)]
    spools = [
        spool(f"s{k}", rng.randint(2, 20) * 100.0, rng.choice(["", "WH", "RD"]), rng.choice([105, 125]))
        for k in range(3)
    ]
    found = plan(wanted, spools)
    sound(found, wanted, spools)
    assert found.proven
    best = min(
        key for way in itertools.product(range(-1, 3), repeat=6) if (key := score(way, wanted, spools)) is not None
    )
    assert (sum(p.length_mm for p in found.missing), found.opened_mm) == pytest.approx(best)


def score(way: tuple[int, ...], wanted: list[Piece], spools: list[Spool]) -> tuple[float, float] | None:
    used = [0.0] * len(spools)
    missing = 0.0
    for p, k in zip(wanted, way, strict=True):
        if k < 0:
            missing += p.length_mm
        elif fits(p, spools[k]):
            used[k] += p.length_mm
        else:
            return None
    if any(u > s.length_mm for u, s in zip(used, spools, strict=True)):
        return None
    return missing, sum(s.length_mm for u, s in zip(used, spools, strict=True) if u)


def test_a_spool_must_suit() -> None:
    want = piece("W", 500.0, "RD", 125)
    assert fits(want, spool("a", 500.0, "RD", 125))
    assert fits(want, spool("a", 500.0, "", 200))
    assert not fits(want, spool("a", 499.0, "RD", 125))
    assert not fits(want, spool("a", 900.0, "BK", 125))
    assert not fits(want, spool("a", 900.0, "RD", 105))


def test_what_is_missing_is_bought_with_a_little_more() -> None:
    found = plan([piece("A", 4000.0), piece("B", 7000.0)], [])
    assert [p.wire for p in found.missing] == ["A", "B"]
    (buy,) = wire_to_buy(found.missing)
    assert buy.needed_mm == 11_000.0
    assert buy.needed_mm * 1.05 <= buy.buy_mm < buy.needed_mm * 1.05 + 1000.0
    assert buy.reels * buy.reel_mm >= buy.buy_mm


def test_a_stock_file_says_everything_that_is_wrong_at_once() -> None:
    text = """
format = 1
[[spool]]
id = "a"
size = "8"
length_mm = 900
[[spool]]
id = "b"
size = "8 AWG"
length_mm = 0
[[spool]]
id = "a"
size = "8 AWG"
colour = "RDX"
length_mm = 900
reel = 3
"""
    with pytest.raises(InputError) as caught:
        parse_stock(text, "stock.toml")
    places = {p.place for p in caught.value.problems}
    assert {"spool[1].size", "spool[2].length_mm", "spool[3].id", "spool[3].colour", "spool[3].reel"} <= places


def test_the_demo_stock_is_marked_as_invented() -> None:
    assert "demo = true" in demo.stock_path().read_text("utf-8")
    assert load_stock(demo.stock_path())
