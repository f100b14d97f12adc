"""The keys of a catalogue part, family by family."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from loomwright.rig.keys import Keys
from loomwright.rig.plan_keys import PlanKeys

DeviceTypeName = Literal[
    "C", "E", "F", "SF30", "SF51", "post_mount", "glass_5x20", "breaker_1", "breaker_2", "breaker_3"
]
Positive = Annotated[float, Field(gt=0)]


class TerminalKeys(Keys):
    """What a group of terminals accepts, where it differs from the family's usual."""

    max_mm2: float | None = Field(default=None, gt=0, le=300, description="Largest conductor it accepts.")
    max_wires: int | None = Field(default=None, ge=1, le=12, description="How many wire ends it accepts.")
    joint: str | None = Field(default=None, description="The joint it is made for.")
    stud_mm: float | None = Field(default=None, ge=2, le=20, description="Thread of its stud or screw, metric.")


class PartKeys(Keys):
    """Keys that every part has."""

    title: str = Field(min_length=1, max_length=120, description="What it is, in trade words.")
    size_mm: Annotated[list[Positive], Field(min_length=3, max_length=3)] | None = Field(
        default=None, description="Width, depth and height."
    )
    mass_g: float | None = Field(default=None, gt=0, le=200_000, description="Mass.")
    price: float | None = Field(default=None, ge=0, le=1e6, description="Price in the catalogue's currency.")
    demo: bool = Field(default=False, description="True where the data are invented.")
    terminal: dict[str, TerminalKeys] = Field(
        default_factory=dict, description="Terminals by group, where they differ from the family's usual."
    )
    plan: PlanKeys = Field(default_factory=PlanKeys, description="How it lies on a panel, where it is not the usual.")


class BatteryKeys(PartKeys):
    """A 12 V battery."""

    family: Literal["battery"] = Field(description="`battery`")
    chemistry: Literal["agm", "flooded", "gel", "lfp"] = Field(description="Chemistry.")
    capacity_ah: float = Field(ge=0.5, le=1000, description="Capacity at the 20 h rate.")
    resistance_mohm: float = Field(ge=0.2, le=200, description="Resistance when new, full, at 25 C.")
    cca_a: float | None = Field(default=None, ge=10, le=3000, description="Cold cranking amperes, SAE J537.")
    rest_table: str = Field(min_length=1, description="Table of resting volts against charge.")
    charge_min_v: float = Field(ge=13, le=16, description="Lowest charging volts that suit it at 25 C.")
    charge_max_v: float = Field(ge=13, le=16, description="Highest charging volts that suit it at 25 C.")
    max_charge_a: float = Field(ge=0.1, le=500, description="Most charging current.")
    acceptance_c: float = Field(
        gt=0, le=2, description="Settled charging current at 80 % charge, as a share of capacity per hour."
    )
    peukert: float = Field(ge=1, le=1.5, description="Peukert exponent.")
    bms_limit_a: float | None = Field(
        default=None, ge=1, le=1000, description="Current at which a built-in protection opens."
    )


class ChargerKeys(PartKeys):
    """An alternator, or a permanent-magnet stator with its regulator."""

    family: Literal["charger"] = Field(description="`charger`")
    kind: Literal["alternator", "stator"] = Field(description="Which of the two.")
    rpm: list[Annotated[float, Field(ge=0, le=20_000)]] = Field(min_length=2, description="Engine speeds, rising.")
    current_a: list[Annotated[float, Field(ge=0, le=500)]] = Field(
        min_length=2, description="Hot output at these speeds."
    )
    regulator_v: float = Field(ge=13, le=16, description="Regulated volts at 25 C.")
    regulator_mohm: float = Field(ge=1, le=100, description="Droop of the regulator.")
    temperature_mv_per_c: float = Field(
        default=-10.0, ge=-40, le=0, description="Change of the regulated volts with heat."
    )


class DcdcKeys(PartKeys):
    """A DC-DC charger between two batteries."""

    family: Literal["dcdc"] = Field(description="`dcdc`")
    output_v: float = Field(ge=12, le=16, description="Output volts.")
    limit_a: float = Field(ge=1, le=200, description="Most output current.")
    efficiency: float = Field(gt=0.3, le=1, description="Output power over input power.")
    start_v: float = Field(ge=10, le=15, description="Input volts above which it runs.")
    regulator_mohm: float = Field(default=10.0, ge=1, le=100, description="Droop of its output.")


class IsolatorKeys(PartKeys):
    """A relay or a diode between two batteries."""

    family: Literal["isolator"] = Field(description="`isolator`")
    kind: Literal["relay", "diode"] = Field(description="Which of the two.")
    rating_a: float = Field(ge=1, le=500, description="Continuous rating.")
    contact_mohm: float = Field(ge=0.05, le=50, description="Resistance when it conducts.")
    drop_v: float = Field(default=0.0, ge=0, le=2, description="Volts lost in a diode.")


class AmplifierKeys(PartKeys):
    """An audio power amplifier."""

    family: Literal["amplifier"] = Field(description="`amplifier`")
    amplifier_class: Literal["AB", "D"] = Field(description="Class of the output stage.")
    channels: int = Field(ge=1, le=12, description="Output channels.")
    inputs: int | None = Field(
        default=None, ge=1, le=12, description="Line inputs; as many as channels where left out."
    )
    output_4ohm_w: float = Field(ge=1, le=5000, description="Output of each channel into 4 ohm at `rated_v`.")
    output_2ohm_w: float | None = Field(default=None, ge=1, le=5000, description="Output of each channel into 2 ohm.")
    rated_v: float = Field(ge=10, le=16, description="Supply volts at which the output is stated.")
    min_load_ohm: float = Field(ge=0.25, le=16, description="Least load on a channel.")
    bridged_4ohm_w: float | None = Field(
        default=None, ge=1, le=10_000, description="Output of a bridged pair into 4 ohm."
    )
    min_bridged_ohm: float | None = Field(default=None, ge=0.5, le=16, description="Least load on a bridged pair.")
    supply: Literal["stiff", "sagging"] = Field(description="Whether output falls with the supply volts.")
    idle_a: float = Field(ge=0.01, le=20, description="Draw with no signal.")
    efficiency_full: float = Field(gt=0.1, le=0.98, description="Efficiency at full output.")
    efficiency_eighth: float = Field(gt=0.02, le=0.98, description="Efficiency at one eighth of full output.")
    min_v: float = Field(ge=7, le=12.5, description="Supply volts below which it shuts down.")
    remote_ma: float = Field(ge=0.1, le=500, description="What its remote input draws.")
    balanced_input: bool = Field(description="Whether its line inputs are balanced or differential.")
    signal_ground_ohm: float = Field(ge=0.001, le=1e6, description="From line screen to `supply-` inside it.")
    own_fuses_a: list[Annotated[float, Field(gt=0, le=200)]] = Field(
        default_factory=list, description="Fuses that its maker fits, in parallel."
    )
    own_fuse_type: DeviceTypeName = Field(default="C", description="Type of these fuses.")
    speaker_inputs: int = Field(
        default=0, ge=0, le=12, description="Inputs for speaker level: one for each of the first channels."
    )
    speaker_inputs_float: bool = Field(
        default=True, description="Whether neither wire of a speaker-level input is tied to ground."
    )
    gain_low_v: float | None = Field(
        default=None, ge=0.05, le=20, description="Line input for full output with the gain at its most."
    )
    gain_high_v: float | None = Field(
        default=None, ge=0.05, le=40, description="Line input for full output with the gain at its least."
    )
    snr_db: float | None = Field(
        default=None, ge=40, le=130, description="Signal to noise, A-weighted, against 1 W into 4 ohm."
    )
    wake_ms: float | None = Field(
        default=None, ge=0, le=20_000, description="From the remote wire going live to sound at the output."
    )
    sleep_ms: float | None = Field(
        default=None, ge=0, le=20_000, description="From the remote wire going dead to silence at the output."
    )


class LoadKeys(PartKeys):
    """A processor, a source unit, or anything else that draws current."""

    law: Literal["power", "current", "resistance"] = Field(
        default="power", description="How its draw follows the volts."
    )
    draw_w: float = Field(ge=0.01, le=5000, description="Draw at 13.5 V.")
    runs: Literal["always", "remote", "engine"] = Field(default="always", description="When it draws.")
    min_v: float = Field(default=9.0, ge=5, le=12.5, description="Volts below which it stops working.")


class SignalKeys(LoadKeys):
    """What gives a line signal: its level, its noise, and how long it takes to settle."""

    output_max_v: float | None = Field(
        default=None, ge=0.1, le=20, description="Most that a line output gives, volts RMS at 0 dBFS."
    )
    snr_db: float | None = Field(
        default=None, ge=40, le=140, description="Signal to noise of its line outputs, A-weighted, against the most."
    )
    settle_ms: float | None = Field(
        default=None, ge=0, le=60_000, description="From being switched on to settled outputs."
    )
    hold_ms: float | None = Field(
        default=None, ge=0, le=60_000, description="From being switched off until its outputs move."
    )
    mutes: bool | None = Field(
        default=None, description="Whether its outputs stay muted until it has settled and before it goes off."
    )
    remote_out_on_ms: float | None = Field(
        default=None, ge=0, le=60_000, description="From being switched on to a live remote output."
    )
    remote_out_off_ms: float | None = Field(
        default=None, ge=0, le=60_000, description="From being switched off to a dead remote output."
    )


class ProcessorKeys(SignalKeys):
    """A signal processor."""

    family: Literal["processor"] = Field(description="`processor`")
    inputs: int = Field(ge=1, le=16, description="Line inputs.")
    outputs: int = Field(ge=1, le=16, description="Line outputs.")
    speaker_inputs: int = Field(default=0, ge=0, le=16, description="Inputs for speaker level.")
    speaker_inputs_float: bool = Field(
        default=True, description="Whether neither wire of a speaker-level input is tied to ground."
    )
    input_max_v: float | None = Field(
        default=None, ge=0.1, le=40, description="Most that a line input takes before it clips, volts RMS."
    )
    speaker_input_max_v: float | None = Field(
        default=None, ge=1, le=100, description="Most that a speaker-level input takes, volts RMS."
    )
    remote_in_ma: float = Field(ge=0, le=500, description="What its remote input draws.")
    remote_out_max_ma: float = Field(ge=0, le=2000, description="Most that its remote output can give.")
    balanced_output: bool = Field(description="Whether its line outputs are balanced.")
    signal_ground_ohm: float = Field(
        default=0.01, ge=0.001, le=1e6, description="From line screen to `supply-` inside it."
    )


class SourceKeys(SignalKeys):
    """A source unit."""

    family: Literal["source"] = Field(description="`source`")
    outputs: int = Field(ge=1, le=16, description="Line outputs.")
    speaker_outputs: int = Field(default=0, ge=0, le=8, description="Speaker outputs.")
    speaker_output_w: float | None = Field(
        default=None, ge=1, le=200, description="Output claimed for each speaker output, into 4 ohm."
    )
    speaker_outputs_float: bool = Field(
        default=True, description="Whether both wires of a speaker output are driven, so that neither is ground."
    )
    senses_load: bool = Field(
        default=False, description="Whether it looks for a loudspeaker and mutes an output that has none."
    )
    remote_out_max_ma: float = Field(ge=0, le=2000, description="Most that its remote output can give.")
    balanced_output: bool = Field(description="Whether its line outputs are balanced.")
    signal_ground_ohm: float = Field(
        default=0.01, ge=0.001, le=1e6, description="From line screen to `supply-` inside it."
    )


class AccessoryKeys(LoadKeys):
    """Anything else that draws current: lights, pump, the vehicle's base load."""

    family: Literal["accessory"] = Field(description="`accessory`")
    safety: bool = Field(
        default=False,
        description="Must go on when the audio system fails: ignition, running lights, pump, blower, fan, starter aid.",
    )


class HolderKeys(PartKeys):
    """A holder for one fuse."""

    family: Literal["fuse_holder"] = Field(description="`fuse_holder`")
    type: DeviceTypeName = Field(description="Fuse type it takes.")
    max_rating_a: float = Field(gt=0, le=500, description="Largest fuse it may hold.")
    contact_mohm: float = Field(default=0.2, ge=0.01, le=20, description="Clips or studs, both sides together.")
    interrupting_a: float | None = Field(
        default=None, ge=10, le=50_000, description="Breaking capacity it states itself."
    )


class FusedBlockKeys(PartKeys):
    """A block with one feed and a fuse for each way."""

    family: Literal["fused_block"] = Field(description="`fused_block`")
    ways: int = Field(ge=1, le=24, description="Number of ways.")
    type: DeviceTypeName = Field(description="Fuse type it takes.")
    max_rating_a: float = Field(gt=0, le=500, description="Largest fuse in a way.")
    contact_mohm: float = Field(
        default=0.2, ge=0.01, le=20, description="Clips or studs of one way, both sides together."
    )
    interrupting_a: float | None = Field(
        default=None, ge=10, le=50_000, description="Breaking capacity it states itself."
    )


class PlainBlockKeys(PartKeys):
    """A block without fuses."""

    family: Literal["plain_block"] = Field(description="`plain_block`")
    ways: int = Field(ge=1, le=24, description="Number of ways.")
    path_mohm: float = Field(ge=0.001, le=20, description="From a terminal to the middle of the metal.")
    rating_a: float = Field(gt=0, le=1000, description="Continuous rating.")


class BreakerKeys(PartKeys):
    """A circuit breaker."""

    family: Literal["breaker"] = Field(description="`breaker`")
    type: Literal["breaker_1", "breaker_2", "breaker_3"] = Field(description="SAE J553 type.")
    rating_a: float = Field(gt=0, le=500, description="Its rating.")
    contact_mohm: float = Field(default=0.5, ge=0.01, le=50, description="Resistance from terminal to terminal.")
    interrupting_a: float | None = Field(
        default=None, ge=10, le=50_000, description="Breaking capacity it states itself."
    )


class SwitchKeys(PartKeys):
    """A battery switch or isolating switch."""

    family: Literal["switch"] = Field(description="`switch`")
    path_mohm: float = Field(ge=0.001, le=20, description="From a terminal to the middle of the contact.")
    rating_a: float = Field(gt=0, le=1000, description="Continuous rating.")


class RelayKeys(PartKeys):
    """A relay; terminals by DIN 72552 numbers."""

    family: Literal["relay"] = Field(description="`relay`")
    coil_ma: float = Field(ge=5, le=2000, description="What the coil draws at 13.5 V.")
    contact_rating_a: float = Field(gt=0, le=500, description="Continuous rating of the contact.")
    contact_mohm: float = Field(ge=0.05, le=100, description="Contact resistance.")
    diode: bool = Field(description="Whether a diode or resistor quenches the coil.")
    pull_in_ms: float | None = Field(default=None, ge=0, le=1000, description="From a live coil to a closed contact.")
    drop_out_ms: float | None = Field(default=None, ge=0, le=1000, description="From a dead coil to an open contact.")


class BusKeys(PartKeys):
    """A bus bar."""

    family: Literal["bus"] = Field(description="`bus`")
    kind: Literal["power", "ground"] = Field(description="What it carries.")
    studs: int = Field(ge=2, le=24, description="Number of studs.")
    path_mohm: float = Field(ge=0.001, le=20, description="From a stud to the middle of the bar.")
    rating_a: float = Field(gt=0, le=1000, description="Continuous rating.")


class FrameKeys(PartKeys):
    """The vehicle's own metal as a return path."""

    family: Literal["frame"] = Field(description="`frame`")
    studs: int = Field(ge=1, le=24, description="Number of places where wires land on it.")
    path_mohm: float = Field(ge=0.001, le=50, description="From a stud to the middle of the metal.")
    rating_a: float = Field(gt=0, le=2000, description="Continuous rating.")


class ConnectorKeys(PartKeys):
    """A plug and socket: contact n joins `an` with `bn`."""

    family: Literal["connector"] = Field(description="`connector`")
    contacts: int = Field(ge=1, le=24, description="Number of contacts.")
    contact_a: float = Field(gt=0, le=500, description="Rating of one contact, loaded alone.")
    contact_mohm: float = Field(ge=0.01, le=50, description="Resistance of one contact.")
    min_mm2: float = Field(gt=0, le=150, description="Thinnest conductor a contact takes.")
    max_mm2: float = Field(gt=0, le=150, description="Thickest conductor a contact takes.")
    sealed: bool = Field(description="Whether it keeps water out.")
    halves: Literal["pins and sockets", "alike"] = Field(
        default="pins and sockets", description="Whether its two halves differ."
    )
    keyings: int = Field(default=1, ge=1, le=26, description="In how many ways it can be keyed against a wrong mate.")


class SpliceKeys(PartKeys):
    """A place where wires are joined."""

    family: Literal["splice"] = Field(description="`splice`")
    legs: int = Field(ge=2, le=6, description="How many wires meet.")
    path_mohm: float = Field(ge=0.001, le=50, description="From a leg to the middle of the joint.")
    rating_a: float = Field(gt=0, le=500, description="Continuous rating.")


class DriverKeys(PartKeys):
    """A loudspeaker driver."""

    family: Literal["driver"] = Field(description="`driver`")
    nominal_ohm: float = Field(ge=0.5, le=32, description="Nominal impedance.")
    rated_w: float = Field(gt=0, le=5000, description="Rated noise power.")
    re_ohm: float | None = Field(
        default=None, ge=0.2, le=48, description="Resistance of the voice coil; fs_hz, qms and qes go with it."
    )
    le_mh: float | None = Field(default=None, ge=0, le=20, description="Inductance of the voice coil at 1 kHz.")
    le_exponent: float = Field(
        default=1.0, ge=0.4, le=1, description="Its reactance grows as frequency to this power: 1 a plain coil, about "
        "0.6 to 0.8 where eddy currents flow in the pole.",
    )  # fmt: skip
    fs_hz: float | None = Field(default=None, ge=5, le=10_000, description="Resonance in free air.")
    qms: float | None = Field(default=None, ge=0.1, le=50, description="Mechanical Q at the resonance.")
    qes: float | None = Field(default=None, ge=0.05, le=20, description="Electrical Q at the resonance.")
    qts: float | None = Field(
        default=None, ge=0.03, le=20, description="Both together, if the maker states it; checked against the two."
    )
    vas_l: float | None = Field(default=None, gt=0, le=2000, description="Air as stiff as the suspension.")
    sd_cm2: float | None = Field(default=None, gt=0, le=5000, description="Area of the diaphragm.")
    xmax_mm: float | None = Field(default=None, gt=0, le=100, description="Linear excursion, one way.")
    sensitivity_db: float | None = Field(
        default=None, ge=60, le=125,
        description="Level at 1 m with 1 W into the nominal impedance. A figure for 2.83 V is 3.01 dB higher at 4 ohm.",
    )  # fmt: skip
    lowest_hz: float | None = Field(
        default=None, ge=10, le=20_000, description="Lowest frequency at which its maker allows full power."
    )


class PassiveKeys(PartKeys):
    """A capacitor, coil or resistor; state the one value that fits."""

    family: Literal["passive"] = Field(description="`passive`")
    element: Literal["capacitor", "coil", "resistor", "zobel", "pad"] = Field(description="What it is.")
    across: Literal["speaker", "supply"] = Field(
        default="speaker", description="In a speaker lead, or across the supply (a = plus, b = ground)."
    )
    capacitance_uf: float | None = Field(default=None, gt=0, le=2e7, description="Capacitors.")
    inductance_mh: float | None = Field(default=None, gt=0, le=1000, description="Coils.")
    resistance_ohm: float | None = Field(default=None, gt=0, le=1e5, description="Resistors, pads, Zobel networks.")
    rated_v: float | None = Field(default=None, gt=0, le=1000, description="Rated volts.")
    rated_w: float | None = Field(default=None, gt=0, le=1000, description="Rated power.")
    series_mohm: float = Field(
        default=0.0, ge=0, le=1000, description="Series resistance of a capacitor, leads included."
    )
    dcr_ohm: float = Field(default=0.0, ge=0, le=100, description="Coils: resistance of the winding.")
    rated_a: float | None = Field(
        default=None, gt=0, le=200, description="Coils: most current before the core saturates or the wire runs hot."
    )
    tolerance_pct: float | None = Field(default=None, gt=0, le=50, description="How far its value may be off.")
    capacitor_type: Literal["film", "non-polar", "polar"] | None = Field(
        default=None, description="Capacitors: film, non-polar electrolytic, polar electrolytic."
    )
    attenuation_db: float | None = Field(
        default=None, gt=0, le=60, description="Pads: how much it takes off a driver of `resistance_ohm`."
    )


class WireStockKeys(PartKeys):
    """Wire by the length. It is no item of a rig: a ``[[wire]]`` is cut from it."""

    family: Literal["wire_stock"] = Field(description="`wire_stock`")
    size: str = Field(min_length=1, description="Size of a conductor: `8 AWG`, `8 SAE` or `8 mm2`.")
    metal: Literal["copper", "tinned copper", "cca10", "cca15"] = Field(
        default="copper", description="Conductor metal; cca10 and cca15 are copper-clad aluminium."
    )
    insulation_c: Literal[60, 75, 80, 90, 105, 125, 200] = Field(
        default=105, description="Temperature rating of the insulation."
    )
    cores: int = Field(default=1, ge=1, le=12, description="Conductors of this size in one jacket.")
    screened: bool = Field(default=False, description="A screened line lead: its cores are cut as one wire.")
    spool_mm: float = Field(ge=1000, le=10_000_000, description="Length of a new spool.")


AnyPart = (
    BatteryKeys
    | ChargerKeys
    | DcdcKeys
    | IsolatorKeys
    | AmplifierKeys
    | ProcessorKeys
    | SourceKeys
    | AccessoryKeys
    | HolderKeys
    | FusedBlockKeys
    | PlainBlockKeys
    | BreakerKeys
    | SwitchKeys
    | RelayKeys
    | BusKeys
    | FrameKeys
    | ConnectorKeys
    | SpliceKeys
    | DriverKeys
    | PassiveKeys
    | WireStockKeys
)
PART_KEYS: dict[str, type[PartKeys]] = {
    "battery": BatteryKeys, "charger": ChargerKeys, "dcdc": DcdcKeys, "isolator": IsolatorKeys,
    "amplifier": AmplifierKeys, "processor": ProcessorKeys, "source": SourceKeys, "accessory": AccessoryKeys,
    "fuse_holder": HolderKeys, "fused_block": FusedBlockKeys, "plain_block": PlainBlockKeys, "breaker": BreakerKeys,
    "switch": SwitchKeys, "relay": RelayKeys, "bus": BusKeys, "frame": FrameKeys, "connector": ConnectorKeys,
    "splice": SpliceKeys, "driver": DriverKeys, "passive": PassiveKeys,
    "wire_stock": WireStockKeys,
}  # fmt: skip
"""Keys by family."""


class CatalogueKeys(Keys):
    """A catalogue file."""

    format: Literal[1] = Field(description="Version of this file format; 1.")
    title: str = Field(default="", max_length=200, description="What the file holds.")
    mark: Literal["published", "calculated", "common practice", "from memory"] = Field(
        default="common practice", description="Where the figures come from."
    )
    notes: str = Field(default="", max_length=20_000, description="Anything worth knowing about them.")
    part: dict[str, Annotated[AnyPart, Field(discriminator="family")]] = Field(
        default_factory=dict, description="Parts by id."
    )
