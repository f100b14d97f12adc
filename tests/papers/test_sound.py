"""The sound chapter and the gain cards say what the study says."""

from __future__ import annotations

from functools import cache

import pytest

from loomwright.drawing.figures import three
from loomwright.papers import pack, paper, sound_chapter
from loomwright.papers.order import Order
from loomwright.papers.paper import plain
from loomwright.sound.sheet import SoundSheet, sheet
from loomwright.study import Study
from tests.drawing import demo
from tests.findings.bases import LAUNCH, TRIKE, spoiled
from tests.findings.bases import study as small
from tests.findings.sound_cases import PAIR, before, source, speaker_level
from tests.papers.test_pack import INJECTIONS, order, part_words, squeezed, words
from tests.sound import rigs


@cache
def cards(name: str) -> list[str]:
    """The words of each card."""
    return card_words(demo.study(name))


@cache
def sound(name: str) -> SoundSheet:
    study = demo.study(name)
    return sheet(study.sound, study.rig)


def card_words(study: Study) -> list[str]:
    made = pack.one_part(Order(study, ()), "gain_card")
    assert made is not None
    return words(made)


@pytest.mark.parametrize("name", demo.NAMES)
def test_each_amplifier_has_a_card_with_its_gains_in_the_order_of_setting(name: str) -> None:
    by_amplifier: dict[str, list[str]] = {}
    for channel in (s.item for s in sound(name).steps if ".ch" in s.item):
        by_amplifier.setdefault(channel.partition(".")[0], []).append(channel)
    assert len(cards(name)) == len(by_amplifier)
    for channels in by_amplifier.values():
        (page,) = [p for p in cards(name) if channels[0] in p]
        at = [page.index(c) for c in channels]
        assert at == sorted(at)


@pytest.mark.parametrize("name", demo.NAMES)
def test_a_card_gives_tone_level_and_volts_of_every_channel(name: str) -> None:
    text = " ".join(cards(name))
    for c in sound(name).channels:
        assert c.levels is not None
        gain = c.levels.gain
        row = text[text.index(c.channel) :][:300]
        for figure in (f"{gain.tone_hz:g}", f"{gain.tone_dbfs:g}".replace("-", "\u2212"), three(gain.set_v)):
            assert figure in row


@pytest.mark.parametrize("name", demo.NAMES)
def test_every_card_warns_of_hearing_and_of_grounding_an_output(name: str) -> None:
    for page in cards(name):
        for caution in ("Hearing.", "Never ground an output.", "loudspeaker lead off", "manual comes first"):
            assert caution in page


def test_a_gain_out_of_reach_says_what_the_channel_gives_instead() -> None:
    """0.2 V of line, 0.112 V of it in the tone; full output of 17.89 V takes 0.25 V: 17.89 x 0.112 / 0.25 = 8.05 V."""
    text = " ".join(card_words(small(spoiled(TRIKE, source("faint")))))
    assert "fully up it gives 8.05 V" in text


def test_a_signal_too_hot_is_turned_down_before_the_gain() -> None:
    """20 V of line, 11.25 V in the tone; at its least the gain takes 8 V for 17.89 V: 17.89 x 11.25 / 8 = 25.1 V."""
    text = " ".join(card_words(small(spoiled(TRIKE, source("hot")))))
    assert "at its least it gives 25.1 V" in text


def test_a_grounding_input_is_named_on_the_card_and_in_the_chapter() -> None:
    study = small(spoiled(LAUNCH, *speaker_level(*PAIR, amp="amp_hi_grounded")))
    assert "do not connect it" in " ".join(card_words(study))
    made = sound_chapter.chapter(study, 174.0)
    assert made is not None
    assert any("source.spk1" in i and "do not connect it" in i for i in made[0]["inputs"])


def test_a_rig_without_a_signal_path_has_no_card() -> None:
    assert pack.one_part(Order(demo.study("tiny"), ()), "gain_card") is None


@pytest.mark.parametrize("name", demo.NAMES)
def test_the_pack_has_a_sound_chapter_with_every_channel_and_driver(name: str) -> None:
    text = squeezed(part_words(order(name), "sound"))
    for c in sound(name).channels:
        assert squeezed(f"Load on {c.channel}") in text or squeezed(c.channel) in text
        for d in c.drivers:
            assert squeezed(d.driver) in text
    for turn in ("Switched on", "Switched off"):
        assert squeezed(turn) in text


def test_as_found_the_trike_thumps_and_the_pack_says_who() -> None:
    name = "carnival_trike_as_found"
    text = squeezed(part_words(order(name), "sound"))
    thumps = [*sound(name).switching.on.thumps, *sound(name).switching.off.thumps]
    assert thumps
    for t in thumps:
        assert squeezed(f"Thump: {t.amplifier},") in text
        assert squeezed(t.remedy) in text


def test_a_passive_crossover_shows_its_corner_its_parts_and_how_far_they_stray() -> None:
    study = small(spoiled(TRIKE, *before("capacitor_film_6u8")))
    made = sound_chapter.chapter(study, 174.0)
    assert made is not None
    data, _ = made
    assert [row[0]["text"] for row in data["crossovers"]["rows"]] == ["front_left"]
    assert [row[0]["text"] for row in data["stresses"]["rows"]] == ["part"]
    ((channel, middle, low, high, *_),) = data["tolerances"]["rows"]
    assert channel["text"] == "front_amp.ch1"
    assert float(low["text"]) < float(middle["text"]) < float(high["text"])


def test_no_chapter_shows_a_character_that_its_font_lacks() -> None:
    """Two drivers on one channel are written with the sign for parallel."""
    made = rigs.rig(
        {"a": "four", "b": "four"},
        [("amp.ch1+", "a.+"), ("a.-", "b.+"), ("b.-", "amp.ch1-")],
    )
    chapter = sound_chapter.chapter(Study(made), 174.0)
    assert chapter is not None
    assert "[U+" not in str(plain(chapter[0]))
    assert chapter[0]["choices"][0]["file"] in chapter[1]


@pytest.mark.parametrize("text", INJECTIONS)
def test_markup_is_shown_as_words(text: str) -> None:
    """A part's title reaches the card as it is."""
    wanted = order("carnival_trike_planned")
    content = pack.gather(wanted, [pack.part("gain_card")])
    content["gain_card"].data["cards"][0]["part"] = text
    assert squeezed(text) in squeezed("".join(words(paper.pdf(pack.files(wanted, content, whole=False)))))


@pytest.mark.parametrize("name", ["carnival_trike_planned", "harvest_buggy"])
def test_the_same_study_gives_the_same_bytes(name: str) -> None:
    wanted = Order(demo.study(name), demo.findings(name))
    assert pack.one_part(wanted, "gain_card") == pack.one_part(wanted, "gain_card")
