from dataclasses import replace

import pytest

from loomwright.drawing import (
    impedance_chart,
    join_drawing,
    level_diagram,
    recorder,
    response_chart,
    switch_timeline,
)
from loomwright.drawing.marks import Sheet
from loomwright.rig.model import DriverSpec
from loomwright.sound import sheet
from loomwright.sound.crossover import ALIGNMENTS, KINDS, AlignmentName, Corners, Kind, crossover
from loomwright.sound.wiring_choices import choices
from loomwright.sound.wiring_results import Arrangement
from tests.drawing import demo

each = pytest.mark.parametrize("name", demo.NAMES)


def sheets(name: str) -> list[Sheet]:
    study = demo.study(name)
    found = sheet.sheet(study.sound, study.rig)
    loads = [impedance_chart.draw(c, found.frequency_hz) for c in found.channels]
    levels = [level_diagram.draw(c.levels) for c in found.channels if c.levels is not None]
    turns = [switch_timeline.draw(t, at) for t in (found.switching.on, found.switching.off) for at in (None, 0.0)]
    return [s for s in (*loads, *levels, *turns) if s is not None]


def arrangements(name: str) -> tuple[Arrangement, ...]:
    rig = demo.study(name).rig
    drivers = tuple(i.id for i in rig.items.values() if isinstance(i.part.spec, DriverSpec))[:4]
    amplifier = rig.family("amplifier")[0]
    return choices(rig, drivers, [(amplifier.id, 1)]).arrangements


@each
def test_no_words_on_words_and_no_line_through_words(name: str) -> None:
    for made in sheets(name):
        record = recorder.record(made)
        assert record.text_overlaps() == (), made.title
        assert record.crossed_texts() == (), made.title
        assert record.outside() == (), made.title


@each
def test_every_lead_of_a_way_to_wire_ends_at_a_dot_and_no_word_is_crossed(name: str) -> None:
    for arrangement in arrangements(name):
        record = recorder.record(join_drawing.draw(arrangement))
        assert record.text_overlaps() == (), arrangement.words
        assert record.crossed_texts() == (), arrangement.words
        assert record.outside() == (), arrangement.words
        drivers = [p.driver for c in arrangement.channels for p in c.placed]
        assert all(d in record.words() for d in drivers)


@each
def test_axes_carry_their_units(name: str) -> None:
    words = {w for s in sheets(name) for w in recorder.record(s).words()}
    study = demo.study(name)
    if study.sound.loads.channels and any(not c.open for c in study.sound.loads.channels):
        assert {"Ω", "Degrees", "Frequency [Hz]"} <= words
    if study.sound.levels:
        assert "Peak volts [V]" in words


def test_a_predicted_thump_is_written_on_the_chart() -> None:
    found = demo.study("carnival_trike_as_found").sound.switching
    made = switch_timeline.draw(found.on)
    assert made is not None
    assert "thump" in recorder.record(made).words()
    calm = switch_timeline.draw(demo.study("canal_launch").sound.switching.on)
    assert calm is not None
    assert "thump" not in recorder.record(calm).words()


def test_a_point_that_clips_is_said_to_and_an_overlap_on_purpose_is_not() -> None:
    """A gain set with a tone of -5 dBFS lets a full-scale tone run 5 dB beyond full output, and no more."""
    levels = demo.study("carnival_trike_as_found").sound.levels["front_amp.ch1"]
    at = next(k for k, p in enumerate(levels.points) if p.margin_db is not None and p.margin_db < -0.05)
    for margin_db, said, kept_quiet in ((-4.9, "overlap, as set", "clips by"), (-9.0, "clips by", "overlap, as set")):
        points = list(levels.points)
        points[at] = replace(points[at], margin_db=margin_db)
        words = " ".join(recorder.record(level_diagram.draw(replace(levels, points=tuple(points)))).words())
        assert said in words
        assert kept_quiet not in words


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("alignment", ALIGNMENTS)
def test_a_crossover_draws_without_words_on_words(kind: Kind, alignment: AlignmentName) -> None:
    study = demo.study("carnival_trike_as_found")
    made = crossover(study.rig, study.sound, "front_left", Corners(kind, alignment, 200.0, 3000.0))
    record = recorder.record(response_chart.draw(made))
    assert record.text_overlaps() == ()
    assert record.crossed_texts() == ()
    assert record.outside() == ()
