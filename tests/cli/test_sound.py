"""What ``sound`` tells a person at the bench."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.conftest import Run
from tests.findings.bases import TRIKE, spoiled
from tests.findings.sound_cases import before


def test_gain_card_gives_volts_tone_and_order(loomwright: Run, rigs: dict[str, Path]) -> None:
    """Bass amplifier of 250 W into 4 ohm: 31.6 V with the low tone, and before the tweeters."""
    out = loomwright("sound", rigs["trike"]).out
    card = out[out.index("Gains, in this order") : out.index("Level at")]
    assert card.index("bass_amp.ch1") < card.index("front_amp.ch1") < card.index("front_amp.ch3")
    assert "31.6 V AC" in " ".join(card.split())
    assert "lead off" in card


def test_timeline_names_the_thump_and_its_cure(loomwright: Run, rigs: dict[str, Path]) -> None:
    out = " ".join(loomwright("sound", rigs["trike as found"]).out.split())
    assert "Thump: front_amp, from 2000 ms to 3500 ms, by processor. Feed front_amp.remote from processor" in out
    assert "No thump." in loomwright("sound", rigs["trike"]).out


def test_one_channel_has_its_level_diagram(loomwright: Run, rigs: dict[str, Path]) -> None:
    out = loomwright("sound", rigs["trike"], "--channel", "front_amp.ch3").out
    for place in ("source.out", "processor.in", "processor.out3", "front_amp.in3", "front_amp.ch3+", "tweeter_left"):
        assert place in out
    assert "bass_amp" not in out


def test_level_comes_with_its_cautions(loomwright: Run, rigs: dict[str, Path]) -> None:
    out = loomwright("sound", rigs["trike"]).out
    assert "NIOSH" in out
    assert "road law" in out


def test_ways_to_wire_say_what_is_refused_and_what_to_join(loomwright: Run, rigs: dict[str, Path]) -> None:
    three = [a for d in ("roof_left_1", "roof_left_2", "roof_right_1") for a in ("--try", d)]
    ran = loomwright("sound", rigs["buggy"], *three, "--on", "roof_amp.ch1")
    assert "under its least of 2" in " ".join(ran.out.split())
    assert "roof_left_1.-" in ran.out
    data = loomwright("sound", rigs["buggy"], *three, "--on", "roof_amp.ch1", "--json").document["data"]
    assert len(data["choices"]["arrangements"]) == 4


@pytest.mark.parametrize(("args", "near"), [
    (("--channel", "bas_amp.ch1"), "bass_amp.ch1"), (("--try", "bas", "--on", "bass_amp.ch1"), "bass"),
    (("--try", "bass", "--on", "bass_amp.ch2"), "bass_amp.ch1"), (("--try", "bass"), "a channel"),
])  # fmt: skip
def test_wrong_names_get_the_right_ones(
    args: tuple[str, ...], near: str, loomwright: Run, rigs: dict[str, Path]
) -> None:
    ran = loomwright("sound", rigs["trike"], *args)
    assert ran.code == 2
    assert near in ran.out + ran.err


def test_a_passive_crossover_shows_what_its_parts_stand_and_how_far_it_strays(loomwright: Run, tmp_path: Path) -> None:
    path = tmp_path / "rig.toml"
    path.write_text(spoiled(TRIKE, *before("capacitor_film_6u8")))
    shown = loomwright("sound", path, "--channel", "front_amp.ch1")
    assert "Crossover parts at full output" in shown.out
    assert "front_left, rises through" in shown.out
    spread = json.loads(loomwright("sound", path, "--channel", "front_amp.ch1", "--json").out)["data"]["spread"]
    assert spread["draws"] >= 10_000
    low, middle, high = spread["rises_hz"]["front_left"]
    assert low < middle < high
    assert "front_left" in shown.out
    assert "Speaker wire" in loomwright("sound", path).out
