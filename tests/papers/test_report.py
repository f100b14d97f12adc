import io
import json
from functools import cache
from pathlib import Path

import pdfplumber
import pypdfium2
import pytest

from loomwright.drawing import pages
from loomwright.findings.model import Finding
from loomwright.papers import power_tables, report
from tests.drawing import demo, samples

PT_PER_MM = 72 / 25.4
FINDINGS = (
    Finding(
        "E101",
        "Stop",
        "No device between battery and load",
        ("battery", "P1"),
        "150 mm of live wire.",
        "Fit a fuse.",
        "a source",
    ),
    Finding(
        "E512",
        "Fix",
        "Hazard on a run without cover",
        ("run 1",),
        "not answered: moving.",
        "Fit a sleeve.",
        "harness trade",
        mark="common practice",
    ),
    Finding(
        "E991",
        "Know",
        "Provisional data under a verdict",
        (),
        "gates.",
        "Read them.",
        "data sheets",
        True,
        "from memory",
    ),
)
INJECTIONS = (
    '#panic("x")',
    '#import "@preview/x:1.0.0": *',
    "$x^2$ and $ y $",
    "*not bold* _not slanted_",
    "`raw` ```",
    "@ref <label>",
    "// no remark",
    "\\u{41} \\ ",
    '#{read("/etc/hostname")}',
    "= no heading",
    "] [ ) (",
    "https://example.invalid",
)


def words(pdf: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [" ".join(page.get_textpage().get_text_range().split()) for page in document]
    finally:
        document.close()


@cache
def gathered(name: str, sheet: report.PaperSize = "a4") -> dict[str, bytes]:
    found = demo.findings(name) if name in demo.NAMES else FINDINGS
    return report.gather(demo.study(name), found, sheet)[0]


@cache
def printed(name: str, sheet: report.PaperSize = "a4") -> bytes:
    return pages.typeset(gathered(name, sheet), "pdf")


@cache
def printed_words(name: str, sheet: report.PaperSize = "a4") -> list[str]:
    return words(printed(name, sheet))


def squeezed(text: str) -> str:
    return "".join(text.split()).replace("\u200b", "")


@pytest.mark.parametrize("name", ["carnival_trike_as_found", "carnival_trike_planned"])
def test_every_finding_stands_in_it_in_order_with_what_to_do(name: str) -> None:
    text = squeezed("".join(printed_words(name)[1:]))
    at = 0
    for f in demo.findings(name):
        for part in (f.title, ", ".join(f.where), f.evidence, "Do: " + f.remedy, f.source):
            assert squeezed(part) in text
        at = text.index(squeezed(f.evidence), max(0, at - 1))


def test_the_first_page_tells_the_verdict_and_the_cautions() -> None:
    for name, verdict in (
        ("carnival_trike_as_found", "Do not power up."),
        ("carnival_trike_planned", "No Stop and no Fix"),
    ):
        first = printed_words(name)[0]
        assert verdict in first
        assert demo.study(name).rig.title in first
        for caution in (
            "Isolate the battery first.",
            "Fuse near the source.",
            "Hearing.",
            "local codes and licensed practice",
        ):
            assert caution in first
        counts = {s: sum(f.severity == s for f in demo.findings(name)) for s in ("Stop", "Fix", "Know")}
        for word, count in counts.items():
            assert f"{count} {word}" in first or f"{word} {count}" in first or str(count) in first


@pytest.mark.parametrize(
    ("name", "sheet"), [(n, "a4") for n in demo.NAMES] + [(n, "letter") for n in demo.NAMES if "trike" in n]
)
def test_verdict_and_cautions_fit_on_one_page(name: str, sheet: report.PaperSize) -> None:
    first, second = printed_words(name, sheet)[:2]
    assert "Power, protection and sound" in first
    assert "have the work checked by someone entitled to" in first
    assert "Findings, in order of urgency" in second


@pytest.mark.parametrize("name", demo.NAMES)
def test_every_fault_of_the_drill_is_a_row(name: str) -> None:
    data = json.loads(gathered(name)["data.json"])
    rows = [f for part in data["drill"] for f in part["faults"]]
    assert len(rows) == len(demo.study(name).protection.drill)
    order = ["wire damaged", "not cleared", "cleared, took others down", "cleared alone", "no harm"]
    for part in data["drill"]:
        ranks = [order.index(f["verdict"]) for f in part["faults"]]
        assert ranks == sorted(ranks)
    text = squeezed("".join(printed_words(name)))
    for fault in demo.study(name).protection.drill[::37]:
        assert squeezed(fault.reason)[:60] in text


@pytest.mark.parametrize("name", ["trike", "hostile", "carnival_trike_planned"])
def test_the_same_study_gives_the_same_bytes(name: str) -> None:
    found = demo.findings(name) if name in demo.NAMES else FINDINGS
    again = pages.typeset(report.gather(demo.study(name), found)[0], "pdf")
    assert again == printed(name)
    assert b"CreationDate" not in again


@pytest.mark.parametrize(("sheet", "width_mm", "height_mm"), [("a4", 210.0, 297.0), ("letter", 215.9, 279.4)])
def test_pages_have_the_size_asked_for_and_the_diagram_its_own(
    sheet: report.PaperSize, width_mm: float, height_mm: float
) -> None:
    with pdfplumber.open(io.BytesIO(printed("trike", sheet))) as document:
        sizes = [(float(p.width) / PT_PER_MM, float(p.height) / PT_PER_MM) for p in document.pages]
    large = [s for s in sizes if s[0] > 250]
    assert large == [pytest.approx((420.0, 297.0), abs=0.01)]
    assert all(s == pytest.approx((width_mm, height_mm), abs=0.01) for s in sizes if s[0] < 250)


@pytest.mark.parametrize("text", INJECTIONS)
def test_markup_of_the_typesetter_is_shown_as_words(text: str) -> None:
    found = (Finding("E000", "Fix", text, (text,), text, text, text),)
    out = "".join(words(pages.typeset(report.gather(demo.study("tiny"), found)[0], "pdf")))
    assert squeezed(out).count(squeezed(text)) >= 5


def test_hostile_ids_reach_every_table_as_words() -> None:
    text = squeezed("".join(printed_words("hostile")))
    for name in ("<b>&\"'</b>", "$x^2$`r`", "*bold*_it_@ref"):
        assert squeezed(name) in text


def test_power_figures_are_those_of_the_study() -> None:
    study = demo.study("carnival_trike_planned")
    pages_ = printed_words("carnival_trike_planned")
    power = next(p for p in pages_ if p.startswith("Carnival trike, planned planned Power"))
    for item in study.rig.family("amplifier"):
        row = [
            f"{study.power.case(e, p).items[item.id].volts_v:.2f}"
            for e in ("off", "idle", "cruise")
            for p in ("quiet", "music", "loud", "sine")
        ]
        assert f"{item.id} {' '.join(row)}" in power


def test_a_minus_is_a_minus() -> None:
    data = json.loads(gathered("carnival_trike_as_found")["data.json"])
    cells = [c for grid in data["cases"] for row in grid["rows"] for c in row["cells"]]
    cells += [c["text"] for row in data["balance"]["rows"] for c in row[2:]]
    assert any(c.startswith("\u2212") for c in cells)
    assert not any("-" in c for c in cells)


def test_files_are_written_in_reading_order(tmp_path: Path) -> None:
    files = report.build(demo.study("tiny"), FINDINGS, tmp_path / "new" / "folder")
    assert [f.name for f in files] == ["report.pdf", "single_line.svg", "single_line.pdf", "single_line.png"]
    assert all(f.stat().st_size > 1000 for f in files)


def test_a_rig_without_sources_of_interest_still_prints() -> None:
    """No amplifier, no charger, no session, no chain."""
    from loomwright.power.results import PowerResult
    from loomwright.protection.results import ProtectionResult
    from loomwright.study import Study

    rig = samples.rig(
        "bare",
        {"battery": samples.battery(), "fuse": samples.holder()},
        [("P1", "battery.plus", "fuse.in", "8 AWG", 150.0)],
    )
    study = Study(rig)
    study.__dict__.update(
        rig=rig, power=PowerResult({}, (), (), (), {}), protection=ProtectionResult({}, (), {}, (), (), ())
    )
    text = "".join(words(pages.typeset(report.gather(study, ())[0], "pdf")))
    assert "Nothing found." in text
    assert "No Stop and no Fix" in text


def test_a_long_report_lists_its_contents_on_page_2_and_a_short_one_does_not() -> None:
    long, short = printed_words("carnival_trike_planned"), printed_words("tiny")
    assert len(long) > 8
    assert "Contents" in long[1]
    assert "Fault drill" in long[1]
    if len(short) <= 8:
        assert not any("Contents" in page for page in short)


def test_letters_that_the_font_lacks_are_printed_as_codes() -> None:
    found = (Finding("E000", "Fix", "wire \u7dda2", ("\u7dda2",), "because", "do", "source"),)
    text = squeezed("".join(words(pages.typeset(report.gather(demo.study("tiny"), found)[0], "pdf"))))
    assert "wire[U+7DDA]2" in text


def test_without_a_charger_idle_and_cruise_are_left_out_and_that_is_said() -> None:
    study = demo.study("tiny")
    assert not study.rig.family("charger")
    grids = power_tables.cases(study)
    assert grids
    assert all(g["states"] == ("off",) and all(len(r["cells"]) == 4 for r in g["rows"]) for g in grids)
    assert power_tables.NO_CHARGER in power_tables.remarks(study)
    assert {row[0]["text"] for row in power_tables.balance(study)["rows"]} <= {"off"}
    charged = power_tables.cases(demo.study("carnival_trike_planned"))
    assert all(g["states"] == ("off", "idle", "cruise") for g in charged)


def test_a_rig_too_large_for_a_sheet_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    from loomwright.drawing import single_line

    monkeypatch.setattr(single_line, "MOST_BOXES", 1)
    files, diagram = report.gather(demo.study("tiny"), FINDINGS)
    assert diagram is None
    assert "No diagram" in "".join(words(pages.typeset(files, "pdf")))
