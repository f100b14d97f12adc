"""A measured impedance, read from plain columns: frequency, ohm, degrees.

Columns may be parted by spaces, tabs, semicolons or commas; decimals may have a comma; rows may stand in any order;
frequencies may be in kilohertz where a heading says so, or where the numbers can mean nothing else. What the reader
had to make of a file is said in the notes; what it cannot make sense of is a problem with its line.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from itertools import pairwise
from pathlib import Path

from loomwright.rig.model import Impedance
from loomwright.rig.report import Report
from loomwright.rig.words import show

MAX_BYTES = 2_000_000
LEAST_ROWS = 3
GAP = 2.05
"""Neighbouring rows further apart than this ratio leave a gap: an octave, and a little for rounding."""
LEAST_TOP_HZ = 100.0
"""A curve that ends below this is in kilohertz."""
_COMMENT = ("#", "*", "!", "%", "//", ";", "'", '"')
_THOUSANDS = re.compile(r"^[+-]?[0-9]{1,3}(,[0-9]{3})+$")

Row = tuple[str, float, float, float]
"""Where it stands, frequency, ohm, degrees."""


def read_file(folder: Path | None, name: str, place: str, report: Report) -> Impedance | None:
    """The curve in a file beside the rig; None, with the problems in the report, where it cannot be used."""
    before = len(report.problems)
    if Path(name).name != name or name in (".", "..") or "\\" in name or "\0" in name:
        remedy = "Put the file beside the rig and write its name."
        report.add(place, "the name of a file beside the rig", show(name), remedy)
    elif folder is None:
        report.add(
            place, "a rig that lies in a folder, with this file beside it", "the text of a rig alone",
            "Write the rows into the rig instead: impedance = [[20, 4.1, 12.5], ..].",
        )  # fmt: skip
    else:
        text = _text(folder / name, place, report)
        own = Report(str(folder / name))
        found = None if text is None else parse(text, own)
        report.problems.extend(p for p in own.problems if p not in report.problems)
        if len(report.problems) == before:
            return found
    return None


def parse(text: str, report: Report) -> Impedance | None:
    """The curve in a text of columns; None, with the problems in the report, where it cannot be used."""
    notes: list[str] = []
    heading_khz, cells = _cells(text, report)
    commas = _commas([c for _, row in cells for c in row], report)
    if report.problems or commas is None:
        return None
    if commas == ".":
        notes.append("decimal commas read as points")
    rows = [r for where, row in cells if (r := _row(where, row, commas, report)) is not None]
    if report.problems or not rows:
        if not report.problems:
            report.add("file", "rows of frequency, ohm, degrees", "no rows", "Export the curve as plain columns.")
        return None
    top_hz = max(r[1] for r in rows)
    if heading_khz or (top_hz < LEAST_TOP_HZ and min(r[1] for r in rows) < 1.0):
        rows = [(where, f * 1000.0, ohm, degrees) for where, f, ohm, degrees in rows]
        notes.append("frequencies read as kilohertz")
    elif top_hz < LEAST_TOP_HZ:
        report.add(
            "file", f"frequencies beyond {LEAST_TOP_HZ:g} Hz", f"{top_hz:g} at most",
            "Give frequencies in hertz, or write kHz above the column.",
        )  # fmt: skip
        return None
    return curve(rows, report, notes)


def from_rows(rows: Sequence[Sequence[float]], place: str, report: Report) -> Impedance | None:
    """The curve written out in a rig; None, with the problems in the report, where it cannot be used."""
    return curve([(f"{place}[{n}]", f, z, d) for n, (f, z, d) in enumerate(rows, 1)], report, [], place)


def curve(rows: Sequence[Row], report: Report, notes: list[str], place: str = "file") -> Impedance | None:
    """Rows in hertz, checked and put in order."""
    before = len(report.problems)
    for where, f, ohm, degrees in rows:
        _within(where, "a frequency above 0 and up to 200,000 Hz", f, 0.0 < f <= 200_000.0, report)
        _within(where, "an impedance above 0 and up to 100,000 ohm", ohm, 0.0 < ohm <= 100_000.0, report)
        _within(where, "a phase from -90 to 90 degrees", degrees, -90.0 <= degrees <= 90.0, report)
    if len(report.problems) > before:
        return None
    ordered = sorted(rows, key=lambda r: r[1])
    if [r[1] for r in ordered] != [r[1] for r in rows]:
        notes.append("rows put in order of frequency")
    kept: list[Row] = []
    for row in ordered:
        if kept and row[1] == kept[-1][1]:
            if row[2:] != kept[-1][2:]:
                report.add(
                    row[0], "one row for each frequency", f"{row[1]:g} Hz twice, with unlike values",
                    "Keep one of the two rows.",
                )  # fmt: skip
            continue
        kept.append(row)
    if len(kept) < LEAST_ROWS:
        report.add(place, f"at least {LEAST_ROWS} rows", f"{len(kept)}", "Measure from 20 Hz to 20 kHz.")
    for a, b in pairwise(kept):
        if b[1] > GAP * a[1]:
            report.add(
                b[0], "a row at least every octave", f"nothing between {a[1]:g} Hz and {b[1]:g} Hz",
                "Measure the gap, or leave the shorter piece out.",
            )  # fmt: skip
    if len(report.problems) > before:
        return None
    return Impedance(
        tuple(r[1] for r in kept), tuple(r[2] for r in kept), tuple(r[3] for r in kept), tuple(notes)
    )


def _text(path: Path, place: str, report: Report) -> str | None:
    try:
        if path.stat().st_size > MAX_BYTES:
            report.add(place, f"a file of at most {MAX_BYTES / 1e6:g} MB", "more", "Check that it is the curve.")
            return None
        data = path.read_bytes()
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        report.add(place, "a file beside the rig that can be read", f"{show(path.name)}: {reason}", "Put it there.")
        return None
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _cells(text: str, report: Report) -> tuple[bool, list[tuple[str, list[str]]]]:
    """Whether a heading speaks of kilohertz, and the cells of every row with its line."""
    khz = False
    found: list[tuple[str, list[str]]] = []
    for n, line in enumerate(text.splitlines(), 1):
        bare = line.strip()
        if not bare:
            continue
        if bare.startswith(_COMMENT) or bare[0].isalpha():
            khz = khz or "khz" in bare.lower()
            continue
        if len(found) >= 20_000:
            report.add(f"line {n}", "at most 20,000 rows", "more", "Smooth the curve, or export fewer points.")
            break
        if ";" in bare or "\t" in bare:
            row = re.split(r"\s*[;\t]\s*", bare)
        else:
            row = [c.removesuffix(",") for c in bare.split()]
            if len(row) == 1 and "," in bare:
                row = bare.split(",")
        found.append((f"line {n}", [c.strip() for c in row if c.strip()]))
    return khz, found


def _commas(cells: Iterable[str], report: Report) -> str | None:
    """What a comma inside a number stands for: ``"."`` a decimal point, ``""`` nothing; None: not clear."""
    with_comma = [c for c in cells if "," in c]
    if any("." not in c and not _THOUSANDS.match(c) for c in with_comma):
        return "."
    if with_comma and not any("." in c for c in cells):
        report.add(
            "file", "numbers that can be read one way only", f"{show(with_comma[0])}: thousand, or one point nought?",
            "Write decimals with a point and no mark between thousands.",
        )  # fmt: skip
        return None
    return ""


def _row(where: str, cells: Sequence[str], commas: str, report: Report) -> Row | None:
    if len(cells) < 3:
        report.add(
            where, "frequency, ohm and degrees", f"{len(cells)} of them: {show(' '.join(cells))}",
            "Fill the gap, or take the row out.",
        )  # fmt: skip
        return None
    numbers = []
    for cell in cells[:3]:
        try:
            numbers.append(float(cell.replace(",", commas)))
        except ValueError:
            numbers.append(math.nan)
        if not math.isfinite(numbers[-1]):
            report.add(where, "a number", show(cell), "Correct it, or take the row out.")
            return None
    return where, numbers[0], numbers[1], numbers[2]


def _within(where: str, expected: str, value: float, good: bool, report: Report) -> None:
    if not good:
        report.add(where, expected, f"{value:g}", "Correct the row, or take it out.")
