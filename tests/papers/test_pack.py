"""The pack: everything in it, in order, as words, on paper of the size asked for; the same bytes each time."""

from __future__ import annotations

import hashlib
import json
import os
import re
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from loomwright import demo as demos
from loomwright.findings.model import Finding
from loomwright.loom.stock_file import load_stock
from loomwright.papers import pack, paper, power_tables
from loomwright.papers.order import Order
from loomwright.papers.paper import PaperSize
from loomwright.papers.units import METRIC, US, Units
from loomwright.study import Study
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


def squeezed(text: str) -> str:
    """Without spaces, places to break, and hyphens: at the end of a line they are read as such a place."""
    return re.sub(r"[\s\u200b\u00ad\ufffe-]", "", text)


@cache
def order(name: str, sheet: PaperSize = "a4", units: Units = METRIC) -> Order:
    real = name in demo.NAMES
    found = demo.findings(name) if real else FINDINGS
    before = None
    if name == "carnival_trike_planned":
        before = (demo.study("carnival_trike_as_found"), demo.findings("carnival_trike_as_found"))
    spools = load_stock(demos.stock_path()) if real else None
    return Order(demo.study(name), found, sheet, units, before, spools, "0123456789abcdef" * 4)


@cache
def printed(name: str, sheet: PaperSize = "a4", units: Units = METRIC) -> bytes:
    wanted = order(name, sheet, units)
    return paper.pdf(pack.files(wanted, pack.gather(wanted), whole=True))


@cache
def printed_words(name: str, sheet: PaperSize = "a4", units: Units = METRIC) -> list[str]:
    return words(printed(name, sheet, units))


def part_words(wanted: Order, name: str) -> str:
    made = pack.one_part(wanted, name)
    assert made is not None
    return " ".join(words(made))


def said_of(findings: tuple[Finding, ...]) -> str:
    return part_words(Order(demo.study("tiny"), findings), "findings")


def data_of(name: str, part: str) -> Any:
    return pack.gather(order(name), [pack.part(part)])[part].data


@cache
def chapters(pdf: bytes) -> tuple[tuple[str, int], ...]:
    """Bookmarks of the first level, each with its page from 1."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return tuple((b.get_title(), b.get_dest().get_index() + 1) for b in document.get_toc() if b.level == 0)
    finally:
        document.close()


def test_the_parts_come_in_the_order_of_the_work_and_have_bookmarks() -> None:
    """From what can hurt to what it rests on; a reader finds each by the bookmarks of the file."""
    found = chapters(printed("carnival_trike_planned"))
    cards = [t for t, _ in found if t.startswith("Gain card: ")]
    assert [t for t, _ in found] == [
        "Cautions", "Summary", "Before and after", "Findings, in order of urgency", "Diagrams", "Wire list",
        "Bundles and runs", "Pinouts", "Cutting plan", "Shopping list and consumables", "Labels",
        "Ring-out, before power", "Build steps", "Commissioning sheet", *cards, "Power", "Protection", "Fault drill",
        "Sound", "What is in it, and where the figures come from",
    ]  # fmt: skip
    assert cards == ["Gain card: " + a.id for a in demo.study("carnival_trike_planned").rig.family("amplifier")]
    pages = [p for _, p in found]
    assert pages == sorted(pages)


def test_the_contents_name_the_page_on_which_each_part_begins() -> None:
    text = printed_words("carnival_trike_planned")
    contents = squeezed(text[1])
    for title, page in chapters(printed("carnival_trike_planned")):
        assert re.search(rf"{re.escape(squeezed(title))}\.+{page}(?!\d)", contents), title
        assert title in text[page - 1] or title == "Diagrams"


@pytest.mark.parametrize("sheet", ["a4", "letter"])
def test_every_page_says_which_it_is_and_of_what(sheet: PaperSize) -> None:
    text = printed_words("carnival_trike_planned", sheet)
    for n, page in enumerate(text, 1):
        assert f"page {n} of {len(text)}" in page
        assert squeezed("carnival_trike_planned.toml, sha256 0123456789ab") in squeezed(page)
        assert demo.study("carnival_trike_planned").rig.title in page


def test_every_finding_stands_in_it_in_order_with_what_to_do() -> None:
    for name in ("carnival_trike_as_found", "carnival_trike_planned"):
        text = squeezed("".join(printed_words(name)[1:]))
        at = 0
        for f in demo.findings(name):
            for part in (f.title, ", ".join(f.where), f.evidence, "Do: " + f.remedy, f.source):
                assert squeezed(part) in text
            at = text.index(squeezed(f.evidence), max(0, at - 1))


def test_the_cover_tells_the_verdict_and_the_first_caution() -> None:
    for name, verdict in (
        ("carnival_trike_as_found", "Do not power up."),
        ("carnival_trike_planned", "No Stop and no Fix"),
    ):
        first, _, cautions, summary = printed_words(name)[:4]
        for page in (first, summary):
            assert verdict in page
            counts = {s: sum(f.severity == s for f in demo.findings(name)) for s in ("Stop", "Fix", "Know")}
            for word, count in counts.items():
                assert f"{count} {word}" in page or f"{word} {count}" in page or str(count) in page
        assert demo.study(name).rig.title in first
        assert "Isolate the battery before you touch a wire." in first
        for caution in ("Isolate the battery first.", "Fuse near the source.", "Hearing.",
                        "local codes and licensed practice"):  # fmt: skip
            assert caution in cautions


@pytest.mark.parametrize("name", demo.NAMES)
def test_cautions_and_summary_are_a_page_each(name: str) -> None:
    for sheet in ("a4", "letter"):
        for part in ("cautions", "summary"):
            made = pack.one_part(order(name, sheet), part)  # type: ignore[arg-type]
            assert made is not None
            assert len(words(made)) == 1, (part, sheet)


@pytest.mark.parametrize("name", demo.NAMES)
def test_every_fault_that_did_harm_or_opened_something_is_a_row_and_the_rest_are_counted(name: str) -> None:
    parts = data_of(name, "fault_drill")["parts"]
    rows = [f for part in parts for f in part["faults"]]
    drill = demo.study(name).protection.drill
    assert len(rows) == sum(f.verdict != "no harm" for f in drill)
    harmless = [w for part in parts if part["harmless"] for w in part["harmless"].split(", ")]
    counted = sum(int(w.rpartition(" × ")[2]) if " × " in w else 1 for w in harmless)
    assert counted == sum(f.verdict == "no harm" for f in drill)
    ranks_of = ["wire damaged", "not cleared", "cleared, took others down", "cleared alone", "no harm"]
    for part in parts:
        ranks = [ranks_of.index(f["verdict"]) for f in part["faults"]]
        assert ranks == sorted(ranks)
    text = squeezed("".join(part_words(order(name), "fault_drill")))
    for fault in [f for f in drill if f.verdict != "no harm"][::17]:
        assert squeezed(fault.reason)[:60] in text


def test_every_wire_of_the_loom_is_in_the_list_with_ends_and_lengths() -> None:
    for name in demo.NAMES:
        text = squeezed(part_words(order(name), "wire_list"))
        for w in demo.study(name).loom.wires:
            for said in (w.id, w.start, w.end, w.size, f"{w.cut_mm:.0f}", w.colour):
                assert squeezed(said) in text, (name, w.id, said)


def test_the_ring_out_has_every_pair_in_its_order() -> None:
    study = demo.study("carnival_trike_planned")
    text = squeezed(part_words(order("carnival_trike_planned"), "ring_out"))
    at = -1
    for j in study.loom.ring_out.joined:
        row = squeezed(f"{j.order} {j.a} {j.b}")
        assert text.index(row) > at
        at = text.index(row)
    for p in study.loom.ring_out.polarity:
        assert squeezed(f"{p.driver}{p.channel}{p.plus_on}") in text


def test_what_no_spool_gives_is_bought() -> None:
    wanted = order("carnival_trike_planned")
    assert wanted.plan is not None
    assert wanted.plan.missing
    text = squeezed(part_words(wanted, "shopping_list"))
    for piece in wanted.plan.missing:
        assert squeezed(f"{piece.size} {piece.metal}") in text
    cut = squeezed(part_words(wanted, "cutting_plan"))
    assert "proven" in cut
    for c in wanted.plan.cuts:
        assert squeezed(c.spool) in cut
    without = Order(wanted.study, wanted.found)
    assert "No stock of wire is given" in part_words(without, "cutting_plan")


@pytest.mark.parametrize("name", ["trike", "hostile"])
def test_the_same_study_gives_the_same_bytes(name: str) -> None:
    wanted = Order(demo.study(name), FINDINGS, digest="0123456789abcdef" * 4)
    again = paper.pdf(pack.files(wanted, pack.gather(wanted), whole=True))
    assert again == printed(name)
    assert b"CreationDate" not in again


def test_two_processes_give_the_same_folder_byte_for_byte(tmp_path: Path) -> None:
    """Whatever order the hashes of the process put sets in."""
    sums = []
    for seed in ("1", "2"):
        out = tmp_path / seed
        command = [sys.executable, "-m", "loomwright.cli.main", "pack", str(demos.path("carnival_trike_planned")),
                   "--before", str(demos.path("carnival_trike_as_found")), "--stock", str(demos.stock_path()),
                   "-o", str(out)]  # fmt: skip
        subprocess.run(command, env={**os.environ, "PYTHONHASHSEED": seed}, check=True, capture_output=True)
        files = sorted(p for p in out.rglob("*") if p.is_file())
        sums.append({str(p.relative_to(out)): hashlib.sha256(p.read_bytes()).hexdigest() for p in files})
    assert len(sums[0]) > 15
    assert sums[0] == sums[1]


@pytest.mark.parametrize(
    ("sheet", "width_mm", "height_mm", "large"),
    [("a4", 210.0, 297.0, (420.0, 297.0)), ("letter", 215.9, 279.4, (431.8, 279.4))],
)
def test_pages_have_the_size_asked_for_and_drawings_the_next_of_that_family(
    sheet: PaperSize, width_mm: float, height_mm: float, large: tuple[float, float]
) -> None:
    """ISO 216: A3 is 420 x 297 mm. ANSI/ASME Y14.1: B is 17 x 11 in, 431.8 x 279.4 mm."""
    document = pypdfium2.PdfDocument(printed("trike", sheet))
    sizes = [(p.get_width() / PT_PER_MM, p.get_height() / PT_PER_MM) for p in document]
    document.close()
    assert [s for s in sizes if s[0] > 300] == [pytest.approx(large, abs=0.01)] * sum(s[0] > 300 for s in sizes)
    for s in (s for s in sizes if s[0] < 300):
        assert sorted(s) == pytest.approx(sorted((width_mm, height_mm)), abs=0.01)


def test_steps_come_in_their_order_with_tools_measures_and_signatures() -> None:
    wanted = order("carnival_trike_planned")
    text = squeezed(part_words(wanted, "build_steps"))
    at = 0
    for step in wanted.steps.steps:
        row = squeezed(f"{step.number}{step.title}")
        assert row in text[at:], step.title
        at = text.index(row, at)
        for line in step.text:
            wire = next((w for w in step.makes if line.startswith(f"{w}: ")), "")
            assert squeezed(f"{wire} {line.removeprefix(f'{wire}: ')}" if wire else line) in text, line
        if step.gate:
            assert squeezed(step.gate) in text
    assert any(s.phase == "take out" and "A1" in " ".join(s.text) for s in wanted.steps.steps)  # what was found goes


@pytest.mark.parametrize("text", INJECTIONS)
def test_markup_of_the_typesetter_is_shown_as_words(text: str) -> None:
    out = said_of((Finding("E000", "Fix", text, (text,), text, text, text),))
    assert squeezed(out).count(squeezed(text)) >= 5


def test_hostile_ids_reach_every_table_as_words() -> None:
    text = squeezed("".join(printed_words("hostile")))
    for name in ("<b>&\"'</b>", "$x^2$`r`", "*bold*_it_@ref"):
        assert squeezed(name) in text


def test_power_figures_are_those_of_the_study() -> None:
    study = demo.study("carnival_trike_planned")
    power = part_words(order("carnival_trike_planned"), "power")
    for item in study.rig.family("amplifier"):
        row = [
            f"{study.power.case(e, p).items[item.id].volts_v:.2f}"
            for e in ("off", "idle", "cruise")
            for p in ("quiet", "music", "loud", "sine")
        ]
        assert f"{item.id} {' '.join(row)}" in power


def test_a_minus_is_a_minus() -> None:
    data = data_of("carnival_trike_as_found", "power")
    cells = [c for grid in data["cases"] for row in grid["rows"] for c in row["cells"]]
    cells += [c["text"] for row in data["balance"]["rows"] for c in row[2:]]
    assert any(c.startswith("\u2212") for c in cells)
    assert not any("-" in c for c in cells)


def test_the_folder_holds_pack_sheets_drawings_tables_and_results(tmp_path: Path) -> None:
    files = pack.build(order("carnival_trike_planned"), tmp_path / "new" / "folder")
    names = [str(f.relative_to(tmp_path / "new" / "folder")).replace("\\", "/") for f in files]
    assert names[0] == "pack.pdf"
    assert {f"parts/{n}.pdf" for n in (*pack.BENCH, "labels")} <= set(names)
    assert {"parts/drawings/single_line_1.svg", "parts/drawings/single_line_1.pdf", "parts/tables/cut_list.csv",
            "parts/tables/labels.csv", "parts/results.json"} <= set(names)  # fmt: skip
    assert all(f.stat().st_size > 100 for f in files)
    results = json.loads((tmp_path / "new" / "folder" / "parts" / "results.json").read_bytes())
    study = demo.study("carnival_trike_planned")
    assert [w["id"] for w in results["data"]["loom"]["wires"]] == [w.id for w in study.loom.wires]
    volts = results["data"]["power"]["cases"]["idle/loud"]["items"]["front_amp"]["volts_v"]
    assert volts == pytest.approx(study.power.case("idle", "loud").items["front_amp"].volts_v)


def test_each_drawing_is_a_picture_too_where_that_is_asked_for(tmp_path: Path) -> None:
    names = [f.relative_to(tmp_path).as_posix() for f in pack.build(order("tiny"), tmp_path, pictures=True)]
    drawn = {n.removesuffix(".svg") for n in names if n.startswith("parts/drawings/") and n.endswith(".svg")}
    assert {n.removesuffix(".png") for n in names if n.endswith(".png")} == drawn
    assert all((tmp_path / f"{n}.png").read_bytes().startswith(b"\x89PNG") for n in drawn)


def test_the_faces_of_a_connector_stand_in_the_pack_once() -> None:
    found = chapters(printed("carnival_trike_planned"))
    begins = dict(found)["Pinouts"]
    ends = next(page for _, page in found if page > begins)
    text = printed_words("carnival_trike_planned")
    for d in demo.study("carnival_trike_planned").loom.disconnects:
        pages = [k for k, t in enumerate(text, 1) if f"{d.id} " in t and "mating side" in t and "wire side" in t]
        assert len(pages) == 1
        assert begins <= pages[0] < ends



def test_a_rig_without_sources_of_interest_still_prints() -> None:
    """No amplifier, no charger, no session, no chain."""
    from loomwright.power.results import PowerResult
    from loomwright.protection.results import ProtectionResult

    rig = samples.rig(
        "bare",
        {"battery": samples.battery(), "fuse": samples.holder()},
        [("P1", "battery.plus", "fuse.in", "8 AWG", 150.0)],
    )
    study = Study(rig)
    study.__dict__.update(
        rig=rig, power=PowerResult({}, (), (), (), {}), protection=ProtectionResult({}, (), {}, (), (), ())
    )
    wanted = Order(study, ())
    text = "".join(words(paper.pdf(pack.files(wanted, pack.gather(wanted), whole=True))))
    assert "Nothing found." in text
    assert "No Stop and no Fix" in text


def test_letters_that_the_font_lacks_are_printed_as_codes() -> None:
    found = (Finding("E000", "Fix", "wire \u7dda2", ("\u7dda2",), "because", "do", "source"),)
    assert "wire[U+7DDA]2" in squeezed(said_of(found))


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


def test_a_rig_with_nothing_to_draw_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("loomwright.papers.order.with_boards", lambda study, paper: ())
    assert "No diagram" in part_words(Order(demo.study("tiny"), FINDINGS), "diagrams")


def test_on_us_paper_no_length_and_no_temperature_is_left_in_metric() -> None:
    """Sizes of wire stay as the rig says them, and so does what stands for it in a standard, as mm2."""
    metric = re.compile(r"\d[\u2009\u00a0 ]?(mm|cm|kg|g|N|N·m)(?![\w²2³/])|°C")
    for page in printed_words("carnival_trike_as_found", "letter", US):
        page = re.sub(r"at \d+(\.\d+)? °C|IEC [\d-]+", "", page)
        assert not metric.search(page), metric.search(page)
    assert any("°F" in p for p in printed_words("carnival_trike_as_found", "letter", US))
