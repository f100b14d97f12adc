"""Moves: what could be done to a rig, each with the very edit of its file and what it takes in copper and money."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from loomwright.errors import LoomwrightError
from loomwright.facts import conductors, tables
from loomwright.facts.conductors import SizeRow
from loomwright.remedies.stock import Stock
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.changes import Change
from loomwright.rig.model import Family, Metal, Part, Wire, WireStockSpec
from loomwright.study import Study

MoveKind = Literal["wire", "joint", "battery", "charger", "engine", "capacitor", "amplifier", "programme"]


@dataclass(frozen=True, slots=True)
class Move:
    """One thing that could be done. ``changes`` are the whole of it, as edits of the rig file.

    ``copper_g`` is copper that is bought on top of what it replaces, ``price`` what it costs where the catalogue knows
    it (None where it does not; 0 for what only takes work). ``guess_v`` is what the slopes promise at the amplifier
    that is worst off [V], None where they say nothing.
    """

    id: str
    kind: MoveKind
    title: str
    changes: tuple[Change, ...]
    copper_g: float = 0.0
    price: float | None = None
    guess_v: float | None = None
    note: str = ""


class Shop:
    """What a rig could be changed to: the sizes and parts of its catalogue, with their prices where it knows them."""

    def __init__(self, study: Study, catalogue: Catalogue) -> None:
        self.study, self.catalogue = study, catalogue
        self.stock = Stock(study, catalogue)

    @cached_property
    def _parts(self) -> tuple[Part, ...]:
        found = []
        for part_id in self.catalogue.ids():
            try:
                found.append(self.catalogue.part(part_id))
            except LoomwrightError:
                continue
        return tuple(found)

    def parts(self, family: Family) -> tuple[Part, ...]:
        """Every part of a family that can be read, by id."""
        return tuple(p for p in self._parts if p.family == family)

    def sizes_up(self, wire: Wire) -> Iterator[SizeRow]:
        """The sizes above a wire's own that the catalogue has as wire, thinnest first; every size where it has none."""
        if wire.size is None:
            return
        sold = {
            p.spec.size for p in self.parts("wire_stock") if isinstance(p.spec, WireStockSpec) and p.spec.cores == 1
        }
        rows = conductors.sizes(self.stock.system(wire))
        known = [r for r in rows if r.label in sold] or list(rows)
        yield from (r for r in known if r.area_mm2 > wire.size.area_mm2 * 1.05)

    def copper_g(self, metal: Metal, area_mm2: float, length_mm: float) -> float:
        """Copper in a length of wire [g]; that of a clad wire counts by its mass."""
        return area_mm2 * length_mm / 1000.0 * tables.row("conductors", f"conductor.density.{metal}").number()

    def wire_price(self, size: str, metal: Metal, length_mm: float) -> float | None:
        """What a length of wire costs, by the spool that is cheapest a metre; None where the catalogue does not say."""
        each = [
            p.price / p.spec.spool_mm * length_mm
            for p in self.parts("wire_stock")
            if isinstance(p.spec, WireStockSpec) and p.price is not None and p.spec.cores == 1
            and (p.spec.size, p.spec.metal) == (size, metal)
        ]  # fmt: skip
        return min(each, default=None)


def total(prices: Iterable[float | None]) -> float | None:
    """The sum of prices; None where one of them is not known."""
    found = list(prices)
    return None if any(p is None for p in found) else float(sum(p for p in found if p is not None))


def new_id(taken: Iterable[str], base: str) -> str:
    """A name that is free: ``R2`` becomes ``R2_2``."""
    known, number = set(taken), 2
    while f"{base}_{number}" in known:
        number += 1
    return f"{base}_{number}"
