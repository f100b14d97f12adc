"""US units on paper against exact factors: 1 in = 25.4 mm, F = 1.8 C + 32, 1 lb = 0.45359237 kg; lbf by NIST SP 811."""

from __future__ import annotations

import csv
import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.drawing.marks import Group, Sheet, Text, flat
from loomwright.findings.words import amount
from loomwright.loom.labels import csv_text
from loomwright.papers.cells import Column, table
from loomwright.papers.units import METRIC, US
from tests.drawing import demo


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("Move the fuse within 178 mm of the battery (now 620 mm).",
         "Move the fuse within 7 in of the battery (now 24.4 in)."),  # 33 CFR 183.455: 7 inches
        ("limit 105 °C", "limit 221 °F"),
        ("\u221240 °C and 0 °C", "\u221240 °F and 32 °F"),
        ("90 to 120 of 105 °C", "194 to 248 of 221 °F"),
        ("450 × 200 mm", "17.7 × 7.87 in"),
        ("8 mm² of copper, 16 mm2 lug, M6", "8 mm² of copper, 16 mm2 lug, M6"),
        ("6 Nm", "53 lbf·in"),  # 6 x 8.8507
        ("holds 445\u2009N", "holds 100\u2009lbf"),  # 445 / 4.4482
        ("454 g", "16 oz"),
        ("at 1 m", "at 3.3 ft"),
        ("100 mΩ, 12.6 V, 4 ohm, 30 mm/s", "100 mΩ, 12.6 V, 4 ohm, 30 mm/s"),
        ("P3mm and x450 mm", "P3mm and x450 mm"),
    ],
)  # fmt: skip
def test_a_sentence_is_said_again_in_us_units(metric: str, us: str) -> None:
    assert US.words(metric) == us
    assert METRIC.words(metric) == metric


@given(st.floats(0.01, 20_000.0))
def test_a_length_said_again_means_the_same_figure(value_mm: float) -> None:
    """Within half of the last place that is written, or 0.2 %: whichever is more."""
    said = amount(value_mm, "mm")
    written = said.partition(" ")[0]
    got = re.fullmatch(r"([\d.]+) in", US.words(said))
    assert got
    half = 0.5 * 10.0 ** -len(written.partition(".")[2])
    assert abs(float(got[1]) * 25.4 - float(written)) <= max(half, 0.002 * float(written)) * (1.0 + 1e-9)


@given(st.floats(-60.0, 1200.0))
def test_a_temperature_said_again_means_the_same_figure(value_c: float) -> None:
    written = f"{value_c:.0f}"
    said = US.words(f"{written} °C".replace("-", "\u2212"))
    back = (float(said.removesuffix(" °F").replace("\u2212", "-")) - 32.0) / 1.8
    assert abs(back - float(written)) <= max(0.5, 0.002 * abs(float(written) + 32.0)) + 1e-9


def test_a_table_has_its_columns_in_inches_and_fahrenheit() -> None:
    columns = (Column("Wire"), Column("Cut", "mm", True), Column("Hottest", "°C", True), Column("Drop", "mV", True))
    made = US.grid(table(columns, [["P1", "2540", "100", 12.5], ["8 mm2", "127", None, 3.0]]))
    assert [c["unit"] for c in made["columns"]] == ["", "in", "°F", "mV"]
    assert [[c["text"] for c in row] for row in made["rows"]] == [
        ["P1", "100.0", "212", "12.5"], ["8 mm2", "5.00", "\u2013", "3.00"]
    ]  # fmt: skip
    assert all(c["pad"] is not None for row in made["rows"] for c in row)


def test_a_drawing_has_its_words_in_inches_and_nothing_moved() -> None:
    drawing = Sheet(100, 50, (Group((Text((1, 2), "8 AWG, 254\u2009mm"),), title="P1, 254 mm"),), "x")
    made = US.sheet(drawing)
    (text,) = [m for m in flat(made.marks) if isinstance(m, Text)]
    assert text.text == "8 AWG, 10\u2009in"
    assert text.at == (1, 2)


def test_a_spreadsheet_stays_safe_and_its_heads_say_the_unit() -> None:
    text = csv_text(("wire", "cut_mm", "insulation_c", "mass_g"), [["=cmd()", 254.0, 105, 100], ["-1 mm", None, "", 5]])
    rows = list(csv.reader(io.StringIO(US.spreadsheet(text), newline="")))
    assert rows[0] == ["wire", "cut_in", "insulation_f", "mass_oz"]
    assert rows[1][:3] == ["'=cmd()", "10", "221"]
    assert rows[2][0].startswith("'")
    assert METRIC.spreadsheet(text) == text


@pytest.mark.parametrize("name", demo.NAMES)
def test_no_finding_keeps_a_metric_length_or_temperature(name: str) -> None:
    for f in demo.findings(name):
        for text in (f.evidence, f.remedy):
            said = US.words(text)
            assert not re.search(r"\d (mm|cm|m|°C)(?![\w²])", said), said
