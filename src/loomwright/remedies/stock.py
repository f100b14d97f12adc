"""What remedies are cut from: sizes, ratings and parts that fit where they are to go."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from typing import Any

from loomwright.errors import LoomwrightError
from loomwright.facts import conductors, fuses
from loomwright.facts.conductors import SizeRow
from loomwright.findings.joints import SIZE_SLACK
from loomwright.findings.sizes import CLAD, Sizes, in_copper
from loomwright.findings.steady import worst_device
from loomwright.protection.results import Device
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.changes import Change, Fuse, ItemKey, WireKey
from loomwright.rig.model import ConnectorSpec, FuseSpec, Item, Part, Rig, Terminal, Wire
from loomwright.study import Study


class Stock:
    """One study, and the catalogue that parts may be taken from."""

    def __init__(self, study: Study, catalogue: Catalogue) -> None:
        self.study = study
        self.catalogue = catalogue

    @property
    def rig(self) -> Rig:
        """The rig with every size and rating settled."""
        return self.study.rig

    @cached_property
    def sizes(self) -> Sizes:
        """Finds the sizes that carry a current."""
        return Sizes(self.rig)

    @cached_property
    def wires(self) -> Mapping[str, Wire]:
        """Wires by id."""
        return {w.id: w for w in self.rig.wires}

    def named(self, where: Iterable[str]) -> list[Wire]:
        """The wires among the places of a finding, in its order."""
        return [self.wires[ref] for ref in where if ref in self.wires]

    def system(self, wire: Wire) -> str:
        """The system of sizes that a wire is in."""
        return wire.size.system if wire.size and wire.size.system != "bolted" else "AWG"

    def least(self, wire: Wire, meets: Callable[[SizeRow], bool]) -> SizeRow | None:
        """The smallest size of a wire's system that meets a demand, if it goes into both terminals."""
        row = next((r for r in conductors.sizes(self.system(wire)) if meets(r)), None)
        return row if row is not None and self.goes_in(wire, row.area_mm2) else None

    def carrying(self, wire: Wire, amps_a: float) -> SizeRow | None:
        """The smallest size that carries a current where a wire lies, if it goes into both terminals.

        For clad wire it is a size of copper: see :func:`fit_carrying`.
        """
        row = self.sizes.smallest(in_copper(wire), amps_a)
        return row if row is not None and self.goes_in(wire, row.area_mm2) else None

    def goes_in(self, wire: Wire, area_mm2: float) -> bool:
        """Whether a conductor goes into both terminals of a wire, and is held by them."""
        ends = ((self.rig.item_of(ref).part, self.rig.terminal(ref)) for ref in (wire.start, wire.end))
        return all(_takes(part, terminal, area_mm2) for part, terminal in ends)

    def rated(self, device: Device, rating_a: float) -> tuple[Change, ...]:
        """The change that gives a device another rating; none where its holder or its load does not allow it."""
        item = self.rig.items.get(device.item)
        state = worst_device(self.study, device.id)
        if item is None or not isinstance(item.part.spec, FuseSpec) or device.way == 0:
            return ()
        if state is not None and abs(state.amps_a) > state.usable_a * rating_a / device.rating_a * 1.005:
            return ()
        if item.part.family == "breaker":
            part = self.stand_in(item, lambda p: getattr(p.spec, "rating_a", None) == rating_a)
            return (ItemKey(item.id, "part", part.id),) if part else ()
        if rating_a > item.part.spec.max_rating_a or len(item.fuses_a) < device.way:
            return ()
        return (Fuse(item.id, device.way, rating_a),)

    def guarded_a(self, device_id: str) -> float:
        """What the weakest wire behind a device carries [A]; infinite where there is none."""
        guards = self.study.protection.guards.values()
        kinds = ("power", "remote")
        carried = [g.ampacity_a for g in guards if device_id in g.devices and self.wires[g.wire].kind in kinds]
        return min(carried, default=float("inf"))

    def ratings(self, device: Device) -> tuple[float, ...]:
        """The ratings that a device may be had in, in the type that is there."""
        if device.type.startswith("breaker"):
            family = [p for p in self._parts("breaker") if isinstance(p.spec, FuseSpec) and p.spec.type == device.type]
            return tuple(sorted({p.spec.rating_a for p in family if p.spec.rating_a}))  # type: ignore[union-attr]
        return fuses.ratings_a(device.type)

    def stand_in(self, item: Item, will_do: Callable[[Part], bool]) -> Part | None:
        """The least part of an item's family that takes its wires where they are and meets a demand."""
        used = [(ref.partition(".")[2], w) for w in self.rig.wires for ref in (w.start, w.end)
                if self.rig.item_of(ref) is item]  # fmt: skip
        found = [p for p in self._parts(item.part.family) if p.id != item.part.id and _holds(p, used) and will_do(p)]
        return min(found, key=lambda p: (len(p.terminals), _strength(p), p.id), default=None)

    def _parts(self, family: str) -> list[Part]:
        found = []
        for part_id in self.catalogue.ids():
            if self.catalogue.tables[part_id][0].get("family") == family:
                try:
                    found.append(self.catalogue.part(part_id))
                except LoomwrightError:
                    continue
        return found


def fit(wire: Wire, **keys: Any) -> tuple[Change, ...]:
    """The changes that put another wire in place of one: what was measured on the old one goes."""
    gone = (WireKey(wire.id, "measured_mohm", None),) if wire.measured_mohm is not None else ()
    return (*(WireKey(wire.id, key, value) for key, value in keys.items()), *gone)


def fit_carrying(wire: Wire, row: SizeRow) -> tuple[Change, ...]:
    """The changes that put a size in place of a wire; clad wire gives way to copper."""
    return fit(wire, size=row.label, metal="copper") if wire.metal in CLAD else fit(wire, size=row.label)


def joint_key(wire: Wire, ref: str) -> str:
    """The key of the joint at one end of a wire."""
    return "from_joint" if ref == wire.start else "to_joint"


def _takes(part: Part, terminal: Terminal, area_mm2: float) -> bool:
    held = not isinstance(part.spec, ConnectorSpec) or area_mm2 * SIZE_SLACK >= part.spec.min_mm2
    return held and area_mm2 <= terminal.max_mm2 * SIZE_SLACK


def _holds(part: Part, used: Iterable[tuple[str, Wire]]) -> bool:
    """Whether a part has every terminal that is used, for as many wires and as thick ones."""
    terminals = {t.name: t for t in part.terminals}
    count: dict[str, int] = {}
    for name, wire in used:
        count[name] = count.get(name, 0) + 1
        if name not in terminals or count[name] > terminals[name].max_wires:
            return False
        if wire.size and wire.size.system != "bolted" and not _takes(part, terminals[name], wire.size.area_mm2):
            return False
    return True


def _strength(part: Part) -> float:
    """By what the parts of a family are told apart: contact, contact rating, rating."""
    names = ("contact_a", "contact_rating_a", "max_rating_a", "rating_a")
    return next((float(v) for n in names if (v := getattr(part.spec, n, None)) is not None), 0.0)
