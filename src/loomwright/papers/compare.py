"""Before and after on one page: findings closed and new, volts at the amplifiers, verdicts of the drill."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import Any

from loomwright.drawing import figures
from loomwright.drawing.over_time import differing
from loomwright.findings.model import SEVERITIES, Finding
from loomwright.papers.cells import Column, Value, table
from loomwright.papers.paper import heading
from loomwright.papers.protection_tables import VERDICT_WORDS, WORST_FIRST
from loomwright.power.results import Session
from loomwright.rig.model import EngineState, Programme
from loomwright.study import Study

PROGRAMME: Programme = "loud"
_LINES_MOST = 16  # findings listed in one column


def gather(
    before: Study, after: Study, found_before: Sequence[Finding], found_after: Sequence[Finding]
) -> dict[str, Any]:
    """The page as data."""
    first, second = heading(before, found_before), heading(after, found_after)
    return {
        "first": first, "second": second,
        "counts": [
            {"severity": a["severity"], "before": a["count"], "after": b["count"]}
            for a, b in zip(first["counts"], second["counts"], strict=True)
        ],
        "closed": _changes(found_before, found_after), "new": _changes(found_after, found_before),
        "open": _kept(found_before, found_after),
        "volts": _volts(before, after), "drill": _drill(before, after), "programme": PROGRAMME,
        "sessions": _sessions(before, after),
    }  # fmt: skip


def _tally(findings: Sequence[Finding]) -> Counter[tuple[str, str, str]]:
    return Counter((f.severity, f.code, f.title) for f in findings)


def _changes(here: Sequence[Finding], there: Sequence[Finding]) -> dict[str, Any]:
    """Findings raised here and no longer (or not yet) there, by code."""
    gone = _tally(here)
    gone.subtract(_tally(there))
    keys = sorted((k for k, n in gone.items() if n > 0), key=lambda k: (SEVERITIES.index(k[0]), k[1]))
    rows = [{"severity": k[0], "code": k[1], "title": k[2], "count": gone[k]} for k in keys]
    return {"rows": rows[:_LINES_MOST], "left": max(0, len(rows) - _LINES_MOST), "total": sum(r["count"] for r in rows)}


def _kept(here: Sequence[Finding], there: Sequence[Finding]) -> int:
    return sum((_tally(here) & _tally(there)).values())


def _volts(before: Study, after: Study) -> dict[str, Any]:
    columns = [Column("Amplifier", strong=True)]
    engines = after.rig.engine_states() if len(after.rig.engine_states()) > 1 else before.rig.engine_states()
    for engine in engines:
        columns += [Column(f"{engine}, before", "V", True), Column("after", "V", True), Column("change", "V", True)]
    rows: list[list[Value]] = []
    for name in dict.fromkeys(i.id for s in (before, after) for i in s.rig.family("amplifier")):
        row: list[Value] = [name]
        for engine in engines:
            pair = [_at(s, name, engine) for s in (before, after)]
            change = None if None in pair else pair[1] - pair[0]  # type: ignore[operator]
            row += [None if v is None else figures.fixed(v, 2) for v in (*pair, change)]
        rows.append(row)
    return table(columns, rows)


def _at(study: Study, name: str, engine: EngineState) -> float | None:
    case = study.power.cases.get((engine, PROGRAMME)) if engine in study.rig.engine_states() else None
    state = case.items.get(name) if case else None
    return state.volts_v if state else None


def _drill(before: Study, after: Study) -> dict[str, Any]:
    counts = [Counter(f.verdict for f in s.protection.drill) for s in (before, after)]
    rows: list[list[Value]] = [[VERDICT_WORDS[v], str(counts[0][v]), str(counts[1][v])] for v in WORST_FIRST]
    rows.append(["faults tried", str(counts[0].total()), str(counts[1].total())])
    return table((Column("Verdict", strong=True), Column("Before", "", True), Column("After", "", True)), rows)


def _sessions(before: Study, after: Study) -> dict[str, Any]:
    known = [{(s.engine, s.programme): s for s in differing(study)} for study in (before, after)]
    rows: list[list[Value]] = []
    for key in dict.fromkeys((*known[0], *known[1])):
        texts = [_hours(one.get(key)) for one in known]
        rows.append([f"{key[0]}, {key[1]}", *texts])
    return table((Column("Session", strong=True), Column("Before", "h", True), Column("After", "h", True)), rows)


def _hours(session: Session | None) -> str | None:
    if session is None:
        return None
    hours = session.hours_to_no_crank_h
    return f"> {figures.three(session.horizon_h)}" if math.isinf(hours) else figures.three(hours)
