"""The ampacity table and its factors, cell by cell, against the published ones."""

from __future__ import annotations

import math

import pytest

from loomwright.facts.ampacity import ambient_factor, ampacity_a, bundle_factor, engine_space_factor, table_a
from loomwright.facts.conductors import parse_size

# 33 CFR 183.425 Table 5, "Allowable Amperage of Conductors", United States Code of Federal Regulations (public domain).
# Transcribed from the text of the law, which writes 1/0 to 4/0 as 0, 00, 000, 0000.
INSULATION_C = (60, 75, 80, 90, 105, 125, 200)
LAW = """
18   10  10  15  20  20  25  25
16   15  15  20  25  25  30  35
14   20  20  25  30  35  40  45
12   25  25  35  40  45  50  55
10   40  40  50  55  60  70  70
8    55  65  70  70  80  90 100
6    80  95 100 100 120 125 135
4   105 125 130 135 160 170 180
3   120 145 150 155 180 195 210
2   140 170 175 180 210 225 240
1   165 195 210 210 245 265 280
0   195 230 245 245 285 305 325
00  225 265 285 285 330 355 370
000 260 310 330 330 385 410 430
0000 300 360 385 385 445 475 510
"""
CELLS = [
    (size, c, int(amps))
    for size, *row in (line.split() for line in LAW.strip().splitlines())
    for c, amps in zip(INSULATION_C, row, strict=True)
]


def test_the_law_has_105_cells():
    assert len(CELLS) == 15 * 7


@pytest.mark.parametrize(("size", "insulation_c", "amps"), CELLS)
def test_every_cell_of_the_law(size, insulation_c, amps):
    row = parse_size(f"{size} AWG")
    assert table_a(row.label, insulation_c) == amps
    assert ampacity_a(row.area_mm2, "copper", insulation_c) == amps


# 33 CFR 183.425 Table 5, note 1: correction for conductors in engine spaces.
@pytest.mark.parametrize(
    ("insulation_c", "factor"),
    [(60, 0.58), (75, 0.75), (80, 0.78), (90, 0.82), (105, 0.85), (125, 0.89), (200, 1.00)],
)
def test_engine_space_factors_and_the_square_root_behind_them(insulation_c, factor):
    assert engine_space_factor(insulation_c) == factor
    if insulation_c < 200:
        assert ambient_factor(insulation_c, 50) == pytest.approx(factor, abs=0.0065)
    else:  # the law rounds up to 1; the rule gives 0.94, and the rule is what we derate by
        assert ambient_factor(insulation_c, 50) == pytest.approx(0.94, abs=0.001)


# Canadian Electrical Code (CSA C22.1) Table 5A, correction for ambients above 30 C, as held in an open data file:
# a second authority for the square-root rule, at temperatures that 33 CFR does not print.
CEC = {
    35: {60: 0.91, 75: 0.94, 90: 0.96, 105: 0.97, 125: 0.97, 200: 0.99},
    40: {60: 0.82, 75: 0.88, 90: 0.91, 105: 0.93, 125: 0.95, 200: 0.97},
    45: {60: 0.71, 75: 0.82, 90: 0.87, 105: 0.89, 125: 0.92, 200: 0.95},
    50: {60: 0.58, 75: 0.75, 90: 0.82, 105: 0.86, 125: 0.89, 200: 0.94},
    55: {60: 0.41, 75: 0.67, 90: 0.76, 105: 0.82, 125: 0.86, 200: 0.92},
    60: {75: 0.58, 90: 0.71, 105: 0.77, 125: 0.83, 200: 0.91},
}


@pytest.mark.parametrize(
    ("ambient_c", "insulation_c", "factor"), [(a, i, f) for a, row in CEC.items() for i, f in row.items()]
)
def test_ambient_factor_against_a_second_authority(ambient_c, insulation_c, factor):
    assert ambient_factor(insulation_c, ambient_c) == pytest.approx(factor, abs=0.0065)


# 33 CFR 183.425 Table 5, note 2 (law from 3 conductors and 50 V on, 183.435); ABYC E-11 direct-current list, one
# transcription, starts at a pair.
@pytest.mark.parametrize(
    ("count", "from_3", "from_2"),
    [
        (1, 1.0, 1.0), (2, 1.0, 0.7), (3, 0.7, 0.7), (4, 0.6, 0.6), (6, 0.6, 0.6), (7, 0.5, 0.5), (24, 0.5, 0.5),
        (25, 0.4, 0.4), (60, 0.4, 0.4),
    ],
)
def test_bundle_factors(count, from_3, from_2):
    assert bundle_factor(count, "from 3") == from_3
    assert bundle_factor(count, "from 2") == from_2


# Table 5 x 0.85 for 105 C wire in an engine space, as a chandler's page prints it: nearest ampere, halves down.
@pytest.mark.parametrize(
    ("size", "amps"),
    [
        ("18", 17), ("16", 21), ("14", 30), ("12", 38), ("10", 51), ("8", 68), ("6", 102), ("4", 136), ("3", 153),
        ("2", 178), ("1", 208), ("1/0", 242), ("2/0", 280), ("3/0", 327), ("4/0", 378),
    ],
)
def test_printed_engine_space_amperes(size, amps):
    assert math.ceil(table_a(size, 105) * engine_space_factor(105) - 0.5) == amps
