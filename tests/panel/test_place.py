"""Placement: against every layout there is on small boards, the proof, what would make it fit, the same each time."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import pytest

from loomwright import demo
from loomwright.panel import relax
from loomwright.panel.bodies import Body, lay
from loomwright.panel.layout import at_spots
from loomwright.panel.links import Link, cost
from loomwright.panel.model import Model, solved
from loomwright.panel.place import first_layout, place, tidied
from loomwright.panel.results import Placement, Where
from loomwright.panel.rules import broken
from loomwright.panel.search import Search
from loomwright.rig.catalogue import builtin
from loomwright.rig.file import parse
from loomwright.rig.plan import Panel
from tests.panel.rigs import board, launch, some


def cheapest(
    panel: Panel, bodies: tuple[Body, ...], links: tuple[Link, ...], fixed: dict[str, Where], step: int
) -> float:
    """The cheapest layout on a grid, by looking at every one. Infinite where none keeps the rules."""
    best = math.inf
    width, height = (int(v) for v in panel.size_mm)
    choices: list[list[Where]] = []
    for b in bodies:
        if b.id in fixed:
            choices.append([fixed[b.id]])
            continue
        spots = [Where(b.id, (float(x), float(y)), t, 1)
                 for t in b.turns for x in range(0, width - b.size_mm(t)[0], step)
                 for y in range(0, height - b.size_mm(t)[1], step)]  # fmt: skip
        choices.append([s for s in spots if not broken(panel, (b,), (lay(b, panel, s.at_mm, s.turn_deg, 1),))])
    for spots in product(*choices):
        items = at_spots(panel, bodies, spots)
        price = cost(panel, bodies, links, items).total_g
        if price < best and not broken(panel, bodies, items):
            best = price
    return best


@pytest.mark.parametrize("entry", [(130.0, 240.0), (260.0, 20.0)])
def test_one_item_beside_a_fixed_one_lies_where_every_trial_says(entry: tuple[float, float]) -> None:
    panel = board(260, 240, entry)
    bodies, links = some(panel, "fore_gnd", "fore_block")
    fixed = {"fore_gnd": Where("fore_gnd", (70.0, 20.0), 0, 1)}
    found = Search(panel, bodies, links, fixed).run(50_000)
    assert found.proven
    assert found.cost_mg / 1000 == pytest.approx(cheapest(panel, bodies, links, fixed, 1), abs=0.002)


def test_two_items_cost_no_more_than_any_layout_of_a_grid() -> None:
    panel = board(300, 260)
    bodies, links = some(panel, "fore_gnd", "fore_block", turns=(0, 180))
    found = Search(panel, bodies, links, {}).run(50_000)
    assert found.proven
    assert found.spots is not None
    items = at_spots(panel, bodies, found.spots)
    assert broken(panel, bodies, items) == ()
    assert cost(panel, bodies, links, items).total_g == pytest.approx(found.cost_mg / 1000, abs=0.002)
    assert found.cost_mg / 1000 <= cheapest(panel, bodies, links, {}, 10) + 0.002


ROUNDS = (
    ("fore_gnd", "fore_block"), ("fore_block", "processor"), ("fore_gnd", "bass_amp"),
    ("fore_gnd", "fore_block", "processor"), ("fore_gnd", "main_amp", "processor"),
)  # fmt: skip
NOTCHED = ((0.0, 0.0), (420.0, 0.0), (420.0, 260.0), (300.0, 260.0), (240.0, 340.0), (0.0, 340.0))


@pytest.mark.parametrize("names", ROUNDS)
@pytest.mark.parametrize("spacer_mm", [None, 50.0])
@pytest.mark.parametrize("outer", [None, NOTCHED])
def test_no_layout_of_the_other_solver_is_cheaper_than_the_proven_one(
    names: tuple[str, ...], spacer_mm: float | None, outer: tuple[tuple[float, float], ...] | None
) -> None:
    panel = board(420, 340, (100.0, 0.0), spacer_mm=spacer_mm, space_mm=150.0)
    panel = panel if outer is None else replace(panel, outer=outer)
    bodies, tied = some(panel, *names, turns=(0, 90, 180, 270))
    found = Search(panel, bodies, tied, {}).run(50_000)
    assert found.proven
    model = Model(panel, bodies, fixed={})
    model.model.minimize(model.cost(tied))
    read, _ = solved(model, 8.0)
    if read is None:
        return
    other = at_spots(panel, bodies, model.read(read))
    assert found.spots is not None
    mine = at_spots(panel, bodies, found.spots)
    assert broken(panel, bodies, mine) == ()
    assert cost(panel, bodies, tied, mine).total_g == pytest.approx(found.cost_mg / 1000, abs=0.002)
    if not broken(panel, bodies, other):
        assert cost(panel, bodies, tied, other).total_g >= found.cost_mg / 1000 - 0.002


def test_a_notch_a_hole_and_a_keep_out_are_kept_clear() -> None:
    notched = ((0.0, 0.0), (360.0, 0.0), (360.0, 300.0), (250.0, 300.0), (210.0, 240.0), (0.0, 240.0))
    ring = tuple((60.0 + 20.0 * math.cos(k), 60.0 + 20.0 * math.sin(k)) for k in range(6))
    panel = replace(board(360, 300, (330.0, 0.0)), outer=notched, holes=(ring,))
    bodies, links = some(panel, "fore_gnd", "fore_block")
    found = Search(panel, bodies, links, {}).run(50_000)
    assert found.proven
    assert found.spots is not None
    assert broken(panel, bodies, at_spots(panel, bodies, found.spots)) == ()


def test_the_tidy_layout_keeps_the_rules_and_costs_no_more() -> None:
    panel = board(420, 300)
    bodies, links = some(panel, "fore_gnd", "fore_block", "processor", turns=(0, 180))
    found = Search(panel, bodies, links, {}).run(50_000)
    assert found.spots is not None
    made = tidied(panel, bodies, links, {}, found.spots)
    items = at_spots(panel, bodies, made)
    assert broken(panel, bodies, items) == ()
    assert cost(panel, bodies, links, items).total_g <= found.cost_mg / 1000 + 0.002
    assert made == tidied(panel, bodies, links, {}, found.spots)


def test_something_low_goes_under_something_on_spacers_and_its_feet_stand_beside_it() -> None:
    panel = board(340, 225, (0.0, 112.0), spacer_mm=45.0, space_mm=150.0)
    bodies, links = some(panel, "fore_gnd", "processor", turns=(0,))
    bodies = tuple(replace(b, layer=2 if b.id == "processor" else 1) for b in bodies)
    found = Search(panel, bodies, links, {}).run(50_000)
    assert found.proven
    assert found.spots is not None
    items = at_spots(panel, bodies, found.spots)
    assert broken(panel, bodies, items) == ()
    flat = replace(panel, spacer_mm=None)
    on_board = tuple(replace(b, layer=None) for b in bodies)
    assert first_layout(flat, on_board, {}) == (None, True)


def test_a_placement_is_the_same_each_time_and_tells_how_far_it_is() -> None:
    told: list[float] = []

    def tell(progress: object) -> bool:
        told.append(getattr(progress, "cost_g", None) or 0.0)
        return False

    first, again = (place(launch(), "fore", effort=300, tell=tell) for _ in range(2))
    assert first == again
    assert first.status == "stopped"
    assert 0.0 < first.bound_g <= first.cost.total_g if first.cost else False
    assert len(told) > 4


@pytest.mark.parametrize("name", ["canal_launch", "carnival_trike_planned", "harvest_buggy"])
def test_a_demo_panel_is_placed_at_its_proven_optimum_and_nothing_is_left_between(name: str) -> None:
    rig = parse(demo.text(name), name)
    found = place(rig, next(iter(rig.panels)))
    assert found.cost is not None
    assert (found.status, found.gap) == ("proven", 0.0)
    assert found.cost.total_g == pytest.approx(found.bound_g, abs=0.002)


def test_cancelling_gives_the_best_so_far() -> None:
    found = place(launch(), "fore", effort=50_000, tell=lambda p: p.nodes > 250)
    assert found.status == "stopped"
    assert len(found.spots) == 5


def cramped(**changes: str) -> Placement:
    text = demo.text("canal_launch")
    for old, new in (("width_mm = 680", "width_mm = 420"), ("height_mm = 500", "height_mm = 330"),
                     ("entry_mm = [340, 500]", "entry_mm = [210, 330]")):  # fmt: skip
        text = text.replace(old, changes.get(old, new))
    rows = [r for r in text.splitlines() if not r.startswith(("at_mm", "turn_deg"))]
    return place(parse("\n".join(rows), "x"), "fore", catalogue=builtin())


def test_what_cannot_fit_is_proven_with_the_items_that_clash_and_what_would_help() -> None:
    found = cramped()
    assert found.status == "cannot fit"
    assert found.spots == ()
    assert set(found.clash) <= {"fore_block", "fore_gnd", "processor", "main_amp", "bass_amp"}
    assert len(found.clash) >= 2
    wider = next(r for r in found.relaxations if r.kind == "wider")
    assert wider.amount_mm > 0


def test_where_height_and_width_are_short_no_single_change_is_said_to_do() -> None:
    """A quad's board: too low for a hand at the fuses, and too narrow; either change alone leaves it as it was."""
    panel = board(200, 150, (0.0, 60.0), space_mm=60.0)
    bodies, _ = some(panel, "fore_block", turns=(0,))
    assert not relax.fits(replace(panel, space_mm=75.0), bodies, {})
    assert not relax.fits(replace(panel, outer=board(400, 400).outer), bodies, {})
    found = list(relax._relaxations(launch(), panel, bodies, {}, ("fore_block",), None))
    assert found
    for r in found:
        assert r.kind in ("wider", "higher")
        assert r.space_mm > panel.space_mm
        assert f"A space of {r.space_mm:g} mm, and " in r.text
        size = (200 + r.amount_mm, 150) if r.kind == "wider" else (200, 150 + r.amount_mm)
        made = board(size[0], size[1], (0.0, 60.0), space_mm=r.space_mm)
        assert first_layout(made, bodies, {})[0] is not None


def test_a_cable_entry_that_moves_along_is_told() -> None:
    bodies, _ = some(board(200, 150), "fore_block", turns=(0,))
    for entry_mm, moves in ((105.0, True), (60.0, False)):
        panel = board(200, 150, (0.0, entry_mm), space_mm=75.0)
        told = [r.text for r in relax._relaxations(launch(), panel, bodies, {}, ("fore_block",), None)
                if r.kind == "higher"]  # fmt: skip
        assert told
        assert all(("moved along" in text) is moves for text in told)


def test_so_much_wider_fits_and_a_millimetre_less_does_not() -> None:
    panel = board(300, 240)
    bodies, _ = some(panel, "fore_gnd", "fore_block", "processor", turns=(0,))
    more = relax._more(panel, bodies, {}, "wider")
    assert more is not None
    assert more > 0
    for grown, fits in ((more, True), (more - 1, False)):
        width = 300 + grown
        # The cable entry, in the middle of the lower edge, stays where it is.
        wide = board(width, 240, (150.0, 240.0))
        assert (first_layout(wide, bodies, {})[0] is not None) is fits


def test_an_item_larger_than_the_board_is_named_with_both_sizes() -> None:
    panel = board(150, 100)
    bodies, _ = some(panel, "main_amp", "fore_gnd")
    (said,) = [w for w in relax.cannot(panel, bodies) if "main_amp" in w]
    assert "larger than the board" in said
    assert "150 x 100 mm" in said
    low = board(600, 400, space_mm=45.0)
    assert any("42 mm high" in w for w in relax.cannot(low, some(low, "main_amp")[0]))
