"""The study: everything that follows from one rig. A pure function of the rig, worked out when asked for."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from loomwright.rig.model import Rig

if TYPE_CHECKING:
    from loomwright.loom.results import LoomResult
    from loomwright.panel.results import Laid, PanelResult
    from loomwright.power.results import PowerResult
    from loomwright.protection.results import Choice, Device, ProtectionResult
    from loomwright.sound.study import SoundResult


class Study:
    """All results for one rig. Each part is computed once, on first use.

    ``given`` is the rig as read; ``rig`` is the same with every ``auto`` size and rating settled.
    """

    def __init__(self, rig: Rig) -> None:
        self.given = rig

    def __getstate__(self) -> dict[str, object]:
        """The results; what was worked out of them and kept beside them stays behind."""
        return {k: v for k, v in self.__dict__.items() if k == "given" or hasattr(type(self), k)}

    @property
    def rig(self) -> Rig:
        """The rig with every size and rating settled."""
        return self._settled[0]

    @property
    def choices(self) -> tuple[Choice, ...]:
        """What every ``auto`` became, and why."""
        return self._settled[1]

    @cached_property
    def _settled(self) -> tuple[Rig, tuple[Choice, ...]]:
        from loomwright.protection.sizing import settle

        return settle(self.given)

    @cached_property
    def power(self) -> PowerResult:
        """Volts, amperes, watts and heat in every case; sessions and the bass hit."""
        from loomwright.power.cases import study_power

        return study_power(self.rig)

    @cached_property
    def devices(self) -> Mapping[str, Device]:
        """Fuses and breakers as fitted, by id: what drawings need of the protection before it is worked out."""
        from loomwright.protection.devices import devices

        return devices(self.rig)

    @cached_property
    def protection(self) -> ProtectionResult:
        """Devices, guards, selectivity and the fault drill."""
        from loomwright.protection.drill import study_protection

        return study_protection(self.rig, self.choices)

    @cached_property
    def sound(self) -> SoundResult:
        """Loads, levels, limits, loudness, and the order of switching on and off."""
        from loomwright.sound.study import study_sound

        return study_sound(self.rig, self.power)

    @cached_property
    def boards(self) -> tuple[Laid, ...]:
        """What lies where on the panels, and against which rules."""
        if not self.rig.panels:
            return ()
        from loomwright.panel.layout import study_laid

        return study_laid(self.rig)

    @cached_property
    def panels(self) -> PanelResult:
        """The panels with their leads laid, and how much of each wire lies on them."""
        from loomwright.panel.layout import study_panels

        return study_panels(self.rig)

    @cached_property
    def loom(self) -> LoomResult:
        """Cut lengths, ends, bundles, disconnects, labels and the ring-out."""
        from loomwright.loom.loom import study_loom

        return study_loom(self.rig, self.power, self.panels)
