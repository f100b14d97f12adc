"""Two rigs side by side: findings, volts at the amplifiers and drill verdicts. Differences only, no physics."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loomwright.cli.commands.check import counts
from loomwright.cli.commands.faults import verdicts
from loomwright.findings.model import SEVERITIES, Finding, Severity
from loomwright.protection.results import Verdict
from loomwright.rig.model import EngineState, Programme

if TYPE_CHECKING:
    from loomwright.study import Study

PROGRAMME: Programme = "loud"


@dataclass(frozen=True, slots=True)
class FindingChange:
    """How often one finding is raised in each of the two rigs."""

    code: str
    severity: Severity
    title: str
    first: int
    second: int


@dataclass(frozen=True, slots=True)
class VoltsChange:
    """Volts at one amplifier in one case; None where a rig has no such amplifier."""

    amplifier: str
    engine: EngineState
    programme: Programme
    first_v: float | None
    second_v: float | None
    change_v: float | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """Everything ``compare`` says. ``first`` and ``second`` follow the order in which the rigs were given."""

    severities: dict[str, tuple[int, int]]
    findings: tuple[FindingChange, ...]
    volts: tuple[VoltsChange, ...]
    verdicts: dict[Verdict, tuple[int, int]]


def compare(
    first: Study, second: Study, first_found: tuple[Finding, ...], second_found: tuple[Finding, ...]
) -> Comparison:
    """Set the results of two studies against each other."""
    severity_a, severity_b = counts(first_found), counts(second_found)
    drill_a, drill_b = verdicts(first.protection.drill), verdicts(second.protection.drill)
    return Comparison(
        severities={s: (severity_a[s], severity_b[s]) for s in SEVERITIES},
        findings=_findings(first_found, second_found),
        volts=_volts(first, second),
        verdicts={v: (drill_a[v], drill_b[v]) for v in drill_a},
    )


def _findings(first: tuple[Finding, ...], second: tuple[Finding, ...]) -> tuple[FindingChange, ...]:
    known = {(f.severity, f.code): f for f in (*first, *second)}
    in_first = Counter((f.severity, f.code) for f in first)
    in_second = Counter((f.severity, f.code) for f in second)
    order = sorted(known, key=lambda k: (SEVERITIES.index(k[0]), k[1]))
    return tuple(
        FindingChange(known[k].code, known[k].severity, known[k].title, in_first[k], in_second[k]) for k in order
    )


def _volts(first: Study, second: Study) -> tuple[VoltsChange, ...]:
    amplifiers = dict.fromkeys(i.id for s in (first, second) for i in s.rig.family("amplifier"))
    rows = []
    states = [s.rig.engine_states() for s in (first, second)]
    for amplifier in amplifiers:
        for engine in max(states, key=len):
            a, b = (
                s.power.case(engine, PROGRAMME).items.get(amplifier) if engine in known else None
                for s, known in zip((first, second), states, strict=True)
            )
            before, after = (a.volts_v if a else None), (b.volts_v if b else None)
            change = after - before if before is not None and after is not None else None
            rows.append(VoltsChange(amplifier, engine, PROGRAMME, before, after, change))
    return tuple(rows)
