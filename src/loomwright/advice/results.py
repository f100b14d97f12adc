"""What the advice says: frozen results, unit at the end of every name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from loomwright.advice.moves import Move
from loomwright.rig.model import EngineState, Programme

Aim = Literal["volts", "charge", "bass"]
AIMS: tuple[Aim, ...] = ("volts", "charge", "bass")


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a rig stands: the numbers that a move is judged by.

    ``volts_v``: each amplifier at `loud` in the state of the owner's session; ``weakest`` has least of them.
    ``surplus_a``: charge left over in that session, None with the engine off. ``session_h`` and ``music_h``: hours of
    that session, and of music with the engine off, until the engine will not crank; inf where it always will.
    ``headroom``: factor on the programme at `loud` there; inf beyond 20. ``dip_v``: fall of the weakest in a bass hit.
    """

    engine: EngineState
    programme: Programme
    volts_v: Mapping[str, float]
    weakest: str
    solved: bool
    surplus_a: float | None
    session_h: float | None
    music_h: float | None
    headroom: float
    dip_v: float | None


@dataclass(frozen=True, slots=True)
class Tried:
    """A move, made and studied whole. ``gain`` is what it gains for its aim: V, A of surplus, or V less of dip.

    ``each`` is that for one unit of money, or for 100 g of copper where prices are not known; None where it takes
    neither. ``stops`` are the Stop findings that it would bring if nothing else is changed.
    """

    move: Move
    aim: Aim
    after: Standing
    gain: float
    each: float | None
    per: Literal["money", "100 g", ""]
    words: str
    changes: tuple[str, ...]
    stops: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SlopeLine:
    """One lever in words: what a usual change of it does to the weakest amplifier at `loud`."""

    lever: str
    words: str
    step: float
    unit: str
    change_v: float


@dataclass(frozen=True, slots=True)
class Help:
    """What would help one rig: where it stands, the moves by aim, best first, and the levers that count most."""

    now: Standing
    moves: tuple[Tried, ...]
    levers: tuple[SlopeLine, ...]
    left_out: tuple[str, ...]  # moves that were tried and gain nothing that could be measured
    priced: bool  # whether the catalogue knows any price
