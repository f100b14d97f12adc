"""What the power study says: frozen results, unit at the end of every name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.rig.model import EngineState, Programme


@dataclass(frozen=True, slots=True)
class ItemState:
    """One item that draws, gives or stores, in one case.

    ``volts_v`` is between the item's own two supply terminals; ``amps_a`` is positive into the item
    (a discharging battery and a working charger are negative).
    """

    volts_v: float
    amps_a: float
    watts_w: float
    output_w: float = 0.0        # amplifiers: audio watts that the programme makes at these volts
    drop_v: float = 0.0          # supply source's terminals to here, feed and return together
    below_minimum: bool = False  # amplifiers and loads with a least voltage


@dataclass(frozen=True, slots=True)
class WireState:
    """One wire in one case; ``temperature_c`` is the more cautious of table and heat balance."""

    amps_a: float
    drop_mv: float
    loss_w: float
    temperature_c: float
    model_c: float               # heat balance alone
    table_c: float               # implied by the ampacity table alone
    limit_c: float
    ampacity_a: float            # derated for ambient and bundle
    resistance_mohm: float       # hot, conductor only


@dataclass(frozen=True, slots=True)
class JointState:
    """One joint (wire end, fuse clip, contact) in one case."""

    amps_a: float
    drop_mv: float
    loss_w: float
    resistance_mohm: float


@dataclass(frozen=True, slots=True)
class DeviceState:
    """One fuse or breaker in one case."""

    amps_a: float
    rating_a: float
    usable_a: float              # rating x temperature factor x 0.8 continuous use
    drop_mv: float


@dataclass(frozen=True, slots=True)
class CaseResult:
    """One engine state with one programme.

    ``solved`` is False where the loads have no operating point; then ``headroom`` < 1 and the state maps
    hold the last state on the branch from zero load that does exist, at ``load_factor`` = headroom.
    ``headroom`` is the factor on every amplifier's programme watts at which the operating point is lost
    (see docs/conventions.md); ``inf`` where none is lost up to 20; ``lost`` names the amplifier that goes.
    """

    engine: EngineState
    programme: Programme
    solved: bool
    headroom: float
    lost: str | None
    load_factor: float
    items: Mapping[str, ItemState]
    wires: Mapping[str, WireState]
    joints: Mapping[str, JointState]      # "P3@block.out1"; holders "fuse:block.1"
    devices: Mapping[str, DeviceState]    # "block.1", "main.1", "rear_amp.own"
    node_v: Mapping[str, float]           # against the reference battery's minus post
    first_minute_amps_a: Mapping[str, float]  # batteries: with EMF at rest, before charge settles


@dataclass(frozen=True, slots=True)
class ChargeBalance:
    """Engine running, programme on: what the charger can give, what is drawn, what is left [A]."""

    engine: EngineState
    programme: Programme
    available_a: float
    drawn_a: float
    battery_a: float             # positive: batteries are being charged
    surplus_a: float


@dataclass(frozen=True, slots=True)
class Session:
    """State of charge over a timeline. Arrays share the index of ``time_h``."""

    engine: EngineState
    programme: Programme
    time_h: tuple[float, ...]
    charge_pct: Mapping[str, tuple[float, ...]]   # battery id -> %
    volts_v: Mapping[str, tuple[float, ...]]      # battery id -> V
    crank_v: tuple[float, ...]                    # starting battery's volts, were it asked to crank now
    hours_to_no_crank_h: float                    # inf: never within horizon_h
    horizon_h: float


@dataclass(frozen=True, slots=True)
class BassHit:
    """A 50 ms burst at full output on top of `music`."""

    engine: EngineState
    items: Mapping[str, float]       # amplifier id -> lowest volts during the burst [V]
    dip_v: Mapping[str, float]       # amplifier id -> fall from the volts before it [V]
    capacitor_f: float
    rise_ms: float
    time_ms: tuple[float, ...]
    volts_v: Mapping[str, tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class PowerResult:
    cases: Mapping[tuple[EngineState, Programme], CaseResult]
    balance: tuple[ChargeBalance, ...]
    sessions: tuple[Session, ...]
    bass: tuple[BassHit, ...]
    prospective_a: Mapping[str, float]   # device id -> bolted fault current just after it [A]

    def case(self, engine: EngineState, programme: Programme) -> CaseResult:
        return self.cases[(engine, programme)]

    def worst_wire(self, wire_id: str) -> WireState:
        """The hottest state of a wire over the cases a rig must stand for ever (`loud` and quieter)."""
        states = [c.wires[wire_id] for k, c in self.cases.items() if k[1] != "sine" and wire_id in c.wires]
        return max(states, key=lambda s: s.temperature_c)
