"""Ends, colours and crimps against print. Rows from memory are not tested here: nothing stands behind them."""

from __future__ import annotations

import pytest

from loomwright.facts import colours, ends, harness, tables, workmanship
from loomwright.facts.conductors import parse_size

# DIN 46228-4, colours of collars: three ferrule pages agreeing (one lists 0.5 to 25 mm2, one to 50 mm2).
FERRULES = {
    "0.5": "WH", "0.75": "GY", "1": "RD", "1.5": "BK", "2.5": "BU", "4": "GY", "6": "YE", "10": "RD", "16": "BU",
    "25": "YE", "35": "RD", "50": "BU",
}  # fmt: skip


def test_ferrule_colours() -> None:
    assert {f.name: f.colour for f in ends.ferrules()} == FERRULES


# The same pages: approximate AWG of each size; a wire of that size goes into that ferrule.
@pytest.mark.parametrize(
    ("awg", "size"), [("16 AWG", "1.5"), ("14 AWG", "2.5"), ("12 AWG", "4"), ("10 AWG", "6"), ("8 AWG", "10")]
)
def test_ferrule_for_awg(awg: str, size: str) -> None:
    area = parse_size(awg).area_mm2
    assert next(f.name for f in ends.ferrules() if f.takes(area)) == size


# IEC 60757 in its adoption GOST 28763-90, table 7, in its order.
LETTERS = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue",
    "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "GD": "gold", "TQ": "turquoise", "SR": "silver",
    "GNYE": "green and yellow",
}  # fmt: skip


def test_colour_letters() -> None:
    assert {c: colours.words(c) for c in colours.letters()} == LETTERS
    assert tuple(LETTERS) == colours.letters()


# The standard's own example: an item coloured red and blue is RDBU.
def test_two_colours() -> None:
    assert colours.words("RDBU") == "red and blue"
    assert colours.parts("RDRD") == ()
    assert colours.parts("RDX") == ()
    assert colours.parts("=1") == ()


# Terminal-makers' sheets, UL 486A values [lbf], 1 lbf = 4.448 N. Two sheets print 455 N for 6 AWG and 1235 N for 2/0.
PULL = {
    "22": 8, "20": 13, "18": 20, "16": 30, "14": 50, "12": 70, "10": 80, "8": 90, "6": 100, "4": 140, "2": 180,
    "1/0": 250, "2/0": 300,
}  # fmt: skip


@pytest.mark.parametrize("awg", PULL)
def test_pull_of_awg_sizes(awg: str) -> None:
    size = parse_size(f"{awg} AWG")
    found = ends.pull(size.area_mm2, size.system)
    assert found is not None
    assert found.force_n == pytest.approx(PULL[awg] * 4.448, rel=1e-3)
    assert "UL 486A" in found.source


def test_no_row_of_that_table_is_without_its_print() -> None:
    assert set(tables.rows("workmanship", "workmanship.crimp_pull")) == set(PULL)


# A mm2 size holds more than the AWG size under it and less than the one over it.
@pytest.mark.parametrize(("size", "under", "over"), [
    ("0.5", "22", "20"), ("1", "18", "16"), ("1.5", "16", "14"), ("2.5", "14", "12"), ("4", "12", "10"),
    ("6", "10", "8"), ("10", "8", "6"), ("25", "4", "2"), ("50", "2", "1/0"),
])  # fmt: skip
def test_pull_of_mm2_sizes_lies_between(size: str, under: str, over: str) -> None:
    found = ends.pull(parse_size(f"{size} mm2").area_mm2, "mm2")
    assert found is not None
    assert PULL[under] * 4.448 < found.force_n < PULL[over] * 4.449


def test_no_pull_below_the_table() -> None:
    assert ends.pull(0.25, "mm2") is None


# A terminal-maker's table of insulated ferrules: shortest sleeve, overall length [mm].
SLEEVES = {
    "0.5": (8, 14), "0.75": (8, 14.3), "1": (8, 14.3), "1.5": (8, 14.3), "2.5": (10, 17.4), "4": (12, 19.4),
    "6": (12, 20.5), "10": (12, 20.8), "16": (12, 22), "25": (12, 24), "35": (16, 30), "50": (20, 36),
}  # fmt: skip


def test_every_ferrule_against_its_print() -> None:
    rows = tables.rows("ends", "end.ferrule")
    assert {k: (r.number("length_mm"), r.number("collar_mm")) for k, r in rows.items()} == {
        k: (sleeve, pytest.approx(whole - sleeve)) for k, (sleeve, whole) in SLEEVES.items()
    }


# A drive-maker's wiring table, 0.5 to 1 mm2 with collars: strip 12 mm for a sleeve of 10 mm. The conductor may not be
# shorter than the sleeve, nor the insulation pushed through the collar.
def test_ferrules_are_stripped_into_the_collar() -> None:
    for f in ends.ferrules():
        sleeve, whole = SLEEVES[f.name]
        assert sleeve < f.strip_mm < whole
        if float(f.name) <= 1:
            assert f.strip_mm == sleeve + 2


# A lug-maker's table: mm2, outside of the barrel, holes of the palm (a thread and its play); and a ring-terminal sheet.
LUGS = {
    2.5: (4.0, (4, 5, 6, 8)), 6: (5.5, (4, 5, 6, 8, 10)), 10: (6.2, (5, 6, 8, 10, 12)), 16: (7.1, (5, 6, 8, 10, 12)),
    25: (8.8, (5, 6, 8, 10, 12)), 35: (10.6, (5, 6, 8, 10, 12, 16)), 50: (12.4, (6, 8, 10, 12)),
    70: (14.3, (8, 10, 12, 14, 16)),
}  # fmt: skip


@pytest.mark.parametrize("area", LUGS)
def test_lugs_against_their_print(area: float) -> None:
    outside, studs = LUGS[area]
    found = next(e for e in ends.rings() if e.takes(area))
    assert found.outside_mm == outside
    assert set(studs) <= set(found.stud_mm)


# A shop page of red insulated ring terminals, 22 to 16 AWG: M3 to M8.
def test_small_lugs_go_onto_large_studs() -> None:
    found = next(e for e in ends.rings() if e.takes(parse_size("18 AWG").area_mm2))
    assert {3, 4, 5, 6, 8} <= set(found.stud_mm)


# A terminal-maker's instruction sheet: strip for lugs and for splices by AWG, from and to [mm].
STRIPS = {
    "8": (7.96, 9.53, 15.48, 17.07), "6": (11.18, 12.70, 19.45, 20.24), "4": (11.18, 12.70, 19.45, 21.03),
    "2": (11.43, 13.08, 21.83, 30.18), "1/0": (18.54, 20.24, 28.58, 30.18), "2/0": (18.54, 20.24, 28.58, 30.18),
    "3/0": (19.05, 20.64, 28.58, 30.18), "4/0": (19.45, 21.03, 28.58, 30.18),
}  # fmt: skip


@pytest.mark.parametrize("awg", STRIPS)
def test_strip_of_lugs_and_splices(awg: str) -> None:
    area = parse_size(f"{awg} AWG").area_mm2
    lug = next(e for e in ends.rings() if e.takes(area))
    assert STRIPS[awg][0] <= lug.strip_mm <= STRIPS[awg][1]
    for splice in (e for e in ends.sleeves() if e.takes(area)):
        assert STRIPS[awg][2] <= splice.strip_mm <= STRIPS[awg][3]


# An inverter manual's table of round solderless terminals: conductor [mm2] and studs sold for it.
STUDS = {
    1.25: (3.5, 4), 2: (3.5, 4, 5, 6, 8), 5.5: (4, 5, 6, 8), 8: (5, 6, 8), 14: (6, 8), 22: (6, 8), 38: (8,),
    60: (8, 10), 80: (10,), 100: (10, 12),
}  # fmt: skip


@pytest.mark.parametrize(("area", "stud"), [(a, s) for a, studs in STUDS.items() for s in studs])
def test_every_printed_lug_is_in_the_list(area: float, stud: float) -> None:
    assert any(e.takes(area) and stud in e.stud_mm for e in ends.rings())


# Crimp-terminal pages: red 22 to 16, blue 16 to 14, yellow 12 to 10 AWG.
@pytest.mark.parametrize(
    ("awg", "colour"),
    [("22", "RD"), ("20", "RD"), ("18", "RD"), ("16", "RD"), ("14", "BU"), ("12", "YE"), ("10", "YE")],
)
def test_collar(awg: str, colour: str) -> None:
    area = parse_size(f"{awg} AWG").area_mm2
    assert next(c.colour for c in ends.collars() if c.takes(area)) == colour
    assert not any(c.takes(parse_size("8 AWG").area_mm2) for c in ends.collars())


# A tube-maker's data sheet, polyolefin 2:1: inside before and after shrinking [mm].
TUBES = {
    1.6: 0.8, 2.4: 1.2, 3.2: 1.6, 4.8: 2.4, 6.4: 3.2, 9.5: 4.8, 12.7: 6.4, 19.1: 9.5, 25.4: 12.7, 38.1: 19.1,
    50.8: 25.4,
}  # fmt: skip


def test_every_plain_sleeve_against_its_print() -> None:
    assert {s.expanded_mm: s.recovered_mm for s in ends.shrinks() if s.ratio == "2:1"} == TUBES


# Heat-shrink size guide: 2:1, 25.4 to 12.7 and 50.8 to 25.4 mm; 3:1, 24 to 8 mm; 20 to 30 % larger than the part.
def test_heat_shrink() -> None:
    sizes = {(s.ratio, s.expanded_mm, s.recovered_mm) for s in ends.shrinks()}
    assert {("2:1", 25.4, 12.7), ("2:1", 50.8, 25.4), ("3:1", 24.0, 8.0)} <= sizes
    for ratio, expanded, recovered in sizes:
        assert expanded / recovered == pytest.approx(float(ratio[0]), rel=0.02)
    found = ends.shrink_for(14.0, 20.0)
    assert found is not None
    assert found.expanded_mm >= 1.2 * 20.0


# NASA-STD-8739.4: cables 6 x, in the long term 10 x the diameter. ISO 10133: supports 450 and 300 mm. A-620: ties.
def test_bends_and_supports() -> None:
    assert workmanship.bend_diameters("cable") == 6.0
    assert workmanship.bend_diameters("cable_long_term") == 10.0
    assert (workmanship.support_mm("run"), workmanship.support_mm("battery_cable")) == (450.0, 300.0)
    assert workmanship.tie_mm() == 300.0


# Connector article: 12 A in two or three contacts and 7.5 A in twelve to fifteen, of contacts for 13 A.
@pytest.mark.parametrize(("loaded", "amps"), [(1, 13.0), (3, 12.0), (12, 7.5), (15, 7.5)])
def test_contacts_together(loaded: int, amps: float) -> None:
    assert 13.0 * harness.contact_share(loaded) == pytest.approx(amps, rel=0.006)


# ABYC E-11: red is positive, black or yellow negative, green bonding.
def test_usual_colours() -> None:
    assert (harness.usual_colour("power"), harness.usual_colour("ground")) == ("RD", "BK")
    assert "RD" in harness.wrong_colours("ground")
    assert {"BK", "GN"} <= set(harness.wrong_colours("power"))


@pytest.mark.parametrize(("file", "path"), [
    ("ends", p) for p in ("end.ferrule_colour", "end.ferrule", "end.ferrule_strip", "end.ring", "end.collar",
                          "end.collar_strip", "end.sleeve", "end.contact", "end.shrink")
] + [("workmanship", "workmanship.crimp_pull"), ("harness", "harness.colour")])  # fmt: skip
def test_every_row_names_its_source(file: str, path: str) -> None:
    for row in tables.rows(file, path).values():
        assert row.source, row.key
        assert row.mark in tables.MARKS, row.key
