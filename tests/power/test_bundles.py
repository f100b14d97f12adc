"""Which wires count in a bundle."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.power.bundles import LIGHT_A, bundle_counts, heavy_wires, tree_amps_a
from loomwright.power.draws import loud_draws_a
from tests.protection.rigs import HEAD, ITEMS, WIRES, rig


def test_feed_and_return_that_share_a_run_count_and_signal_leads_do_not():
    line = ("L1", "head.out1", "front.in1", "18 AWG", 400)
    made = rig(wires=(*WIRES, line))
    assert {w.id for w in made.wires if w.route} == {"P2", "R1"}
    assert bundle_counts(made)["P2"] == bundle_counts(made)["R1"] == 2
    assert bundle_counts(made)["P3"] == 1


def test_remote_and_light_grounds_in_a_full_run_are_not_counted():
    items = ITEMS.replace('[item.head]\npart = "source_line_2out"\nplace = "case"',
                          '[item.head]\npart = "source_line_2out"\nplace = "seat"')
    made = rig(items)
    crossing = {w.id for w in made.wires if w.route}
    assert {"P5", "R5", "M1"} <= crossing
    assert {w.id for w in heavy_wires(made)} & crossing == {"P2", "R1"}
    assert bundle_counts(made)["M1"] == 2


def test_a_bolted_joint_is_no_wire():
    made = rig(wires=(("P1", "battery.plus", "main.in", "bolted", 0), *WIRES[1:]))
    assert "P1" not in {w.id for w in heavy_wires(made)}


def test_currents_add_up_towards_the_battery():
    made = rig()
    amps, draws = tree_amps_a(made), loud_draws_a(made)
    assert amps["P3"] == pytest.approx(draws["front"])
    assert amps["P2"] == pytest.approx(draws["front"] + draws["rear"] + draws["head"])
    assert amps["R1"] == pytest.approx(amps["P1"])
    assert amps["P5"] < LIGHT_A < amps["P3"]


def test_a_wire_between_sources_always_counts():
    stator = '[item.stator]\npart = "stator_20a"\nplace = "case"\n'
    wires = (*WIRES, ("C1", "stator.out", "battery.plus", "10 AWG", 1200),
             ("C3", "stator.ground", "battery.minus", "10 AWG", 1200))
    made = rig(ITEMS + stator, wires, HEAD)
    assert {"C1", "C3"} <= {w.id for w in heavy_wires(made)}
    assert bundle_counts(made)["P2"] == 4


def test_the_order_of_the_wires_does_not_matter():
    made = rig()
    turned = replace(made, wires=tuple(reversed(made.wires)))
    assert dict(bundle_counts(turned)) == dict(bundle_counts(made))
