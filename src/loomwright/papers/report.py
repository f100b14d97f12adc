"""The report of a study: one PDF with cautions, findings, figures, charts and the power diagram."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import Any, Literal

from loomwright import __version__
from loomwright.drawing import fonts, over_time, pages, single_line, svg, time_current, volts_chart
from loomwright.drawing.figures import rating, unit
from loomwright.drawing.marks import Sheet
from loomwright.findings.model import SEVERITIES, Finding
from loomwright.papers import power_tables, protection_tables, sound_chapter, sources
from loomwright.papers.cautions import DEFER, cautions
from loomwright.papers.cells import Column, table
from loomwright.papers.signs import sign
from loomwright.study import Study

PaperSize = Literal["a4", "letter"]
PAPERS: dict[PaperSize, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
_LONG_WORD = re.compile(r"\S{26,}")
_JOINT = re.compile(r"([_./:@-]|\w{20})")
_NOTES_MOST = 480  # characters of the rig's notes on the first page
_CHAINS_MOST = 12  # charts of series chains in one report


def build(
    study: Study, findings: Sequence[Finding], out_dir: Path, sheet: PaperSize = "a4", name: str = "report"
) -> tuple[Path, ...]:
    """Write the report and the power diagram into a folder; returns the files in reading order.

    The same study gives the same bytes. The folder is made if it is missing.

    Raises
    ------
    EngineMissing
        The typesetter, the layout engine or the fonts are not installed.
    """
    files, diagram = gather(study, findings, sheet)
    out_dir.mkdir(parents=True, exist_ok=True)
    report = out_dir / f"{name}.pdf"
    report.write_bytes(pages.typeset(files, "pdf"))
    written = [report]
    if diagram is not None:
        written += [pages.write(diagram, out_dir / f"single_line.{ending}") for ending in ("svg", "pdf", "png")]
    return tuple(written)


def gather(study: Study, findings: Sequence[Finding], sheet: PaperSize = "a4") -> tuple[dict[str, bytes], Sheet | None]:
    """Everything the typesetter needs, as files in memory: template, data and pictures; and the diagram."""
    pictures: dict[str, Sheet] = {f"{s.lower()}.svg": sign(s) for s in SEVERITIES}
    data = _data(study, findings, sheet)
    width = PAPERS[sheet][0] - 36.0
    volts = volts_chart.draw(study, width)
    first = _chart_for_first_page(study, findings, sheet)
    if volts is not None:
        pictures["volts.svg"] = volts
        data["volts_chart"] = "volts.svg"
    if first is not None:
        pictures["volts_first.svg"] = first
        data["volts_first"] = "volts_first.svg"
        data["volts_again"] = volts is not None and first.height_mm < volts.height_mm
    if study.power.sessions:
        pictures["sessions.svg"] = over_time.sessions(study, width)
        data["session_chart"] = "sessions.svg"
    hits = {h.engine: h for h in study.power.bass if h.volts_v}
    hit = hits.get(study.rig.limits.session_engine) or next(iter(hits.values()), None)
    if hit is not None:
        pictures["bass.svg"] = over_time.bass_hit(hit, width)
        data["bass_chart"] = "bass.svg"
    for k, chain in enumerate(time_current.chains(study)):
        if k == _CHAINS_MOST:
            data["chains_left"] = len(time_current.chains(study)) - k
            break
        pictures[f"chain{k}.svg"] = time_current.draw(study, chain, width)
        data["chains"].append(f"chain{k}.svg")
    sound = sound_chapter.chapter(study, width)
    if sound is not None:
        data["sound"] = sound[0]
        pictures |= sound[1]
    diagram: Sheet | None = None
    try:
        diagram = single_line.draw(study, study.rig.engine_states()[-1])
    except single_line.TooLarge as error:
        data["diagram_note"] = f"No diagram: {error}."
    if diagram is not None:
        pictures["diagram.svg"] = diagram
        data["diagram"] = {"file": "diagram.svg", "width_mm": diagram.width_mm, "height_mm": diagram.height_mm,
                           "title": diagram.title}  # fmt: skip
    files = {name: svg.render(picture).encode() for name, picture in sorted(pictures.items())}
    folder = resources.files("loomwright.papers")
    for template in ("parts.typ", "sound.typ", "report.typ"):
        files[template] = (folder / template).read_bytes()
    files["main.typ"] = files.pop("report.typ")
    files["data.json"] = json.dumps(plain(data), ensure_ascii=False, sort_keys=True).encode()
    return files, diagram


def plain(data: Any) -> Any:
    """The same data with every text on one line and without characters that no page can show.

    A word too long for a column may break after its joints; shorter ones stay whole, so that they can be searched for.
    """
    if isinstance(data, str):
        return _LONG_WORD.sub(lambda m: _JOINT.sub("\\1\u200b", m[0]), fonts.printable(data))
    if isinstance(data, dict):
        return {key: plain(value) for key, value in data.items()}
    return [plain(value) for value in data] if isinstance(data, list | tuple) else data


def _data(study: Study, findings: Sequence[Finding], sheet: PaperSize) -> dict[str, Any]:
    rig = study.rig
    width, height = PAPERS[sheet]
    return {
        **heading(study, findings),
        "width_mm": width,
        "height_mm": height,
        "version": __version__,
        "defer": DEFER,
        "urgent_most": max(3, int(_free_mm(study, sheet) / 4.8)),
        "cautions": [{"head": c.head, "text": c.text} for c in cautions(rig)],
        "keys": power_tables.key_figures(study),
        "findings": [finding(f) for f in findings],
        "verdicts": protection_tables.verdict_counts(study),
        "faults": len(study.protection.drill),
        "equipment": _equipment(study),
        "cases": power_tables.cases(study),
        "remarks": power_tables.remarks(study),
        "wires": power_tables.wires(study),
        "balance": power_tables.balance(study),
        "sessions": power_tables.sessions(study),
        "bass": power_tables.bass(study),
        "drill": protection_tables.drill(study),
        "devices": protection_tables.devices(study),
        "guards": protection_tables.guards(study),
        "pairs": protection_tables.pairs(study),
        "choices": protection_tables.choices(study),
        "sources": table(
            (Column("Mark", strong=True), Column("Source", share=1.2), Column("Figures", share=1.6)),
            sources.by_source(sources.used(rig, {d.type for d in study.protection.devices.values()})),
        ),
        "sound": None,
        "chains": [],
        "chains_left": 0,
        "volts_chart": "",
        "volts_first": "",
        "volts_again": True,
        "session_chart": "",
        "bass_chart": "",
        "diagram": None,
        "diagram_note": "",
    }


def heading(study: Study, findings: Sequence[Finding]) -> dict[str, Any]:
    """Title, stage and verdict: what every paper about a study begins with."""
    rig = study.rig
    counts = Counter(f.severity for f in findings)
    if counts["Stop"]:
        verdict = "Do not power up."
    elif counts["Fix"]:
        verdict = "May be powered up for work on it. Not ready to hand over."
    else:
        verdict = "No Stop and no Fix: nothing here stands against powering up."
    return {
        "title": rig.title,
        "file": rig.file.replace("\\", "/").rpartition("/")[2],
        "stage": rig.stage,
        "vehicle": f"{rig.vehicle.kind}, {rig.vehicle.drive}, {unit(f'{rig.ambient_c:g}', '°C')} ambient",
        "notes": rig.notes,
        "notes_short": rig.notes if len(rig.notes) <= _NOTES_MOST else rig.notes[:_NOTES_MOST].rsplit(" ", 1)[0] + " …",
        "demo": any(i.part.demo for i in rig.items.values()),
        "counts": [{"severity": s, "count": counts[s], "means": _MEANS[s]} for s in SEVERITIES],
        "verdict": verdict,
    }


def _free_mm(study: Study, sheet: PaperSize) -> float:
    """About what is free on the first page between the verdict and the cautions, past 40 mm [mm]."""
    notes = min(len(study.rig.notes), _NOTES_MOST) // 110
    return PAPERS[sheet][1] - 254.0 - 4.6 * max(0, notes - 1) - 3.4 * (len(cautions(study.rig)) - 7)


def _chart_for_first_page(study: Study, findings: Sequence[Finding], sheet: PaperSize) -> Sheet | None:
    """The chart of volts where it fits and nothing more urgent stands there: whole, else in one engine state."""
    if any(f.severity != "Know" for f in findings):
        return None
    for every_state in (True, False):
        chart = volts_chart.draw(study, PAPERS[sheet][0] - 36.0, every_state=every_state)
        if chart is not None and chart.height_mm < _free_mm(study, sheet) + 28.0:
            return chart
    return None


_MEANS = {"Stop": "do not power up", "Fix": "before hand-over", "Know": "worth knowing"}


def finding(f: Finding) -> dict[str, Any]:
    """One finding as data."""
    return {
        "severity": f.severity, "code": f.code, "title": f.title, "where": list(f.where),
        "where_short": ", ".join(f.where[:6]) + (f" and {len(f.where) - 6} more" if len(f.where) > 6 else ""),

        "evidence": f.evidence, "remedy": f.remedy, "source": f.source, "mark": f.mark,
        "provisional": f.provisional, "say_mark": f.mark != "published" and f.mark not in f.source,
    }  # fmt: skip


def _equipment(study: Study) -> dict[str, Any]:
    rows = [
        [i.id, i.part.title + (" (invented)" if i.part.demo else ""), i.place, ", ".join(_ratings(i.fuses_a))]
        for i in study.rig.items.values()
    ]
    columns = (Column("Item", strong=True), Column("What it is", share=1.0), Column("Place"), Column("Fuses"))
    return table(columns, rows)


def _ratings(fuses_a: Sequence[float | str]) -> list[str]:
    return ["empty" if f == 0 else f if isinstance(f, str) else rating(f) for f in fuses_a]
