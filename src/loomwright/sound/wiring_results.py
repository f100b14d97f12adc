"""What the wiring choices say: frozen."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a driver stands in the drawing of a channel: columns follow the current, rows lie beside each other."""

    driver: str
    column: int
    row: int


@dataclass(frozen=True, slots=True)
class Lead:
    """One wire to run, by the terminals it joins."""

    start: str
    end: str


@dataclass(frozen=True, slots=True)
class DriverShare:
    """What one driver gets at the channel's full output, its load taken as nominal.

    ``full_w`` is with a steady tone, ``loud_w`` with the programme `loud`; ``level_db`` is its level at 1 m at
    ``full_w``, or that of a driver of 0 dB where its sensitivity is not known.
    """

    driver: str
    full_w: float
    loud_w: float
    rated_w: float
    level_db: float


@dataclass(frozen=True, slots=True)
class Joined:
    """One channel of an arrangement: which drivers it gets and how they are joined.

    ``words`` writes series as + and parallel as ‖. ``least_ohm`` is the lowest |Z| of the real load from 20 Hz to 20
    kHz, at ``least_at_hz``. ``ripple_db`` is how far the real volts of a driver stray from the nominal share.
    """

    channel: str
    words: str
    nominal_ohm: float | None      # None: left empty
    least_ohm: float | None
    least_at_hz: float | None
    ripple_db: float
    shares: tuple[DriverShare, ...]
    placed: tuple[Placed, ...]
    leads: tuple[Lead, ...]
    joints: int


@dataclass(frozen=True, slots=True)
class Arrangement:
    """One way to wire all of the drivers to the channels.

    ``balance_db`` is the level of the loudest over that of the quietest driver; ``level_db`` all of them together, each
    held to what it takes. ``refused`` gives the reasons why it is out; empty: it may be used. ``remarks`` are worth
    knowing.
    """

    channels: tuple[Joined, ...]
    balance_db: float
    level_db: float
    refused: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def words(self) -> str:
        return "; ".join(f"{c.channel}: {c.words}" for c in self.channels)


@dataclass(frozen=True, slots=True)
class WiringChoices:
    """Every arrangement, best first; ``best`` is the first one that is not refused."""

    drivers: tuple[str, ...]
    channels: tuple[str, ...]
    arrangements: tuple[Arrangement, ...]

    @property
    def best(self) -> Arrangement | None:
        return next((a for a in self.arrangements if not a.refused), None)
