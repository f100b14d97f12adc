"""``power``: volts, amps and watts at every item, the hottest wires, charge, sessions and the bass hit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.text import Text

from loomwright.cli import answer, service
from loomwright.cli.commands import check
from loomwright.cli.commands._options import AsJson, RigFile
from loomwright.cli.numbers import column, seconds
from loomwright.cli.terminal import cell, clean, console, fits, heading, note, put, table, waiting
from loomwright.drawing.figures import NOTHING, three
from loomwright.rig.model import ENGINE_STATES, PROGRAMMES, EngineState, Programme

if TYPE_CHECKING:
    from rich.table import Table

    from loomwright.power.results import CaseResult, ItemState, PowerResult

NAME = "power"
HOTTEST = 8
WIDE = 118

Engine = Annotated[EngineState | None, typer.Option("--engine", help="Only this engine state.", show_default=False)]
Playing = Annotated[
    Programme | None, typer.Option("--programme", help="Only this programme, with more columns.", show_default=False)
]


def command(rig: RigFile, engine: Engine = None, programme: Playing = None, as_json: AsJson = False) -> int:
    """Volts, amps and watts at every item; charge and sessions.

    For the engine off, idling and cruising, with programmes from quiet to flat out. Also the wires nearest to their
    limit, whether the charging system keeps up, how long it may play before the engine will not crank, and the dip
    from a bass hit.
    """
    study = service.open_study(rig)
    with waiting("Solving the cases"):
        power = study.power
    engines = [e for e in ENGINE_STATES if engine in (None, e)]
    programmes = [p for p in PROGRAMMES if programme in (None, p)]
    if as_json:
        answer.give(NAME, {"rig": check.summary(study.given)} | document(power, engines, programmes))
        return 0
    on = console()
    check.title(on, study.given)
    for e in engines:
        if programme is None:
            over_programmes(on, power, e)
        else:
            one_case(on, power.case(e, programme))
    if programme is None and on.width < WIDE:
        watts(on, power, engines)
    note(on, "Amps and watts count positive into an item; a working charger and a discharging battery are negative.")
    headroom(on, power, engines, programmes)
    hottest_wires(on, power, engines, programmes)
    charge(on, power, engines, programmes)
    sessions(on, power, engines, programmes)
    bass(on, power, engines)
    return 0


def document(power: PowerResult, engines: Sequence[str], programmes: Sequence[str]) -> dict[str, object]:
    """The results for these cases, as they go into the JSON answer."""
    return {
        "cases": [c for (e, p), c in power.cases.items() if e in engines and p in programmes],
        "balance": [b for b in power.balance if b.engine in engines and b.programme in programmes],
        "sessions": [s for s in power.sessions if s.engine in engines and s.programme in programmes],
        "bass": [b for b in power.bass if b.engine in engines],
        "prospective_a": power.prospective_a,
    }


def over_programmes(on: Console, power: PowerResult, engine: EngineState) -> None:
    """One engine state: a row for each item, a group of columns for each quantity; one table, if that fits."""
    cases = [power.case(engine, p) for p in PROGRAMMES]
    groups: list[tuple[str, list[list[str]]]] = []
    items = _items(cases)
    quantities = (("V", "volts_v"), ("A", "amps_a"), ("W", "watts_w"))[: 3 if on.width >= WIDE else 2]
    for unit, name in quantities:
        groups.append((unit, [column(_value(c, i, name) for i in items) for c in cases]))
    heading(on, f"Engine {engine}")
    together = _side_by_side(cases, items, groups)
    if fits(on, together):
        put(on, together)
    else:
        for group in groups:
            put(on, _side_by_side(cases, items, [group]))
    _remarks(on, cases)


def _side_by_side(
    cases: Sequence[CaseResult], items: Sequence[str], groups: Sequence[tuple[str, list[list[str]]]]
) -> Table:
    """One table of items against the programmes, once for each quantity."""
    made = table("Item", *(f"{p}\n{unit}" for unit, _ in groups for p in PROGRAMMES), left=("Item",), fold=("Item",))
    for k, item in enumerate(items):
        low = [c.items[item].below_minimum if item in c.items else False for c in cases]
        texts = [
            cell(texts[k], "bold red" if unit == "V" and low[n] else "")
            for unit, columns in groups
            for n, texts in enumerate(columns)
        ]
        made.add_row(cell(item), *texts)
    return made


def one_case(on: Console, case: CaseResult) -> None:
    """One case in full."""
    heading(on, f"Engine {case.engine}, {case.programme}")
    items = _items([case])
    states = [case.items[i] for i in items]
    made = table("Item", "V", "A", "W", "audio W", "drop V", "", left=("Item", ""), fold=("Item", ""))
    columns = (
        column(s.volts_v for s in states),
        column(s.amps_a for s in states),
        column(s.watts_w for s in states),
        column(s.output_w or None for s in states),
        column(s.drop_v or None for s in states),
    )
    for k, item in enumerate(items):
        remark = cell("below its minimum", "bold red") if states[k].below_minimum else cell("")
        made.add_row(cell(item), *(cell(c[k]) for c in columns), remark)
    put(on, made)
    _remarks(on, [case])


def _items(cases: Iterable[CaseResult]) -> list[str]:
    return list(dict.fromkeys(i for c in cases for i in c.items))


def _value(case: CaseResult, item: str, name: str) -> float | None:
    state: ItemState | None = case.items.get(item)
    return None if state is None else float(getattr(state, name))


def _remarks(on: Console, cases: Sequence[CaseResult]) -> None:
    for c in cases:
        if not c.solved:
            who = f"; {c.lost} goes first" if c.lost else ""
            words = f"{c.programme}: no operating point. Shown at {three(c.load_factor)} of the programme's watts{who}."
            on.print(Text(clean(words), style="bold red"))
        for item, state in c.items.items():
            if state.below_minimum and len(cases) > 1:
                words = f"{c.programme}: {item} is below its least volts, at {three(state.volts_v)} V."
                on.print(Text(clean(words), style="bold red"))


def watts(on: Console, power: PowerResult, engines: Sequence[EngineState]) -> None:
    """Watts of every item over all cases."""
    for e in engines:
        cases = [power.case(e, p) for p in PROGRAMMES]
        items = _items(cases)
        heading(on, f"Watts, engine {e}")
        made = table("Item", *(f"{p}\nW" for p in PROGRAMMES), left=("Item",), fold=("Item",))
        columns = [column(_value(c, i, "watts_w") for i in items) for c in cases]
        for k, item in enumerate(items):
            made.add_row(cell(item), *(cell(c[k]) for c in columns))
        put(on, made)


def headroom(on: Console, power: PowerResult, engines: Sequence[EngineState], programmes: Sequence[Programme]) -> None:
    """By how much every amplifier's programme watts could grow before the operating point is lost."""
    from loomwright.power.headroom import TOP

    heading(on, "Headroom, as a factor on the programme's watts")
    made = table("Engine", *programmes, "first to go", left=("Engine", "first to go"), fold=("first to go",))
    for e in engines:
        cases = [power.case(e, p) for p in programmes]
        lost = sorted({c.lost for c in cases if c.lost})
        texts = [
            cell(f"over {TOP:g}" if math.isinf(c.headroom) else three(c.headroom), "bold red" if c.headroom < 1 else "")
            for c in cases
        ]
        made.add_row(cell(e), *texts, cell(", ".join(lost) or NOTHING))
    put(on, made)


def hottest_wires(
    on: Console, power: PowerResult, engines: Sequence[EngineState], programmes: Sequence[Programme]
) -> None:
    """The wires that come nearest to their limit, each in its worst case; `sine` only where it is asked for."""
    worst: dict[str, CaseResult] = {}
    for (e, p), c in power.cases.items():
        if e in engines and p in programmes and (p != "sine" or len(programmes) == 1):
            for wire, state in c.wires.items():
                if wire not in worst or state.temperature_c > worst[wire].wires[wire].temperature_c:
                    worst[wire] = c
    order = sorted(worst, key=lambda w: (worst[w].wires[w].temperature_c - worst[w].wires[w].limit_c, w))[::-1]
    chosen = [(w, worst[w], worst[w].wires[w]) for w in order[:HOTTEST]]
    if not chosen:
        return
    heading(on, f"Wires nearest to their limit ({len(chosen)} of {len(worst)})")
    made = table(
        "Wire",
        "worst in",
        "A",
        "allowed A",
        "drop mV",
        "\u00b0C",
        "limit \u00b0C",
        left=("Wire", "worst in"),
        fold=("Wire",),
    )
    columns = (
        column(abs(s.amps_a) for _, _, s in chosen),
        column(s.ampacity_a for _, _, s in chosen),
        column(abs(s.drop_mv) for _, _, s in chosen),
        column(s.temperature_c for _, _, s in chosen),
        column(s.limit_c for _, _, s in chosen),
    )
    for k, (wire, case, state) in enumerate(chosen):
        style = "bold red" if state.temperature_c > state.limit_c else ""
        made.add_row(cell(wire), cell(f"{case.engine}, {case.programme}"), *(cell(c[k], style) for c in columns))
    put(on, made)


def charge(on: Console, power: PowerResult, engines: Sequence[EngineState], programmes: Sequence[Programme]) -> None:
    """Whether the charging system keeps up."""
    rows = [b for b in power.balance if b.engine in engines and b.programme in programmes]
    if not rows:
        return
    heading(on, "Charge balance")
    made = table(
        "Engine", "programme", "available A", "drawn A", "into batteries A", "left over A", left=("Engine", "programme")
    )
    columns = (
        column(b.available_a for b in rows),
        column(b.drawn_a for b in rows),
        column(b.battery_a for b in rows),
        column(b.surplus_a for b in rows),
    )
    for k, b in enumerate(rows):
        style = "bold yellow" if b.battery_a < 0 else ""
        made.add_row(cell(b.engine), cell(b.programme), *(cell(c[k], style) for c in columns))
    put(on, made)


def sessions(on: Console, power: PowerResult, engines: Sequence[EngineState], programmes: Sequence[Programme]) -> None:
    """How long it may play before the engine will not crank."""
    rows = [s for s in power.sessions if s.engine in engines and s.programme in programmes]
    if not rows:
        return
    heading(on, "Sessions")
    ends = sorted({s.time_h[-1] for s in rows})
    charges = f"charge at the start and after {' or '.join(three(e) for e in ends)} h %"
    made = table(
        "Engine", "programme", "will not crank after", charges, left=("Engine", "programme", charges), fold=(charges,)
    )
    for s in rows:
        never = math.isinf(s.hours_to_no_crank_h)
        after = f"not within {three(s.horizon_h)} h" if never else seconds(s.hours_to_no_crank_h * 3600.0)
        charge_pct = ", ".join(f"{b} {three(c[0])} \u2192 {three(c[-1])}" for b, c in s.charge_pct.items() if c)
        made.add_row(cell(s.engine), cell(s.programme), cell(after, "" if never else "bold"), cell(charge_pct))
    put(on, made)


def bass(on: Console, power: PowerResult, engines: Sequence[EngineState]) -> None:
    """The dip at each amplifier from a 50 ms burst at full output."""
    rows = [b for b in power.bass if b.engine in engines]
    if not rows:
        return
    heading(on, "Bass hit: 50 ms at full output on top of music")
    made = table("Engine", "amplifier", "lowest V", "dip V", left=("Engine", "amplifier"), fold=("amplifier",))
    flat = [(b, a) for b in rows for a in b.items]
    lowest, dips = column(b.items[a] for b, a in flat), column(b.dip_v.get(a) for b, a in flat)
    for k, (b, a) in enumerate(flat):
        made.add_row(cell(b.engine), cell(a), cell(lowest[k]), cell(dips[k]))
    put(on, made)
