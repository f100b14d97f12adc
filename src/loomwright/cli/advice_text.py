"""What the advice looks like in the terminal: moves, levers, equipment, chances."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from loomwright.cli.numbers import MINUS, NOTHING, three
from loomwright.cli.terminal import cell, clean, heading, note, put, table

if TYPE_CHECKING:
    from loomwright.advice.chances import CauseShare, Chances
    from loomwright.advice.equipment import Fit, Position
    from loomwright.advice.results import Help, SlopeLine, Tried

AIMS = {"volts": "For the volts", "charge": "For charge and playing time", "bass": "For the bass hit"}
MOST = 5
"""So many moves are shown for each aim."""
STYLES = {"suits": "green", "suits with care": "yellow", "falls out": "dim"}


def show_help(on: Console, result: Help) -> None:
    """Where the rig stands, the moves by aim, and the levers that count most."""
    now = result.now
    if not now.volts_v:
        on.print()
        on.print(Text("This rig has no amplifier: nothing to advise on."))
        return
    on.print()
    on.print(Text(clean(_stands(result))))
    for aim, title in AIMS.items():
        mine = [(k, m) for k, m in enumerate(result.moves, 1) if m.aim == aim]
        if mine:
            heading(on, title)
        for number, tried in mine[:MOST]:
            _move(on, number, tried)
        if len(mine) > MOST:
            note(on, f"     and {len(mine) - MOST} more that give less for what they take: --json has them")
    if not result.moves:
        on.print()
        on.print(Text("Nothing that was tried gains anything that could be measured."))
    if any(m.per == "100 g" for m in result.moves) and not result.priced:
        note(on, "The catalogue knows no prices: wires are ranked by what they gain for their copper.")
    if result.levers:
        heading(on, f"What moves the volts at {_weakest(result)} most")
        made = table("", "change", "volts", left=("",), fold=("",))
        for line in result.levers:
            made.add_row(cell(line.words), cell(_step(line)), cell(f"{_sign(line.change_v)}{abs(line.change_v):.3f} V"))
        put(on, made)


def _weakest(result: Help) -> str:
    return result.now.weakest or next(iter(result.now.volts_v), "")


def _stands(result: Help) -> str:
    now = result.now
    parts = [f"Engine {now.engine}"]
    if now.solved:
        parts.append(f"loud: least at {now.weakest}, {three(now.volts_v[now.weakest])} V")
    else:
        parts.append("loud: the amplifiers do not hold")
    if now.surplus_a is not None:
        left = "left over" if now.surplus_a >= 0 else "short"
        parts.append(f"{now.programme}: {three(abs(now.surplus_a))} A {left}")
    return "; ".join(parts) + "."


def _move(on: Console, number: int, tried: Tried) -> None:
    move = tried.move
    on.print(Text(f"{number:>3}  ").append(clean(move.title), style="bold"))
    cost = []
    if move.kind == "wire" and move.copper_g > 0:
        each = f", {three(tried.each)} V for each 100 g" if tried.each is not None and tried.per == "100 g" else ""
        cost.append(f"{three(move.copper_g)} g of copper{each}")
    if move.price:
        cost.append(f"price {three(move.price)}")
    if move.note:
        cost.append(move.note)
    on.print(Text("     " + clean(tried.words)))
    if cost:
        note(on, "     " + "; ".join(cost))
    if tried.stops:
        on.print(Text("     Not by itself: it brings " + clean("; ".join(tried.stops)), style="yellow"))


def _step(line: SlopeLine) -> str:
    value, unit = line.step, {"1": "%", "mOhm": "m\u03a9", "mm2": "mm\u00b2", "K": "K"}.get(line.unit, line.unit)
    if line.unit == "1":
        value *= 100.0
    return f"{_sign(value)}{three(abs(value))} {unit}"


def _sign(value: float) -> str:
    return MINUS if value < 0 else "+"


def show_equipment(on: Console, positions: Sequence[Position]) -> None:
    """For each amplifier what must be fed, what suits, and why the rest falls out."""
    for position in positions:
        heading(on, f"{position.amplifier}, now {position.part}")
        for load in position.loads:
            drivers = ", ".join(load.drivers)
            ohms = f"{three(load.nominal_ohm)} \u03a9, at least {three(load.least_ohm)} \u03a9"
            on.print(Text(clean(f"     {load.load}: {drivers}; {ohms}; takes {three(load.takes_w)} W")))
        few = [f for f in position.fits if f.too_few]
        for fit in position.fits:
            if not fit.too_few:
                _fit(on, fit)
        if few:
            on.print(Text(f"  {few[0].verdict:<16}", style=STYLES["falls out"]).append("too few channels"))
            note(on, "     " + ", ".join(f.part for f in few))


def _fit(on: Console, fit: Fit) -> None:
    line = Text(f"  {fit.verdict:<16}", style=STYLES[fit.verdict]).append(clean(fit.part), style="bold not dim")
    if fit.now:
        line.append("  (fitted now)")
    on.print(line)
    if fit.verdict != "falls out":
        watts = ", ".join(f"{w:.0f} W{' bridged' if b else ''}" for w, b in zip(fit.watts_w, fit.bridged, strict=True))
        left = "" if fit.surplus_a is None else f"; {three(fit.surplus_a)} A left over in the session"
        size = "" if fit.size_mm is None else f"; {fit.size_mm[0]:.0f} x {fit.size_mm[1]:.0f} mm"
        on.print(Text(f"     {watts}; {three(fit.session_a)} A in the session, {three(fit.loud_a)} A loud{left}{size}"))
    for reason in (*fit.against, *fit.care):
        on.print(Text("     " + clean(reason)))


def show_chances(on: Console, result: Chances) -> None:
    """The chance of each amplifier and of the start, the causes, and how sure the figures are."""
    case = f"engine {result.engine}, {result.programme}"
    heading(on, f"{result.draws} rigs as they may be built, aged and met; {case}")
    made = table("Amplifier", "least V", "chance", "5 % below", "middle", "5 % above", "as the file says",
                 left=("Amplifier",), fold=("Amplifier",))  # fmt: skip
    for a in result.amplifiers:
        made.add_row(cell(a.amplifier), cell(three(a.least_v)), cell(_chance(a.chance, result.draws)),
                     *(cell(f"{v:.2f}") for v in (a.low_v, a.middle_v, a.high_v, a.book_v)))  # fmt: skip
    put(on, made)
    _causes(on, f"What spreads the volts at {result.weakest}", result.causes)
    crank = result.crank
    if crank is not None:
        session = f"{three(crank.hours_h)} h, {result.engine}, {result.session_programme}"
        heading(on, f"The engine cranks after the session of {session}")
        made = table("Battery", "least V", "chance", "5 % below", "middle", "5 % above", "as the file says",
                     left=("Battery",), fold=("Battery",))  # fmt: skip
        volts = (crank.low_v, crank.middle_v, crank.high_v, crank.book_v)
        made.add_row(cell(crank.battery), cell(three(crank.least_v)), cell(_chance(crank.chance, result.draws)),
                     *(cell(f"{v:.2f}") for v in volts))  # fmt: skip
        put(on, made)
        _causes(on, f"What spreads the volts under the starter at {crank.battery}", result.crank_causes)
    on.print()
    note(on, f"Against the full solver: {1000 * result.error_v:.1f} mV at most in {result.checked} draws"
             + (f", {1000 * result.crank_error_v:.0f} mV under the starter in {result.checked_sessions} whole sessions."
                if result.crank_error_v is not None else "."))  # fmt: skip
    note(on, "How far joints, lengths, age, temperature and engine speed spread is from memory: "
             "loomwright explain spread.rig")  # fmt: skip


def _chance(share: float, draws: int) -> str:
    """A chance as far as so many draws can tell it."""
    if share >= 1.0:
        return f"> {100.0 - 300.0 / draws:.3f} %"
    if share <= 0.0:
        return f"< {300.0 / draws:.3f} %"
    return f"{100.0 * share:.1f} %" if 0.001 < share < 0.999 else f"{100.0 * share:.2f} %"


def _causes(on: Console, title: str, causes: Sequence[CauseShare]) -> None:
    if not causes:
        return
    heading(on, title)
    made = table("", "share of the spread", left=("",), fold=("",))
    for cause in causes:
        made.add_row(cell(cause.cause), cell(f"{100.0 * cause.share:.0f} %" if cause.share else NOTHING))
    put(on, made)
