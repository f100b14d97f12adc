"""What the rig tells the loom: routes by least cost, lengths with slack, colours; and what it refuses."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomwright.errors import InputError
from loomwright.facts import harness
from loomwright.loom.lengths import resistance_mohm
from loomwright.rig.edit_vehicle import set_place
from loomwright.rig.file import parse
from loomwright.rig.model import Rig, Run
from loomwright.rig.routes import Routes, weight
from tests.findings.bases import TRIKE, spoiled
from tests.findings.edits import wire
from tests.findings.own_parts import catalogue


def rig(text: str) -> Rig:
    return parse(text, "test.toml", catalogue())


def power(made: Rig, length_mm: float | None) -> float:
    """Resistance of M3 [mOhm], at its length or at another."""
    m3 = made.wire("M3")
    return resistance_mohm(m3 if length_mm is None else replace(m3, length_mm=length_mm))


def problems(text: str) -> list[tuple[str, str]]:
    with pytest.raises(InputError) as caught:
        rig(text)
    return [(p.place, p.received) for p in caught.value.problems]


class TestRoutes:
    SQUARE = (Run(("a", "b"), 500.0), Run(("b", "d"), 500.0), Run(("a", "c"), 450.0, ("hot",)), Run(("c", "d"), 450.0))

    def test_a_hazard_is_worth_a_detour_of_its_weight(self) -> None:
        """900 mm, half of it hot, cost 900 + 0.5 x 450 = 1125 against 1000."""
        way = Routes(self.SQUARE).way("a", "d")
        assert way is not None
        assert (way.runs, way.length_mm) == ((0, 1), 1000.0)
        assert weight(self.SQUARE[2]) == 1.0 + harness.hazard_weight("hot")

    def test_a_cover_that_answers_it_takes_most_of_the_weight_away(self) -> None:
        covered = (*self.SQUARE[:2], Run(("a", "c"), 450.0, ("hot",), ("heat sleeve",)), self.SQUARE[3])
        way = Routes(covered).way("a", "d")
        assert way is not None
        assert way.runs == (2, 3)
        assert way.cost_mm == pytest.approx(900.0 + 0.5 * 0.3 * 450.0)

    def test_keeping_apart_is_a_cost_and_no_ban(self) -> None:
        routes = Routes(self.SQUARE)
        apart = routes.way("a", "d", frozenset({0, 1}))
        assert apart is not None
        assert apart.runs == (2, 3)
        only = Routes(self.SQUARE[:2]).way("a", "d", frozenset({0, 1}))
        assert only is not None
        assert only.runs == (0, 1)

    def test_no_path(self) -> None:
        assert Routes(self.SQUARE).way("a", "e") is None

    def test_a_line_lead_keeps_out_of_the_runs_of_feeds_where_it_can(self) -> None:
        """Deck to bars: over the seat with the feeds, 2100 mm, or straight, 2600 mm."""
        direct = '{ between = ["deck", "case"],'
        made = rig(spoiled(TRIKE, (direct, '{ between = ["deck", "bars"], length_mm = 2600 },\n  ' + direct)))
        assert made.wire("P6").route == (0, 1)
        assert made.wire("L1").route == (3,)
        assert {frozenset(made.wire(w).route) for w in ("S1", "M1")} == {frozenset({0, 1})}


class TestLengths:
    def test_slack_and_tails_count_in_every_length_from_the_runs(self) -> None:
        """By hand: 900 and 1200 mm of runs, then what the places and the item say."""
        said = rig(spoiled(TRIKE, ("[place.deck]\n", "[place.deck]\nslack_mm = 70\n"),
                           ("[place.bars]\n", "[place.bars]\nslack_mm = 30\n"),
                           ("[item.source]\n", "[item.source]\ntail_mm = 120\n")))  # fmt: skip
        assert said.wire("P6").length_mm == 2100.0 + 70.0 + 30.0 + 120.0
        assert said.wire("P6").slack_mm == 100.0
        assert said.wire("P5").length_mm == 600.0, "a measured length counts as it is"
        assert said.wire("P4").length_mm == 200.0

    def test_usual_slack_is_in_the_length_that_volts_are_reckoned_with(self) -> None:
        """40 mm at each end for service; 150 mm more at a connector, and where place or item comes off."""
        assert rig(TRIKE).wire("P6").length_mm == 2100.0 + 40.0 + 40.0
        free = rig(spoiled(TRIKE, wire(TRIKE, "M3", ", length_mm = 600", "")))
        assert free.wire("M3").length_mm == 700.0 + 190.0 + 190.0
        before, after = (power(free, mm) for mm in (None, 700.0))
        assert before == pytest.approx(after * 1080.0 / 700.0, rel=0.01), "the slack has its resistance"

    @pytest.mark.parametrize(("key", "value"), [("length_mm", 0), ("length_mm", -5)])
    def test_no_length_of_nothing(self, key: str, value: float) -> None:
        assert any(p.startswith("run[4]") for p, _ in problems(TRIKE.replace("length_mm = 700, hazards = [\"edge\"]",
                                                                             f"{key} = {value}, hazards = [\"edge\"]")))
        bad = spoiled(TRIKE, wire(TRIKE, "P4", "length_mm = 200", f"length_mm = {value}"))
        assert any("P4" in p for p, _ in problems(bad))

    def test_runs_that_form_no_path_name_both_places(self) -> None:
        run = '  { between = ["seat", "bars"], length_mm = 1200, hazards = ["moving"], cover = ["braided sleeve"] },\n'
        with pytest.raises(InputError) as caught:
            rig(spoiled(TRIKE, (run, "")))
        one = next(p for p in caught.value.problems if "(P6)" in p.place)
        assert "deck" in one.expected
        assert "bars" in one.expected
        assert one.remedy


RING = (
    '  { between = ["seat", "deck"]',
    '  { between = ["case", "bars"], length_mm = 4000 },\n  { between = ["seat", "deck"]',
)


def led(via: str, extra: str = "") -> str:
    return spoiled(TRIKE, RING, wire(TRIKE, "P6", '"16 AWG"', f'"16 AWG", via = {via}{extra}'))


class TestLedByHand:
    def test_a_wire_goes_over_the_places_that_it_names(self) -> None:
        """Deck to case 700 mm, case to bars 4000 mm; by itself over the seat, 2100 mm."""
        assert rig(spoiled(TRIKE, RING)).wire("P6").length_mm == 2100.0 + 80.0
        made = rig(led('["case"]')).wire("P6")
        assert (made.length_mm, made.via) == (4700.0 + 80.0, ("case",))
        assert len(made.route) == 2

    def test_what_was_measured_counts_and_the_bundle_follows_the_way(self) -> None:
        made = rig(led('["case"]', ", length_mm = 5000")).wire("P6")
        assert (made.length_mm, len(made.route)) == (5000.0, 2)

    @pytest.mark.parametrize("via", ['["engine"]', '["seat", "deck", "seat"]'])
    def test_there_and_back_is_refused(self, via: str) -> None:
        ((place, received),) = problems(led(via))
        assert place.endswith("(P6).via")
        assert "took before" in received

    def test_a_place_that_is_not_there_names_the_nearest(self) -> None:
        with pytest.raises(InputError) as caught:
            rig(led('["cas"]'))
        assert [p.remedy for p in caught.value.problems] == ['Did you mean "case"?']

    def test_no_run_to_a_place(self) -> None:
        text = led('["attic"]').replace("[place.case]", "[place.attic]\n[place.case]")
        (found,) = (p for p in problems(text) if p[0].endswith(".via"))
        assert found[1] == "none"

    def test_a_bolted_joint_has_no_way(self) -> None:
        text = spoiled(TRIKE, wire(TRIKE, "P1", '"bolted"', '"bolted", via = ["deck"]'))
        assert problems(text) == [("wire[1] (P1).via", "deck")]

    def test_the_name_follows_a_place_that_is_renamed(self) -> None:
        assert rig(set_place(led('["case"]'), "case", {}, "trunk")).wire("P6").via == ("trunk",)


class TestColoursAndKeys:
    def test_letters_are_checked(self) -> None:
        assert rig(spoiled(TRIKE, wire(TRIKE, "P2", '"4 AWG"', '"4 AWG", colour = "RDBU"'))).wire("P2").colour == "RDBU"
        ((place, received),) = problems(spoiled(TRIKE, wire(TRIKE, "P2", '"4 AWG"', '"4 AWG", colour = "red"')))
        assert (place, received) == ("wire[2] (P2).colour", '"red"')

    def test_connector_keys_stand_on_connectors_only(self) -> None:
        found = problems(spoiled(TRIKE, ("[item.gnd]\n", '[item.gnd]\nkey = 2\nsockets = "b"\n')))
        assert {p for p, _ in found} == {"item.gnd.key", "item.gnd.sockets"}

    def test_a_key_that_the_part_does_not_have(self) -> None:
        ((place, _),) = problems(spoiled(TRIKE, ("[item.signal]\n", "[item.signal]\nkey = 2\n")))
        assert place == "item.signal.key"

    def test_more_wires_than_contacts(self) -> None:
        text = spoiled(TRIKE, wire(TRIKE, "M2", '"signal.a1"', '"signal.a5"'))
        assert any(r == '"signal.a5"' for _, r in problems(text))
        twice = spoiled(TRIKE, wire(TRIKE, "R4", '"plug.a2"', '"plug.a1"'))
        assert problems(twice)
