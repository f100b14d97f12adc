"""The wishes of an equipment list: what the drafted rig must meet, besides being safe."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Literal

from pydantic import Field

from loomwright.facts import conductors
from loomwright.protection.mishaps import SIZES_UP
from loomwright.rig import sizes
from loomwright.rig.keys import Keys
from loomwright.rig.model import AmplifierSpec, EngineState, Metal, Programme, Rig
from loomwright.rig.report import Report
from loomwright.rig.words import show

Volts = Annotated[float, Field(ge=8, le=15)]


class WishKeys(Keys):
    """What the rig that is drafted must meet."""

    min_amp_v: Volts | None = Field(
        default=None, description="Least volts at every amplifier, with the engine and the programme as asked for."
    )
    engine: Literal["off", "idle", "cruise"] = Field(
        default="off", description="How the engine runs where the least volts must hold."
    )
    programme: Literal["quiet", "music", "loud"] = Field(
        default="loud", description="How loud it plays where the least volts must hold."
    )
    budget: float | None = Field(
        default=None, gt=0, le=1_000_000, description="Most that wire and drafted parts may cost, in the catalogue's "
        "currency. Needs prices in your own catalogue."
    )  # fmt: skip
    stock: list[str] = Field(
        default_factory=list, max_length=100, description="Sizes of power wire in stock; no other is used. Left out: "
        "every size that is sold."
    )  # fmt: skip
    metal: Literal["copper", "tinned copper"] | None = Field(
        default=None,
        description="Metal of drafted wires. Left out: tinned copper in the wet and on boats, else copper.",
    )
    returns: Literal["wire", "frame"] = Field(
        default="wire", description="How amplifiers return: a wire beside the feed, or the frame."
    )
    comes_off: list[str] = Field(
        default_factory=list, max_length=100, description="Places and items that must come off, besides those that say "
        "so themselves."
    )  # fmt: skip
    keep: list[str] | None = Field(
        default=None, max_length=2000, description="Wires of the file whose size must stay. Left out: all of them."
    )
    block_places: list[str] = Field(
        default_factory=list, max_length=100, description="Where a fused block may sit. Left out: any place that does "
        "not come off and is no engine space."
    )  # fmt: skip
    wrong_fuse_sizes: int = Field(
        default=SIZES_UP, ge=0, le=SIZES_UP, description="How many sizes too large a fuse may be put in by mistake and "
        "drafted wires still stand it. Where no wire can, they stand the fuse that is fitted, and E306 says where."
    )  # fmt: skip
    drives: dict[str, list[str]] = Field(
        default_factory=dict, description="Which loudspeakers an amplifier must drive: amplifier = [loudspeakers]."
    )


@dataclass(frozen=True, slots=True)
class Wishes:
    """The wishes as checked. ``stock`` holds sizes in normal form, by rising area; empty: every size."""

    min_amp_v: float | None = None
    engine: EngineState = "off"
    programme: Programme = "loud"
    budget: float | None = None
    stock: tuple[str, ...] = ()
    metal: Metal | None = None
    returns: Literal["wire", "frame"] = "wire"
    comes_off: tuple[str, ...] = ()
    keep: tuple[str, ...] | None = None
    block_places: tuple[str, ...] = ()
    wrong_fuse_sizes: int = SIZES_UP
    drives: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def settle(keys: WishKeys | None, rig: Rig, report: Report) -> Wishes:
    """The wishes with every name looked up in the rig; problems go into the report."""
    if keys is None:
        return Wishes()
    places, wires = sorted(rig.places), [w.id for w in rig.wires]
    for n, name in enumerate(keys.comes_off, 1):
        if name not in rig.places and name not in rig.items:
            report.unknown(f"wishes.comes_off[{n}]", "a place or an item", name, sorted([*places, *rig.items]))
    for n, name in enumerate(keys.block_places, 1):
        if name not in rig.places:
            report.unknown(f"wishes.block_places[{n}]", "a place", name, places)
    for n, name in enumerate(keys.keep or (), 1):
        if name not in wires:
            report.unknown(f"wishes.keep[{n}]", "a wire of the file", name, wires)
    _drives(keys, rig, report)
    if keys.returns == "frame" and not rig.family("frame"):
        report.add("wishes.returns", '"wire", for the list holds no frame', '"frame"', "Add the frame as an item.")
    stock = [s for n, text in enumerate(keys.stock, 1) if (s := sizes.wire(f"wishes.stock[{n}]", text, report))]
    return Wishes(
        min_amp_v=keys.min_amp_v,
        engine=keys.engine,
        programme=keys.programme,
        budget=keys.budget,
        stock=tuple(sorted(dict.fromkeys(stock), key=lambda s: conductors.parse_size(s).area_mm2)),
        metal=keys.metal,
        returns=keys.returns,
        comes_off=tuple(dict.fromkeys(keys.comes_off)),
        keep=None if keys.keep is None else tuple(keys.keep),
        block_places=tuple(dict.fromkeys(keys.block_places)),
        wrong_fuse_sizes=keys.wrong_fuse_sizes,
        drives={a: tuple(d) for a, d in keys.drives.items()},
    )


def _drives(keys: WishKeys, rig: Rig, report: Report) -> None:
    amplifiers = [i.id for i in rig.items.values() if isinstance(i.part.spec, AmplifierSpec)]
    drivers = [i.id for i in rig.family("driver")]
    seen: dict[str, str] = {}
    for amplifier, wanted in keys.drives.items():
        if amplifier not in amplifiers:
            report.unknown(f"wishes.drives.{amplifier}", "an amplifier", amplifier, amplifiers)
        for n, driver in enumerate(wanted, 1):
            place = f"wishes.drives.{amplifier}[{n}]"
            if driver not in drivers:
                report.unknown(place, "a loudspeaker", driver, drivers)
            elif seen.setdefault(driver, amplifier) != amplifier:
                report.add(
                    place, "a loudspeaker that no other amplifier drives", f"{show(driver)}, also {seen[driver]}",
                    "Leave it to one of the two.",
                )  # fmt: skip
