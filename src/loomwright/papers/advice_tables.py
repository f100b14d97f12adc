"""The advice as tables: levers, amplifiers that suit, chances and their causes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from loomwright.advice.chances import AmplifierChance, CauseShare, Chances, CrankChance
from loomwright.advice.equipment import Fit
from loomwright.advice.results import Help
from loomwright.drawing.figures import fixed, three
from loomwright.papers import advice_words as words
from loomwright.papers.cells import Column, Value, table


def levers(result: Help) -> dict[str, Any]:
    """What moves the volts at the weakest amplifier most."""
    columns = (Column("Lever", strong=True, share=1.0), Column("Change"), Column("Volts", "V", True))
    return table(columns, [(line.words, words.step(line), words.change(line)) for line in result.levers])


def fits(found: Sequence[Fit]) -> dict[str, Any]:
    """Parts that suit an amplifier's place, with or without care."""
    columns = (
        Column("Part", strong=True, share=1.0), Column("Verdict", share=0.6), Column("What it gives", share=1.2),
        Column("In the session", "A", True), Column("Loud", "A", True), Column("Left over", "A", True),
        Column("See to", share=1.4),
    )  # fmt: skip
    rows: list[list[Value]] = []
    for f in found:
        watts = ", ".join(f"{w:.0f} W{' bridged' if b else ''}" for w, b in zip(f.watts_w, f.bridged, strict=True))
        surplus = None if f.surplus_a is None else fixed(f.surplus_a, 1)
        part = f.part + (" (fitted now)" if f.now else "")
        rows.append([part, f.verdict, watts, fixed(f.session_a, 1), fixed(f.loud_a, 1), surplus, "; ".join(f.care)])
    return table(columns, rows)


def reasons(found: Sequence[Fit]) -> dict[str, Any]:
    """Parts that fall out, each with the reasons."""
    columns = (Column("Part", strong=True, share=0.6), Column("Falls out, for", share=2.0))
    return table(columns, [(f.part + (" (fitted now)" if f.now else ""), "; ".join(f.against)) for f in found])


def amplifiers(result: Chances) -> dict[str, Any]:
    """The chance of each amplifier to stay above its least volts."""
    return _chances("Amplifier", [(a.amplifier, a) for a in result.amplifiers], result.draws)


def crank(result: Chances) -> dict[str, Any]:
    """The chance that the engine cranks after the session; no rows where there is nothing to crank with."""
    return _chances("Battery", [(c.battery, c) for c in (result.crank,) if c is not None], result.draws)


def _chances(what: str, rows: Sequence[tuple[str, AmplifierChance | CrankChance]], draws: int) -> dict[str, Any]:
    columns = (
        Column(what, strong=True), Column("Least", "V", True), Column("Chance", "", True),
        Column("5 of 100 below", "V", True), Column("Middle", "V", True), Column("5 of 100 above", "V", True),
        Column("As the file says", "V", True),
    )  # fmt: skip
    return table(
        columns,
        [
            (name, three(c.least_v), words.chance(c.chance, draws), *(words.volts(v) for v in
             (c.low_v, c.middle_v, c.high_v, c.book_v)))
            for name, c in rows
        ],
    )  # fmt: skip


def causes(found: Sequence[CauseShare]) -> dict[str, Any]:
    """Causes with their share of the spread."""
    columns = (Column("Cause", strong=True, share=1.0), Column("Share of the spread", "%", True))
    return table(columns, [(c.cause, fixed(100.0 * c.share, 0)) for c in found])
