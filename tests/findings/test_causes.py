"""A cause is told once, with its real reason, and a remedy that would cure it."""

from __future__ import annotations

import re
import warnings

import pytest

from loomwright.cli import lookup
from loomwright.facts import ampacity, conductors, fuses
from loomwright.findings.model import Finding
from loomwright.findings.registry import check_of
from loomwright.findings.steady import worst_wire
from tests.findings.bases import BUGGY, TRIKE, findings, spoiled, study
from tests.findings.build_cases import BUILD
from tests.findings.edits import WEAK_MAIN, Case, wire
from tests.findings.more_cases import MORE
from tests.findings.supply_cases import SUPPLY

HOT_DECK = ("[place.deck]\n", "[place.deck]\ntemperature_c = 110\n")


def of(code: str, found: tuple[Finding, ...]) -> list[Finding]:
    return [f for f in found if f.code == code]


@pytest.fixture(scope="module")
def found() -> tuple[Finding, ...]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # no room for heat, and heat without end
        return findings(spoiled(TRIKE, HOT_DECK, ("fuses_a = [25, 25, 5, 0]", 'fuses_a = ["auto", 25, 5, 0]')))


class TestTooHotAPlace:
    """At 110 °C insulation rated 105 °C carries nothing: sqrt((Tc - Ta)/(Tc - 30)) is 0."""

    def test_it_is_told_once(self, found: tuple[Finding, ...]) -> None:
        assert [f.code for f in found if f.severity == "Stop"] == ["E507"]
        cause = of("E507", found)[0]
        assert {"P2", "P3", "R3"} <= set(cause.where)
        assert "110 °C" in cause.evidence
        assert "125 °C or more" in cause.remedy

    def test_what_follows_from_it_is_left_out(self, found: tuple[Finding, ...]) -> None:
        hot = set(of("E507", found)[0].where)
        for f in found:
            assert f.code not in ("E501", "E302") or not hot & set(f.where), f
        assert not of("E210", found)

    def test_no_remedy_speaks_of_no_current(self, found: tuple[Finding, ...]) -> None:
        for f in found:
            assert not re.search(r"(?<![\d.])0(\.00\d*)? A\b", f.remedy), f.remedy

    def test_remedy_cures_it(self) -> None:
        cooler = (HOT_DECK[0], HOT_DECK[1].replace("110", "95"))
        assert not of("E507", findings(spoiled(TRIKE, cooler)))  # 105 - 95 = 10 K


class TestBreaking:
    def test_above_the_rating_is_never_a_margin(self) -> None:
        for text in (TRIKE, BUGGY, spoiled(TRIKE, *WEAK_MAIN)):
            power, devices = study(text).power, study(text).protection.devices
            for f in of("E212", findings(text)):
                if "less than 10 %" in f.evidence:
                    assert all(power.prospective_a[d] <= devices[d].interrupting_a for d in f.where)

    def test_one_twentieth_above_is_allowed_behind_a_device_that_can(self) -> None:
        s = study(BUGGY)
        assert 1.0 < s.power.prospective_a["block.1"] / s.protection.devices["block.1"].interrupting_a < 1.05
        assert check_of("E203")(s) == ()

    def test_type_that_the_remedy_names_can_break_it(self) -> None:
        (case,) = [c for c in MORE if c.code == "E203"]
        s = study(spoiled(case.base, *case.edits))
        (found,) = check_of("E203")(s)
        names = re.findall(r"(\w+) \(", found.remedy)
        assert names
        for name in names:
            assert fuses.interrupting_a(name, 14.0)[0] >= s.power.prospective_a[found.where[0]]


class TestSelectivity:
    def test_device_between_two_keeps_the_others_alive(self) -> None:
        """Main over branch is selective; how large the amplifier's own fuses are is then no matter."""
        own = (
            ("fuses_a = [80]", "fuses_a = [40]"),
            ("fuses_a = [25, 25, 5, 0]", "fuses_a = [15, 15, 5, 0]"),
        )
        s = study(spoiled(TRIKE, *own))
        lower = [p for p in s.protection.pairs if p.upstream == "main.1" and p.downstream == "front_amp.own"]
        assert lower
        assert check_of("E207")(s) == ()

    def test_ratio_that_is_reached_is_not_asked_for(self) -> None:
        for case in (c for c in SUPPLY if c.code == "E207"):
            for f in check_of("E207")(study(spoiled(case.base, *case.edits))):
                ratio = re.search(r"melting I²t ([\d.]+) to 1", f.evidence)
                assert ratio
                assert float(ratio[1]) < fuses.selective_ratio()


class TestSizes:
    def test_size_in_the_remedy_carries_it_and_the_next_smaller_does_not(self) -> None:
        s = study(spoiled(BUGGY, wire(BUGGY, "P6", '"2 AWG"', '"18 AWG"')))
        (found,) = check_of("E501")(s)
        match = re.search(r"Fit (\S+ AWG) as P6, good for ([\d.]+) A", found.remedy)
        assert match, found.remedy
        rows = conductors.sizes("AWG")
        k = [r.label for r in rows].index(match[1])
        w = s.rig.wire("P6")
        carried = [
            ampacity.ampacity_a(r.area_mm2, w.metal, w.insulation_c, s.rig.wire_temperature_c(w))
            for r in rows[k - 1 : k + 1]
        ]
        assert carried[0] < abs(worst_wire(s, "P6").amps_a) <= carried[1]  # type: ignore[union-attr]
        assert float(match[2]) == pytest.approx(carried[1], rel=0.005)  # what it carries, not what it must

    def test_size_is_of_the_rigs_own_system(self) -> None:
        s = study(spoiled(BUGGY, wire(BUGGY, "P6", '"2 AWG"', '"0.75 mm2"')))
        (found,) = check_of("E501")(s)
        assert re.search(r"Fit \S+ mm2 as P6", found.remedy), found.remedy


class TestCranking:
    def test_empty_battery_is_called_empty(self) -> None:
        (found,) = of("E702", findings(spoiled(TRIKE, ("charge_pct = 90", "charge_pct = 0"))))
        assert "empty (0 %)" in found.evidence
        assert " V " not in found.evidence

    def test_battery_that_does_not_crank_is_not_held_to_it(self) -> None:
        lithium = ('part = "agm_60ah"', 'part = "small_lfp"')
        assert not [f for f in check_of("E708")(study(spoiled(BUGGY, lithium))) if "crank" in f.evidence]


@pytest.mark.parametrize("case", [*SUPPLY, *BUILD, *MORE], ids=lambda c: c.code)
def test_another_severity_than_the_usual_is_announced(case: Case) -> None:
    """What `explain` says of a severity is what findings have."""
    one = check_of(case.code)
    if case.severity != one.severity:
        assert case.severity in one.unless, (case.code, case.severity)


def test_explain_says_when_the_severity_is_another() -> None:
    """`explain E202` must not leave the reader with Fix where `check` said Stop."""
    lines = dict(lookup.page("E202").lines)
    assert lines["severity"] == "Fix; Stop where the device is above 150 % of the ampacity."
    assert dict(lookup.page("E201").lines)["severity"] == "Fix."
