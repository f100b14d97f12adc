"""Time-current bands of fuses and breakers, between the gates of their type.

A band says when a device opens at the quickest, typically and at the slowest, over the current as a multiple of
its rating.

- Between gates all three are straight lines on log-log paper.
- Below the hold multiple (1.0; 1.1 for types that must hold it) nothing opens: all three are infinite.
- Between the hold gate and the first gate that must open, the device *may* hold for ever: slowest is infinite.
- Beyond the last gate I2t stays constant, and the band says that it is beyond the data.
- Typical is the middle of the gates on log paper; from 3.5 times the rating on it follows the typical melting I2t,
  kept inside the gates. Clearing can take up to twice the melting value.
- Heat lowers the quick end and the typical line to the rating that is left at that temperature. The slow end stays
  that of a device at room temperature: the same rig is also used on a cool morning.

Gates, ratings and melting values are rows of facts/data/fuses.toml.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import exp, inf, log, sqrt

import numpy as np
from numpy.typing import NDArray

from loomwright.facts import fuses
from loomwright.protection.results import Device
from loomwright.rig.model import DeviceType

ROOM_C = 25.0
ADIABATIC_MULTIPLE = 3.5
"""From here on the melting I2t tells the typical time: little heat escapes meanwhile."""
_FAR = 1e6


@dataclass(frozen=True, slots=True)
class Band:
    """When one device opens at one current [s]."""

    fastest_s: float
    typical_s: float
    slowest_s: float
    beyond_data: bool
    provisional: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One edge of a band: log seconds over log multiple; infinite below the first point."""

    log_multiple: tuple[float, ...]
    log_s: tuple[float, ...]

    def seconds(self, multiple: float) -> float:
        """Time at one multiple [s]."""
        if multiple <= 0.0:
            return inf
        x = log(multiple)
        if x < self.log_multiple[0] - 1e-12:
            return inf
        k = min(max(bisect_right(self.log_multiple, x), 1), len(self.log_multiple) - 1)
        x0, x1 = self.log_multiple[k - 1], self.log_multiple[k]
        y0, y1 = self.log_s[k - 1], self.log_s[k]
        return exp(y0 + (y1 - y0) * (x - x0) / (x1 - x0))


@dataclass(frozen=True, slots=True)
class Curve:
    """The band of one device at one temperature. Multiples are of its nominal rating."""

    fastest: Line
    typical: Line
    slowest: Line
    hold_multiple: float      # nothing opens below, at this temperature
    must_open_multiple: float  # opens for certain from here on
    last_multiple: float      # beyond lies no gate
    provisional: bool

    def band(self, multiple: float) -> Band:
        """The band at one multiple of the nominal rating."""
        fast, slow = self.fastest.seconds(multiple), self.slowest.seconds(multiple)
        typical = min(max(self.typical.seconds(multiple), fast), slow)
        return Band(fast, typical, slow, multiple > self.last_multiple * (1 + 1e-12), self.provisional)


@lru_cache(maxsize=4096)
def curve(device_type: DeviceType, rating_a: float, temperature_c: float = ROOM_C) -> Curve:
    """The band of a device of one type and rating [A] at a temperature [C].

    Raises ``errors.UnknownName`` for a type without gates.
    """
    gates = fuses.gates(device_type)
    hold = max(k for k, g in enumerate(gates) if g.max_s == inf)
    known = gates[hold:]
    melting_a2s = fuses.melting_i2t_a2s(device_type, rating_a)[0]
    left = fuses.temperature_factor(device_type, temperature_c) / fuses.temperature_factor(device_type, ROOM_C)

    fast: list[tuple[float, float]] = []
    typical: list[tuple[float, float]] = []
    slow: list[tuple[float, float]] = []
    for gate in known:
        melts_s = melting_a2s / (gate.multiple * rating_a) ** 2
        least = gate.min_s if gate.min_s > 0 else melts_s
        if fast:
            least = min(least, fast[-1][1])
        fast.append((gate.multiple, least))
        if gate.max_s == inf:
            typical.append((gate.multiple, least))
            continue
        most = max(gate.max_s, least)
        slow.append((gate.multiple, most))
        melts_s = melting_a2s / (gate.multiple * left * rating_a) ** 2
        middle = melts_s if gate.multiple >= ADIABATIC_MULTIPLE else sqrt(least * most)
        typical.append((gate.multiple, min(max(middle, least), most, typical[-1][1])))
    return Curve(
        fastest=_line(fast, min(left, 1.0)),
        typical=_line(typical, left),
        slowest=_line(slow, max(left, 1.0)),
        hold_multiple=known[0].multiple * min(left, 1.0),
        must_open_multiple=slow[0][0] * max(left, 1.0),
        last_multiple=known[-1].multiple,
        provisional=fuses.provisional(device_type),
    )


@lru_cache(maxsize=1024)
def _points(of: Curve) -> tuple[tuple[NDArray[np.float64], NDArray[np.float64]], ...]:
    """Log multiples and log seconds of the three edges of a band."""
    return tuple((np.array(line.log_multiple), np.array(line.log_s)) for line in (of.fastest, of.typical, of.slowest))


def _line(points: Sequence[tuple[float, float]], stretch: float) -> Line:
    """Points (multiple, s), multiples stretched, with a last one far out on constant I2t."""
    far = (points[-1][0] * _FAR, points[-1][1] / _FAR**2)
    full = (*points, far)
    return Line(tuple(log(m * stretch) for m, _ in full), tuple(log(s) for _, s in full))


def band(device_type: DeviceType, rating_a: float, multiple: float, temperature_c: float = ROOM_C) -> Band:
    """When a device opens at ``multiple`` times its nominal rating, at a temperature [C]."""
    return curve(device_type, rating_a, temperature_c).band(multiple)


@dataclass(frozen=True)
class Bands:
    """Bands of n devices at many currents; every array has the shape of the currents, (..., n)."""

    multiple: NDArray[np.float64]
    fastest_s: NDArray[np.float64]
    typical_s: NDArray[np.float64]
    slowest_s: NDArray[np.float64]
    beyond_data: NDArray[np.bool_]


class CurveSet:
    """The bands of a list of devices, ready to be asked for many currents at once."""

    def __init__(self, devices: Sequence[Device]) -> None:
        self.devices = tuple(devices)
        self._curves = tuple(curve(d.type, d.rating_a, d.temperature_c) for d in self.devices)
        self._rating_a = np.array([d.rating_a * d.count for d in self.devices], dtype=float)
        self._last = np.array([c.last_multiple for c in self._curves], dtype=float)
        self._lines = tuple(map(_points, self._curves))
        self.provisional = np.array([d.provisional for d in self.devices], dtype=bool)

    def __call__(self, amps_a: NDArray[np.float64]) -> Bands:
        """Bands at currents [A] of shape (..., n_devices); the sign of a current does not matter."""
        multiple = np.abs(amps_a) / self._rating_a if self.devices else np.abs(amps_a)
        with np.errstate(divide="ignore"):
            x = np.log(multiple)
        times = np.empty((3, *x.shape))
        for n, lines in enumerate(self._lines):
            for row, (xs, ys) in enumerate(lines):
                at = x[..., n]
                times[row, ..., n] = np.where(at < xs[0] - 1e-12, np.inf, np.exp(np.interp(at, xs, ys)))
        fast, slow = times[0], times[2]
        typical = np.minimum(np.maximum(times[1], fast), slow)
        beyond = multiple > self._last * (1 + 1e-12)
        return Bands(multiple, fast, typical, slow, beyond)


def bands(
    device_type: DeviceType, rating_a: float, multiple: NDArray[np.float64], temperature_c: float = ROOM_C
) -> Bands:
    """Bands of one device at many multiples of its rating; arrays have the shape of ``multiple``."""
    one = Device("", "", 0, device_type, rating_a, 1, temperature_c, inf, "", "", False)
    found = CurveSet([one])(np.asarray(multiple, dtype=float)[..., None] * rating_a)
    return Bands(
        found.multiple[..., 0], found.fastest_s[..., 0], found.typical_s[..., 0], found.slowest_s[..., 0],
        found.beyond_data[..., 0],
    )
