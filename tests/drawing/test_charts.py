import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.drawing import hatch, over_time, plot, recorder, scales, svg, time_current, volts_chart
from loomwright.drawing.marks import Sheet, Stroke
from loomwright.facts import adiabatic
from tests.drawing import demo

each = pytest.mark.parametrize("name", demo.ALL)


def sheets(name: str) -> list[Sheet]:
    study = demo.study(name)
    out = [over_time.sessions(study), *(over_time.bass_hit(h) for h in study.power.bass)]
    out += [time_current.draw(study, c) for c in time_current.chains(study)]
    volts = volts_chart.draw(study)
    return out if volts is None else [*out, volts]


@each
def test_no_words_on_words_and_no_line_through_words(name: str) -> None:
    for sheet in sheets(name):
        record = recorder.record(sheet)
        assert record.text_overlaps() == (), sheet.title
        assert record.crossed_texts() == (), sheet.title
        assert record.outside() == (), sheet.title


@each
def test_each_wire_is_named_once_in_a_chart_and_no_two_lines_have_one_name(name: str) -> None:
    study = demo.study(name)
    for chain in time_current.chains(study):
        harm = [w for w in recorder.record(time_current.draw(study, chain)).words() if w.startswith("harm to ")]
        assert len(set(harm)) == len(harm)


@each
def test_axes_carry_their_units(name: str) -> None:
    study = demo.study(name)
    assert {"Time [h]", "Charge [%]", "Volts [V]"} <= set(recorder.record(over_time.sessions(study)).words())
    for chain in time_current.chains(study):
        words = recorder.record(time_current.draw(study, chain)).words()
        assert {"Current [A]", "Time [s]"} <= set(words)


@each
def test_every_device_of_a_chain_is_named_and_a_provisional_one_said_to_be(name: str) -> None:
    study = demo.study(name)
    shown = {d for c in time_current.chains(study) for d in c}
    assert shown == {d for c in study.protection.chains for d in c}
    for chain in time_current.chains(study):
        words = recorder.record(time_current.draw(study, chain)).words()
        for device_id in chain:
            device = study.protection.devices[device_id]
            if device.rating_a > 0:
                (tag,) = [w for w in words if w.startswith(f"{device_id}, ")]
                assert ("(provisional)" in tag) == device.provisional


@pytest.mark.parametrize("name", demo.NAMES)
def test_the_damage_line_follows_the_adiabatic_rule_up_to_5_s(name: str) -> None:
    """IEC 60364-4-43: I2t = (k S)2 while no heat leaves the copper; 8 % for the lay and heat capacity of the model."""
    study = demo.study(name)
    feeds = [w for w in study.rig.wires if w.kind == "power" and w.size and w.size.system != "bolted"]
    for wire in [w for w in feeds if "copper" in w.metal][:6]:
        start = min(study.power.worst_wire(wire.id).temperature_c, wire.insulation_c)
        assert wire.size is not None
        for amps, seconds in time_current.damage_line(study, wire):
            if seconds <= 5.0:
                limit = adiabatic.limit_c(wire.insulation_c, seconds)
                rule = adiabatic.i2t_a2s(wire.size.area_mm2, wire.metal, start, limit)
                assert amps**2 * seconds == pytest.approx(rule, rel=0.08)


@pytest.mark.parametrize("name", demo.NAMES)
def test_longer_times_stand_less_current(name: str) -> None:
    study = demo.study(name)
    wire = next(w for w in study.rig.wires if w.kind == "power" and w.size and w.size.system != "bolted")
    line = time_current.damage_line(study, wire)
    assert all(a[0] >= b[0] * (1 - 1e-9) for a, b in itertools.pairwise(line))


def test_every_session_and_battery_is_labelled_with_its_end() -> None:
    words = recorder.record(over_time.sessions(demo.study("buggy"))).words()
    for battery in ("battery", "house"):
        for engine in ("off", "idle", "cruise"):
            assert any(w.startswith(f"{battery}: {engine}, music") for w in words)
    assert any(w.startswith("least to crank") for w in words)


def test_charts_are_the_same_each_time() -> None:
    for a, b in zip(sheets("trike"), sheets("trike"), strict=True):
        assert svg.render(a) == svg.render(b)


@given(st.floats(1e-3, 1e4), st.floats(1.5, 1e5))
def test_a_log_axis_holds_what_it_shows(low: float, ratio: float) -> None:
    scale = scales.log_scale(low, low * ratio, 10.0, 110.0)
    assert scale.low <= low * (1 + 1e-9)
    assert scale.high >= low * ratio * (1 - 1e-9)
    for value, _ in scales.ticks(scale):
        assert 10.0 - 1e-6 <= scale.at(value) <= 110.0 + 1e-6
    middle = math.sqrt(scale.low * scale.high)
    assert scale.at(middle) == pytest.approx(60.0)


@given(st.floats(-100, 100), st.floats(0.01, 1000))
def test_a_linear_axis_holds_what_it_shows_with_words_that_say_the_value(low: float, span: float) -> None:
    scale = scales.linear_scale(low, low + span, 0.0, 100.0)
    assert scale.low <= low + 1e-6
    assert scale.high >= low + span - 1e-6
    ticks = scales.ticks(scale)
    assert 2 <= len(ticks) <= 16
    for value, text in ticks:
        assert float(text.replace("\u2212", "-")) == pytest.approx(value, abs=1e-6 + abs(value) * 1e-6)


@given(st.lists(st.floats(0, 100), min_size=1, max_size=8))
def test_labels_pushed_apart_keep_their_order_and_distance(places: list[float]) -> None:
    spread = plot.spread(sorted(places), 3.3, 0.0, 100.0)
    assert all(b - a >= 3.3 - 1e-9 for a, b in itertools.pairwise(spread))
    assert spread[-1] <= 100.0 + 1e-9


@given(st.floats(0, 180), st.floats(0.8, 3.0))
def test_hatching_stays_inside_its_outline(angle: float, pitch: float) -> None:
    outline = hatch.cut(((-10, 5), (60, -20), (80, 40), (20, 70)), (0, 0, 50, 50))
    assert all(-1e-9 <= x <= 50 + 1e-9 and -1e-9 <= y <= 50 + 1e-9 for x, y in outline)
    for path in hatch.hatched(outline, angle, pitch, Stroke(0.13)):
        for x, y in path.points:
            assert -1e-6 <= x <= 50 + 1e-6
            assert -1e-6 <= y <= 50 + 1e-6


def test_a_line_is_cut_at_the_window() -> None:
    assert hatch.cut_line(((-10, 5), (60, 5), (60, 80), (30, 80), (30, 20)), (0, 0, 50, 50)) == (
        ((0.0, 5.0), (50.0, 5.0)),
        ((30.0, 50.0), (30, 20)),
    )
