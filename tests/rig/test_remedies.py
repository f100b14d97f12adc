"""What to do is said for each slip: in the file's own words, with the range, the nearest size or the right form."""

from __future__ import annotations

import itertools

import pytest

from loomwright.facts.conductors import SYSTEMS, sizes
from loomwright.rig.sizes import area_mm2_of, nearest
from loomwright.rig.words import nearest as nearest_name

from .rigs import SMALL, at, changed

SLIPS = [
    # text to replace, replacement, place, what is expected, pieces of what to do
    ('size = "6 AWG"', "size = 10", "wire[2] (P2).size", "text", ['size = "10 AWG"', "quotes"]),
    ('size = "6 AWG"', 'size = "11.5 AWG"', "wire[2] (P2).size", "a size such as", ['"12 AWG"', '"10 AWG"']),
    ('size = "6 AWG"', 'size = "10 gauge"', "wire[2] (P2).size", "a size such as", ['"10 AWG"', '"10 SAE"', "ASTM"]),
    ('size = "6 AWG"', 'size = "-6 mm2"', "wire[2] (P2).size", "a size such as", ['"6 mm2"', '"5 mm2"', '"8 mm2"']),
    ("fuses_a = [60]", "fuses_a = 60", "item.main.fuses_a", "a list of numbers", ["fuses_a = [60]"]),
    ("fuses_a = [60]", 'fuses_a = ["60A"]', "item.main.fuses_a[1]", "a number from 0 to 500", ["Write 60"]),
    ("fuses_a = [60]", "fuses_a = [900]", "item.main.fuses_a[1]", "a number from 0 to 500", ["Lower", "500 A"]),
    ("length_mm = 900", "length_mm = -900", "run[1].length_mm", "from 1 to 30,000", ["minus", "900", "30,000 mm"]),
    ("length_mm = 900", "length_mm = inf", "run[1].length_mm", "from 1 to 30,000", ["30,000 mm", "inf"]),
    ("length_mm = 900", "length_mm = nan", "run[1].length_mm", "from 1 to 30,000", ["30,000 mm", "nan"]),
    ("length_mm = 900", 'length_mm = "900 mm"', "run[1].length_mm", "from 1 to 30,000", ["Write 900"]),
]


@pytest.mark.parametrize(("old", "new", "place", "expected", "do"), SLIPS, ids=[s[1] for s in SLIPS])
def test_what_to_do_says_what_to_write(old: str, new: str, place: str, expected: str, do: list[str]) -> None:
    found = at(changed((old, new)), place)
    assert expected in found.expected
    for piece in do:
        assert piece in found.remedy
    assert len(found.remedy) < 200


def test_a_kind_of_vehicle_is_matched_by_its_beginning() -> None:
    text = SMALL.replace("[place.seat]", '[vehicle]\nkind = "Motorbike"\n[place.seat]', 1)
    found = at(text, "vehicle.kind")
    assert "motorcycle" in found.remedy
    assert "trike" in found.expected
    assert nearest_name("blck", ["block", "back", "bass"]) == "block"


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_nearest_size_to_one_that_exists_is_itself(system: str) -> None:
    for row in sizes(system):
        assert nearest(row.label)[0] == row.label


def test_the_nearest_sizes_between_two_are_those_two() -> None:
    for low, high in itertools.pairwise(sizes("mm2")):
        between = (low.area_mm2 * high.area_mm2) ** 0.5 * 1.0001
        assert set(nearest(f"{between:.5f} mm2")[:2]) == {low.label, high.label}


def test_area_of_a_gauge_number_is_that_of_the_standard() -> None:
    """ASTM B258: 36 AWG is 0.127 mm in diameter, 4/0 is 11.684 mm."""
    assert area_mm2_of(36.0) == pytest.approx(0.012668, rel=1e-3)
    assert area_mm2_of(-3.0) == pytest.approx(107.2, rel=1e-3)


def test_a_size_without_a_number_has_no_nearest() -> None:
    assert nearest("thick") == ()
