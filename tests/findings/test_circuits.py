"""Loudspeaker circuits and safety loads at their edges."""

from __future__ import annotations

import pytest

from loomwright import demo
from loomwright.findings.model import Finding
from loomwright.findings.registry import check_of
from loomwright.rig.file import parse
from loomwright.study import Study
from tests.findings.bases import LAUNCH, TRIKE, Edit, spoiled, study
from tests.findings.circuit_cases import PUMP
from tests.findings.edits import MORE_DRIVERS, add, item, wire, without
from tests.findings.more_cases import BRIDGED
from tests.findings.sound_cases import PAIR, UNSAID_BRIDGE, speaker_level

OPEN = ("E906", "E907", "E908")


def raised(*edits: Edit) -> list[Finding]:
    made = study(spoiled(TRIKE, *edits))
    return [f for code in OPEN for f in check_of(code)(made)]


def test_speaker_level_input_closes_the_circuit_of_an_output() -> None:
    whole = study(spoiled(LAUNCH, *speaker_level(*PAIR)))
    assert [f.evidence for code in (*OPEN, "E914", "E940") for f in check_of(code)(whole)] == []


def test_unsaid_bridge_is_told_as_what_it_is() -> None:
    assert raised(*UNSAID_BRIDGE) == []
    assert [f.code for f in check_of("E914")(study(spoiled(TRIKE, *UNSAID_BRIDGE)))] == ["E914"]


@pytest.mark.parametrize("lost", ["S1", "S2", "S3", "S4", "S5", "S6", "S7", "S8"])
def test_each_speaker_wire_that_is_missing_is_told_once(lost: str) -> None:
    found = raised(*without(TRIKE, lost))
    assert [(f.code, f.severity) for f in found] == [("E906", "Fix")]
    ends = {ref for w in study(TRIKE).rig.wires if w.id == lost for ref in (w.start, w.end)}
    assert ends <= set(found[0].where)


def test_what_is_closed_is_left_alone() -> None:
    """Drivers side by side, in series, behind a crossover, and on a bridged pair."""
    in_series = (
        wire(TRIKE, "S2", '"front_left.-"', '"second.-"'),
        add(TRIKE, "S3", 'id = "S9", from = "front_left.-", to = "second.+", size = "16 AWG"'),
        item("second", "driver_6_5in", "bars"),
    )
    crossover = (
        wire(TRIKE, "S1", 'to = "front_left.+"', 'to = "cap.a"'),
        add(TRIKE, "S3", 'id = "S9", from = "cap.b", to = "front_left.+", size = "16 AWG"'),
        item("cap", "capacitor_film_15u", "bars"),
    )
    pad = (
        wire(TRIKE, "S1", 'to = "front_left.+"', 'to = "pad.a"'),
        wire(TRIKE, "S2", 'to = "front_left.-"', 'to = "pad.c"'),
        add(
            TRIKE, "S3",
            'id = "S9", from = "pad.b", to = "front_left.+", size = "16 AWG"',
            'id = "S10", from = "pad.c", to = "front_left.-", size = "16 AWG"',
        ),
        item("pad", "pad_3db_4ohm", "bars"),
    )  # fmt: skip
    bridged = (*BRIDGED, wire(TRIKE, "S2", '"front_amp.ch1-"', '"front_amp.ch2-"'))
    for edits in (MORE_DRIVERS, in_series, crossover, pad, bridged):
        assert raised(*edits) == []


def test_a_spare_channel_is_no_fault() -> None:
    spare = (*without(TRIKE, "S3", "S4"), ('[item.front_right]\npart = "driver_6_5in"\nplace = "bars"\n', ""))
    assert raised(*spare) == []


def test_the_second_of_two_in_series_left_open_is_named() -> None:
    found = raised(
        wire(TRIKE, "S2", '"front_left.-"', '"second.-"'),
        item("second", "driver_6_5in", "bars"),
    )
    assert [f.code for f in found] == ["E906"]
    assert {"front_left.-", "second.+"} <= set(found[0].where)


def test_a_driver_hanging_on_another_by_one_wire_is_named() -> None:
    found = raised(
        add(TRIKE, "S2", 'id = "S9", from = "front_left.+", to = "extra.+", size = "16 AWG"'),
        item("extra", "driver_6_5in", "bars"),
    )
    assert [f.code for f in found] == ["E906"]
    assert found[0].where == ("extra", "extra.-")


def test_a_bridged_pair_on_the_wrong_terminals_is_told_once() -> None:
    assert raised(*BRIDGED) == []
    assert check_of("E905")(study(spoiled(TRIKE, *BRIDGED)))


class TestSafety:
    def test_a_pump_on_its_own_fuse_at_the_battery_is_fine(self) -> None:
        own = (
            add(
                TRIKE, "V1",
                'id = "P7", from = "pump_fuse.out", to = "pump.supply+", size = "14 AWG"',
                'id = "P8", from = "battery.plus", to = "pump_fuse.in", size = "14 AWG", length_mm = 120',
                'id = "R7", from = "pump.supply-", to = "gnd.stud5", size = "14 AWG"',
            ),
            item("pump", "bilge_pump", "deck"),
            item("pump_fuse", "holder_c", "seat", "fuses_a = [7.5]"),
            ('[item.battery]\npart = "agm_30ah"', '[item.battery]\npart = "wide_post"'),
        )  # fmt: skip
        assert check_of("E308")(study(spoiled(TRIKE, *own))) == ()

    def test_show_lights_are_no_safety_load(self) -> None:
        assert check_of("E308")(study(spoiled(TRIKE, *PUMP[:2], item("pump", "light_bar_60w", "deck")))) == ()

    def test_a_main_of_the_vehicle_with_one_of_the_amplifiers_below_it_is_fine(self) -> None:
        """The launch: engine, blower and lights hang on the service main, the amplifiers on a way of their own."""
        made = Study(parse(demo.text("canal_launch"), "launch.toml"))
        assert check_of("E308")(made) == ()
        text = demo.text("canal_launch").replace('from = "helm_small.out3"', 'from = "fore_block.out4"')
        text = text.replace("fuses_a = [25, 25, 5, 0]", "fuses_a = [25, 25, 5, 15]")
        text = text.replace("fuses_a = [5, 5, 15, 7.5]", "fuses_a = [5, 5, 0, 7.5]")
        (found,) = check_of("E308")(Study(parse(text, "launch.toml")))
        assert found.severity == "Fix"
        assert {"engine_load", "helm_block.1"} <= set(found.where)
