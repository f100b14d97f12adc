"""The load on a channel as it is: the solution, at every frequency, of everything wired to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from loomwright.rig.model import DriverSpec, Rig
from loomwright.sound import netlist
from loomwright.sound.circuit import Branch, Solution, solve
from loomwright.sound.drivers import DriverCurve, curve
from loomwright.sound.frequencies import Complexes, Floats, db, grid_hz
from loomwright.sound.netlist import Limb, Outlet, Wiring
from loomwright.sound.results import ChannelLoad, DriverLoad, Flag, LoadStudy, PartLoad, WireLoad

BEYOND_HZ = np.array([0.001, 0.01, 0.1, 1.0, 1e5, 1e6, 1e7, 1e8])
"""Where the textbook is asked as well: there a first-order filter reaches its passband."""
IDLE = 1e-4
"""A driver that never gets more than this share of the channel's volts counts as getting nothing."""


def study_loads(rig: Rig, frequency_hz: Floats | None = None) -> LoadStudy:
    """Loads of every channel that can drive a speaker.

    Parameters
    ----------
    rig : Rig
        With its sizes settled; a wire without a size counts as an ideal one.
    frequency_hz : (F,) array
        Rising [Hz]; 10 Hz to 40 kHz, 48 to the octave, where left out.
    """
    at_hz = grid_hz() if frequency_hz is None else frequency_hz
    curves = driver_curves(rig, at_hz)
    channels = tuple(channel_load(rig, wiring, curves, at_hz) for wiring in netlist.wirings(rig))
    fed = {d for c in channels for d in c.drivers}
    return LoadStudy(at_hz, channels, tuple(d for d in curves if d not in fed))


def driver_curves(rig: Rig, frequency_hz: Floats) -> dict[str, DriverCurve]:
    """Impedance of every driver of a rig, in the order of the file."""
    return {k: curve(i, frequency_hz) for k, i in rig.items.items() if isinstance(i.part.spec, DriverSpec)}


def channel_load(
    rig: Rig, wiring: Wiring, curves: Mapping[str, DriverCurve], frequency_hz: Floats
) -> ChannelLoad:
    """The load on one channel."""
    outlet, limbs = wiring.outlet, wiring.limbs
    real = solve(branches(limbs, frequency_hz, curves), outlet.plus, outlet.minus)
    book = solve(branches(limbs, np.concatenate([frequency_hz, BEYOND_HZ]), None), outlet.plus, outlet.minus)
    signs = solve(_resistors(limbs), outlet.plus, outlet.minus)
    count = len(frequency_hz)
    if real.impedance_ohm is None or book.impedance_ohm is None:
        impedance = np.full(count, np.inf, dtype=np.complex128)
        least, nominal = float("inf"), None
        least_at = float(frequency_hz[0])
        drivers: dict[str, DriverLoad] = {}
        parts: dict[str, PartLoad] = {}
        wires: dict[str, WireLoad] = {}
    else:
        impedance = _wide(real.impedance_ohm, count)
        size = np.abs(impedance)
        at = int(np.argmin(size))
        least, least_at = float(size[at]), float(frequency_hz[at])
        nominal = float(np.min(np.abs(_wide(book.impedance_ohm, count + len(BEYOND_HZ))[:count])))
        drivers = _drivers(rig, limbs, curves, real, book, signs, count)
        parts = _parts(limbs, real, frequency_hz)
        wires = _wires(limbs, real, frequency_hz)
    return ChannelLoad(
        item=outlet.item,
        channels=outlet.channels,
        plus=outlet.plus,
        minus=outlet.minus,
        frequency_hz=frequency_hz,
        impedance_ohm=impedance,
        least_ohm=least,
        least_at_hz=least_at,
        nominal_ohm=nominal,
        drivers=drivers,
        parts=parts,
        wires=wires,
        flags=tuple(_flags(outlet, limbs, wiring.others, drivers, nominal is None)),
    )


def branches(
    limbs: Sequence[Limb], frequency_hz: Floats, curves: Mapping[str, DriverCurve] | None
) -> tuple[Branch, ...]:
    """Limbs as admittances. Without curves, the textbook's: nominal resistors for drivers, ideal parts, no wire."""
    found = []
    for limb in limbs:
        if limb.kind == "driver" and curves is not None:
            z = curves[limb.ref].impedance_ohm
        elif not limb.known and limb.element == "zobel":
            continue
        else:
            z = limb.impedance_ohm(frequency_hz, ideal=curves is None)
        found.append(Branch(limb.id, limb.a, limb.b, 1.0 / z))
    return tuple(found)


def _resistors(limbs: Sequence[Limb]) -> tuple[Branch, ...]:
    """The same wiring with a resistor for every part: it shows which way round each driver lies."""
    ohm = {"driver": 4.0, "part": 1.0}
    return tuple(
        Branch(x.id, x.a, x.b, np.full(1, 1.0 / ohm.get(x.kind, 1e-3), dtype=np.complex128)) for x in limbs
    )


def _drivers(
    rig: Rig,
    limbs: Sequence[Limb],
    curves: Mapping[str, DriverCurve],
    real: Solution,
    book: Solution,
    signs: Solution,
    count: int,
) -> dict[str, DriverLoad]:
    found = {}
    for limb in limbs:
        transfer = real.across(limb.a, limb.b) if limb.kind == "driver" else None
        textbook = book.across(limb.a, limb.b)
        sign = signs.across(limb.a, limb.b)
        if transfer is None or textbook is None or sign is None:
            continue
        spec = rig.items[limb.ref].part.spec
        assert isinstance(spec, DriverSpec)
        known = curves[limb.ref]
        found[limb.ref] = DriverLoad(
            item=limb.ref,
            basis=known.basis,
            impedance_ohm=known.impedance_ohm,
            transfer=_wide(transfer, count),
            textbook=_wide(textbook, count + len(BEYOND_HZ))[:count],
            passband_db=float(np.max(db(textbook))),
            nominal_ohm=spec.nominal_ohm,
            re_ohm=known.re_ohm,
            reversed=bool(sign[0].real < -IDLE),
            notes=known.notes,
        )
    return found


def _parts(limbs: Sequence[Limb], real: Solution, frequency_hz: Floats) -> dict[str, PartLoad]:
    found = {}
    for limb in limbs:
        volts = None if limb.element is None else real.across(limb.a, limb.b)
        if limb.element is None or volts is None or (limb.element == "zobel" and not limb.known):
            continue
        volts = _wide(volts, len(frequency_hz))
        key = limb.id.removeprefix("part:")
        amps = volts / limb.impedance_ohm(frequency_hz)
        found[key] = PartLoad(key, limb.element, volts, amps, limb.ohm + limb.loss_ohm)
    return found


def _wires(limbs: Sequence[Limb], real: Solution, frequency_hz: Floats) -> dict[str, WireLoad]:
    found = {}
    for limb in limbs:
        volts = real.across(limb.a, limb.b) if limb.kind == "wire" else None
        if volts is not None:
            amps = _wide(volts, len(frequency_hz)) / limb.impedance_ohm(frequency_hz)
            found[limb.ref] = WireLoad(limb.ref, limb.ohm, limb.henry, amps)
    return found


def _wide(values: Complexes, count: int) -> Complexes:
    return np.broadcast_to(values, (count,)).copy() if values.shape != (count,) else values


def _flags(
    outlet: Outlet,
    limbs: Sequence[Limb],
    others: Sequence[Outlet],
    drivers: Mapping[str, DriverLoad],
    is_open: bool,
) -> list[Flag]:
    found: list[Flag] = []
    joined = netlist.conductors_joined(limbs)

    def same(a: str, b: str) -> bool:
        return a in joined and b in joined and joined[a] == joined[b]

    half = _half(outlet, joined, others)
    if is_open and half is not None:
        found.append(
            Flag(
                "bridged unsaid", (outlet.item,),
                f"wired from {outlet.plus} to {half.minus}, yet the two are not described as a bridged pair",
            )
        )  # fmt: skip
    if is_open:
        found.append(Flag("open", (outlet.item,), f"nothing joins {outlet.plus} and {outlet.minus}"))
    if same(outlet.plus, outlet.minus):
        found.append(Flag("short", (outlet.item,), f"wires alone join {outlet.plus} and {outlet.minus}"))
    if others and not half:
        names = tuple(sorted({outlet.item, *(o.item for o in others)}))
        ends = ", ".join(o.plus.rstrip("+") for o in others)
        found.append(Flag("shared", names, f"{outlet.plus.rstrip('+')} meets {ends} in one wiring"))
    for limb in limbs:
        if limb.kind == "driver" and same(limb.a, limb.b):
            found.append(Flag("driver shorted", (limb.ref,), f"both tags of {limb.ref} lie on one conductor"))
        elif limb.kind == "driver" and not is_open and _idle(drivers.get(limb.ref)):
            found.append(Flag("driver idle", (limb.ref,), f"{limb.ref} gets nothing from {outlet.plus.rstrip('+')}"))
        elif not limb.known:
            found.append(Flag("part unknown", (limb.ref,), f"the values of {limb.ref} are not all known"))
    for name, driver in drivers.items():
        if driver.reversed:
            found.append(Flag("reversed", (name,), f"{name} lies the other way round: its plus follows {outlet.minus}"))
        if driver.guess:
            found.append(Flag("guess", (name,), f"{name}: {driver.notes[0]}"))
    return found


def _half(outlet: Outlet, joined: Mapping[str, str], others: Sequence[Outlet]) -> Outlet | None:
    """Another channel of the same item that this wiring takes its other end from, each giving one terminal only."""
    if (outlet.plus in joined) == (outlet.minus in joined):
        return None
    for other in others:
        crossed = other.minus in joined if outlet.plus in joined else other.plus in joined
        alone = (other.plus in joined) != (other.minus in joined)
        if other.item == outlet.item and crossed and alone:
            return other if outlet.plus in joined else outlet
    return None


def _idle(driver: DriverLoad | None) -> bool:
    return driver is None or float(np.max(np.abs(driver.transfer))) < IDLE
