"""Where a rig stands, and what a move changes of it, in words."""

from __future__ import annotations

import math

from loomwright.advice.folds import folds
from loomwright.advice.goals import charge_a
from loomwright.advice.point import Case, solve_point
from loomwright.advice.results import Standing
from loomwright.findings.words import amount, num
from loomwright.power.bass import bass_hit
from loomwright.power.session import HORIZON_H, timelines
from loomwright.rig.model import Programme, Rig

PROGRAMME: Programme = "loud"
VOLTS_FELT_V = 0.01
AMPS_FELT_A = 0.1
HOURS_FELT_H = 0.1
FACTOR_FELT = 0.1
PLUS, MINUS = "+", "\u2212"


def standing(rig: Rig) -> Standing:
    """The numbers that a move is judged by, of a rig with settled sizes; each by the same solver as the power study."""
    engine, programme = rig.limits.session_engine, rig.limits.session_programme
    engine = engine if engine in rig.engine_states() else "off"
    cases: tuple[Case, ...] = tuple(dict.fromkeys(((engine, PROGRAMME), (engine, programme))))
    point = solve_point(rig, cases)
    network, node_v = point.network, point.state.solution.node_v
    names = [i.id for i in rig.family("amplifier")]
    plus, minus = ([network.index[f"{a}.supply{sign}"] for a in names] for sign in "+-")
    volts = dict(zip(names, (float(v) for v in node_v[0, plus] - node_v[0, minus]), strict=True))
    solved = bool(point.found[0])
    fold = folds(point).get(0)
    hours, dip = [], None
    if rig.family("battery"):
        hours = [
            s.hours_to_no_crank_h
            for s in timelines(rig, [((engine, programme, HORIZON_H),), (("off", "music", HORIZON_H),)])
        ]
        dip = (
            max(bass_hit(network, "off" if engine == "off" else "idle").dip_v.values(), default=None) if names else None
        )
    surplus = float(charge_a(network, network.circuit, point.work, node_v)[-1, 1]) if rig.family("charger") else None
    return Standing(
        engine, programme, volts, min(volts, key=lambda a: (volts[a], a), default="") if solved else "", solved,
        surplus if engine != "off" and point.found[-1] else None,
        hours[0] if hours else None, hours[1] if hours else None,
        (fold.factor if fold else math.inf) if solved else 0.0, dip,
    )  # fmt: skip


def signed(value: float, unit: str) -> str:
    """A change with its sign: ``+0.21 V``."""
    places = max(0, 1 - math.floor(math.log10(abs(value)))) if value else 0
    return f"{PLUS if value >= 0 else MINUS}{abs(value):.{min(places, 2)}f} {unit}"


def best_gain_v(before: Standing, after: Standing) -> tuple[str, float]:
    """The amplifier that gains most volts, and how much [V]."""
    gains = {a: after.volts_v[a] - v for a, v in before.volts_v.items() if a in after.volts_v}
    name = max(gains, key=lambda a: (gains[a], a), default="")
    return name, gains.get(name, 0.0)


def said(before: Standing, after: Standing) -> str:
    """What changes, in words, most wanted first; empty where nothing does that could be measured."""
    parts = []
    if not before.solved and after.solved:
        parts.append("the amplifiers hold at loud")
    name, gain = best_gain_v(before, after)
    if before.solved and after.solved and abs(gain) >= VOLTS_FELT_V:
        both = name != before.weakest and before.weakest in after.volts_v
        worst = after.volts_v[before.weakest] - before.volts_v[before.weakest] if both else 0.0
        parts.append(f"{signed(gain, 'V')} at {name}")
        if both and abs(worst) >= VOLTS_FELT_V:
            parts.append(f"{signed(worst, 'V')} at {before.weakest}")
    if before.surplus_a is not None and after.surplus_a is not None:
        change = after.surplus_a - before.surplus_a
        if abs(change) >= AMPS_FELT_A:
            turn = ""
            if before.surplus_a < 0 <= after.surplus_a:
                turn = ": balance turns positive"
            elif before.surplus_a >= 0 > after.surplus_a:
                turn = ": balance turns negative"
            parts.append(f"{signed(change, 'A')} for the battery{turn}")
    sessions = [("session", before.session_h, after.session_h), ("music, engine off", before.music_h, after.music_h)]
    if before.engine == "off" and before.programme == "music":
        sessions = sessions[:1]
    for what, old, new in sessions:
        if old is None or new is None:
            continue
        if math.isinf(new) and math.isfinite(old):
            parts.append(f"{what}: it cranks after 8 h, before only to {num(old)} h")
        elif math.isfinite(old) and math.isfinite(new) and abs(new - old) >= HOURS_FELT_H:
            parts.append(f"{signed(new - old, 'h')} {what}")
        elif math.isinf(old) and math.isfinite(new):
            parts.append(f"{what}: only to {num(new)} h")
    if math.isfinite(before.headroom) and math.isfinite(after.headroom):
        change = after.headroom - before.headroom
        if before.headroom < 3.0 and abs(change) >= FACTOR_FELT:
            parts.append(f"headroom {num(before.headroom)} to {num(after.headroom)} times the programme")
    if before.dip_v is not None and after.dip_v is not None and before.dip_v - after.dip_v >= 2 * VOLTS_FELT_V:
        parts.append(f"bass dip {amount(before.dip_v, 'V')} to {amount(after.dip_v, 'V')}")
    return "; ".join(parts)
