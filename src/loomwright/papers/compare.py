"""Two or more rigs side by side on paper: findings closed and new, volts, watts, drill, sessions, copper and hours."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import Any

from loomwright.drawing import compare_chart, figures
from loomwright.drawing.marks import Sheet
from loomwright.findings.model import SEVERITIES, Finding
from loomwright.papers.cells import Column, Value, table
from loomwright.papers.comparison import PROGRAMME, Comparison, NumberRow, SessionRow, compare, volts_rows
from loomwright.papers.paper import heading
from loomwright.papers.protection_tables import VERDICT_WORDS
from loomwright.rig.model import AmplifierSpec
from loomwright.study import Study

_LINES_MOST = 16  # findings listed in one column
_NAMES = "ABCDEFGH"
MOST = len(_NAMES)
"""So many rigs may stand side by side."""


CHART = "compare_volts.svg"


def gather(studies: Sequence[Study], found: Sequence[Sequence[Finding]]) -> dict[str, Any]:
    """The pages as data; the picture of the volts is drawn by :func:`chart`."""
    result = compare(studies, found)
    heads = [heading(s, f) for s, f in zip(studies, found, strict=True)]
    names = _names(len(studies))
    return {
        "rigs": [{"name": n, **h} for n, h in zip(names, heads, strict=True)],
        "counts": [
            {"severity": s, "before": each[0], "after": each[-1], "each": list(each)}
            for s, each in result.severities.items()
        ],
        "changes": [_changed(names, k, found) for k in range(1, len(studies))],
        "volts_chart": CHART if result.volts else "",
        "volts": _volts(names, result), "drill": _drill(names, result), "programme": PROGRAMME,
        "sessions": _sessions(names, result), "watts": _watts(names, result), "sums": _sums(names, result),
        "price_note": _price_note(names, result),
    }  # fmt: skip


def chart(studies: Sequence[Study], width_mm: float) -> Sheet | None:
    """Volts at the amplifiers of every rig; None where none has any."""
    least = {
        i.id: i.part.spec.min_v
        for s in studies
        for i in s.rig.family("amplifier")
        if isinstance(i.part.spec, AmplifierSpec)
    }
    rows = [compare_chart.Row(v.amplifier, v.engine, v.volts_v, least[v.amplifier]) for v in volts_rows(studies)]
    titles = [f"{_head(n)}: {s.given.title}" for n, s in zip(_names(len(studies)), studies, strict=True)]
    return compare_chart.draw(titles, rows, width_mm)


def _names(count: int) -> tuple[str, ...]:
    """What the columns are called: before and after where there are two, letters where there are more."""
    return ("before", "after") if count == 2 else tuple(_NAMES[:count])


def _head(name: str) -> str:
    return name[0].upper() + name[1:]


def _changed(names: Sequence[str], k: int, found: Sequence[Sequence[Finding]]) -> dict[str, Any]:
    return {
        "name": names[k], "against": names[0], "closed": _gone(found[0], found[k]), "new": _gone(found[k], found[0]),
        "open": _kept(found[0], found[k]),
    }  # fmt: skip


def _tally(findings: Sequence[Finding]) -> Counter[tuple[str, str, str]]:
    return Counter((f.severity, f.code, f.title) for f in findings)


def _gone(here: Sequence[Finding], there: Sequence[Finding]) -> dict[str, Any]:
    """Findings raised here and no longer (or not yet) there, by code."""
    gone = _tally(here)
    gone.subtract(_tally(there))
    keys = sorted((k for k, n in gone.items() if n > 0), key=lambda k: (SEVERITIES.index(k[0]), k[1]))
    rows = [{"severity": k[0], "code": k[1], "title": k[2], "count": gone[k]} for k in keys]
    return {"rows": rows[:_LINES_MOST], "left": max(0, len(rows) - _LINES_MOST), "total": sum(r["count"] for r in rows)}


def _kept(here: Sequence[Finding], there: Sequence[Finding]) -> int:
    return sum((_tally(here) & _tally(there)).values())


def _volts(names: Sequence[str], result: Comparison) -> dict[str, Any]:
    engines = list(dict.fromkeys(v.engine for v in result.volts))
    columns = [Column("Amplifier", strong=True)]
    for engine in engines:
        columns += [Column(f"{engine}, {names[0]}", "V", True), *(Column(n, "V", True) for n in names[1:])]
        columns += [Column("change", "V", True)] if len(names) == 2 else []
    rows: list[list[Value]] = []
    for amplifier in dict.fromkeys(v.amplifier for v in result.volts):
        row: list[Value] = [amplifier]
        for one in (v for v in result.volts if v.amplifier == amplifier):
            row += [_fixed(v, 2) for v in one.volts_v]
            row += [_fixed(one.change_v, 2)] if len(names) == 2 else []
        rows.append(row)
    return table(columns, rows)


def _fixed(value: float | None, places: int) -> str | None:
    return None if value is None else figures.fixed(value, places)


def _watts(names: Sequence[str], result: Comparison) -> dict[str, Any]:
    columns = [Column("Driver", strong=True), *(Column(_head(n), "W", True) for n in names)]
    return table(columns, [[row.what, *row.values] for row in result.watts_w])


def _sums(names: Sequence[str], result: Comparison) -> dict[str, Any]:
    """What each rig takes and gives in all."""
    columns = [Column("In all", strong=True), *(Column(_head(n), "", True) for n in names)]
    rows: list[list[Value]] = [
        ["loudest at the listening place, dB (A)", *(_fixed(v, 0) for v in result.loudness_dba.values)],
        ["copper in the wires, kg", *_kilograms(result.copper_g)],
        ["hours to build, h", *(f"{figures.fixed(a, 0)} to {figures.fixed(b, 0)}" for a, b in result.hours_h)],
    ]
    if any(p.known for p in result.price):
        rows.insert(2, ["price of the parts, as far as known", *(figures.fixed(p.known, 0) for p in result.price)])
    return table(columns, rows)


def _kilograms(row: NumberRow) -> list[Value]:
    return [None if v is None else figures.fixed(v / 1000.0, 2) for v in row.values]


def _price_note(names: Sequence[str], result: Comparison) -> str:
    if not any(p.known for p in result.price):
        return "The catalogue knows no prices."
    return "Parts without a price: " + ", ".join(
        f"{n} {p.unknown_parts}" for n, p in zip(names, result.price, strict=True)
    )


def _drill(names: Sequence[str], result: Comparison) -> dict[str, Any]:
    rows: list[list[Value]] = [[VERDICT_WORDS[v], *(str(n) for n in each)] for v, each in result.verdicts.items()]
    rows.append(["faults tried", *(str(sum(e[k] for e in result.verdicts.values())) for k in range(len(names)))])
    return table((Column("Verdict", strong=True), *(Column(_head(n), "", True) for n in names)), rows)


def _sessions(names: Sequence[str], result: Comparison) -> dict[str, Any]:
    rows: list[list[Value]] = [[f"{s.engine}, {s.programme}", *_hours(s)] for s in result.sessions]
    return table((Column("Session", strong=True), *(Column(_head(n), "h", True) for n in names)), rows)


def _hours(row: SessionRow) -> list[Value]:
    return [
        None if h is None else f"> {figures.three(row.horizon_h)}" if math.isinf(h) else figures.three(h)
        for h in row.hours_h
    ]
