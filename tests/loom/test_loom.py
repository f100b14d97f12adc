"""The loom of a rig: lengths to cut, bundles, ends, disconnects."""

from __future__ import annotations

import math

import pytest

from loomwright.facts import harness
from loomwright.loom.disconnects import face, wire_side
from loomwright.loom.results import Bundle, Disconnect
from loomwright.power.heat import wire_heat
from loomwright.rig.file import parse
from loomwright.study import Study
from tests.findings.bases import TRIKE, spoiled, study
from tests.findings.edits import add, item, wire, without
from tests.findings.own_parts import catalogue


def bundle(text: str, run: int) -> Bundle:
    return next(b for b in study(text).loom.bundles if b.run == run)


def disconnect(text: str, name: str) -> Disconnect:
    return next(d for d in study(text).loom.disconnects if d.id == name)


class TestWires:
    def test_every_wire_but_the_bolted_ones_is_cut(self) -> None:
        made = study(TRIKE)
        assert [w.id for w in made.loom.wires] == [w.id for w in made.rig.wires if w.id != "P1"]

    def test_a_measured_wire_is_cut_as_measured(self) -> None:
        cut = study(TRIKE).loom.wire("P5")
        assert (cut.length_from, cut.slack_mm) == ("measured", 0.0)
        assert 600.0 <= cut.cut_mm <= 610.0

    def test_a_wire_from_the_runs_gets_slack_unless_the_place_says_its_own(self) -> None:
        plain = study(TRIKE).loom.wire("P6")
        assert plain.slack_mm == 2.0 * harness.slack_mm("service")
        said = spoiled(TRIKE, ("[place.deck]\n", "[place.deck]\nslack_mm = 0\n"),
                       ("[place.bars]\n", "[place.bars]\nslack_mm = 0\n"))  # fmt: skip
        assert study(said).loom.wire("P6").slack_mm == 0.0

    def test_no_cut_is_shorter_than_what_the_rig_reckons_with(self) -> None:
        for w in study(TRIKE).loom.wires:
            assert w.cut_mm >= w.length_mm >= w.slack_mm
            assert w.cut_mm % 5.0 == 0.0

    def test_speaker_wires_are_striped_on_the_minus_all_the_way(self) -> None:
        text = spoiled(
            TRIKE,
            item("mid", "connector_4_sealed", "deck"),
            wire(TRIKE, "S2", '"front_left.-"', '"mid.a1"'),
            add(TRIKE, "S5", 'id = "S11", from = "mid.b1", to = "front_left.-", size = "16 AWG"'),
        )
        colours = {w.id: w.colour for w in study(text).loom.wires}
        assert (colours["S1"], colours["S2"], colours["S11"]) == ("WH", "BKWH", "BKWH")

    def test_mass_by_hand(self) -> None:
        """Copper of 10 AWG: 5.261 mm2 x 8.89 g/cm3 = 46.8 g for a metre; insulation comes on top."""
        w = study(TRIKE).loom.wire("P5")
        copper = 5.261 * 8.89 * w.cut_mm / 1000.0
        assert copper < w.mass_g < 1.6 * copper


class TestBundles:
    def test_wires_of_a_run_and_how_thick_they_are(self) -> None:
        made = study(TRIKE)
        for b in made.loom.bundles:
            assert list(b.wires) == [w.id for w in made.rig.wires if b.run - 1 in w.route and w.id != "P1"]
            assert b.diameter_mm**2 >= sum(p.diameter_mm**2 for p in b.section)
            assert b.covered_mm >= b.diameter_mm
            assert b.hole_mm >= b.covered_mm
            for p in b.section:
                assert math.hypot(p.x_mm, p.y_mm) + p.diameter_mm / 2.0 <= b.diameter_mm / 2.0 + 1e-6

    def test_derating_is_the_one_that_power_reckons_with(self) -> None:
        made = study(TRIKE)
        heat = wire_heat(made.rig)
        worst: dict[str, float] = {}
        for b in made.loom.bundles:
            for w in b.wires:
                worst[w] = min(worst.get(w, 1.0), b.derating)
        for k, w in enumerate(heat.ids):
            if w in worst:
                assert heat.bundle_factor[k] == pytest.approx(worst[w])

    def test_a_wire_more_makes_the_bundle_thicker_and_heavier(self) -> None:
        more = spoiled(TRIKE, wire(TRIKE, "M3", ", length_mm = 600", ""))
        assert bundle(more, 4).mass_g == bundle(TRIKE, 4).mass_g
        fewer = spoiled(TRIKE, *without(TRIKE, "L1", "L2"))
        assert bundle(fewer, 2).diameter_mm < bundle(TRIKE, 2).diameter_mm
        assert bundle(fewer, 2).mass_g < bundle(TRIKE, 2).mass_g

    def test_the_body_that_must_pass(self) -> None:
        """58 x 37 x 18 mm: end on, the diagonal of 37 and 18 is 41.15 mm."""
        assert bundle(TRIKE, 4).connector == "plug"
        assert bundle(TRIKE, 4).connector_mm == pytest.approx(41.15, abs=0.01)

    def test_no_runs_no_bundles(self) -> None:
        made = study(TRIKE)
        assert all(b.wires for b in made.loom.bundles)


class TestEnds:
    @pytest.mark.parametrize(("wire_id", "terminal", "end"), [
        ("P2", "main.out", "ring lug M6, 25 mm2"), ("P3", "front_amp.supply+", "ferrule 6 mm2"),
        ("M1", "front_amp.remote", "ferrule 1 mm2"), ("P4", "plug.a1", "contact size 8"),
        ("S1", "front_left.+", "blade receptacle, red"), ("L1", "front_amp.in1", "plug for a screened lead"),
        ("V4", "frame.stud1", "ring lug M8, 16 mm2, star washer"), ("P6", "source.supply+", "butt splice, red"),
    ])  # fmt: skip
    def test_end(self, wire_id: str, terminal: str, end: str) -> None:
        made = next(e for e in study(TRIKE).loom.wire(wire_id).ends if e.terminal == terminal)
        assert made.end == end
        assert made.fits
        assert made.strip_mm > 0.0

    def test_a_bare_lug_gets_a_sleeve_that_goes_over_it_and_grips_the_wire(self) -> None:
        w = study(TRIKE).loom.wire("P2")
        _, sizes = w.ends[0].shrink.split(", ")
        wide, narrow = (float(x) for x in sizes.removesuffix(" mm").split(" to "))
        assert wide >= 1.2 * w.outside_mm
        assert narrow <= 0.9 * w.outside_mm

    def test_a_misfit_says_what_would_fit(self) -> None:
        text = spoiled(TRIKE, wire(TRIKE, "P3", '"10 AWG"', '"2/0 AWG"'))
        ends = study(text).loom.wire("P3").ends
        assert [e.fits for e in ends] == [False, False]
        assert "M8" in ends[0].would_fit
        assert "50" in ends[1].would_fit or "51.5" in ends[1].would_fit


class TestDisconnects:
    def test_live_half_lost_items_and_spares(self) -> None:
        d = disconnect(TRIKE, "plug")
        assert d.live == ("a",)
        assert d.lost == ("case_amp", "case_left", "case_right")
        assert d.no_return == ()
        assert d.sockets is None
        assert disconnect(TRIKE, "signal").spare == 3
        assert disconnect(TRIKE, "signal").live == ()

    def test_turned_round_the_other_half_is_live(self) -> None:
        turned = spoiled(TRIKE, wire(TRIKE, "P4", "plug.a1", "plug.b1"), wire(TRIKE, "P5", "plug.b1", "plug.a1"))
        assert disconnect(turned, "plug").live == ("b",)

    def test_what_a_contact_carries_is_what_the_network_says(self) -> None:
        made = study(TRIKE)
        d = next(d for d in made.loom.disconnects if d.id == "plug")
        most = max(
            abs(c.joints["contact:plug.1"].amps_a) for (_, p), c in made.power.cases.items() if p != "sine" and c.solved
        )
        assert d.contacts[0].amps_a == pytest.approx(most)

    def test_contacts_are_rated_down_by_how_many_are_loaded(self) -> None:
        d = disconnect(TRIKE, "plug")
        assert d.loaded == 2
        assert d.usable_a == pytest.approx(50.0 * harness.contact_share(2))
        shares = [harness.contact_share(n) for n in range(1, 30)]
        assert shares == sorted(shares, reverse=True)

    @pytest.mark.parametrize("n", [1, 2, 3, 4, 5, 8, 12])
    def test_the_wire_side_is_the_mirror_of_the_mating_side(self, n: int) -> None:
        mating = face(n)
        assert sorted(k for row in mating for k in row) == list(range(1, n + 1))
        assert wire_side(wire_side(mating)) == mating
        assert [row[0] for row in wire_side(mating)] == [row[-1] for row in mating]


def test_crossings_are_named() -> None:
    direct = '{ between = ["deck", "case"],'
    text = spoiled(TRIKE, (direct, '{ between = ["deck", "bars"], length_mm = 2600 },\n  ' + direct))
    found = {c.place: c for c in study(text).loom.crossings}
    assert found["bars"].line == ("L1", "L2")
    assert "P6" in found["bars"].feeds


def test_the_same_rig_gives_the_same_loom() -> None:
    assert Study(parse(TRIKE, "test.toml", catalogue())).loom == study(TRIKE).loom
