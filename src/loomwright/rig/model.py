"""The rig: what one vehicle holds, with every part looked up and every unit settled.

These are plain frozen values. :func:`loomwright.rig.file.load` makes them from a rig file and is the
only way in that a user meets; tests may build them by hand. A terminal is written ``item.terminal``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from loomwright.rig.plan import Panel, Plan, Spot

Kind = Literal["power", "ground", "remote", "line", "speaker"]
Family = Literal[
    "battery",      # plus, minus
    "charger",      # out, ground            alternator, or PM stator with its regulator
    "dcdc",         # in, out, ground        DC-DC charger
    "isolator",     # main, aux              relay or diode between two batteries
    "amplifier",    # supply+, supply-, remote, in1.., ch1+, ch1-, ..
    "processor",    # supply+, supply-, remote_in, remote_out, in1.., out1..
    "source",       # supply+, supply-, remote_out, out1.., (spk1+, spk1-, ..)
    "accessory",    # supply+, supply-       anything else that draws current
    "fuse_holder",  # in, out
    "fused_block",  # in, out1..             one fuse for each way
    "plain_block",  # in, out1..             no fuses
    "breaker",      # in, out
    "switch",       # in, out
    "relay",        # 30, 87, 85, 86         DIN 72552 numbers
    "bus",          # stud1..                kind "power" or "ground" by the part
    "frame",        # stud1..                the vehicle's metal, as a return path
    "connector",    # a1, b1, a2, b2, ..     contact n joins an with bn
    "splice",       # leg1, leg2, leg3..
    "driver",       # +, -
    "passive",      # a, b, (pads: c)        capacitor, coil or resistor in a speaker lead; c is a pad's common end
    "wire_stock",   #                        wire by the length: bought and cut, never placed
]
EngineState = Literal["off", "idle", "cruise"]
Programme = Literal["quiet", "music", "loud", "sine"]
Metal = Literal["copper", "tinned copper", "cca10", "cca15"]
DeviceType = Literal[
    "C", "E", "F", "SF30", "SF51", "post_mount", "glass_5x20",
    "breaker_1", "breaker_2", "breaker_3",
]
ENGINE_STATES: tuple[EngineState, ...] = ("off", "idle", "cruise")
PROGRAMMES: tuple[Programme, ...] = ("quiet", "music", "loud", "sine")


@dataclass(frozen=True, slots=True)
class Terminal:
    """Where wires land on an item."""

    name: str
    kind: Kind
    max_mm2: float = 150.0     # largest conductor it accepts [mm2]
    max_wires: int = 4         # 1 for a blade or a screw clamp for one wire
    joint: str = "ring lug"    # default joint, a row of facts/data/joints.toml
    stud_mm: float | None = None  # metric thread that a ring lug goes over; None where there is none


@dataclass(frozen=True, slots=True)
class BatterySpec:
    chemistry: Literal["agm", "flooded", "gel", "lfp"]
    capacity_ah: float                 # 20 h rate
    resistance_mohm: float             # full, 25 C
    cca_a: float | None                # SAE J537
    rest_table: str                    # row name in facts/data/batteries.toml
    charge_min_v: float                # charging volts that suit it at 25 C
    charge_max_v: float
    max_charge_a: float
    acceptance_c: float                # settled charging current at charge_min_v and 80 % charge, per Ah [1/h]
    peukert: float
    bms_limit_a: float | None = None   # built-in protection opens above this


@dataclass(frozen=True, slots=True)
class ChargerSpec:
    kind: Literal["alternator", "stator"]
    rpm: tuple[float, ...]             # engine speeds, rising
    current_a: tuple[float, ...]       # hot output at these speeds
    regulator_v: float
    regulator_mohm: float              # droop
    temperature_mv_per_c: float = -10.0


@dataclass(frozen=True, slots=True)
class DcdcSpec:
    output_v: float
    limit_a: float
    efficiency: float
    start_v: float                     # input volts above which it runs
    regulator_mohm: float = 10.0


@dataclass(frozen=True, slots=True)
class IsolatorSpec:
    kind: Literal["relay", "diode"]
    rating_a: float
    contact_mohm: float
    drop_v: float = 0.0                # diode


@dataclass(frozen=True, slots=True)
class FuseSpec:
    """An over-current device: one way of a block, a holder, a breaker, or an amplifier's own fuses."""

    type: DeviceType
    max_rating_a: float
    contact_mohm: float = 0.2          # clips or studs of the holder, both sides together
    rating_a: float | None = None      # fixed rating (breakers); else the rig says
    interrupting_a: float | None = None  # where the part states its own


@dataclass(frozen=True, slots=True)
class AmplifierSpec:
    amplifier_class: Literal["AB", "D"]
    channels: int
    output_4ohm_w: float               # per channel at rated_v
    output_2ohm_w: float | None
    rated_v: float
    min_load_ohm: float
    bridged_4ohm_w: float | None       # per pair
    min_bridged_ohm: float | None
    supply: Literal["stiff", "sagging"]
    idle_a: float
    efficiency_full: float
    efficiency_eighth: float
    min_v: float                       # shuts down below this
    remote_ma: float
    balanced_input: bool
    signal_ground_ohm: float           # from line screen to supply-
    own_fuses_a: tuple[float, ...]     # fitted by its maker, in parallel; () for none
    own_fuse_type: DeviceType = "C"
    speaker_inputs: int = 0
    speaker_inputs_float: bool = True  # neither wire of such an input is tied to ground
    gain_low_v: float | None = None    # line input for full output, gain at its most
    gain_high_v: float | None = None   # the same, gain at its least
    snr_db: float | None = None        # A-weighted, re 1 W into 4 ohm
    wake_ms: float | None = None       # remote live -> sound at the output
    sleep_ms: float | None = None      # remote dead -> silence at the output


@dataclass(frozen=True, slots=True)
class LoadSpec:
    """A draw that is not an amplifier's: processor, source unit, lights, pump, base load."""

    law: Literal["power", "current", "resistance"]
    draw_w: float                      # at 13.5 V
    runs: Literal["always", "remote", "engine"] = "always"
    min_v: float = 9.0
    remote_in_ma: float = 0.0
    remote_out_max_ma: float = 0.0
    balanced_output: bool = False
    signal_ground_ohm: float = 0.01
    channels: int = 0
    safety: bool = False               # must go on when the audio system fails
    signal: SignalSpec | None = None   # source units and processors


@dataclass(frozen=True, slots=True)
class SignalSpec:
    """The signal side of a source unit or processor; None where its part does not say."""

    output_max_v: float | None = None  # RMS at 0 dBFS
    input_max_v: float | None = None   # RMS; processors
    snr_db: float | None = None        # A-weighted, re output_max_v
    settle_ms: float | None = None
    hold_ms: float | None = None
    mutes: bool | None = None
    remote_out_on_ms: float | None = None
    remote_out_off_ms: float | None = None
    speaker_inputs: int = 0            # processors
    speaker_inputs_float: bool = True
    speaker_input_max_v: float | None = None
    speaker_outputs: int = 0           # source units
    speaker_output_w: float | None = None
    speaker_outputs_float: bool = True
    senses_load: bool = False


@dataclass(frozen=True, slots=True)
class RelaySpec:
    coil_ma: float
    contact_rating_a: float
    contact_mohm: float
    diode: bool
    pull_in_ms: float | None = None
    drop_out_ms: float | None = None


@dataclass(frozen=True, slots=True)
class ConnectorSpec:
    contacts: int
    contact_a: float                   # one contact, loaded alone
    contact_mohm: float
    min_mm2: float
    max_mm2: float
    sealed: bool
    halves: Literal["pins and sockets", "alike"] = "pins and sockets"
    keyings: int = 1                   # in how many ways it can be keyed


@dataclass(frozen=True, slots=True)
class DriverSpec:
    """A driver. Impedance follows from ``re_ohm`` on where they are known; ``None`` where the maker does not say."""

    nominal_ohm: float
    rated_w: float
    re_ohm: float | None = None        # direct-current resistance of the voice coil
    le_mh: float | None = None         # its inductance, stated at 1 kHz
    le_exponent: float = 1.0           # its reactance grows as f to this power; 1 is a plain coil
    fs_hz: float | None = None         # resonance in free air
    qms: float | None = None
    qes: float | None = None
    vas_l: float | None = None
    sd_cm2: float | None = None
    xmax_mm: float | None = None       # one way
    sensitivity_db: float | None = None  # at 1 m with 1 W into the nominal impedance
    lowest_hz: float | None = None     # its maker allows full power down to here


@dataclass(frozen=True, slots=True)
class PassiveSpec:
    element: Literal["capacitor", "coil", "resistor", "zobel", "pad"]
    value: float                       # F, H or ohm; zobel: its resistor; pad: the load it is made for
    rated_v: float | None = None
    rated_w: float | None = None
    series_mohm: float = 0.0           # of a capacitor, leads included
    rated_a: float | None = None       # coils: before the core saturates or the wire runs hot
    dcr_ohm: float = 0.0               # coils
    tolerance_pct: float | None = None
    capacitor_type: Literal["film", "non-polar", "polar"] | None = None
    capacitance_f: float | None = None  # zobel: its capacitor
    attenuation_db: float | None = None  # pad: how much it takes off


@dataclass(frozen=True, slots=True)
class BarSpec:
    """Joining metal: bus bar, plain block, splice, frame."""

    path_mohm: float                   # from any terminal to the middle of the metal
    rating_a: float


@dataclass(frozen=True, slots=True)
class WireStockSpec:
    """Wire as it is bought: by the spool. ``size`` as the rig file writes it."""

    size: str
    metal: Metal
    insulation_c: int
    cores: int                         # conductors in one jacket, all of this size
    spool_mm: float                    # usual length of a new spool
    screened: bool = False             # a line lead, cut as one wire whatever its cores


Spec = (
    BatterySpec | ChargerSpec | DcdcSpec | IsolatorSpec | AmplifierSpec | LoadSpec | RelaySpec
    | ConnectorSpec | DriverSpec | PassiveSpec | BarSpec | FuseSpec | WireStockSpec
)


@dataclass(frozen=True, slots=True)
class Part:
    """A catalogue entry."""

    id: str
    family: Family
    title: str
    terminals: tuple[Terminal, ...]
    spec: Spec
    ways: int = 0                      # of a block: fused or plain
    size_mm: tuple[float, float, float] | None = None  # width, depth, height
    mass_g: float | None = None
    price: float | None = None         # in the catalogue's currency, invented for demo parts
    demo: bool = False                 # invented data
    plan: Plan | None = None           # how it lies on a panel; None where its size is not known

    def terminal(self, name: str) -> Terminal:
        for t in self.terminals:
            if t.name == name:
                return t
        raise KeyError(name)


@dataclass(frozen=True, slots=True)
class Place:
    id: str
    temperature_c: float               # the rig's ambient where the file says nothing
    comes_off: bool = False            # luggage, case, seat: whole place is lifted off
    engine_space: bool = False
    wet: bool = False
    slack_mm: float | None = None      # spare wire at each end that comes in by a run; None: not said


@dataclass(frozen=True, slots=True)
class Run:
    """A physical path between two places."""

    between: tuple[str, str]
    length_mm: float
    hazards: tuple[str, ...] = ()      # moving, hot, edge, water
    cover: tuple[str, ...] = ()        # braided sleeve, grommet, convoluted tube, heat sleeve, ..
    hole_mm: float | None = None       # smallest hole that the bundle goes through, bare metal
    bend_radius_mm: float | None = None  # tightest bend, to the inside of the bundle
    supports_mm: float | None = None   # widest distance between two supports


@dataclass(frozen=True, slots=True)
class Impedance:
    """A measured impedance: three columns, frequency rising. ``notes`` says what the reader had to make of the file."""

    frequency_hz: tuple[float, ...]
    ohm: tuple[float, ...]
    degrees: tuple[float, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Mounting:
    """What a driver sits in."""

    kind: Literal["open", "sealed", "vented"] = "open"
    box_l: float | None = None         # net volume behind this one driver
    port_hz: float | None = None       # tuning of a vented box


@dataclass(frozen=True, slots=True)
class Band:
    """What the filters of a processor or amplifier let through on some of its channels."""

    channels: tuple[int, ...]
    high_pass_hz: float | None = None
    low_pass_hz: float | None = None
    slope_db: int = 24                 # per octave: 6, 12, 18 or 24
    alignment: Literal["LR", "BW"] = "LR"  # of even orders; odd ones are Butterworth
    limit_w: float | None = None       # limiter: average watts let through to the loudspeaker


@dataclass(frozen=True, slots=True)
class Item:
    id: str
    part: Part
    place: str
    fuses_a: tuple[float | Literal["auto"], ...] = ()  # per way; 0 is an empty way
    charge_pct: float = 80.0           # batteries
    resistance_factor: float = 1.0     # batteries: age; 1 = new
    comes_off: bool = False
    bridged: tuple[tuple[int, int], ...] = ()  # amplifier channel pairs
    mounting: Mounting = Mounting()    # drivers
    impedance: Impedance | None = None  # drivers: as measured
    bands: tuple[Band, ...] = ()       # processors and amplifiers: filters as set
    gains_v: tuple[float, ...] = ()    # amplifiers: line input for full output, channel by channel, as set
    remote_on_ms: float | None = None  # source units and processors: delay set of the remote output
    remote_off_ms: float | None = None
    tail_mm: float = 0.0               # wire from the end of the runs to its terminals
    key: int = 1                       # connectors: which keying is fitted
    sockets: Literal["a", "b"] = "a"   # connectors: the half that carries the sockets
    spot: Spot | None = None           # on a panel


@dataclass(frozen=True, slots=True)
class WireSize:
    """A conductor size as sold.

    ``label`` is what the user wrote in normal form (``8 AWG``, ``8 SAE``, ``8 mm2``); ``area_mm2`` is metal.
    """

    label: str
    system: Literal["AWG", "SAE", "mm2", "bolted"]
    area_mm2: float
    diameter_mm: float                 # bare stranded conductor


@dataclass(frozen=True, slots=True)
class Wire:
    """One conductor with two ends. Amperes count positive from ``start`` to ``end``.

    A size of system ``bolted`` is no wire: the two terminals are bolted straight together.
    """

    id: str
    start: str                         # "item.terminal"; ``from`` in the file
    end: str                           # ``to`` in the file
    kind: Kind
    size: WireSize | None              # None: "auto", to be chosen by protection.sizing
    metal: Metal
    length_mm: float
    route: tuple[int, ...]             # indexes into Rig.runs, in order; () if start and end share a place
    insulation_c: int = 105            # 60 75 80 90 105 125 200
    joints: tuple[str, str] = ("ring lug", "ring lug")
    cover: tuple[str, ...] = ()        # on this wire alone; runs have their own
    measured_mohm: float | None = None # end to end, by a technician
    length_given: bool = False         # False: from the runs
    as_sold: str | None = None         # what the reel or the jacket says, where it differs
    colour: str | None = None          # letters of IEC 60757; None: the usual one for what it carries
    via: tuple[str, ...] = ()          # places that it is led over
    slack_mm: float = 0.0              # part of length_mm: spare wire at both ends; 0 where the length is given


@dataclass(frozen=True, slots=True)
class Vehicle:
    kind: Literal["trike", "motorcycle", "side-by-side", "boat", "car", "other"]
    drive: Literal["petrol inboard", "petrol outboard", "diesel", "electric", "petrol"] = "petrol"
    idle_rpm: float = 1000.0
    cruise_rpm: float = 3500.0
    crank_a: float = 120.0             # starter current
    crank_min_v: float = 9.0           # at the battery while cranking
    start_battery: str | None = None   # item that cranks the engine


@dataclass(frozen=True, slots=True)
class Limits:
    """What the owner and the technician want, apart from law and physics."""

    drop_v: float = 0.5                # battery terminals to an amplifier's terminals, both ways, at `loud`
    session_h: float = 2.0             # listening time that must leave the engine able to crank
    session_engine: EngineState = "idle"
    session_programme: Programme = "music"
    listening_mm: float = 1000.0       # from the loudspeakers to the nearest ear


class Items:
    """What has items, by id, and asks for them by a terminal or by family."""

    items: Mapping[str, Item]

    def terminal(self, ref: str) -> Terminal:
        """The terminal behind ``item.terminal``."""
        item_id, _, name = ref.partition(".")
        return self.items[item_id].part.terminal(name)

    def item_of(self, ref: str) -> Item:
        return self.items[ref.partition(".")[0]]

    def family(self, *families: Family) -> tuple[Item, ...]:
        return tuple(i for i in self.items.values() if i.part.family in families)


@dataclass(frozen=True)
class Rig(Items):
    """One described system. ``file`` is the name it was read from, for messages only."""

    title: str
    file: str
    ambient_c: float
    vehicle: Vehicle
    places: Mapping[str, Place]
    runs: tuple[Run, ...]
    items: Mapping[str, Item]
    wires: tuple[Wire, ...]
    limits: Limits = field(default_factory=Limits)
    bundle_basis: Literal["from 3", "from 2"] = "from 3"
    notes: str = ""
    stage: Literal["as found", "planned", "as built"] = "planned"
    demo: bool = False                 # invented data
    panels: Mapping[str, Panel] = field(default_factory=dict)

    def __hash__(self) -> int:
        return hash((*self.items, *((w.id, w.start, w.end) for w in self.wires)))

    def wire(self, wire_id: str) -> Wire:
        return self._wire[wire_id]

    @cached_property
    def _wire(self) -> Mapping[str, Wire]:
        return {w.id: w for w in reversed(self.wires)}

    def wires_at(self, ref: str) -> tuple[Wire, ...]:
        return tuple(w for w in self.wires if ref in (w.start, w.end))

    def engine_states(self) -> tuple[EngineState, ...]:
        """The engine states that differ: without a charging source only `off`."""
        return ENGINE_STATES if self.family("charger") else ("off",)

    def wire_temperature_c(self, wire: Wire) -> float:
        """Hottest place along a wire [C]: the ends' places and those of its runs. The frame has no place of its own."""
        ends = [self.item_of(wire.start), self.item_of(wire.end)]
        ids = {i.place for i in ends if i.part.family != "frame"} or {i.place for i in ends}
        for k in wire.route:
            ids.update(self.runs[k].between)
        return max(self.places[i].temperature_c for i in ids)
