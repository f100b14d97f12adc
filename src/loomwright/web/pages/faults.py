"""Faults: break any wire, amplifier or joint, and see what opens, when, and what goes dark."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Annotated, Literal, get_args

from fastapi import APIRouter, Query, Request

from loomwright.drawing.figures import NOTHING, THIN_SPACE, amps, seconds
from loomwright.errors import UnknownName
from loomwright.facts.adiabatic import copper_melts_c
from loomwright.papers.protection_tables import KIND_WORDS, VERDICT_WORDS, WORST_FIRST
from loomwright.protection.results import FaultKind, FaultResult, Verdict
from loomwright.rig.model import Rig
from loomwright.study import Study
from loomwright.web import frames, picture
from loomwright.web.units import Units
from loomwright.web.view import View, bench_of, page, units_of

router = APIRouter()
VERDICT_SIGNS: dict[Verdict, str] = {
    "burned": "Stop",
    "not cleared": "Stop",
    "spread": "Fix",
    "cleared": "",
    "no harm": "",
}
KINDS: tuple[FaultKind, ...] = get_args(FaultKind)
MOST_DARK = 4
"""So many items that went dark are named in a row."""
Word = Annotated[str, Query(max_length=300)]


@dataclass(frozen=True, slots=True)
class Step:
    """One moment of a fault as it is played: what happens, when, and what it marks on the diagram."""

    title: str
    words: str
    marks: dict[str, str]


@dataclass(frozen=True, slots=True)
class Cells:
    """The worst fault of a place as its row in the drill says it; ``alike`` are like it, itself among them."""

    id: str
    where: str
    sign: str
    verdict: str
    what: str
    opens: str
    hottest: str
    dark: str
    alike: int


@page(router, "/jobs/{job_id}/{stage}/faults", "faults")
def faults(
    request: Request, job_id: str, stage: str, where: Word = "", fault: Word = "", kind: Word = "",
    view: Literal["", "power", "signals"] = "",
) -> View:  # fmt: skip
    """The fault drill: every fault as a table, one place's faults, or one fault played to its end."""
    opened = bench_of(request).opened(job_id, stage)
    study = frames.settled(request, opened)
    drill = (opened.worked.once("drill", worst_first) or []) if study is not None else []
    chosen = next((f for f in drill if f.id == fault), None)
    if fault and study is not None and chosen is None:
        raise UnknownName("no fault of that name in the drill of this rig. Choose again from the table.")
    place = chosen.where if chosen is not None else where
    here = [f for f in drill if place and study is not None and place in (f.where, place_of(study.rig, f))]
    shown = [f for f in drill if kind in ("", f.kind)]
    reader = units_of(request)
    shown_view = picture.view_for(study.rig, place, view) if study is not None else "power"
    data = {
        "rig": frames.about(opened, study),
        "verdicts": {v: sum(f.verdict == v for f in drill) for v in WORST_FIRST},
        "where": place,
        "fault": chosen,
        "faults": here if place else shown,
    }
    more = {
        **frames.around(opened, study),
        "diagram": opened.worked.diagram(view=shown_view) if study is not None else "",
        "views": picture.tabs(shown_view),
        "kinds": KINDS, "kind_words": KIND_WORDS, "verdict_words": VERDICT_WORDS, "verdict_signs": VERDICT_SIGNS,
        "kind": kind, "melts_c": copper_melts_c(), "here": here, "total": len(drill),
        "rows": [_cells(f, n, reader) for f, n in worst_of_each_place([] if place else shown)],
        "steps": played(study, chosen) if study is not None and chosen is not None else (),
        "places": sorted({f.where for f in drill}),
    }  # fmt: skip
    return View("faults.html", data, more)


def worst_first(study: Study) -> list[FaultResult]:
    """The whole drill, worst first."""
    return sorted(study.protection.drill, key=badness)


def badness(fault: FaultResult) -> tuple[int, float, str]:
    """Worst verdict first, then nearest to a wire's limit or furthest past it."""
    return WORST_FIRST.index(fault.verdict), fault.limit_c - fault.hottest_c, fault.id


def place_of(rig: Rig, fault: FaultResult) -> str:
    """The wire or item that a fault's place belongs to: a joint is on its wire, a fuse on its item."""
    wire = picture.wire_at(rig, fault.where)
    return wire.id if wire is not None else fault.where.partition(".")[0]


def _cells(f: FaultResult, alike: int, units: Units) -> Cells:
    opens = (f"{o.device} {seconds(o.fastest_s)} to {seconds(o.slowest_s)}" for o in f.openings)
    hot = f"{units.celsius(f.hottest_c)} of {units.celsius(f.limit_c)}{THIN_SPACE}{units.degree}"
    return Cells(
        f.id, f.where, VERDICT_SIGNS[f.verdict], VERDICT_WORDS[f.verdict],
        f"{KIND_WORDS[f.kind]}: {units.words(f.detail)}", ", then ".join(opens) or "nothing",
        f"{f.hottest_wire} {'melts' if f.hottest_c > copper_melts_c() else hot}" if f.hottest_wire else NOTHING,
        (", ".join(f.dark[:MOST_DARK]) or NOTHING)
        + (f" and {len(f.dark) - MOST_DARK} more" if len(f.dark) > MOST_DARK else ""), alike,
    )  # fmt: skip


def worst_of_each_place(drill: list[FaultResult]) -> list[tuple[FaultResult, int]]:
    """The worst fault of each kind and place, with how many are like it."""
    alike = Counter((f.verdict, f.kind, f.where) for f in drill)
    seen: set[tuple[str, str, str]] = set()
    rows = []
    for f in drill:
        key = (f.verdict, f.kind, f.where)
        if key not in seen:
            seen.add(key)
            rows.append((f, alike[key]))
    return rows


def played(study: Study, fault: FaultResult) -> tuple[Step, ...]:
    """A fault in time: the start, each device as it opens, and the end."""
    place = place_of(study.rig, fault)
    marks = {place: "fault", fault.where: "fault"}
    if fault.hottest_wire is not None and fault.hottest_c > fault.limit_c:
        marks[fault.hottest_wire] = "hot"
    for wire in fault.detour_a:
        marks.setdefault(wire, "hot" if fault.verdict == "burned" else "chosen")
    marks[place] = "fault"
    steps = [Step("At once", f"{amps(fault.fault_a)} flow at the place of the fault.", dict(marks))]
    for opening in fault.openings:
        device = study.protection.devices.get(opening.device)
        item = device.item if device is not None else opening.device.partition(".")[0]
        marks = {**marks, item: "open", opening.device: "open"}
        band = (
            f"between {seconds(opening.fastest_s)} and {seconds(opening.slowest_s)}"
            if seconds(opening.fastest_s) != seconds(opening.slowest_s)
            else f"after {seconds(opening.slowest_s)}"
        )
        notes = " Past its data." if opening.beyond_data else " Provisional." if opening.provisional else ""
        steps.append(
            Step(
                f"{opening.device} opens",
                f"{band}, at {amps(opening.amps_a)}, {opening.multiple:.2g} × its rating.{notes}", dict(marks),
            )
        )  # fmt: skip
    end = {**marks, **dict.fromkeys(fault.dark, "dark")}
    end = {**end, place: "fault"}
    words = f"Dark: {', '.join(fault.dark)}." if fault.dark else "Nothing else goes dark."
    steps.append(Step("At the end", words, end))
    return tuple(steps)
