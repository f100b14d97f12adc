"""Resistance of every branch of a network as its own current warms it: wires, and the elements of fuses."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loomwright.facts import conductors
from loomwright.power.circuit import Floats
from loomwright.power.heat import WireHeat, cautious_c
from loomwright.power.network import Network
from loomwright.rig.model import EngineState

HOTTEST_SOLVED_C = 300.0
"""Copper hotter than this is not followed into the solution: the wire is long past use."""
_LEAST_OHM = 1e-7


class Warm:
    """What warms in a network, case by case. ``where`` are the branches of the wires of a WireHeat, ``fuse`` those of
    devices.
    """

    def __init__(self, network: Network, heat: WireHeat, engines: Sequence[EngineState]) -> None:
        self.heat = heat
        self.where = np.array([network.branch_index[f"wire:{w}"] for w in heat.ids], dtype=np.intp)
        self.copper = np.array([b.copper_mohm for b in network.branches]) / 1000.0
        self.base = np.broadcast_to(network.ohm(engines), (len(engines), len(self.copper))) - self.copper
        self.fuse = np.array([k for k, b in enumerate(network.branches) if b.hot_gain_mohm > 0], dtype=np.intp)
        self._gain = np.array([network.branches[k].hot_gain_mohm for k in self.fuse]) / 1000.0
        self._rated = np.array([network.branches[k].rated_a for k in self.fuse])

    def share(self, amps_a: Floats) -> Floats:
        """How far the element of each device is warmed, 0 to 1 at its rating; amps_a (n, B)."""
        return np.asarray(np.minimum((amps_a[:, self.fuse] / self._rated) ** 2, 1.0))

    def ohm(self, temperature_c: Floats, share: Floats) -> Floats:
        """Resistance of every branch, (n, B), at wire temperatures (n, W) and shares (n, fuses) [ohm]."""
        ohm = self.base + self.copper
        capped = np.minimum(temperature_c, HOTTEST_SOLVED_C)
        ohm[:, self.where] = self.base[:, self.where] + self.copper[self.where] * (
            1 + conductors.ALPHA20 * (capped - 20.0)
        )
        ohm[:, self.fuse] += self._gain * share
        return np.asarray(np.maximum(ohm, _LEAST_OHM))

    def at(self, amps_a: Floats) -> Floats:
        """Resistance of every branch once it has carried these amperes for long, (n, B) [ohm]."""
        return self.ohm(cautious_c(self.heat, amps_a[:, self.where])[0], self.share(amps_a))
