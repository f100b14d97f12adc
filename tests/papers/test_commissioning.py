"""The commissioning sheet: every point, what is predicted, what passes; what each fuse must kill."""

from __future__ import annotations

import pytest

from loomwright.papers import commissioning
from loomwright.papers.commissioning import AT_REST, measurements, pulls
from loomwright.rig.model import AmplifierSpec
from tests.drawing import demo
from tests.papers.test_pack import order, part_words, squeezed


@pytest.mark.parametrize("name", demo.NAMES)
def test_what_is_predicted_is_what_the_study_says_and_passes(name: str) -> None:
    study = demo.study(name)
    found = measurements(study)
    assert [m.number for m in found] == list(range(1, len(found) + 1))
    assert all(m.low <= m.expected <= m.high for m in found)
    by_what = {(m.group, m.what): m for m in found}
    for engine in study.rig.engine_states():
        for programme in ("quiet", "loud"):
            case = study.power.case(engine, programme)  # type: ignore[arg-type]
            for amplifier in study.rig.family("amplifier"):
                if case.solved and amplifier.id in case.items:
                    m = by_what[f"Engine {engine}, {programme}", f"Volts at {amplifier.id}"]
                    assert m.expected == case.items[amplifier.id].volts_v
                    assert (m.red, m.black) == (f"{amplifier.id}.supply+", f"{amplifier.id}.supply-")


def test_drops_of_the_segments_add_up_to_what_is_lost_on_the_way() -> None:
    """Kirchhoff: from the battery's posts to the amplifier's terminals, feed and return."""
    study = demo.study("carnival_trike_planned")
    case = study.power.case("idle", "loud")
    drops = {m.what: m.expected for m in measurements(study) if m.group.startswith("Drops")}
    way = ["P2", "P3", "P4", "R4", "R3", "R2"]
    total_mv = sum(drops[f"{w}, end to end"] for w in way)
    total_mv += sum(drops[f"{d}, fuse and clips"] for d in ("main.1", "block.1"))
    total_mv += sum(drops[f"Contact {n} of right_plug"] for n in (1, 2))
    bolted_mv = abs(case.wires["P1"].drop_mv)
    bars_mv = 1000.0 * case.items["front_amp"].drop_v - total_mv - bolted_mv
    assert abs(bars_mv) < 10.0  # what is left are the bars inside block and ground bus


def test_at_rest_comes_first_and_no_more_than_50_ma_may_be_drawn() -> None:
    found = measurements(demo.study("canal_launch"))
    rest = [m for m in found if m.group == AT_REST]
    assert rest == list(found[: len(rest)])
    (drain,) = [m for m in rest if m.unit == "mA"]
    assert (drain.expected, drain.high) == (0.0, 50.0)
    assert "bilge_pump" in drain.note


def test_a_charged_battery_is_measured_as_charging() -> None:
    study = demo.study("carnival_trike_planned")
    names = {m.what: m for m in measurements(study) if m.group == "Engine idle, quiet"}
    assert names["Charging volts of battery"].expected == study.power.case("idle", "quiet").items["battery"].volts_v


@pytest.mark.parametrize("name", ["carnival_trike_planned", "canal_launch", "harvest_buggy"])
def test_pulling_a_fuse_kills_what_it_feeds_and_nothing_else(name: str) -> None:
    study = demo.study(name)
    found = {p.device: p for p in pulls(study)}
    assert set(found) == set(study.protection.devices)
    for amplifier in study.rig.family("amplifier"):
        assert isinstance(amplifier.part.spec, AmplifierSpec)
        if amplifier.part.spec.own_fuses_a:
            assert found[f"{amplifier.id}.own"].dark == (amplifier.id,)
    for p in found.values():
        assert not set(p.dark) & set(p.stays)


def test_the_sheet_prints_every_row_and_refuses_power_where_there_is_a_stop() -> None:
    for name, said in (("carnival_trike_planned", ""), ("carnival_trike_as_found", "Do not power up: 6 Stop")):
        text = squeezed(part_words(order(name), "commissioning"))
        assert squeezed(said) in text
        for m in measurements(demo.study(name)):
            assert squeezed(m.what) in text
        for p in pulls(demo.study(name)):
            assert squeezed(p.device) in text


def test_what_is_too_small_to_read_is_left_out() -> None:
    for m in measurements(demo.study("carnival_trike_planned")):
        if m.unit == "mV":
            assert m.expected >= commissioning.LEAST_MV
