"""How far a built rig lies from its file: spreads of joints, lengths, age, temperature and engine speed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist
from typing import Literal, cast

from loomwright.facts import tables
from loomwright.facts.tables import Mark

What = Literal["joint", "length", "age", "temperature", "speed"]
NAMES: tuple[What, ...] = ("joint", "length", "age", "temperature", "speed")
_Z95 = NormalDist().inv_cdf(0.95)


@dataclass(frozen=True, slots=True)
class Spread:
    """One spread. 5 of 100 lie below ``low`` and 5 above ``high``: factors, or differences [C] for the temperature."""

    what: What
    shape: Literal["normal", "lognormal", "even"]
    low: float
    high: float
    mark: Mark
    source: str
    note: str

    def at(self, share: float) -> float:
        """The value that a share of all lie below, 0 < share < 1.

        >>> round(spread("length").at(0.95), 6)
        1.1
        """
        if self.shape == "even":
            return self.low + (self.high - self.low) * (share - 0.05) / 0.9
        z = NormalDist().inv_cdf(share) / _Z95
        low, high = (math.log(self.low), math.log(self.high)) if self.shape == "lognormal" else (self.low, self.high)
        value = (low + high) / 2.0 + z * (high - low) / 2.0
        return math.exp(value) if self.shape == "lognormal" else value


@cache
def spread(what: What) -> Spread:
    """The spread of one kind of thing."""
    row = tables.row("spreads", f"spread.rig.{what}")
    cell = "difference_5_95_c" if what == "temperature" else "factor_5_95"
    low, high = row.numbers(cell)
    shape = cast(Literal["normal", "lognormal", "even"], row.text("shape"))
    return Spread(what, shape, low, high, row.mark, row.source, row.note)
