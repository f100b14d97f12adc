"""The vehicle's small loads behind a block of their own beside the battery."""

from __future__ import annotations

from loomwright.draft.layout import BLOCK_WAYS, places
from loomwright.draft.options import LOW_V
from loomwright.draft.posts import VEHICLE, post, starting
from loomwright.draft.pulling import insulation_c
from loomwright.draft.sheet import Sheet
from loomwright.facts import conductors, fuses
from loomwright.facts.ampacity import ampacity_a, continuous_margin
from loomwright.findings.joints import SIZE_SLACK
from loomwright.protection.mishaps import larger_a
from loomwright.rig.model import Item, LoadSpec

SMALL_A = 15.0
"""A load that a fuse of this holds is small: a cube on the post begins at twice as much [A]."""


def draft(sheet: Sheet, battery: Item) -> None:
    """Feed the vehicle's small loads, each from a way of a block: a cube begins at more than their wires stand.

    One cube on the post guards the block. Where no block may sit beside the battery, each load keeps a cube of its own.
    """
    small = [
        i for i in sheet.families("accessory")
        if not sheet.wired(f"{i.id}.supply+") and isinstance(i.part.spec, LoadSpec)
        and continuous_margin() * i.part.spec.draw_w / LOW_V <= SMALL_A
    ]  # fmt: skip
    if not sheet.given.wishes.wrong_fuse_sizes or not small or len(small) > BLOCK_WAYS[-1]:
        return
    if battery.place not in places(sheet.rig, sheet.given.wishes.block_places):
        return
    if len(small) == 1 and not _too_thin(sheet, small[0]):
        return
    many = min(w for w in BLOCK_WAYS if w >= len(small))
    cube = post(sheet, battery.id, "service_fuse", VEHICLE, "for the vehicle's small loads", "V")
    block = sheet.place("services", f"fused_block_{many}way_c", battery.place, VEHICLE, "a way for each small load")
    group = f"service:{block}"
    sheet.pull("power", f"{cube}.out", f"{block}.in", "V", VEHICLE, group=group)
    sheet.choose(
        block, f"fused_block_{many}way_c beside the battery", "blade fuses for "
        f"{', '.join(i.id for i in small)}: a cube begins at more than their wires stand, one put in wrong included; "
        "a fault in the audio system leaves none of them dark", ("a cube on the post for each",),
    )  # fmt: skip
    for load in small:
        group = f"vehicle:{load.id}"
        sheet.pull(
            "power", sheet.way(block, group), f"{load.id}.supply+", "V", VEHICLE, f"feed {load.id}", group=group
        )


def _too_thin(sheet: Sheet, load: Item) -> bool:
    """Whether the thickest wire that a load takes stands no cube with a fuse that is too large."""
    kind = "post_mount"
    most = larger_a(kind, fuses.ratings_a(kind)[0], sheet.given.wishes.wrong_fuse_sizes)[-1]
    takes = min(t.max_mm2 for t in load.part.terminals if t.name.startswith("supply"))
    sizes = [s.area_mm2 for s in conductors.sizes("AWG") if s.area_mm2 <= takes * SIZE_SLACK]
    hottest = max(sheet.rig.places[p].temperature_c for p in (load.place, starting(sheet).place))
    return not sizes or ampacity_a(max(sizes), "copper", insulation_c(hottest), hottest, 1) < most
