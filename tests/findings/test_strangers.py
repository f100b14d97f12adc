"""Three rigs that no demo resembles: what a master would say of them, each thing once, with a remedy that cures it."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from loomwright.findings.model import Finding
from loomwright.findings.run import check
from loomwright.rig.file import load, parse
from loomwright.rig.model import Rig
from loomwright.study import Study

RIGS = Path(__file__).parent / "rigs"
QUAD = RIGS / "quad_as_found.toml"
SIX = RIGS / "six_amplifiers.toml"


def of(code: str, quad: tuple[Finding, ...]) -> list[Finding]:
    return [f for f in quad if f.code == code]


@pytest.fixture(scope="module")
def quad_study() -> Study:
    return Study(load(QUAD))


@pytest.fixture(scope="module")
def quad(quad_study: Study) -> tuple[Finding, ...]:
    return check(quad_study)


@pytest.fixture(scope="module")
def six_rig() -> Rig:
    return load(SIX)


@pytest.fixture(scope="module")
def six(six_rig: Rig) -> tuple[Finding, ...]:
    return check(Study(six_rig))


@pytest.fixture(scope="module")
def hatchback() -> tuple[Finding, ...]:
    return check(Study(load(RIGS / "hatchback.toml")))


class TestQuad:
    """No fuse at the battery, thin clad wire, ground through paint, remote off a fuse, gain, load, polarity."""

    def test_every_mistake_is_told_and_the_worst_first(self, quad: tuple[Finding, ...]) -> None:
        codes = {f.code for f in quad}
        assert {"E101", "E402", "E501", "E503", "E601", "E602", "E904", "E916", "E921", "E928", "E936"} <= codes
        assert quad[0].code == "E101"

    def test_what_was_hot_before_is_not_laid_to_a_fault_elsewhere(self, quad_study: Study) -> None:
        """P1 is past its rating all day; a short on the lamps, which their fuse clears, adds next to nothing."""
        lamps = [f for f in quad_study.protection.drill if f.where == "V2" and "bolted" in f.detail]
        assert lamps
        assert {f.verdict for f in lamps} <= {"cleared", "spread"}
        assert not [f for f in check(quad_study) if f.code in ("E301", "E302") and "V2" in f.where]

    def test_where_a_wire_without_a_fuse_burns_a_fuse_there_is_the_cure(self, quad: tuple[Finding, ...]) -> None:
        told = [f for f in of("E301", quad) if "P1" in f.where or "settles" in f.evidence]
        assert told
        assert all("within 178 mm of the battery" in f.remedy for f in told)

    def test_one_remedy_for_one_wire(self, quad: tuple[Finding, ...]) -> None:
        """Too thin and clad: both findings ask for the same copper."""
        (thin,), (clad,) = [f for f in of("E501", quad) if "P1" in f.where], of("E503", quad)
        assert "12 AWG copper as P1" in thin.remedy
        assert "P1 by copper of 12 AWG" in clad.remedy
        assert "29.3 A" in thin.remedy  # 35 A of 33 CFR 183.425 table 5 (12 AWG, 80 °C), times sqrt((80 - 45) / 50)

    def test_paint_is_scraped_not_crimped(self, quad: tuple[Finding, ...]) -> None:
        (hot,) = of("E601", quad)
        assert "bright" in hot.remedy
        assert "crimped" not in hot.remedy

    def test_a_case_that_comes_off_wants_a_plug_for_its_feeds_apart(self, quad: tuple[Finding, ...]) -> None:
        """A plug of 13 small contacts for a main feed of 24 A and for loudspeakers alike is not made."""
        (told,) = of("E511", quad)
        assert "4 contacts that carry 23.9 A, and one of 9 contacts for the rest" in told.remedy

    def test_a_driver_turned_against_its_like_is_told_once(self, quad: tuple[Finding, ...]) -> None:
        assert len([f for f in quad if f.code in ("E617", "E916") and "right" in f.where]) == 1


class TestSixAmplifiers:
    """Two batteries, an isolator, splices, long names in two scripts."""

    def test_a_short_tap_off_a_bar_to_its_own_fuse_may_be(self, six: tuple[Finding, ...]) -> None:
        """150 mm of 12 AWG from a bar behind 250 A to a 20 A fuse: 33 CFR 183.455 allows 178 mm."""
        (tap,) = [f for f in of("E105", six) if "B2" in f.where]
        assert "sf" in tap.where
        assert not [f for f in six if f.code in ("E202", "E301", "E302", "E306") and "B2" in (*f.where, f.evidence)]
        assert not [f for f in six if f.severity == "Stop"]

    def test_a_longer_one_may_not(self) -> None:
        text = SIX.read_text()
        assert text.count("length_mm = 150\n\n[[wire]]\nid = \"B3\"") == 1
        longer = text.replace('length_mm = 150\n\n[[wire]]\nid = "B3"', 'length_mm = 190\n\n[[wire]]\nid = "B3"')
        found = check(Study(parse(longer, "rig.toml")))
        assert [f.severity for f in of("E202", found) if "B2" in f.where] == ["Stop"]

    def test_nor_one_whose_own_fuse_does_not_suit_it(self, six_rig: Rig) -> None:
        items = {**six_rig.items, "sf": replace(six_rig.items["sf"], fuses_a=(60.0,))}
        found = check(Study(replace(six_rig, items=items)))
        assert [f for f in of("E202", found) if "B2" in f.where and "hf.1" in f.where]

    def test_a_cube_for_the_post_is_no_fuse_for_a_block(self, six: tuple[Finding, ...]) -> None:
        ways = [f for f in of("E203", six) if f.where[0].startswith("blk.")]
        assert ways
        assert not [f for f in ways if "in place of" in f.remedy]

    def test_a_wire_that_holds_a_fuse_down_is_named_with_the_size_that_would_do(self, six: tuple[Finding, ...]) -> None:
        (told,) = [f for f in of("E210", six) if "blk.2" in f.where]
        assert "6 AWG as A2 and AR2" in told.remedy
        thicker = re.sub(r'(id = "AR?2"\n.*\n.*\nsize = )"8 AWG"', r'\1"6 AWG"', SIX.read_text())
        assert not [f for f in of("E210", check(Study(parse(thicker, "rig.toml")))) if "blk.2" in f.where]


class TestHatchback:
    """Two amplifiers on one breaker in the engine space, a tap clip in the feed, a relay on a remote output."""

    def test_a_device_is_not_made_smaller_than_what_it_carries(self, hatchback: tuple[Finding, ...]) -> None:
        (told,) = [f for f in of("E202", hatchback) if "brk.1" in f.where]
        assert "Fit 15 A or less in brk.1" not in told.remedy
        assert "a fuse of 15 A of their own before M3, M4, M5 and M6" in told.remedy
        assert "carries 24.1 A" in told.remedy

    def test_a_splice_that_is_to_be_cut_out_gets_no_other_orders(self, hatchback: tuple[Finding, ...]) -> None:
        codes = [f.code for f in hatchback if f.where[0] == "tap"]
        assert sorted(codes) == ["E104", "E601", "E602"]
