"""Sizes for a remedy: the smallest wire of the rig's own system that carries a current where a wire lies."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cached_property

from loomwright.facts import ampacity, conductors
from loomwright.facts.conductors import SizeRow
from loomwright.findings.trees import tree
from loomwright.findings.words import amount, listing
from loomwright.power.bundles import bundle_counts
from loomwright.rig.model import Rig, Wire
from loomwright.rig.once import once
from loomwright.study import Study


def too_hot(rig: Rig, wire: Wire) -> bool:
    """Whether a wire lies where it is as hot as its insulation is rated, or hotter: there it carries nothing."""
    return rig.wire_temperature_c(wire) >= wire.insulation_c


@once
def too_hot_wires(rig: Rig) -> frozenset[str]:
    """Ids of the wires that lie where it is too hot for their insulation."""
    return frozenset(w.id for w in rig.wires if w.size and w.size.system != "bolted" and too_hot(rig, w))


@once
def undone(study: Study) -> frozenset[str]:
    """Devices whose rating was left to be chosen and could not be: every wire size fails where the place is too hot."""
    hot = too_hot_wires(study.rig)
    behind = {d for g in study.protection.guards.values() if g.wire in hot for d in g.devices}
    return frozenset(c.where for c in study.protection.choices if not c.met and c.where in behind)


@once
def starved(study: Study) -> frozenset[str]:
    """Items fed through such a device: what is said of their volts follows from it."""
    left = undone(study)
    return frozenset(i for i, above in tree(study).above.items() if left.intersection(above)) if left else frozenset()


CLAD = ("cca10", "cca15")
"""Metals of copper-clad aluminium."""


def in_copper(wire: Wire) -> Wire:
    """The wire that a stronger one is sought for: clad wire gives way to copper, any other stays as it is."""
    return replace(wire, metal="copper") if wire.metal in CLAD else wire


class Sizes:
    """Finds sizes for one rig. Keep one for many wires."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig

    @cached_property
    def _bundle(self) -> Mapping[str, int]:
        return bundle_counts(self.rig)

    def stronger(self, wires: Iterable[Wire], amps_a: float) -> str:
        """What carries a current in place of some wires, in words: ``6 AWG as P2, good for 61 A``, or more where they
        differ.

        Insulation, place and bundle stay as they are; clad wire gives way to copper. Where no size does it alone, the
        words say so.
        """
        found: dict[str, list[str]] = {}
        good_a = []
        for wire in wires:
            made = in_copper(wire)
            row = self.smallest(made, amps_a)
            size = f"{row.label}{'' if made is wire else ' copper'}" if row else "wires in parallel"
            found.setdefault(size, []).append(wire.id)
            good_a.append(self.carries_a(made, row) if row else amps_a)
        return f"{', '.join(f'{size} as {listing(ids)}' for size, ids in found.items())}, good for " + amount(
            min(good_a, default=amps_a), "A"
        )

    def carries_a(self, wire: Wire, row: SizeRow) -> float:
        """What a size of a wire's metal and insulation carries where the wire lies [A]."""
        hottest, bundle = self.rig.wire_temperature_c(wire), self._bundle[wire.id]
        return ampacity.ampacity_a(
            row.area_mm2, wire.metal, wire.insulation_c, hottest, bundle, self.rig.bundle_basis
        )

    def smallest(self, wire: Wire, amps_a: float) -> SizeRow | None:
        """The smallest size of a wire's system that carries a current [A] where the wire lies; None where none does."""
        system = wire.size.system if wire.size and wire.size.system != "bolted" else "AWG"
        return next((r for r in conductors.sizes(system) if self.carries_a(wire, r) * 1.005 >= amps_a), None)
