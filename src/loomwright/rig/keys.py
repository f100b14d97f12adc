"""The keys of a rig file, each with its type, its bounds and a description.

These models are the one source: validation, the JSON schema and the reference page all come from them.
Every key ends in its unit where it has one.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BaseModel, ConfigDict, Field, PlainValidator, WithJsonSchema
from pydantic_core import PydanticCustomError

Hazard = Literal["moving", "hot", "edge", "water"]
Cover = Literal[
    "braided sleeve",
    "convoluted tube",
    "spiral wrap",
    "conduit",
    "heat sleeve",
    "grommet",
    "edge trim",
    "gland",
    "adhesive sleeve",
    "tape",
]


class Keys(BaseModel):
    """A table: strict types, no unknown keys, no NaN and no infinity."""

    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False, frozen=True, defer_build=True)
    beside: ClassVar[tuple[str, ...]] = ()
    """Names that may stand beside these keys and are checked elsewhere."""


FUSE_RULE = 'a number from 0 to 500, 0 for an empty way, or "auto"'


def _fuse(value: Any) -> float | Literal["auto"]:
    if value == "auto":
        return "auto"
    if isinstance(value, int | float) and not isinstance(value, bool) and 0.0 <= value <= 500.0:
        return float(value)
    raise PydanticCustomError("rule", "{expected}", {"expected": FUSE_RULE})


Fuse = Annotated[
    Any,
    PlainValidator(_fuse),
    WithJsonSchema({"anyOf": [{"type": "number", "minimum": 0, "maximum": 500}, {"const": "auto"}]}),
]


class VehicleKeys(Keys):
    """The vehicle, its engine and its starter."""

    kind: Literal["trike", "motorcycle", "side-by-side", "boat", "car", "other"] = Field(
        default="other", description="What it is; the boat law and the frame checks depend on it."
    )
    drive: Literal["petrol inboard", "petrol outboard", "diesel", "electric", "petrol"] = Field(
        default="petrol",
        description="What drives it; a petrol inboard or sterndrive boat falls under 33 CFR 183 subpart I.",
    )
    idle_rpm: float = Field(default=1000.0, ge=300, le=6000, description="Engine speed at idle.")
    cruise_rpm: float = Field(default=3500.0, ge=500, le=15000, description="Engine speed at a steady cruise.")
    crank_a: float = Field(default=120.0, ge=1, le=2000, description="What the starter draws while it cranks.")
    crank_min_v: float = Field(
        default=9.0, ge=5, le=12.5, description="Volts at the battery below which the engine will not start."
    )
    start_battery: str | None = Field(
        default=None,
        description="The battery that cranks the engine. Left out: the only battery, where there is just one.",
    )


class LimitKeys(Keys):
    """What the owner and the technician want, apart from law and physics."""

    drop_v: float = Field(
        default=0.5,
        ge=0.05,
        le=5,
        description="Most volts lost between battery and amplifier, out and back together, at `loud`.",
    )
    session_h: float = Field(
        default=2.0, ge=0.1, le=48, description="Listening time after which the engine must still crank."
    )
    session_engine: Literal["off", "idle", "cruise"] = Field(default="idle", description="Engine during that time.")
    session_programme: Literal["quiet", "music", "loud", "sine"] = Field(
        default="music", description="How loud during that time."
    )
    listening_mm: float = Field(
        default=1000.0, ge=100, le=100_000, description="From the loudspeakers to the nearest ear."
    )


class PlaceKeys(Keys):
    """A spot in the vehicle."""

    temperature_c: float | None = Field(
        default=None, ge=0, le=125, description="Hottest air here. Left out: the rig's `ambient_c`."
    )
    comes_off: bool = Field(default=False, description="The whole place is lifted off: luggage, case, seat.")
    engine_space: bool = Field(default=False, description="In the engine space.")
    wet: bool = Field(default=False, description="Rain, spray or bilge water reaches it.")
    slack_mm: float | None = Field(
        default=None,
        ge=0,
        le=3000,
        description="Spare wire at each end that comes in by a run, for service or for a case that opens. Counts in "
        "every length that the runs give. Left out: 40 mm, and 150 mm more at a connector, and where the place or the "
        "item comes off.",
    )


class RunKeys(Keys):
    """A physical path between two places. Wires follow runs; lengths and bundles come from them."""

    between: list[str] = Field(min_length=2, max_length=2, description="The two places it joins.")
    length_mm: float = Field(
        ge=1, le=30_000, description="Length along the path, with the tails needed to reach the items at both ends."
    )
    hazards: list[Hazard] = Field(default_factory=list, description="What can hurt a wire here.")
    cover: list[Cover] = Field(default_factory=list, description="What protects the whole bundle here.")
    hole_mm: float | None = Field(
        default=None, ge=2, le=300, description="Smallest hole on the way, in bare metal, before a grommet goes in."
    )
    bend_radius_mm: float | None = Field(
        default=None, ge=1, le=2000, description="Tightest bend on the way, to the inside of the bundle."
    )
    supports_mm: float | None = Field(
        default=None, ge=5, le=5000, description="Widest distance between two clips or ties."
    )


class BandKeys(Keys):
    """Filters as set on some channels of a processor or amplifier."""

    channels: list[Annotated[int, Field(ge=1, le=16)]] = Field(
        min_length=1, max_length=16, description="Outputs of a processor, or channels of an amplifier."
    )
    high_pass_hz: float | None = Field(default=None, ge=10, le=20_000, description="Nothing much below this.")
    low_pass_hz: float | None = Field(default=None, ge=20, le=20_000, description="Nothing much above this.")
    slope_db: Literal[6, 12, 18, 24] = Field(default=24, description="How steep both are, per octave.")
    alignment: Literal["LR", "BW"] = Field(
        default="LR", description="Linkwitz-Riley or Butterworth, at 12 and 24; 6 and 18 are Butterworth."
    )
    limit_w: float | None = Field(
        default=None, gt=0, le=10_000, description="Limiter: average watts let through to the loudspeaker."
    )


class ItemKeys(Keys):
    """One placed part."""

    part: str = Field(min_length=1, description="Which catalogue part it is.")
    place: str = Field(min_length=1, description="Where it sits.")
    fuses_a: list[Fuse] = Field(
        default_factory=list,
        description="Fuse in each way, 0 for an empty way. A fuse holder has one way. Fixed-rating breakers take none.",
    )
    charge_pct: float | None = Field(
        default=None, ge=0, le=100, description="Batteries: state of charge at the start; 80 where left out."
    )
    resistance_factor: float | None = Field(
        default=None, ge=0.5, le=20, description="Batteries: resistance against a new one, for age; 1 where left out."
    )
    comes_off: bool = Field(default=False, description="This item by itself is lifted off.")
    bridged: list[Annotated[list[int], Field(min_length=2, max_length=2)]] = Field(
        default_factory=list, description="Amplifiers: channel pairs that are bridged, such as [[3, 4]]."
    )
    mounting: Literal["open", "sealed", "vented"] | None = Field(
        default=None,
        description="Drivers: what it sits in; `open` where left out: door, panel or roof without a box, or a driver "
        "that is closed behind by itself.",
    )
    box_l: float | None = Field(
        default=None, gt=0, le=2000, description="Drivers in a box: net volume behind this one driver."
    )
    port_hz: float | None = Field(default=None, ge=5, le=500, description="Drivers in a vented box: its tuning.")
    impedance_file: str | None = Field(
        default=None,
        min_length=1,
        max_length=120,
        description="Drivers: name of a file beside the rig with the measured impedance: columns frequency, ohm, "
        "degrees.",
    )
    impedance: list[Annotated[list[float], Field(min_length=3, max_length=3)]] = Field(
        default_factory=list,
        max_length=2000,
        description="Drivers: the same written out here, as rows [hertz, ohm, degrees].",
    )
    bands: list[BandKeys] = Field(
        default_factory=list, description="Processors and amplifiers: filters as set, channel by channel."
    )
    gains_v: list[Annotated[float, Field(gt=0, le=40)]] = Field(
        default_factory=list, description="Amplifiers: line input for full output as set, one for each channel."
    )
    remote_on_ms: float | None = Field(
        default=None, ge=0, le=60_000, description="Source units, processors: delay set for a live remote output."
    )
    remote_off_ms: float | None = Field(
        default=None, ge=0, le=60_000, description="Source units, processors: delay set for a dead remote output."
    )
    tail_mm: float = Field(
        default=0.0,
        ge=0,
        le=3000,
        description="Wire from the end of the runs to its terminals, where the runs do not hold it already.",
    )
    key: int | None = Field(
        default=None, ge=1, le=26, description="Connectors: which of its keyings is fitted; 1 where left out."
    )
    sockets: Literal["a", "b"] | None = Field(
        default=None, description="Connectors: the half that carries the sockets; `a` where left out."
    )
    panel: str | None = Field(default=None, description="The panel that it is mounted on.")
    at_mm: Annotated[list[Annotated[float, Field(ge=0, le=5000)]], Field(min_length=2, max_length=2)] | None = Field(
        default=None,
        description="Where it lies on its panel: upper left corner of its body as it lies, across and down. Left out: "
        "not placed yet.",
    )
    turn_deg: Literal[0, 90, 180, 270] | None = Field(
        default=None, description="How far it is turned on its panel, clockwise; 0 where left out."
    )
    layer: Literal[1, 2] | None = Field(
        default=None, description="1 on the board, 2 on spacers. Left out: on the board, or as the placement finds."
    )
    fixed: bool = Field(default=False, description="Stays where it is when the rest of its panel is placed.")
    turns: list[Literal[0, 90, 180, 270]] = Field(
        default_factory=list, description="Turns that are welcome when it is placed; all where left out."
    )


class WireKeys(Keys):
    """One conductor with two ends. A line lead is one wire: signal and screen."""

    id: str = Field(min_length=1, description="Its number on the label.")
    start: str = Field(alias="from", min_length=1, description="Terminal it starts at: `item.terminal`.")
    end: str = Field(alias="to", min_length=1, description="Terminal it ends at: `item.terminal`.")
    size: str = Field(
        min_length=1,
        description="`8 AWG` is ASTM B258, `8 SAE` is thinner, `8 mm2`; `auto` for power and ground wires that "
        "Loomwright is to size; `bolted` where the two terminals are bolted together without a wire.",
    )
    metal: Literal["copper", "tinned copper", "cca10", "cca15"] = Field(
        default="copper", description="Conductor metal; cca10 and cca15 are copper-clad aluminium."
    )
    length_mm: float | None = Field(
        default=None,
        ge=1,
        le=50_000,
        description="Conductor length. Left out: the way along the runs, with tails and slack; 150 where both ends "
        "share a place or one lies on the frame.",
    )
    via: list[str] = Field(
        default_factory=list,
        max_length=12,
        description="Places that it goes over, in order, where it is not to take the way of least cost.",
    )
    insulation_c: Literal[60, 75, 80, 90, 105, 125, 200] = Field(
        default=105, description="Temperature rating of the insulation."
    )
    from_joint: str | None = Field(
        default=None, description="Joint at `from`. Left out: what the terminal is made for."
    )
    to_joint: str | None = Field(default=None, description="Joint at `to`. Left out: what the terminal is made for.")
    cover: list[Cover] = Field(default_factory=list, description="What protects this wire alone.")
    measured_mohm: float | None = Field(
        default=None, gt=0, le=100_000, description="Resistance of the conductor as measured, without its joints."
    )
    as_sold: str | None = Field(
        default=None,
        min_length=1,
        max_length=80,
        description="What reel or jacket says, where the conductor is another.",
    )
    colour: str | None = Field(
        default=None,
        min_length=2,
        max_length=8,
        description="Colour of its insulation in letters of IEC 60757, such as `RD` or `BUWH`. Left out: the usual one "
        "for what it carries.",
    )


Millimetres = Annotated[float, Field(ge=0, le=5000)]


class PanelKeys(Keys):
    """A board that equipment is mounted on, and the space it goes into.

    Seen from the front: millimetres across to the right and down, from the upper left corner of the box round it.
    """

    place: str = Field(min_length=1, description="The place in the vehicle that it stands in.")
    width_mm: float | None = Field(default=None, ge=30, le=5000, description="Width of a board with four square "
        "corners.")
    height_mm: float | None = Field(default=None, ge=30, le=5000, description="Its height.")
    corners_mm: list[Annotated[list[Annotated[float, Field(ge=-5000, le=5000)]], Field(min_length=2, max_length=3)]] = (
        Field(
            default_factory=list,
            description="Corners of any other board, in order: across and down. A third figure makes the side that "
            "follows round: the tangent of a quarter of its angle, above 0 where it turns clockwise.",
        )
    )
    outline_file: str | None = Field(
        default=None, min_length=1, max_length=200,
        description="Any other board: the file of a traced outline (TOML) beside the rig file, its holes with it.",
    )  # fmt: skip
    holes_mm: list[Annotated[list[Millimetres], Field(min_length=3, max_length=200)]] = Field(
        default_factory=list,
        description="Holes and slots in it: across, down and diameter of a round one, or all corners of another.",
    )
    keep_outs_mm: list[Annotated[list[Millimetres], Field(min_length=4, max_length=4)]] = Field(
        default_factory=list,
        description="Rectangles that nothing may stand on: across and down of the upper left corner, width, height.",
    )
    space_mm: float = Field(ge=10, le=2000, description="Free height above the face of the board.")
    entry_mm: Annotated[list[Millimetres], Field(min_length=2, max_length=2)] | None = Field(
        default=None, description="Where the wires leave it, across and down. Left out: the middle of its lower edge."
    )
    material: Literal["plywood", "expanded PVC", "HDPE", "aluminium"] = Field(
        default="plywood", description="What it is cut from."
    )
    thickness_mm: float = Field(default=12.0, ge=1, le=50, description="How thick it is.")
    upright: bool = Field(default=False, description="It stands upright, its top edge up.")
    pull_out_mm: float = Field(
        default=150.0, ge=0, le=2000, description="How far it comes out, wired and playing, while gains are set."
    )
    edge_mm: float = Field(default=5.0, ge=0, le=200, description="Least distance of a body from the edge.")
    screw_edge_mm: float = Field(default=15.0, ge=0, le=200, description="Least distance of a screw from the edge.")
    spacer_mm: float | None = Field(
        default=None, ge=10, le=200, description="Spacers for a second layer. Left out: nothing stands on spacers."
    )


class HeadKeys(Keys):
    """The top of a rig file."""

    beside: ClassVar[tuple[str, ...]] = ("vehicle", "limits", "place", "run", "panel", "item", "wire")
    format: Literal[1] = Field(description="Version of this file format; 1.")
    title: str = Field(min_length=1, max_length=200, description="What the papers call it.")
    ambient_c: float = Field(ge=0, le=70, description="Hottest air that the rig must stand, out of the engine space.")
    stage: Literal["as found", "planned", "as built"] = Field(
        default="planned", description="Which of the three rigs it is."
    )
    bundle_basis: Literal["from 3", "from 2"] = Field(
        default="from 3", description="How many loaded wires make a bundle that is derated; published lists differ."
    )
    demo: bool = Field(default=False, description="True where the data are invented.")
    notes: str = Field(default="", max_length=20_000, description="Anything the next technician should know.")


class RigKeys(HeadKeys):
    """One described system."""

    vehicle: VehicleKeys = Field(default_factory=VehicleKeys, description="The vehicle.")
    limits: LimitKeys = Field(default_factory=LimitKeys, description="Limits that the owner wants kept.")
    place: dict[str, PlaceKeys] = Field(default_factory=dict, description="Places by id.")
    run: list[RunKeys] = Field(default_factory=list, description="Runs.")
    panel: dict[str, PanelKeys] = Field(default_factory=dict, description="Panels by id.")
    item: dict[str, ItemKeys] = Field(default_factory=dict, description="Items by id.")
    wire: list[WireKeys] = Field(default_factory=list, description="Wires.")
