"""What a layout costs at least, before it is drawn up: lengths along the runs times the thinnest wire that will do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import inf

from loomwright.draft.layout import BlockType, Layout
from loomwright.draft.posts import audio
from loomwright.draft.problem import Problem
from loomwright.draft.pulling import POWER, insulation_c
from loomwright.draft.sheet import Sheet
from loomwright.facts import ampacity, conductors, fuses, tables, workmanship
from loomwright.power.bundles import LIGHT_A
from loomwright.rig.model import AmplifierSpec, Item
from loomwright.rig.routes import LEAD_MM

GRIP_MM2 = 3.3
"""The least that a power plug grips, less what the checks allow."""


@dataclass(frozen=True)
class Rough:
    """What one layout that was drawn up tells about the others: least currents, and what each way may lose."""

    problem: Problem

    def amps(self, load: str) -> float:
        return self.problem.least_draws_a.get(load, 0.0)

    def limit_mv(self, load: str) -> float:
        return 1000.0 * self.problem.limits_v.get(load, inf)


def least_g(sheet: Sheet, layout: Layout, rough: Rough | None = None) -> float:
    """Grams of copper and plugs that the mains and branches of a layout need at least. Infinite where no run leads.

    With ``rough`` the volts count too: for each size of a main, each branch is as thick as what is left asks for.
    """
    start = audio(sheet).place
    total = 0.0
    beside = _bundles(sheet, layout, start, rough)
    for n, block in enumerate(layout.blocks):
        branches = [
            _Way.make(sheet, block.place, sheet.rig.items[a].place, _own_a(sheet.rig.items[a]), a, beside)
            for a in block.amplifiers
        ]
        if block.item is None:
            needs = [_own_a(sheet.rig.items[a]) for a in block.amplifiers]
            main = _Way.make(sheet, start, block.place, least_main_a(block.type, max([*needs, 5.0])), "", beside)
            total += _block_g(main, branches, rough)
        else:
            total += sum(b.mass_g(0) for b in branches)
        if n == 0:
            total += sum(
                _Way.make(sheet, block.place, i.place, 5.0, "", {}).mass_g(0)
                for i in sheet.families("source", "processor")
            )
    for name in layout.alone:
        item = sheet.rig.items[name]
        rated = max(_own_a(item), fuses.ratings_a("post_mount")[0])
        way = _Way.make(sheet, start, item.place, rated, name, beside)
        limit = inf if rough is None else rough.limit_mv(name)
        amps = 0.0 if rough is None else rough.amps(name)
        total += next((way.mass_g(k) for k in range(max(len(way.areas_mm2), 1)) if amps * way.mohm(k) <= limit), inf)
    return total


def _bundles(sheet: Sheet, layout: Layout, start: str, rough: Rough | None) -> dict[int, int]:
    """How many loaded feeds and returns of mains and branches lie in each run, at least."""
    found: dict[int, int] = {}
    if rough is None:
        return found

    def lay(here: str, there: str, amps: float) -> None:
        way = sheet.routes.way(here, there)
        for k in way.runs if way is not None and amps > LIGHT_A else ():
            found[k] = found.get(k, 0) + 2

    for block in layout.blocks:
        lay(start, block.place, sum(rough.amps(a) for a in block.amplifiers))
        for a in block.amplifiers:
            lay(block.place, sheet.rig.items[a].place, rough.amps(a))
    for a in layout.alone:
        lay(start, sheet.rig.items[a].place, rough.amps(a))
    return {k: max(n, 1) for k, n in found.items()}


def _block_g(main: _Way, branches: Sequence[_Way], rough: Rough | None) -> float:
    if rough is None:
        return main.mass_g(0) + sum(b.mass_g(0) for b in branches)
    flows = sum(rough.amps(b.load) for b in branches)
    best = inf
    for m in range(max(len(main.areas_mm2), 1)):
        cost = main.mass_g(m)
        for b in branches:
            room = rough.limit_mv(b.load) - flows * main.mohm(m)
            cost += next(
                (b.mass_g(k) for k in range(max(len(b.areas_mm2), 1)) if rough.amps(b.load) * b.mohm(k) <= room), inf
            )
        best = min(best, cost)
    return best


@dataclass(frozen=True)
class _Way:
    """Feed and return between two places: sizes that carry a rating where it is hottest, and its length."""

    load: str
    areas_mm2: tuple[float, ...]
    length_mm: float
    coolest_c: float
    g_per_mm3: float
    metal: str
    plugs_g: float
    reachable: bool

    def mass_g(self, k: int) -> float:
        """Mass with the k-th size; 0 where no size is known to carry it."""
        if not self.reachable:
            return inf
        area = self.areas_mm2[k] if self.areas_mm2 else 0.0
        return 2.0 * area * self.length_mm * self.g_per_mm3 + self.plugs_g

    def mohm(self, k: int) -> float:
        """Resistance out and back, no warmer than its coolest place."""
        if not self.areas_mm2:
            return 0.0
        per_m = conductors.resistance_mohm_per_m(self.areas_mm2[k], self.metal, self.coolest_c, "mm2")
        return per_m * 2.0 * self.length_mm / 1000.0

    @classmethod
    def make(cls, sheet: Sheet, here: str, there: str, rating_a: float, load: str, beside: Mapping[int, int]) -> _Way:
        way = sheet.routes.way(here, there)
        metal = sheet.given.wishes.metal or "copper"
        density = tables.row("conductors", f"conductor.density.{metal}").number() / 1000.0
        if way is None:
            return cls(load, (), 0.0, 20.0, density, metal, 0.0, False)
        runs = [sheet.rig.runs[k] for k in way.runs]
        places = [sheet.rig.places[p] for p in {here, there, *(p for r in runs for p in r.between)}]
        bundle = max((beside.get(k, 1) for k in way.runs), default=1)
        hottest = max(p.temperature_c for p in places)
        parts = [r for r in runs if any(sheet.rig.places[p].comes_off for p in r.between)] if load else []
        least = max(workmanship.min_conductor_mm2() * 0.95, GRIP_MM2 * 0.94 if parts else 0.0)
        stock = [conductors.parse_size(s) for s in sheet.given.wishes.stock] or list(conductors.sizes("AWG"))
        fit = sorted(
            s.area_mm2 for s in stock
            if s.area_mm2 >= least
            and ampacity.ampacity_a(s.area_mm2, metal, insulation_c(hottest), hottest, bundle, sheet.rig.bundle_basis)
            >= rating_a * 0.999
        )  # fmt: skip
        length = way.length_mm if way.runs else LEAD_MM
        if parts and not sheet.rig.places[here].comes_off and here in parts[0].between:
            length += LEAD_MM  # from the block to the plug beside it
        plug = sheet.part(POWER[0]).mass_g or 0.0
        coolest = min(p.temperature_c for p in places)
        return cls(load, tuple(fit), length, coolest, density, metal, plug * len(parts), True)


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
