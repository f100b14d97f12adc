"""The keys of a catalogue part in plan: how it lies on a panel."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from loomwright.rig.keys import Keys

Corner = Annotated[list[Annotated[float, Field(ge=-2000, le=2000)]], Field(min_length=2, max_length=2)]
Along = Annotated[float, Field(ge=0, le=2000)]
PlanSide = Literal["left", "top", "right", "bottom"]


class PlanKeys(Keys):
    """A part in plan, seen from the front and not turned. What is left out is the family's usual."""

    left: list[str] = Field(default_factory=list, description="Groups of terminals on its left side, from the top.")
    top: list[str] = Field(default_factory=list, description="On its top side, from the left.")
    right: list[str] = Field(default_factory=list, description="On its right side, from the top.")
    bottom: list[str] = Field(default_factory=list, description="On its bottom side, from the left.")
    holes_mm: list[Corner] | None = Field(
        default=None, description="Middles of its screw holes, from its upper left corner."
    )
    hole_mm: float | None = Field(default=None, ge=1, le=20, description="Hole to drill for each screw.")
    adjuster_side: Literal["left", "top", "right", "bottom", "none"] | None = Field(
        default=None, description="Side on which gains and switches are set, with a screwdriver along the board."
    )
    adjuster_from_mm: Along | None = Field(default=None, description="Where the adjusters begin along that side.")
    adjuster_to_mm: Along | None = Field(default=None, description="Where they end.")
    adjuster_height_mm: Along | None = Field(default=None, description="Height of their axis above the feet.")
    driver_mm: Along | None = Field(default=None, description="Length of screwdriver and hand in front of them.")
    reach_mm: Along | None = Field(
        default=None, description="Free height above it to pull a fuse or work a handle; 0 where there is neither."
    )
    heat_sides: list[PlanSide] | None = Field(default=None, description="Sides on which it must have air.")
    heat_gap_mm: Along | None = Field(default=None, description="How much air there.")
