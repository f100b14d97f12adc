"""What the advice looks like in the terminal: moves, levers, equipment, chances."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from loomwright.cli.terminal import cell, clean, heading, note, put, table
from loomwright.drawing.figures import NOTHING, three
from loomwright.papers import advice_words as words

if TYPE_CHECKING:
    from loomwright.advice.chances import CauseShare, Chances
    from loomwright.advice.equipment import Fit, Position
    from loomwright.advice.results import Help, Tried

MOST = 5
"""So many moves are shown for each aim."""
STYLES = {"suits": "green", "suits with care": "yellow", "falls out": "dim"}


def show_help(on: Console, result: Help) -> None:
    """Where the rig stands, the moves by aim, and the levers that count most."""
    now = result.now
    if not now.volts_v:
        on.print()
        on.print(Text(words.NO_AMPLIFIER))
        return
    on.print()
    on.print(Text(clean(words.stands(result))))
    for aim, title in words.AIMS.items():
        mine = [(k, m) for k, m in enumerate(result.moves, 1) if m.aim == aim]
        if mine:
            heading(on, title)
        for number, tried in mine[:MOST]:
            _move(on, number, tried)
        if len(mine) > MOST:
            note(on, f"     and {len(mine) - MOST} more that give less for what they take: --json has them")
    if not result.moves:
        on.print()
        on.print(Text(words.NOTHING_GAINS))
    if any(m.per == "100 g" for m in result.moves) and not result.priced:
        note(on, words.UNPRICED)
    if result.levers:
        heading(on, f"What moves the volts at {words.weakest(result)} most")
        made = table("", "change", "volts", left=("",), fold=("",))
        for line in result.levers:
            made.add_row(cell(line.words), cell(words.step(line)), cell(f"{words.change(line)} V"))
        put(on, made)


def _move(on: Console, number: int, tried: Tried) -> None:
    move = tried.move
    on.print(Text(f"{number:>3}  ").append(clean(move.title), style="bold"))
    on.print(Text("     " + clean(tried.words)))
    if cost := words.takes(tried):
        note(on, "     " + cost)
    if tried.stops:
        on.print(Text("     Not by itself: it brings " + clean("; ".join(tried.stops)), style="yellow"))


def show_equipment(on: Console, positions: Sequence[Position]) -> None:
    """For each amplifier what must be fed, what suits, and why the rest falls out."""
    for position in positions:
        heading(on, f"{position.amplifier}, now {position.part}")
        for load in position.loads:
            on.print(Text(clean("     " + words.wanted(load))))
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
        on.print(Text("     " + clean(words.gives(fit))))
    for reason in (*fit.against, *fit.care):
        on.print(Text("     " + clean(reason)))


def show_chances(on: Console, result: Chances) -> None:
    """The chance of each amplifier and of the start, the causes, and how sure the figures are."""
    case = f"engine {result.engine}, {result.programme}"
    heading(on, f"{result.draws} rigs as they may be built, aged and met; {case}")
    made = table("Amplifier", "least V", "chance", "5 % below", "middle", "5 % above", "as the file says",
                 left=("Amplifier",), fold=("Amplifier",))  # fmt: skip
    for a in result.amplifiers:
        made.add_row(cell(a.amplifier), cell(three(a.least_v)), cell(words.chance(a.chance, result.draws)),
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
        made.add_row(cell(crank.battery), cell(three(crank.least_v)), cell(words.chance(crank.chance, result.draws)),
                     *(cell(f"{v:.2f}") for v in volts))  # fmt: skip
        put(on, made)
        _causes(on, f"What spreads the volts under the starter at {crank.battery}", result.crank_causes)
    on.print()
    note(on, words.sure(result))
    note(on, "How far joints, lengths, age, temperature and engine speed spread is from memory: "
             "loomwright explain spread.rig")  # fmt: skip


def _causes(on: Console, title: str, causes: Sequence[CauseShare]) -> None:
    if not causes:
        return
    heading(on, title)
    made = table("", "share of the spread", left=("",), fold=("",))
    for cause in causes:
        made.add_row(cell(cause.cause), cell(f"{100.0 * cause.share:.0f} %" if cause.share else NOTHING))
    put(on, made)
