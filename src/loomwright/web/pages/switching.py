"""Switching: who is awake and who is settled after a turn of the key, played moment by moment, with the thumps."""

from __future__ import annotations

from dataclasses import dataclass
from math import isinf
from typing import Any

from fastapi import APIRouter, Request

from loomwright.drawing import figures, switch_timeline
from loomwright.papers.cells import Column, table
from loomwright.sound.sheet import SoundSheet
from loomwright.sound.switching_results import Timeline, Turn
from loomwright.web import frames
from loomwright.web.pages.power import drawn
from loomwright.web.pages.sound import VIEWS, sheet_of
from loomwright.web.view import View, bench_of, page

router = APIRouter()
WIDTH_MM = 150.0


@dataclass(frozen=True, slots=True)
class Moment:
    """One moment of a turn as it is played: when, where on the chart [mm], what happens, and whether it thumps."""

    time: str
    at_mm: float
    words: tuple[str, ...]
    thumps: tuple[str, ...]


@page(router, "/jobs/{job_id}/{stage}/sound/switching", "sound/switching")
def switching(request: Request, job_id: str, stage: str, turn: Turn = "on") -> View:
    """One turn of the key as a timeline, its moments in order, and the thumps that it predicts."""
    opened = bench_of(request).opened(job_id, stage)
    study = frames.settled(request, opened)
    found = opened.worked.once("sound", sheet_of) if study is not None else None
    timeline = None if found is None else found.switching.on if turn == "on" else found.switching.off
    data = {"rig": frames.about(opened, study), "turn": turn, "timeline": timeline}
    more: dict[str, Any] = {
        **frames.around(opened, study),
        "views": VIEWS, "chart": "", "moments": (), "thumps": (), "budgets": None,
    }  # fmt: skip
    if found is not None and timeline is not None:
        more |= opened.worked.once(f"switched {turn}", lambda _: _shown(found, timeline)) or {}
    return View("switching.html", data, more)


def _shown(found: SoundSheet, timeline: Timeline) -> dict[str, Any]:
    chart = switch_timeline.draw(timeline, None, WIDTH_MM)
    return {
        "chart": drawn(chart) if chart is not None else "",
        "moments": moments(timeline) if chart is not None else (),
        "thumps": timeline.thumps,
        "budgets": table(
            (Column("Remote output"), Column("Gives", "mA", True), Column("of", "mA", True), Column("Verdict"),
             Column("To")),
            [(b.item, b.total_ma, b.limit_ma, "too much" if b.over else "",
              ", ".join(f"{i} {ma:g}" for i, ma in b.draws_ma)) for b in found.budgets],
        ),
    }


def moments(timeline: Timeline) -> tuple[Moment, ...]:
    """Everything that happens, one entry for each moment."""
    start, end, low, high = switch_timeline.window_mm(timeline, WIDTH_MM)
    times = sorted({e.time_ms for e in timeline.events} | {t.from_ms for t in timeline.thumps if not isinf(t.from_ms)})
    found = []
    for time in times:
        words = tuple(f"{e.item} {e.what}, by {e.cause}." if e.cause != e.item else f"{e.item}: {e.what}."
                      for e in timeline.events if e.time_ms == time)  # fmt: skip
        thumps = tuple(
            f"{t.amplifier} thumps {'from here on' if isinf(t.to_ms) else f'until {_ms(t.to_ms)}'}, by {t.culprit}."
            for t in timeline.thumps if t.from_ms == time
        )  # fmt: skip
        found.append(Moment(_ms(time), start + (time - low) / (high - low) * (end - start), words, thumps))
    return tuple(found)


def _ms(time_ms: float) -> str:
    return figures.unit(f"{time_ms:g}", "ms")
