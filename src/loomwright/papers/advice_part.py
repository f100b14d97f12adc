"""The advice on paper: where the rig stands, the moves that were tried, amplifiers that suit, the chances."""

from __future__ import annotations

from typing import Any

from loomwright.advice.chances import Chances
from loomwright.advice.equipment import Position
from loomwright.advice.results import Tried
from loomwright.papers import advice_tables as tables
from loomwright.papers import advice_words as words
from loomwright.papers.order import Content, Order

CHANGES_MOST = 8


def part(order: Order) -> Content | None:
    """The advice, where it was asked for."""
    if order.advice is None:
        return None
    found = order.advice.help
    data = {
        "stands": words.stands(found) if found.now.volts_v else words.NO_AMPLIFIER,
        "weakest": words.weakest(found),
        "aims": [
            {"title": title, "moves": [_move(n, m) for n, m in enumerate(found.moves, 1) if m.aim == aim]}
            for aim, title in words.AIMS.items()
        ],
        "nothing": words.NOTHING_GAINS if found.now.volts_v and not found.moves else "",
        "unpriced": words.UNPRICED if not found.priced and any(m.per == "100 g" for m in found.moves) else "",
        "levers": tables.levers(found),
        "places": [_place(p) for p in order.advice.amplifiers],
        "chances": _chances(order.advice.chances) if order.advice.chances is not None else None,
    }
    return Content(data)


def _move(number: int, tried: Tried) -> dict[str, Any]:
    left = len(tried.changes) - CHANGES_MOST
    return {
        "number": number, "title": tried.move.title, "words": tried.words, "takes": words.takes(tried),
        "changes": [*tried.changes[:CHANGES_MOST], *([f"and {left} more"] if left > 0 else [])],
        "stops": "; ".join(tried.stops),
    }  # fmt: skip


def _place(position: Position) -> dict[str, Any]:
    return {
        "title": f"{position.amplifier}, now {position.part}",
        "loads": [words.wanted(load) for load in position.loads],
        "fits": tables.fits([f for f in position.fits if f.verdict != "falls out"]),
        "reasons": tables.reasons([f for f in position.fits if f.verdict == "falls out" and not f.too_few]),
        "few": ", ".join(f.part for f in position.fits if f.too_few),
    }


def _chances(found: Chances) -> dict[str, Any]:
    crank = found.crank
    return {
        "title": f"{found.draws:,} rigs as they may be built, aged and met; engine {found.engine}, {found.programme}",
        "amplifiers": tables.amplifiers(found), "weakest": found.weakest, "causes": tables.causes(found.causes),
        "crank": tables.crank(found),
        "session": "" if crank is None else words.session(crank.hours_h, found.engine, found.session_programme),
        "battery": "" if crank is None else crank.battery, "crank_causes": tables.causes(found.crank_causes),
        "sure": words.sure(found),
    }  # fmt: skip
