"""Power: cases, heat on the diagram, sessions and the bass hit."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request

from loomwright.drawing import over_time, svg, volts_chart
from loomwright.drawing.marks import Sheet
from loomwright.papers import power_tables
from loomwright.power.results import CaseResult
from loomwright.rig.model import ENGINE_STATES, PROGRAMMES, EngineState, Programme
from loomwright.study import Study
from loomwright.web import frames
from loomwright.web.view import View, bench_of, page

router = APIRouter()
_WARM = 0.85


@page(router, "/jobs/{job_id}/{stage}/power", "power")
def power(
    request: Request, job_id: str, stage: str, engine: EngineState = "cruise", programme: Programme = "music"
) -> View:
    """Volts, amperes and heat of one case on the diagram; all cases, sessions and the bass hit as tables and charts."""
    opened = bench_of(request).opened(job_id, stage)
    study = frames.settled(request, opened)
    engines = study.rig.engine_states() if study is not None else ENGINE_STATES
    engine = engine if engine in engines else engines[-1]
    worked = opened.worked
    waits = frames.must_wait(request)
    is_drawn = study is not None and (waits or worked.ask_diagram(engine, programme, opened.by))
    case = study.power.cases.get((engine, programme)) if study is not None else None
    data = {
        "rig": frames.about(opened, study),
        "engine": engine,
        "programme": programme,
        "case": case,
        "power": study.power if study is not None else None,
    }
    more = {
        **frames.around(opened, study),
        "engines": engines, "programmes": PROGRAMMES,
        "diagram": worked.diagram(engine, programme) if is_drawn else "",
        "drawing": study is not None and not is_drawn,
        "marks": heat(case) if case is not None else {},
        **((worked.once("power", _tables) or {}) if study is not None else {}),
    }  # fmt: skip
    return View("power.html", data, more)


def heat(case: CaseResult) -> dict[str, str]:
    """How the diagram marks the wires of a case: past their limit, near it, or not at all."""
    out = {}
    for name, state in case.wires.items():
        if state.temperature_c > state.limit_c:
            out[name] = "hot"
        elif state.temperature_c > _WARM * state.limit_c:
            out[name] = "warm"
    out.update({name: "stop" for name, state in case.items.items() if state.below_minimum})
    return out


def _tables(study: Study) -> dict[str, Any]:
    hits = {h.engine: h for h in study.power.bass if h.volts_v}
    hit = hits.get(study.rig.limits.session_engine) or next(iter(hits.values()), None)
    volts = volts_chart.draw(study)
    charts = [("Volts at the amplifiers", volts)] if volts is not None else []
    if study.power.sessions:
        charts.append(("Charge over a session", over_time.sessions(study)))
    if hit is not None:
        charts.append((f"A bass hit, engine {hit.engine}", over_time.bass_hit(hit)))
    return {
        "amplifiers": [i.id for i in study.rig.family("amplifier")],
        "keys": power_tables.key_figures(study),
        "grids": power_tables.cases(study),
        "remarks": power_tables.remarks(study),
        "wires": power_tables.wires(study),
        "balance": power_tables.balance(study),
        "sessions": power_tables.sessions(study),
        "bass": power_tables.bass(study),
        "charts": [(title, drawn(chart)) for title, chart in charts],
    }


def drawn(chart: Sheet) -> str:
    """A chart as an ``svg`` element in the page's colours."""
    return svg.render(chart, css_colours=True).partition("\n")[2]
