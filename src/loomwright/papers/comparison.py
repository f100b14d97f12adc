"""Two or more rigs side by side: findings, volts, watts, loudness, drill, sessions, copper, price, hours.

Differences only, no physics: everything is read from the studies. The first rig is what the others are held against.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.facts import tables
from loomwright.findings.model import SEVERITIES, Finding, Severity
from loomwright.papers.protection_tables import WORST_FIRST
from loomwright.power.results import Session
from loomwright.protection.results import Verdict
from loomwright.rig.model import EngineState, Programme, Rig
from loomwright.steps.plan import build_steps
from loomwright.study import Study

PROGRAMME: Programme = "loud"
COPPER = ("copper", "tinned copper")


@dataclass(frozen=True, slots=True)
class FindingRow:
    """How often one finding is raised in each rig."""

    code: str
    severity: Severity
    title: str
    counts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class NumberRow:
    """One number of each rig; None where a rig has no such thing. ``change`` is last less first."""

    what: str
    unit: str
    values: tuple[float | None, ...]
    change: float | None


@dataclass(frozen=True, slots=True)
class VoltsRow:
    """Volts at one amplifier in one case in each rig; None where a rig has no such amplifier or case."""

    amplifier: str
    engine: EngineState
    programme: Programme
    volts_v: tuple[float | None, ...]
    change_v: float | None


@dataclass(frozen=True, slots=True)
class SessionRow:
    """Hours of one session until the engine will not crank, in each rig; inf: always; None: no such session."""

    engine: EngineState
    programme: Programme
    hours_h: tuple[float | None, ...]
    horizon_h: float


@dataclass(frozen=True, slots=True)
class Price:
    """Sum of the prices that the catalogue knows, and how many placed parts it knows none of."""

    known: float
    unknown_parts: int


@dataclass(frozen=True, slots=True)
class Comparison:
    """Everything ``compare`` says, each tuple in the order of the rigs.

    ``watts_w`` are what each driver gets of dense programme as the gains are set or advised; ``loudness_dba`` the
    loudest programme at the listening place. ``hours_h`` is the whole build, from least to most.
    """

    rigs: tuple[str, ...]
    severities: Mapping[str, tuple[int, ...]]
    findings: tuple[FindingRow, ...]
    volts: tuple[VoltsRow, ...]
    watts_w: tuple[NumberRow, ...]
    loudness_dba: NumberRow
    verdicts: Mapping[Verdict, tuple[int, ...]]
    sessions: tuple[SessionRow, ...]
    copper_g: NumberRow
    price: tuple[Price, ...]
    hours_h: tuple[tuple[float, float], ...]


def compare(studies: Sequence[Study], found: Sequence[Sequence[Finding]]) -> Comparison:
    """Set studies side by side, each with its findings.

    Raises
    ------
    ValueError
        Where there are fewer than two, or not as many findings as studies.
    """
    if len(studies) < 2 or len(studies) != len(found):
        raise ValueError("two or more studies are compared, each with its findings")
    drills = [Counter(f.verdict for f in s.protection.drill) for s in studies]
    return Comparison(
        rigs=tuple(s.given.title for s in studies),
        severities={v: tuple(sum(f.severity == v for f in one) for one in found) for v in SEVERITIES},
        findings=_findings(found),
        volts=volts_rows(studies),
        watts_w=_watts(studies),
        loudness_dba=_number("loudest at the listening place", "dBA", [_loudest(s) for s in studies]),
        verdicts={v: tuple(d[v] for d in drills) for v in WORST_FIRST},
        sessions=_sessions(studies),
        copper_g=_number("copper in the wires", "g", [copper_g(s.rig) for s in studies]),
        price=tuple(price(s.rig) for s in studies),
        hours_h=tuple((p.least_min / 60.0, p.most_min / 60.0) for p in (build_steps(s) for s in studies)),
    )


def copper_g(rig: Rig) -> float:
    """Copper in all wires of a rig, speaker wires and all; clad wires are left out [g]."""
    return sum(
        w.size.area_mm2 * w.length_mm / 1000.0 * tables.row("conductors", f"conductor.density.{w.metal}").number()
        for w in rig.wires
        if w.size is not None and w.size.system != "bolted" and w.metal in COPPER
    )


def price(rig: Rig) -> Price:
    """What the placed parts cost, as far as the catalogue says."""
    known = [i.part.price for i in rig.items.values() if i.part.price is not None]
    return Price(float(sum(known)), len(rig.items) - len(known))


def _number(what: str, unit: str, values: Sequence[float | None]) -> NumberRow:
    return NumberRow(what, unit, tuple(values), _change(values))


def _change(values: Sequence[float | None]) -> float | None:
    first, last = values[0], values[-1]
    return last - first if first is not None and last is not None else None


def _findings(found: Sequence[Sequence[Finding]]) -> tuple[FindingRow, ...]:
    known = {(f.severity, f.code): f for one in found for f in one}
    each = [Counter((f.severity, f.code) for f in one) for one in found]
    order = sorted(known, key=lambda k: (SEVERITIES.index(k[0]), k[1]))
    return tuple(FindingRow(known[k].code, known[k].severity, known[k].title, tuple(c[k] for c in each)) for k in order)


def volts_rows(studies: Sequence[Study]) -> tuple[VoltsRow, ...]:
    """Volts at every amplifier at `loud`, in each engine state that any of the rigs has."""
    amplifiers = dict.fromkeys(i.id for s in studies for i in s.rig.family("amplifier"))
    states = [s.rig.engine_states() for s in studies]
    rows = []
    for amplifier in amplifiers:
        for engine in max(states, key=len):
            values = []
            for study, known in zip(studies, states, strict=True):
                state = study.power.case(engine, PROGRAMME).items.get(amplifier) if engine in known else None
                values.append(state.volts_v if state else None)
            rows.append(VoltsRow(amplifier, engine, PROGRAMME, tuple(values), _change(values)))
    return tuple(rows)


def _watts(studies: Sequence[Study]) -> tuple[NumberRow, ...]:
    each = [{p.driver: p.watts_w["dense"] for p in s.sound.programmes} for s in studies]
    drivers = dict.fromkeys(i.id for s in studies for i in s.rig.family("driver"))
    return tuple(_number(d, "W", [one.get(d) for one in each]) for d in drivers if any(d in one for one in each))


def _loudest(study: Study) -> float | None:
    return max((x.level_dba for x in study.sound.loudness), default=None)


def _sessions(studies: Sequence[Study]) -> tuple[SessionRow, ...]:
    each: list[dict[tuple[EngineState, Programme], Session]] = []
    for study in studies:
        known = study.rig.engine_states()
        each.append({(s.engine, s.programme): s for s in study.power.sessions if s.engine in known})
    rows = []
    for key in dict.fromkeys(k for one in each for k in one):
        there = [one.get(key) for one in each]
        horizon = max(s.horizon_h for s in there if s is not None)
        rows.append(SessionRow(*key, tuple(s.hours_to_no_crank_h if s else None for s in there), horizon))
    return tuple(rows)
