"""Single rules at their edges: distances, margins, loads, charging."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.findings.loads import band_loads
from loomwright.findings.model import Finding
from loomwright.findings.registry import check_of
from loomwright.study import Study
from tests.findings.bases import BUGGY, LAUNCH, TRIKE, Edit, spoiled, study
from tests.findings.edits import COIL, MORE_DRIVERS, add, item, line, wire, without


def raised(code: str, base: str, *edits: Edit) -> tuple[Finding, ...]:
    return check_of(code)(study(spoiled(base, *edits)))


def feed(length_mm: int, *, sheath: bool = False, base: str = TRIKE) -> Edit:
    """The lead from the post to the main fuse of a base, with a length."""
    cover = ', cover = ["convoluted tube"]' if sheath else ""
    return wire(base, "P1", 'size = "bolted"', f'size = "4 AWG", length_mm = {length_mm}{cover}')


class TestDistance:
    """178 mm bare and 1016 mm sheathed are 33 CFR 183.455; 1829 mm at the post is ABYC E-11."""

    @pytest.mark.parametrize(("length_mm", "sheath", "ok"), [
        (178, False, True), (179, False, False), (1016, True, True), (1829, True, True), (1830, True, False),
    ])  # fmt: skip
    def test_off_the_water(self, length_mm: int, sheath: bool, ok: bool) -> None:
        assert (raised("E102", TRIKE, feed(length_mm, sheath=sheath)) == ()) is ok

    @pytest.mark.parametrize(("length_mm", "ok"), [(1016, True), (1017, False)])
    def test_law_on_a_petrol_inboard(self, length_mm: int, ok: bool) -> None:
        assert (raised("E102", LAUNCH, feed(length_mm, sheath=True, base=LAUNCH)) == ()) is ok

    def test_law_is_cited_as_law_only_where_it_binds(self) -> None:
        (ashore,) = raised("E102", TRIKE, feed(500))
        (afloat,) = raised("E102", LAUNCH, feed(500, base=LAUNCH))
        outboard = ('drive = "petrol inboard"', 'drive = "petrol outboard"')
        (out,) = raised("E102", LAUNCH, feed(500, base=LAUNCH), outboard)
        assert "cautious basis" in ashore.source
        assert "cautious basis" in out.source
        assert "cautious basis" not in afloat.source

    def test_long_and_bare_is_stop(self) -> None:
        assert [f.severity for f in raised("E102", TRIKE, feed(1017))] == ["Stop"]
        assert [f.severity for f in raised("E102", TRIKE, feed(1016))] == ["Fix"]

    def test_bolted_on_the_post_is_no_distance(self) -> None:
        assert raised("E102", TRIKE) == ()

    def test_starter_lead_is_exempt(self) -> None:
        starter = (
            item("starter", "starter_motor", "engine"),
            add(TRIKE, "V4", 'id = "K1", from = "battery.plus", to = "starter.supply+", size = "4 AWG"',
                'id = "K2", from = "starter.supply-", to = "frame.stud5", size = "4 AWG"'),
        )  # fmt: skip
        assert raised("E101", TRIKE, *starter) == ()

    def test_fuses_inside_an_amplifier_do_not_guard_its_lead(self) -> None:
        (found,) = raised("E101", TRIKE, wire(TRIKE, "P3", '"block.out1"', '"battery.plus"'))
        assert found.severity == "Stop"
        assert "front_amp" in found.evidence
        assert "not the lead" in found.evidence

    def test_remote_line_straight_from_the_battery_needs_a_fuse(self) -> None:
        live = wire(TRIKE, "M1", '"source.remote_out"', '"battery.plus"')
        (found,) = raised("E101", TRIKE, live)
        assert "M1" in found.where

    def test_sheath_does_not_replace_a_device(self) -> None:
        lead = '"battery.plus", cover = ["conduit"]'
        assert raised("E101", TRIKE, wire(TRIKE, "P6", '"block.out3"', lead)) != ()

    def test_switch_and_bar_do_not_count_as_devices(self) -> None:
        cut = (
            ('part = "holder_post"\nplace = "seat"\nfuses_a = [80]', 'part = "switch_battery_300a"\nplace = "seat"'),
        )
        (found,) = raised("E102", TRIKE, *cut, wire(TRIKE, "P2", '"4 AWG"', '"4 AWG", length_mm = 2000'))
        assert "block" in found.where
        assert "2000 mm" in found.evidence


class TestMargins:
    def test_gates_alone_raise_no_fix(self) -> None:
        """Wide gates prove nothing; where melting energy says 2 to 1 the pair is fine."""
        pairs = study(TRIKE).protection.pairs
        assert any(not p.proved and p.typical for p in pairs)
        assert raised("E207", TRIKE) == ()

    def test_thin_interrupting_margin_is_know(self) -> None:
        found = raised("E212", TRIKE)
        assert {f.severity for f in found} == {"Know"}
        assert raised("E203", TRIKE) == ()

    def test_second_battery_raises_the_fault_current(self) -> None:
        """Prospective current includes every battery tied in."""
        one = study(TRIKE).power.prospective_a["block.1"]
        two = study(spoiled(
            TRIKE, item("second", "agm_30ah", "seat"),
            add(TRIKE, "P1", 'id = "T1", from = "battery.plus", to = "second.plus", size = "2 AWG", length_mm = 150',
                'id = "T2", from = "battery.minus", to = "second.minus", size = "2 AWG", length_mm = 150'),
            *without(TRIKE, "V4"), wire(TRIKE, "V3", '"frame.stud2"', '"gnd.stud9"'),
            ('[item.frame]\npart = "frame_steel_tube"\nplace = "seat"\n', ""),
        )).power.prospective_a["block.1"]  # fmt: skip
        assert two > 1.15 * one

    def test_device_equal_to_the_wire_is_fine(self) -> None:
        """IEC 60364-4-43 433.1: the rating may equal the ampacity; 14 AWG at 105 C carries 35 A by 33 CFR 183.425."""
        fuse = ("fuses_a = [25, 25, 5, 0]", "fuses_a = [35, 25, 5, 0]")
        assert raised("E202", TRIKE, fuse, wire(TRIKE, "P3", '"10 AWG"', '"14 AWG"')) == ()


class TestLoads:
    def test_two_of_four_ohm_suit_a_two_ohm_amplifier(self) -> None:
        """Nominal against nominal, though two in parallel dip below 2 ohm."""
        first = (MORE_DRIVERS[1], add(
            TRIKE, "S2",
            'id = "S11", from = "front_left.+", to = "extra1.+", size = "16 AWG"',
            'id = "S12", from = "front_left.-", to = "extra1.-", size = "16 AWG"',
        ))  # fmt: skip
        text = spoiled(TRIKE, *first)
        assert band_loads(study(text).rig)["front_amp"][0] == pytest.approx(2.0)
        assert check_of("E904")(study(text)) == ()

    def test_two_way_crossover_counts_one_driver_for_each_band(self) -> None:
        """Four ohm woofer behind a coil, four ohm tweeter behind a capacitor: four ohm, not two."""
        extra = (
            wire(TRIKE, "S1", 'to = "front_left.+"', 'to = "coil.a"'),
            add(
                TRIKE, "S2",
                'id = "S11", from = "coil.b", to = "front_left.+", size = "16 AWG"',
                'id = "S12", from = "coil.a", to = "cap.a", size = "16 AWG"',
                'id = "S13", from = "cap.b", to = "tweeter.+", size = "16 AWG"',
                'id = "S14", from = "tweeter.-", to = "front_left.-", size = "16 AWG"',
            ),
            item("coil", "coil_0m47", "bars"), item("cap", "capacitor_film_15u", "bars"),
            item("tweeter", "tweeter_25mm", "bars"),
        )  # fmt: skip
        assert band_loads(study(spoiled(TRIKE, *extra)).rig)["front_amp"][0] == pytest.approx(4.0)

    def test_bridged_pair_is_held_to_its_own_least(self) -> None:
        bridge = (
            *without(TRIKE, "S3", "S4"), ('[item.front_right]\npart = "driver_6_5in"\nplace = "bars"\n', ""),
            wire(TRIKE, "S2", '"front_amp.ch1-"', '"front_amp.ch2-"'),
            ("[item.front_amp]\n", "[item.front_amp]\nbridged = [[1, 2]]\n"),
        )  # fmt: skip
        assert raised("E904", TRIKE, *bridge) == ()
        two_ohm = ('[item.front_left]\npart = "driver_6_5in"', '[item.front_left]\npart = "driver_10in_2ohm"')
        (found,) = raised("E904", TRIKE, *bridge, two_ohm)
        assert "2 Ω" in found.evidence
        assert "4 Ω" in found.evidence


class TestCharging:
    def test_lithium_behind_a_dcdc_charger_is_fine(self) -> None:
        swap = (
            ('[item.house]\npart = "agm_60ah"', '[item.house]\npart = "lfp_50ah"'),
            ('[item.parter]\npart = "isolator_relay_100a"', '[item.parter]\npart = "dcdc_20a_lfp"'),
            wire(BUGGY, "P2", "parter.main", "parter.in"), wire(BUGGY, "P3", "parter.aux", "parter.out"),
            add(BUGGY, "R10", 'id = "R3", from = "parter.ground", to = "start.minus", size = "4 AWG", length_mm = 400'),
        )  # fmt: skip
        assert raised("E705", BUGGY, *swap) == ()
        assert raised("E703", BUGGY, *swap) == ()
        assert raised("E704", BUGGY, *swap) == ()

    def test_isolator_parts_unlike_batteries(self) -> None:
        assert raised("E703", BUGGY) == ()

    def test_equal_batteries_may_be_tied(self) -> None:
        twin = (
            item("second", "agm_30ah", "seat", "charge_pct = 90"),
            add(TRIKE, "P1", 'id = "T1", from = "battery.plus", to = "second.plus", size = "2 AWG", length_mm = 150',
                'id = "T2", from = "gnd.stud9", to = "second.minus", size = "2 AWG"'),
        )  # fmt: skip
        assert raised("E703", TRIKE, *twin) == ()


class TestRemote:
    def test_daisy_chained_remote_inputs_are_all_counted(self) -> None:
        """Two amplifiers of 6 mA in a chain and a relay of 150 mA: 162 mA."""
        (found,) = raised("E901", TRIKE, *COIL, item("relay", "relay_40a", "deck"))
        assert "162 mA" in found.evidence

    def test_relay_contacts_take_the_load_off_the_output(self) -> None:
        """Only the coil hangs on the output; what the contact feeds does not."""
        behind = (
            add(TRIKE, "M1",
                'id = "M8", from = "source.remote_out", to = "relay.86", size = "18 AWG"',
                'id = "M9", from = "relay.85", to = "gnd.stud9", size = "18 AWG"',
                'id = "M10", from = "block.out4", to = "relay.30", size = "16 AWG"',
                'id = "M11", from = "relay.87", to = "case_amp.remote", size = "16 AWG"'),
            *without(TRIKE, "M2", "M3"), ('[item.signal]\npart = "connector_4_sealed"\nplace = "deck"\n', ""),
            item("relay", "relay_40a_diode", "deck"), ("fuses_a = [25, 25, 5, 0]", "fuses_a = [25, 25, 5, 1]"),
        )  # fmt: skip
        assert raised("E901", TRIKE, *behind) == ()
        assert raised("E903", TRIKE, *behind) == ()


def test_hot_wire_within_the_table_is_still_told() -> None:
    """The more cautious of heat balance and table counts: here the balance, put there by hand."""
    whole = study(TRIKE)
    key = ("cruise", "loud")
    case = whole.power.cases[key]
    hot = replace(case.wires["P3"], amps_a=20.0, temperature_c=112.0, model_c=112.0, ampacity_a=60.0, limit_c=105.0)
    spoiled_power = replace(
        whole.power, cases={**whole.power.cases, key: replace(case, wires={**case.wires, "P3": hot})}
    )
    changed = Study(whole.given)
    changed.__dict__.update(rig=whole.rig, power=spoiled_power, protection=whole.protection)
    (found,) = check_of("E502")(changed)
    assert found.where == ("P3",)
    assert "112 °C" in found.evidence
    assert found.severity == "Fix"
    assert check_of("E501")(changed) == ()
    assert check_of("E502")(whole) == ()


def test_provisional_is_carried_through() -> None:
    """A verdict that rests on gates from memory says so."""
    (found,) = raised("E991", TRIKE)
    assert found.provisional
    assert found.mark == "from memory"
    assert any(f.provisional for f in raised("E213", TRIKE))


def test_line_of_a_base_is_found() -> None:
    assert 'to = "block.in"' in line(TRIKE, "P2")
