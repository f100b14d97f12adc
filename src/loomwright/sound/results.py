"""What the loads say: frozen results, unit at the end of every name. Arrays are (F,), over ``frequency_hz``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from loomwright.sound.drivers import Basis
from loomwright.sound.frequencies import Complexes, Floats

FlagKind = Literal[
    "guess",             # a driver's impedance is its nominal one
    "open",              # nothing joins the two outputs
    "short",             # wires alone join the two outputs
    "driver shorted",    # both tags of a driver lie on one conductor
    "driver idle",       # a driver in this wiring gets nothing
    "reversed",          # a driver's plus follows the channel's minus
    "shared",            # two channels meet in one wiring
    "bridged unsaid",    # wired from one channel's plus to another's minus, but not described as bridged
    "part unknown",      # a passive part whose values are not all known
]
ElementKind = Literal["capacitor", "coil", "resistor", "zobel", "pad series", "pad shunt"]


@dataclass(frozen=True, slots=True)
class Flag:
    """Something about a channel's wiring that a reader should know. ``items`` are ids; ``text`` is a clause."""

    kind: FlagKind
    items: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class DriverLoad:
    """One driver on a channel. Volts are from its plus tag to its minus tag, for each volt of the channel."""

    item: str
    basis: Basis
    impedance_ohm: Complexes
    transfer: Complexes            # (F,) driver volts per channel volt
    textbook: Complexes            # (F,) the same with nominal resistors for drivers, ideal parts and wires
    passband_db: float             # the textbook's highest level at any frequency: 0, or what a pad leaves
    nominal_ohm: float
    re_ohm: float
    reversed: bool
    notes: tuple[str, ...]

    @property
    def guess(self) -> bool:
        return self.basis == "nominal"


@dataclass(frozen=True, slots=True, eq=False)
class PartLoad:
    """One passive part, or one resistor of a pad: what it takes for each volt of the channel."""

    item: str
    element: ElementKind
    volts: Complexes               # (F,) across it, per channel volt
    amps: Complexes                # (F,) through it [A/V]
    ohm: float                     # what turns current into heat in it; 0 where nothing does


@dataclass(frozen=True, slots=True, eq=False)
class WireLoad:
    """One speaker wire: what flows in it for each volt of the channel."""

    wire: str
    ohm: float                     # conductor and both joints
    henry: float
    amps: Complexes                # (F,) [A/V]


@dataclass(frozen=True, slots=True, eq=False)
class ChannelLoad:
    """Everything wired to one channel, or to one bridged pair.

    ``impedance_ohm`` is infinite at every frequency where nothing is wired. ``nominal_ohm`` is the least that the same
    wiring would show with nominal resistors for drivers, ideal parts and wires: the figure to hold against a nominal
    limit. Measured against ``least_ohm``, an amplifier's limit is 80 % of its rated load (IEC 60268-5).
    """

    item: str                      # amplifier, or source with speaker outputs
    channels: tuple[int, ...]      # (1,), or (1, 2) for a bridged pair
    plus: str                      # "amp.ch1+"
    minus: str
    frequency_hz: Floats
    impedance_ohm: Complexes
    least_ohm: float
    least_at_hz: float
    nominal_ohm: float | None      # None where the channel is open
    drivers: Mapping[str, DriverLoad]
    parts: Mapping[str, PartLoad]  # by item id; a pad has two: "pad.series", "pad.shunt"
    wires: Mapping[str, WireLoad]
    flags: tuple[Flag, ...]

    @property
    def bridged(self) -> bool:
        return len(self.channels) == 2

    @property
    def name(self) -> str:
        """``amp.ch1``; ``amp.ch1+2`` for a bridged pair."""
        return f"{self.plus.rstrip('+')}+{self.channels[1]}" if self.bridged else self.plus.rstrip("+")

    def flagged(self, kind: FlagKind) -> tuple[Flag, ...]:
        return tuple(f for f in self.flags if f.kind == kind)

    @property
    def open(self) -> bool:
        return bool(self.flagged("open"))

    @property
    def short(self) -> bool:
        return bool(self.flagged("short"))

    @property
    def guess(self) -> bool:
        """Whether any driver's impedance is its nominal one."""
        return bool(self.flagged("guess"))


@dataclass(frozen=True, slots=True, eq=False)
class LoadStudy:
    """Loads of every channel, in the order of the rig; drivers that no channel reaches."""

    frequency_hz: Floats
    channels: tuple[ChannelLoad, ...]
    unfed: tuple[str, ...]

    def channel(self, item: str, channel: int) -> ChannelLoad:
        """The load that a channel works into. Raises KeyError."""
        for load in self.channels:
            if load.item == item and channel in load.channels:
                return load
        raise KeyError(f"{item}.ch{channel}")

    def of_driver(self, item: str) -> tuple[ChannelLoad, ...]:
        """The channels that reach a driver: one in a sound rig."""
        return tuple(c for c in self.channels if item in c.drivers)
