"""What a layout costs at least, before it is drawn up: lengths along the runs times the thinnest wire that will do."""

from __future__ import annotations

from functools import cache

from loomwright.draft.layout import BlockType, Layout
from loomwright.draft.pulling import POWER, insulation_c
from loomwright.draft.sheet import Sheet
from loomwright.draft.supply import audio
from loomwright.facts import ampacity, conductors, fuses, tables, workmanship
from loomwright.rig.model import AmplifierSpec, Item
from loomwright.rig.routes import LEAD_MM

GRIP_MM2 = 3.3
"""The least that a power plug grips, less what the checks allow."""


def least_g(sheet: Sheet, layout: Layout) -> float:
    """Grams of copper and plugs that the mains and branches of a layout need at least. Infinite where no run leads."""
    start = audio(sheet).place
    total = 0.0
    for block in layout.blocks:
        needs = [_own_a(sheet.rig.items[a]) for a in block.amplifiers]
        if block.item is None:
            main = least_main_a(block.type, max([*needs, 5.0]))
            total += _wires_g(sheet, start, block.place, main, plugs=False)
        total += sum(
            _wires_g(sheet, block.place, sheet.rig.items[a].place, need, plugs=True)
            for a, need in zip(block.amplifiers, needs, strict=True)
        )
        total += sum(
            _wires_g(sheet, block.place, i.place, 5.0, plugs=False)
            for i in (sheet.families("source", "processor") if block == layout.blocks[0] else ())
        )
    for name in layout.alone:
        item = sheet.rig.items[name]
        total += _wires_g(sheet, start, item.place, _own_a(item), plugs=True)
    return total


@cache
def least_main_a(kind: BlockType, branch_a: float) -> float:
    """The smallest fuse cube on the post that lets the fuse of a way open first [A]; 0 where there is none."""
    rated = min((r for r in fuses.ratings_a(kind) if r >= branch_a), default=branch_a)
    ratio = fuses.selective_ratio()
    energy = fuses.melting_i2t_a2s(kind, rated)[0]
    for rating in fuses.ratings_a("post_mount"):
        if rating >= rated and fuses.melting_i2t_a2s("post_mount", rating)[0] >= ratio * energy:
            return rating
    return 0.0


def _own_a(item: Item) -> float:
    spec = item.part.spec
    return sum(spec.own_fuses_a) if isinstance(spec, AmplifierSpec) else 0.0


def _wires_g(sheet: Sheet, here: str, there: str, rating_a: float, *, plugs: bool) -> float:
    """Feed and return of one rating between two places."""
    way = sheet.routes.way(here, there)
    if way is None:
        return float("inf")
    runs = [sheet.rig.runs[k] for k in way.runs]
    places = {here, there, *(p for r in runs for p in r.between)}
    hottest = max(sheet.rig.places[p].temperature_c for p in places)
    parts = [r for r in runs if any(sheet.rig.places[p].comes_off for p in r.between)] if plugs else []
    least = max(workmanship.min_conductor_mm2() * 0.95, GRIP_MM2 * 0.94 if parts else 0.0)
    stock = [conductors.parse_size(s) for s in sheet.given.wishes.stock] or [
        *conductors.sizes("AWG"), *conductors.sizes("mm2")
    ]  # fmt: skip
    metal = sheet.given.wishes.metal or "copper"
    fit = [
        s.area_mm2 for s in stock
        if s.area_mm2 >= least
        and ampacity.ampacity_a(s.area_mm2, metal, insulation_c(hottest), hottest) >= rating_a * 0.999
    ]  # fmt: skip
    if not fit:
        return 0.0
    length = way.length_mm if way.runs else LEAD_MM
    if parts and not sheet.rig.places[here].comes_off and here in parts[0].between:
        length += LEAD_MM  # from the block to the plug beside it
    density = tables.row("conductors", f"conductor.density.{metal}").number()
    plug = sheet.part(POWER[0]).mass_g or 0.0
    return 2.0 * min(fit) * length / 1000.0 * density + plug * len(parts)
