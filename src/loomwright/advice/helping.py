"""What would help: moves screened by the slopes, the best of them made and studied whole, ranked by what they take."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Literal

import numpy as np

from loomwright.advice.moves import Move, Shop
from loomwright.advice.part_moves import part_moves
from loomwright.advice.results import AIMS, Aim, Help, SlopeLine, Standing, Tried
from loomwright.advice.slopes import Slopes, slopes
from loomwright.advice.standing import AMPS_FELT_A, HOURS_FELT_H, VOLTS_FELT_V, said, standing
from loomwright.advice.wire_moves import doubled, joint_moves, wire_moves
from loomwright.errors import InputError
from loomwright.findings.model import Finding
from loomwright.findings.run import check
from loomwright.remedies.run import brought
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.changes import apply, told
from loomwright.rig.file import parse
from loomwright.rig.model import PROGRAMMES
from loomwright.study import Study

MOST_WIRE_MOVES = 6
"""So many moves with wires and joints, the best by the slopes, are studied whole."""
MOST_LEVERS = 8
LEAST_V = 1e-3
"""A lever that does less than this is not spoken of [V]."""
MOST_CONTACTS = 3
"""So many of them may be single joints, contacts, devices or bars."""
CHECKED = ("battery", "charger", "capacitor", "amplifier")
"""Moves that put other parts in: the checks are run on them."""


def _quiet(words: str) -> None:
    """Says nothing."""


def what_would_help(
    study: Study, text: str, catalogue: Catalogue, found: tuple[Finding, ...], say: Callable[[str], None] = _quiet
) -> Help:  # fmt: skip
    """Moves for a rig, each made in the text of its file, read and studied again.

    Parameters
    ----------
    study : Study
        Of the rig that the text describes.
    found : tuple of Finding
        What the checks say of it, so that a new Stop is seen.
    say : callable
        Is told each move before it is tried.
    """
    now = standing(study.rig)
    if not now.volts_v:
        return Help(now, (), (), (), False)
    shop = Shop(study, catalogue)
    steep, weakest = _steep(study, now)
    goal = next(k for k, g in enumerate(steep.goals) if (g.kind, g.ref) == ("volts", weakest))
    wires = [*wire_moves(shop, steep, 0, goal), *joint_moves(shop, steep, 0, goal)]
    chosen = [*_screened(wires), *doubled(shop), *part_moves(shop)]
    moves, left = [], []
    for move in chosen:
        say(move.title)
        tried = _tried(study, text, catalogue, found, now, move)
        if tried is not None:
            moves.append(tried)
        else:
            left.append(move.title)
    priced = any(m.price for m in chosen)
    return Help(now, tuple(sorted(moves, key=_rank)), _lines(steep, goal), tuple(left), priced)


def _steep(study: Study, now: Standing) -> tuple[Slopes, str]:
    """Slopes at `loud`, or at the loudest programme that has an operating point; and the amplifier worst off there."""
    for programme in reversed(PROGRAMMES[:-1]):
        steep = slopes(study.rig, [(now.engine, programme)])
        volts = {g.ref: float(steep.now[0, k]) for k, g in enumerate(steep.goals) if g.kind == "volts"}
        if all(math.isfinite(v) for v in volts.values()):
            break
    return steep, min(volts, key=lambda a: (volts[a], a))


def _screened(moves: Iterable[Move]) -> list[Move]:
    """The moves that the slopes promise most of: for their copper, and in all."""
    worth = [m for m in moves if (m.guess_v or 0.0) >= VOLTS_FELT_V]
    by_copper = sorted(worth, key=lambda m: (-(m.guess_v or 0.0) / (m.copper_g + 1.0), m.id))
    by_gain = sorted(worth, key=lambda m: (-(m.guess_v or 0.0), m.id))
    both = [m for pair in zip(by_copper, by_gain, strict=True) for m in pair]
    kept = list({m.id: m for m in both}.values())[:MOST_WIRE_MOVES]
    return [m for m in moves if m in kept]


def _tried(
    study: Study, text: str, catalogue: Catalogue, found: tuple[Finding, ...], now: Standing, move: Move
) -> Tried | None:
    """The move made and studied; None where it cannot be made, or gains nothing that could be measured."""
    try:
        after = Study(parse(apply(text, move.changes), study.given.file, catalogue))
        then = standing(after.rig)
    except InputError:
        return None
    aim, gain = _gain(now, then, move)
    words = said(now, then)
    if gain <= 0.0 or not words:
        return None
    stops: tuple[str, ...] = ()
    if move.kind in CHECKED:
        stops = tuple(dict.fromkeys(f"{f.code} {f.title}" for f in brought(found, check(after))))
    each, per = _each(move, gain)
    return Tried(move, aim, then, gain, each, per, words, told(text, move.changes), stops)


def _gain(now: Standing, then: Standing, move: Move) -> tuple[Aim, float]:
    if then.solved and not now.solved:
        return "volts", 1.0
    most = max((then.volts_v[a] - v for a, v in now.volts_v.items() if a in then.volts_v), default=0.0)
    volts = most if now.solved and then.solved and most >= VOLTS_FELT_V else 0.0
    if move.kind == "capacitor":
        fall = (now.dip_v or 0.0) - (then.dip_v or 0.0)
        return "bass", fall if fall >= 2 * VOLTS_FELT_V else 0.0
    if move.kind in ("wire", "joint"):
        return "volts", volts
    amps = (then.surplus_a or 0.0) - (now.surplus_a or 0.0)
    hours = sum(_longer(a, b) for a, b in ((now.session_h, then.session_h), (now.music_h, then.music_h)))
    if amps < AMPS_FELT_A and hours < HOURS_FELT_H:
        return "volts", volts
    return "charge", max(amps, 0.0) + hours


def _longer(before: float | None, after: float | None) -> float:
    if before is None or after is None:
        return 0.0
    return min(after, 8.0) - min(before, 8.0)


def _each(move: Move, gain: float) -> tuple[float | None, Literal["money", "100 g", ""]]:
    if move.price:
        return gain / move.price, "money"
    if move.kind == "wire" and move.copper_g > 0.0:
        return gain / move.copper_g * 100.0, "100 g"
    return None, ""


def _rank(tried: Tried) -> tuple[int, bool, bool, float, float, str]:
    """By aim; what brings a Stop last; what takes neither money nor copper first; then by gain for what it takes."""
    free = tried.per == "" and tried.move.price == 0.0
    return (AIMS.index(tried.aim), bool(tried.stops), not free, -(tried.each or math.inf) if tried.each else 0.0,
            -tried.gain, tried.move.id)  # fmt: skip


def _lines(steep: Slopes, goal: int) -> tuple[SlopeLine, ...]:
    """The levers by what a usual change of each does at the weakest amplifier."""
    change = steep.value[0, goal] * np.array([lever.step for lever in steep.levers])
    order = sorted((k for k in range(len(change)) if abs(change[k]) >= LEAST_V), key=lambda k: (-abs(change[k]), k))
    single = [k for k in order if steep.levers[k].unit == "mOhm"][:MOST_CONTACTS]
    kept = [k for k in order if steep.levers[k].unit != "mOhm" or k in single][:MOST_LEVERS]
    return tuple(
        SlopeLine(lever.id, lever.words, lever.step, lever.unit, float(change[k]))
        for k in kept
        for lever in (steep.levers[k],)
    )
