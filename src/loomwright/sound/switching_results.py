"""What the study of switching on and off says: frozen, times in milliseconds from the turn of the key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Turn = Literal["on", "off"]
Role = Literal[
    "remote",  # its remote input is live
    "awake",  # an amplifier's outputs are live
    "settled",  # what it gives is a clean signal, or clean silence
    "unsettled",  # what it gives moves by itself: start-up, or collapse
    "closed",  # a relay's contact
]


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happens: ``what`` is said in the words of the trade, ``cause`` names what brought it about."""

    time_ms: float
    item: str
    what: str
    cause: str


@dataclass(frozen=True, slots=True)
class Span:
    """One state of one item, from and until [ms]; minus infinity: since before the key, infinity: for good."""

    item: str
    role: Role
    from_ms: float
    to_ms: float


@dataclass(frozen=True, slots=True)
class Delay:
    """A delay of a remote output to set [ms], by the item's key in the rig file."""

    item: str
    key: Literal["remote_on_ms", "remote_off_ms"]
    delay_ms: float


@dataclass(frozen=True, slots=True)
class Thump:
    """An amplifier awake while its input is not settled.

    ``culprit`` is the item whose output moves, ``stated`` says whether every delay that matters is stated by a part
    or the rig rather than taken as customary; ``remedy`` is an instruction, ``delay`` the setting where that is all it
    takes.
    """

    turn: Turn
    amplifier: str
    culprit: str
    from_ms: float
    to_ms: float
    remedy: str
    stated: bool
    delay: Delay | None = None


@dataclass(frozen=True, slots=True)
class Timeline:
    """One turn of the key: events in order, states for a chart, thumps predicted."""

    turn: Turn
    events: tuple[Event, ...]
    spans: tuple[Span, ...]
    thumps: tuple[Thump, ...]


@dataclass(frozen=True, slots=True)
class Moment:
    """When an item switches on and off, after each turn of the key [ms].

    Minus infinity: on already, or off long since; infinity: never.
    """

    on_ms: float
    off_ms: float


@dataclass(frozen=True, slots=True)
class Switching:
    """Both turns, and when each remote input, output and contact goes live and dead."""

    on: Timeline
    off: Timeline
    moments: Mapping[str, Moment]  # "amp.remote", "processor.remote_out", "relay.contact"
