"""What the protection study says: devices, chains, choices and the fault drill."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from loomwright.rig.model import DeviceType

FaultKind = Literal[
    "chafe",            # a wire rubbed through to the frame (or the ground bus where there is no frame)
    "amplifier",        # an internal fault, from 1.2 x rated draw to a dead short
    "lost return",      # a return wire open
    "loose joint",      # a joint loosened
    "wrong fuse",       # a fuse swapped for the next sizes up
    "remote left on",   # everything awake, engine off
]
Verdict = Literal[
    "cleared",          # cleared and selective: only the branch at fault went dark
    "spread",           # cleared, but took others down
    "not cleared",      # the fault goes on; the reason says why
    "burned",           # a wire was damaged before it cleared (at worst)
    "no harm",          # nothing needs to open: no wire past its limit, nothing dark that should not be
]


@dataclass(frozen=True, slots=True)
class Device:
    """One over-current device as it stands in the rig.

    ``id`` is ``item.way`` (``block.1``, ``main.1``) or ``amp.own`` for the fuses an amplifier brings.
    """

    id: str
    item: str
    way: int                          # from 1; 0 for an amplifier's own
    type: DeviceType
    rating_a: float
    count: int                        # equal fuses in parallel (an amplifier's own)
    temperature_c: float
    interrupting_a: float
    upstream: str                     # terminal on the battery's side
    downstream: str
    provisional: bool                 # its gates, or its rating limits, rest on memory


@dataclass(frozen=True, slots=True)
class Opening:
    """One device opening during a fault, times from the start of the fault [s]."""

    device: str
    amps_a: float
    multiple: float                   # amps / (rating x count)
    fastest_s: float
    typical_s: float
    slowest_s: float                  # inf where it may hold for ever
    beyond_data: bool                 # taken from I2t, past the last gate
    provisional: bool


@dataclass(frozen=True, slots=True)
class FaultResult:
    """One fault, followed to its end."""

    id: str                           # "chafe:P3:end:bolted", "amplifier:rear_amp:1.2", ..
    kind: FaultKind
    where: str                        # wire, item or device id
    detail: str                       # "at the amplifier end, bolted", "internal fault, 1.2 x rated draw"
    verdict: Verdict
    reason: str                       # one sentence with its numbers
    openings: tuple[Opening, ...]     # in order
    fault_a: float                    # at the start
    hottest_wire: str | None
    hottest_c: float                  # at worst (slowest opening)
    hottest_best_c: float             # at the quick end
    limit_c: float                    # of that wire for that length of time
    dark: tuple[str, ...]             # items that lost supply or remote and were not meant to
    own_branch: tuple[str, ...]       # items that the fault itself may take down
    dips_v: Mapping[str, float]       # amplifier -> lowest volts while the fault lasted (others, not its own)
    detour_a: Mapping[str, float]     # lost return: wire (screens included) -> amps it now carries
    provisional: bool
    typical_only: bool                # selective by typical I2t, not proved by gates


@dataclass(frozen=True, slots=True)
class Selectivity:
    """A pair of devices in series, judged at the prospective current after the lower one."""

    upstream: str
    downstream: str
    prospective_a: float
    ratio_i2t: float                  # melting I2t upstream / downstream; >= 2 is selective at high current
    proved: bool                      # by gates at every current
    typical: bool                     # by melting I2t where gates overlap
    provisional: bool


@dataclass(frozen=True, slots=True)
class Guard:
    """Which device guards a wire: the nearest one on the way from every source that can feed it."""

    wire: str
    devices: tuple[str, ...]          # () = unguarded
    rating_a: float                   # largest of them; inf if unguarded
    continuous_a: float               # largest steady current over off/idle/cruise x quiet/music/loud
    ampacity_a: float                 # derated
    stub_mm: float                    # conductor length from the source's post to the first device, 0 if guarded
    tap_to: str = ""                  # item with the fuses that suit it, where it is a short tap off a larger feed


@dataclass(frozen=True, slots=True)
class Choice:
    """What ``auto`` became, and why."""

    where: str                        # "wire P3" or "block.2"
    chosen: str                       # "8 AWG", "40 A"
    reason: str
    met: bool                         # False: nothing on the list meets every demand; the reason says which
    need_a: float = 0.0               # what a rating ought to be, where that was not met


@dataclass(frozen=True, slots=True)
class ProtectionResult:
    devices: Mapping[str, Device]
    chains: tuple[tuple[str, ...], ...]   # device ids in series, battery side first, one per load
    guards: Mapping[str, Guard]
    pairs: tuple[Selectivity, ...]
    choices: tuple[Choice, ...]
    drill: tuple[FaultResult, ...]
