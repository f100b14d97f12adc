"""How far a channel may be off because its parts and voice coils are: many draws, solved at once.

Each part is drawn evenly within its tolerance (the part's own, or 5 % for film capacitors and 10 % for others), each
voice coil's resistance within +-15 % (common practice). The same channel gives the same draws.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.facts import loudspeakers
from loomwright.rig.model import PassiveSpec, Rig
from loomwright.sound import netlist
from loomwright.sound.chains import Chain, chains
from loomwright.sound.circuit import Branch, collapse, solve
from loomwright.sound.crossings import HALF_POWER_DB, response
from loomwright.sound.drivers import DriverCurve
from loomwright.sound.frequencies import Complexes, Floats, db, grid_hz
from loomwright.sound.loads import channel_load, driver_curves
from loomwright.sound.netlist import Limb, Wiring

DRAWS, POINTS = 10_000, 200
QUANTILES = (0.05, 0.5, 0.95)
CHUNK = 16_384
"""Complex numbers worked on at once: they fit the processor's cache."""


@dataclass(frozen=True, slots=True, eq=False)
class DriverBand:
    """Level of one driver over the draws, against the channel's volts."""

    item: str
    level_db: Floats  # (Q, F)
    high_pass_hz: Floats  # (Q,) where it first rises through -3 dB; nan where most draws do not


@dataclass(frozen=True, slots=True)
class Spread:
    """A channel over its draws in a few numbers, each at the quantiles: least impedance, and where each driver first
    rises through -3 dB; drivers that do not are left out.
    """

    draws: int
    quantiles: tuple[float, ...]
    least_ohm: tuple[float, ...]
    rises_hz: Mapping[str, tuple[float, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class ToleranceBands:
    """A channel over its draws: quantiles first, then frequency."""

    draws: int
    quantiles: tuple[float, ...]  # (Q,)
    frequency_hz: Floats  # (F,)
    impedance_ohm: Floats  # (Q, F) magnitude
    least_ohm: Floats  # (D,) least impedance of each draw
    drivers: Mapping[str, DriverBand]

    def share_below(self, limit_ohm: float) -> float:
        """Share of the draws whose least impedance lies under a limit."""
        return float(np.mean(self.least_ohm < limit_ohm))

    def spread(self) -> Spread:
        """The bands in a few numbers."""
        least = _quantiles(self.least_ohm[None, :])[:, 0]
        rises = {
            name: tuple(float(f) for f in band.high_pass_hz)
            for name, band in self.drivers.items()
            if not np.isnan(band.high_pass_hz).any()
        }
        return Spread(self.draws, self.quantiles, tuple(float(z) for z in least), rises)


def study_tolerance(
    rig: Rig, item: str, channel: int, draws: int = DRAWS, points: int = POINTS, seed: int = 1
) -> ToleranceBands | None:
    """Bands of one channel; None where it is open. Raises KeyError for a channel that does not exist."""
    wiring = next((w for w in netlist.wirings(rig) if w.outlet.item == item and channel in w.outlet.channels), None)
    if wiring is None:
        raise KeyError(f"{item}.ch{channel}")
    at_hz = grid_hz(points)
    curves = driver_curves(rig, at_hz)
    load = channel_load(rig, wiring, curves, at_hz)
    if load.open:
        return None
    rng = np.random.default_rng(seed)
    spread = _spreads(rig, wiring.limbs)
    factors = {k: 1.0 + pct / 100.0 * rng.uniform(-1.0, 1.0, draws) for k, pct in spread.items()}
    fixed, drawn = _prepare(wiring, curves, at_hz, spread)
    seen = np.empty((points, draws), dtype=np.float32)
    power = {name: np.empty((points, draws), dtype=np.float32) for name in load.drivers}
    step = max(1, CHUNK // points)
    for start in range(0, draws, step):
        piece = slice(start, min(start + step, draws))
        z, got = _solve(wiring, fixed, drawn, {k: f[piece] for k, f in factors.items()})
        seen[:, piece] = z.T
        for name in power:
            power[name][:, piece] = got[name].T if name in got else 0.0
    drivers = {}
    for name in load.drivers:
        reference = response(load, load.drivers[name]).reference_db
        limit = 10.0 ** ((reference + HALF_POWER_DB) / 10.0)
        first = _first_rise_hz(at_hz, power[name], limit)
        level = db(np.sqrt(_quantiles(power[name])))
        drivers[name] = DriverBand(name, level, _quantiles(first[None, :])[:, 0])
    return ToleranceBands(
        draws, QUANTILES, at_hz, np.sqrt(_quantiles(seen)), np.sqrt(seen.min(axis=0)).astype(np.float64), drivers
    )


def _spreads(rig: Rig, limbs: Sequence[Limb]) -> dict[str, float]:
    """What is drawn and how far it may be off [%]: a part's reactance, its resistor, a driver's voice coil."""
    found = {}
    for limb in limbs:
        if limb.kind == "driver":
            found[limb.id] = loudspeakers.spread_pct("coil_resistance")
        elif limb.element is not None and limb.known:
            spec = rig.items[limb.ref].part.spec
            film = isinstance(spec, PassiveSpec) and spec.capacitor_type == "film"
            usual = loudspeakers.spread_pct("film" if film else "other")
            pct = usual if limb.tolerance_pct is None else limb.tolerance_pct
            if limb.farad is not None or limb.henry:
                found[limb.id] = pct
            if limb.ohm:
                found[f"{limb.id} resistor"] = pct
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _Drawn:
    """A chain of which something is drawn: what no draw changes, (F,), and what one factor multiplies or divides."""

    chain: Chain
    fixed_ohm: Complexes
    times: tuple[tuple[str, Complexes | float], ...]
    over: tuple[tuple[str, Complexes], ...]
    drivers: tuple[tuple[str, Complexes, float], ...]
    """Drivers in it: id, impedance without the voice coil's resistance, that."""

    def ohm(self, factors: Mapping[str, Floats]) -> Complexes:
        """(D, F)."""
        total = self.fixed_ohm
        for key, ohm in self.times:
            total = total + ohm * factors[key][:, None]
        for key, reactance in self.over:
            total = total + reactance * (1.0 / factors[key][:, None])
        return total


def _prepare(
    wiring: Wiring, curves: Mapping[str, DriverCurve], frequency_hz: Floats, spread: Mapping[str, float]
) -> tuple[tuple[Branch, ...], tuple[_Drawn, ...]]:
    """What no draw changes, brought together once, and what is drawn."""
    outlet = wiring.outlet
    used = [x for x in wiring.limbs if x.known or x.element != "zobel"]
    fixed, drawn = [], []
    for chain in chains(used, (outlet.plus, outlet.minus)):
        one = _chain(chain, curves, frequency_hz, spread)
        if one.times or one.over:
            drawn.append(one)
        else:
            fixed.append(Branch("", chain.a, chain.b, 1.0 / one.fixed_ohm))
    keep = {outlet.plus, outlet.minus, *(n for d in drawn for n in (d.chain.a, d.chain.b))}
    return collapse(fixed, keep), tuple(drawn)


def _chain(
    chain: Chain, curves: Mapping[str, DriverCurve], frequency_hz: Floats, spread: Mapping[str, float]
) -> _Drawn:
    jw: Complexes = np.asarray(2j * np.pi * frequency_hz, dtype=np.complex128)
    fixed = np.zeros(len(frequency_hz), dtype=np.complex128)
    times: list[tuple[str, Complexes | float]] = []
    over: list[tuple[str, Complexes]] = []
    drivers = []
    for limb, _ in chain.limbs:
        if limb.kind == "driver":
            own = curves[limb.ref]
            rest = own.impedance_ohm - own.re_ohm
            drivers.append((limb.ref, rest, own.re_ohm))
            fixed = fixed + rest
            times.append((limb.id, own.re_ohm))
            continue
        z = limb.impedance_ohm(frequency_hz)
        if limb.id in spread and limb.henry:
            times.append((limb.id, np.asarray(jw * limb.henry)))
            z = z - jw * limb.henry
        if limb.id in spread and limb.farad is not None:
            over.append((limb.id, np.asarray(1.0 / (jw * limb.farad))))
            z = z - 1.0 / (jw * limb.farad)
        if f"{limb.id} resistor" in spread:
            times.append((f"{limb.id} resistor", limb.ohm))
            z = z - limb.ohm
        fixed = fixed + z
    return _Drawn(chain, fixed, tuple(times), tuple(over), tuple(drivers))


def _solve(
    wiring: Wiring, fixed: tuple[Branch, ...], drawn: tuple[_Drawn, ...], factors: Mapping[str, Floats]
) -> tuple[Floats, dict[str, Floats]]:
    """Squared magnitudes, (D, F): of the impedance, and of each driver's share of the volts."""
    siemens = [1.0 / d.ohm(factors) for d in drawn]
    branches = [*fixed, *(Branch("", d.chain.a, d.chain.b, y) for d, y in zip(drawn, siemens, strict=True))]
    wanted = {n for d in drawn if d.drivers for n in (d.chain.a, d.chain.b)}
    solved = solve(branches, wiring.outlet.plus, wiring.outlet.minus, wanted)
    assert solved.impedance_ohm is not None
    power = {}
    for d, y in zip(drawn, siemens, strict=True):
        volts = solved.across(d.chain.a, d.chain.b)
        for name, rest, re_ohm in d.drivers:
            own = rest + re_ohm * factors[f"driver:{name}"][:, None]
            power[name] = np.zeros(y.shape) if volts is None else _square(volts * y) * _square(own)
    return _square(solved.impedance_ohm), power


def _square(values: Complexes) -> Floats:
    return np.asarray(values.real**2 + values.imag**2)


def _quantiles(values: NDArray[np.floating]) -> Floats:
    """(Q, rows) of (rows, D): the draw at each rank, not interpolated."""
    count = values.shape[1]
    ranks = [min(count - 1, round(q * (count - 1))) for q in QUANTILES]
    return np.partition(values, ranks, axis=1)[:, ranks].T.astype(np.float64)


def _first_rise_hz(frequency_hz: Floats, power: NDArray[np.floating], limit: float) -> Floats:
    """Where each draw first rises through a limit, (D,) [Hz]; nan where it does not."""
    above: NDArray[np.bool_] = power >= limit
    rises = above[1:] & ~above[:-1]
    at = np.argmax(rises, axis=0)
    draws = np.arange(power.shape[1])
    low, high = np.log(power[at, draws]), np.log(power[at + 1, draws])
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (np.log(limit) - low) / (high - low)
    found = frequency_hz[at] * (frequency_hz[at + 1] / frequency_hz[at]) ** share
    return np.where(rises.any(axis=0), found, np.nan)
