"""The study: everything that follows from one rig. A pure function of the rig, worked out when asked for."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from loomwright.rig.model import Rig

if TYPE_CHECKING:
    from loomwright.power.results import PowerResult
    from loomwright.protection.results import ProtectionResult


class Study:
    """All results for one rig. Each part is computed once, on first use.

    ``given`` is the rig as read; ``rig`` is the same with every ``auto`` size and rating settled.
    """

    def __init__(self, rig: Rig) -> None:
        self.given = rig

    @cached_property
    def rig(self) -> Rig:
        return self._sized[0]

    @cached_property
    def _sized(self):  # type: ignore[no-untyped-def]
        from loomwright.protection.sizing import settle

        return settle(self.given)

    @cached_property
    def power(self) -> PowerResult:
        from loomwright.power.cases import study_power

        return study_power(self.rig)

    @cached_property
    def protection(self) -> ProtectionResult:
        from loomwright.protection.drill import study_protection

        return study_protection(self.rig, self.power, self._sized[1])
