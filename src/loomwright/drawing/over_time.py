"""Charts over time: batteries through a session, and the volts of amplifiers through a bass hit."""

from __future__ import annotations

import math
from collections.abc import Sequence

from loomwright.drawing import figures, scales
from loomwright.drawing.marks import Dash, Mark, Sheet, Stroke, Text
from loomwright.drawing.plot import TITLE_MM, Plot, Tag, sheet
from loomwright.power.results import BassHit, Session
from loomwright.rig.model import EngineState
from loomwright.study import Study

_LEFT_MM, _RIGHT_MM = 16.0, 46.0
_DASH: dict[EngineState, Dash] = {"off": "dashed", "idle": "solid", "cruise": "chain"}
_WIDTHS_MM = (0.5, 0.25, 0.35, 0.7)


def sessions(study: Study, width_mm: float = 174.0, plot_mm: float = 38.0) -> Sheet:
    """State of charge of every battery in every session, and the volts the starting battery would crank at."""
    found = differing(study)
    horizon = _horizon(found)
    charge = _charge(found, horizon, width_mm, 10.0, plot_mm)
    marks: list[Mark] = list(charge.finish())
    height = 10.0 + plot_mm + 10.0
    title = "State of charge through a session"
    if any(s.crank_v for s in found):
        limit = study.rig.vehicle.crank_min_v
        crank = _crank(found, horizon, limit, width_mm, height + 6.0, plot_mm * 0.62)
        marks.append(
            Text((0.0, height + 2.6), "Volts at the battery, were it asked to crank", TITLE_MM, "start", "semibold")
        )
        marks += crank.finish()
        height += 6.0 + plot_mm * 0.62 + 10.0
    marks.append(Text((0.0, TITLE_MM + 0.4), title, TITLE_MM, "start", "semibold"))
    return Sheet(width_mm, height, tuple(marks), title)


def differing(study: Study) -> tuple[Session, ...]:
    """The sessions in engine states that differ: without a charging source those with the engine off."""
    return tuple(s for s in study.power.sessions if s.engine in study.rig.engine_states())


def _horizon(found: Sequence[Session]) -> float:
    """Hours to show: all that were looked at, or somewhat past the last event where everything is over early."""
    every = max((s.horizon_h for s in found), default=1.0)
    last = max((s.hours_to_no_crank_h for s in found), default=every)
    return every if math.isinf(last) else min(every, max(last * 1.8, 0.1))


def _name(session: Session) -> str:
    return f"{session.engine}, {session.programme}"


def _at(times: Sequence[float], values: Sequence[float], time: float) -> float:
    """The value at a time, between the points of a line."""
    for k in range(1, len(times)):
        if times[k] >= time:
            share = (time - times[k - 1]) / max(times[k] - times[k - 1], 1e-12)
            return values[k - 1] + min(share, 1.0) * (values[k] - values[k - 1])
    return values[-1]


def _charge(found: Sequence[Session], horizon: float, width_mm: float, top: float, plot_mm: float) -> Plot:
    lowest = min((min(c) for s in found for c in s.charge_pct.values()), default=0.0)
    floor = 0.0 if lowest < 50.0 else 50.0
    plot = Plot(
        scales.linear_scale(0.0, horizon, _LEFT_MM, width_mm - _RIGHT_MM),
        scales.Scale(floor, 100.0, top + plot_mm, top),
    )
    plot.axes("Time [h]", "Charge [%]")
    batteries = sorted({b for s in found for b in s.charge_pct})
    tags = []
    for session in found:
        for k, battery in enumerate(batteries):
            values = session.charge_pct.get(battery)
            if values is None:
                continue
            stroke = Stroke(_WIDTHS_MM[k % len(_WIDTHS_MM)], "ink", _DASH[session.engine])
            plot.line(zip(session.time_h, values, strict=True), stroke)
            whose = f"{battery}: " if len(batteries) > 1 else ""
            end = _at(session.time_h, values, plot.x.high)
            tags.append(Tag(plot.y.at(end), f"{whose}{_name(session)}, {figures.unit(f'{end:.0f}', '%')}"))
    plot.tags_right(tags, _RIGHT_MM)
    return plot


def _crank(
    found: Sequence[Session], horizon: float, limit_v: float, width_mm: float, top: float, plot_mm: float
) -> Plot:
    volts = [v for s in found for v in s.crank_v]
    floor = max(limit_v - 1.5, min([*volts, limit_v]) - 0.3)
    plot = Plot(
        scales.linear_scale(0.0, horizon, _LEFT_MM, width_mm - _RIGHT_MM),
        scales.linear_scale(floor, max([*volts, limit_v]) + 0.3, top + plot_mm, top, 4),
    )
    plot.axes("Time [h]", "Volts [V]")
    tags = [Tag(plot.level(limit_v, Stroke(0.5, "stop", "dashed")), f"least to crank, {figures.volts(limit_v)}", "stop",
                "semibold")]  # fmt: skip
    for session in found:
        if not session.crank_v:
            continue
        plot.line(zip(session.time_h, session.crank_v, strict=True), Stroke(0.5, "ink", _DASH[session.engine]))
        hours = session.hours_to_no_crank_h
        says = "cranks throughout" if math.isinf(hours) else f"to {figures.unit(figures.three(hours), 'h')}"
        end = max(_at(session.time_h, session.crank_v, plot.x.high), plot.y.low)
        tags.append(Tag(plot.y.at(end), f"{_name(session)}: {says}"))
        if not math.isinf(hours):
            plot.dot(hours, limit_v)
    plot.tags_right(tags, _RIGHT_MM)
    return plot


def bass_hit(hit: BassHit, width_mm: float = 174.0, plot_mm: float = 34.0) -> Sheet:
    """Volts at each amplifier through a burst of 50 ms at full output."""
    every = [v for values in hit.volts_v.values() for v in values]
    top = 13.0
    low, high = min(every, default=11.0), max(every, default=13.0)
    plot = Plot(
        scales.linear_scale(
            min(hit.time_ms, default=0.0), max(hit.time_ms, default=1.0), _LEFT_MM, width_mm - _RIGHT_MM
        ),
        scales.linear_scale(low - 0.1, high + 0.1, top + plot_mm, top, 5),
    )
    plot.axes("Time [ms]", "Volts [V]")
    tags = []
    for k, amplifier in enumerate(sorted(hit.volts_v)):
        values = hit.volts_v[amplifier]
        plot.line(
            zip(hit.time_ms, values, strict=True), Stroke(_WIDTHS_MM[k % 4], "ink", ("solid", "dashed", "chain")[k % 3])
        )
        tags.append(Tag(plot.y.at(values[-1]), f"{amplifier}, lowest {figures.volts(hit.items[amplifier])}"))
    plot.tags_right(tags, _RIGHT_MM)
    rise = figures.unit(figures.three(hit.rise_ms), "ms")
    capacitor = f", {figures.unit(figures.three(hit.capacitor_f), 'F')} capacitor" if hit.capacitor_f else ""
    under = f"50 ms at full output over music, rise {rise}{capacitor}."
    return sheet(width_mm, top + plot_mm + 9.5, f"Bass hit, engine {hit.engine}", plot, under)
