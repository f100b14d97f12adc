"""Labels and tables: names are data, whatever they are; a spreadsheet takes them as text."""

from __future__ import annotations

import csv
import io

import pdfplumber
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.errors import InputError
from loomwright.loom.cut_plan import pieces, plan
from loomwright.loom.labels import MOST, csv_text, label, safe, short
from loomwright.loom.sheets import tables
from loomwright.loom.shopping import consumables, wire_to_buy
from loomwright.papers import labels
from loomwright.rig.file import parse
from loomwright.study import Study
from tests.findings.bases import TRIKE, spoiled
from tests.findings.edits import line
from tests.findings.own_parts import catalogue

AWKWARD = ("=cmd|' /C calc'!A0", "+1", "-2", "@x", "שלום", "#set page(width: 1mm)", "W" * 64, "a,b;c")


def study_with(name: str) -> Study:
    row = line(TRIKE, "P3")
    quoted = name.replace("\\", "\\\\").replace('"', '\\"')
    return Study(parse(spoiled(TRIKE, (row, row.replace('"P3"', f'"{quoted}"'))), "test.toml", catalogue()))


@given(st.text())
def test_no_cell_begins_like_a_formula(text: str) -> None:
    cell = safe(text)
    assert not cell.lstrip(" \u00a0\ufeff").startswith(("=", "+", "-", "@", "\t", "\r"))
    assert cell.removeprefix("'") == text or cell == text


@given(st.lists(st.lists(st.text(), min_size=3, max_size=3), max_size=5))
def test_csv_comes_back_as_it_was(rows: list[list[str]]) -> None:
    back = list(csv.reader(io.StringIO(csv_text(("a", "b", "c"), rows), newline="")))[1:]
    assert back == [[safe(c) for c in row] for row in rows]


def test_numbers_stay_numbers() -> None:
    assert [safe(v) for v in (1.5, -3, None, True)] == ["1.5", "-3", "", "yes"]


@given(st.text(), st.text(), st.text())
def test_a_label_has_three_lines_that_read_one_way(wire: str, here: str, there: str) -> None:
    text = label(wire, here, there)
    assert len(text.split("\n")) == 3
    assert all(c.isprintable() or c in "\n\ufffd\u00a0" or c.isspace() for c in text)
    assert not set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f") & set(text)
    assert all(len(row) <= MOST + 2 for row in text.split("\n"))


def test_a_long_name_keeps_both_its_ends() -> None:
    cut = short("left_case_front_amplifier_number_two.supply+")
    assert cut.startswith("left_case")
    assert cut.endswith("supply+")
    assert len(cut) == MOST


def test_an_id_that_turns_the_line_round_is_refused() -> None:
    with pytest.raises(InputError, match="control character"):
        study_with("\u202eabc")


@pytest.mark.parametrize("name", AWKWARD)
def test_awkward_ids_go_through_every_table(name: str) -> None:
    made = study_with(name)
    loom = made.loom
    wanted = pieces(loom.wires)
    cuts = plan(wanted, ())
    for file, text in tables(loom, cuts, wire_to_buy(cuts.missing), consumables(made.rig, loom)).items():
        rows = list(csv.reader(io.StringIO(text, newline="")))
        assert len({len(r) for r in rows}) == 1, file
        for row in rows:
            for cell in row:
                if not cell.lstrip("-").replace(".", "").isdigit():
                    assert not cell.startswith(("=", "+", "-", "@")), (file, cell)
    assert name in {w.id for w in loom.wires}


@pytest.mark.parametrize("name", AWKWARD)
def test_awkward_ids_are_printed_as_data(name: str) -> None:
    made = study_with(name)
    sheet = labels.sheet_of((50.0, 20.0))
    pdf = labels.pdf(made.loom.wires, sheet, name)
    with pdfplumber.open(io.BytesIO(pdf)) as paper:
        assert paper.pages[0].width == pytest.approx(210.0 / 25.4 * 72.0, abs=0.1)
        assert len(paper.pages) == -(-2 * len(made.loom.wires) // (sheet.columns * sheet.rows))
        said = paper.pages[0].extract_text()
    assert "main.out" in said


@pytest.mark.parametrize(("label_mm", "gap_mm", "grid"), [
    ((63.5, 38.1), (2.5, 0.0), (3, 7)), ((70.0, 37.0), (0.0, 0.0), (3, 8)), ((210.0, 297.0), (0.0, 0.0), (1, 1)),
])  # fmt: skip
def test_sheets_by_dimension(label_mm: tuple[float, float], gap_mm: tuple[float, float], grid: tuple[int, int]) -> None:
    """Common A4 sheets: 63.5 x 38.1 mm comes as 3 x 7, 70 x 37 mm as 3 x 8."""
    sheet = labels.sheet_of(label_mm, "a4", gap_mm)
    assert (sheet.columns, sheet.rows) == grid
    right = sheet.left_mm + sheet.columns * label_mm[0] + (sheet.columns - 1) * gap_mm[0]
    assert right + sheet.left_mm == pytest.approx(210.0)


@pytest.mark.parametrize("size", [(5.0, 20.0), (300.0, 20.0), (50.0, 2.0)])
def test_labels_that_cannot_be(size: tuple[float, float]) -> None:
    with pytest.raises(InputError):
        labels.sheet_of(size)


def test_the_same_rig_gives_the_same_sheet() -> None:
    made = study_with("P3")
    sheet = labels.sheet_of((50.0, 20.0), "letter")
    assert labels.pdf(made.loom.wires, sheet, "x") == labels.pdf(made.loom.wires, sheet, "x")
