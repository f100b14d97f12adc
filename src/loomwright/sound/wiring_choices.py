"""Wiring choices: how some drivers can be wired to some channels, what each way gives, and which is best."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from loomwright.errors import InputError, Problem
from loomwright.facts.amplifiers import programme_fraction
from loomwright.facts.loudspeakers import least_share
from loomwright.power.channels import at_load_w
from loomwright.rig.model import Rig
from loomwright.sound.arrangements import Net, networks, shares
from loomwright.sound.frequencies import Complexes, db
from loomwright.sound.wiring_drawing import draw
from loomwright.sound.wiring_offers import Candidate, Offer, band_hz, candidate, offer
from loomwright.sound.wiring_results import Arrangement, DriverShare, Joined, WiringChoices

MOST_DRIVERS = 8
MOST_ARRANGEMENTS = 20_000
NOMINAL_SLACK = 0.98
"""Nominal loads are rounded figures: 3.96 ohm passes for 4."""
BALANCE_DB = 3.0
"""Drivers further apart than this are not balanced: half the power (common practice)."""
RIPPLE_DB = 1.5


def choices(rig: Rig, drivers: Sequence[str], channels: Sequence[tuple[str, int]]) -> WiringChoices:
    """Every way to wire drivers of a rig to channels of its amplifiers.

    Parameters
    ----------
    drivers : ids of drivers
    channels : amplifier and channel; a bridged pair by its first channel

    Raises
    ------
    InputError
        Where a name is no driver or no channel, or where there are too many ways to look through.
    """
    grid = band_hz()
    return arrange([candidate(rig, d, grid) for d in drivers], [offer(rig, a, c) for a, c in channels], rig.file)


def arrange(candidates: Sequence[Candidate], offers: Sequence[Offer], file: str = "") -> WiringChoices:
    """Every arrangement of the candidates on the offers, best first. Pure."""
    if not 1 <= len(candidates) <= MOST_DRIVERS or not offers:
        raise InputError([_too_many(file, f"{len(candidates)} drivers on {len(offers)} channels")])
    kinds = list(dict.fromkeys(c.kind for c in candidates))
    counts = tuple(sum(c.kind == k for c in candidates) for k in kinds)
    order = sorted(offers, key=lambda o: [x.kind for x in offers].index(o.kind))
    offered = list(dict.fromkeys(o.kind for o in order))
    found = []
    known: dict[tuple[str, Net, tuple[str, ...]], Joined] = {}
    for n, spread in enumerate(shares(counts, tuple(offered.index(o.kind) for o in order))):
        if n == MOST_ARRANGEMENTS:
            raise InputError([_too_many(file, f"more than {MOST_ARRANGEMENTS} ways")])
        left = {k: [c for c in candidates if c.kind == kind] for k, kind in enumerate(kinds)}
        joined = []
        for place, (part, number) in zip(order, spread, strict=True):
            net = networks(part)[number] if any(part) else None
            mine = [left[k].pop(0) for k in net.counts] if net is not None else []
            if net is None:
                joined.append(_empty(place))
                continue
            key = (place.channel, net, tuple(c.driver for c in mine))
            if key not in known:
                known[key] = join(place, net, mine)
            joined.append(known[key])
        found.append(_judge(joined, order, candidates))
    found.sort(key=_rank)
    return WiringChoices(tuple(c.driver for c in candidates), tuple(o.channel for o in order), tuple(found))


def join(place: Offer, net: Net, drivers: Sequence[Candidate]) -> Joined:
    """One channel with its drivers in a network, taken from left to right."""
    nominal = [np.full(1, c.nominal_ohm, dtype=np.complex128) for c in drivers]
    ohm, parts = _solve(net, nominal)
    load_ohm = float(ohm[0].real)
    real, swings = _solve(net, [c.impedance_ohm for c in drivers])
    size = np.abs(real)
    at = int(np.argmin(size))
    full = at_load_w(place.at4_w, place.at2_w, load_ohm)
    loud = programme_fraction("loud")
    given = []
    ripple = 0.0
    for c, part, swing in zip(drivers, parts, swings, strict=True):
        share = float(part[0].real)
        watts = full * load_ohm * share**2 / c.nominal_ohm
        level = (c.sensitivity_db or 0.0) + 10.0 * math.log10(watts)
        given.append(DriverShare(c.driver, watts, loud * watts, c.rated_w, level))
        ripple = max(ripple, float(np.max(np.abs(db(swing / share)))))
    names = [c.driver for c in drivers]
    placed, leads = draw(net, names, place.plus, place.minus)
    grid = band_hz()
    return Joined(
        channel=place.channel,
        words=words(net, iter(names)),
        nominal_ohm=load_ohm,
        least_ohm=float(size[at]),
        least_at_hz=float(grid[at]) if len(grid) == len(size) else None,
        ripple_db=ripple,
        shares=tuple(given),
        placed=placed,
        leads=leads,
        joints=len(leads),
    )


def words(net: Net, names: Iterable[str]) -> str:
    """A network in one line: ``(left + right) ‖ bass``."""
    taken = iter(names)

    def say(part: Net, inside: bool) -> str:
        if part.op is None:
            return next(taken)
        text = (" + " if part.op == "series" else " ‖ ").join(say(b, True) for b in part.branches)
        return f"({text})" if inside else text

    return say(net, False)


def _solve(net: Net, ohm: Sequence[Complexes]) -> tuple[Complexes, list[Complexes]]:
    """Impedance of a network, and the share of its volts on each driver, from left to right."""
    if net.op is None:
        return ohm[0], [np.ones_like(ohm[0])]
    parts, at = [], 0
    for branch in net.branches:
        count = len(branch.counts)
        parts.append(_solve(branch, ohm[at : at + count]))
        at += count
    if net.op == "series":
        total = np.sum([z for z, _ in parts], axis=0)
        return total, [s * z / total for z, given in parts for s in given]
    return 1.0 / np.sum([1.0 / z for z, _ in parts], axis=0), [s for _, given in parts for s in given]


def _empty(place: Offer) -> Joined:
    return Joined(place.channel, "nothing", None, None, None, 0.0, (), (), (), 0)


def _judge(joined: Sequence[Joined], offers: Sequence[Offer], candidates: Sequence[Candidate]) -> Arrangement:
    refused, remarks = [], []
    given = [s for c in joined for s in c.shares]
    for c, place in zip(joined, offers, strict=True):
        if c.nominal_ohm is None or c.least_ohm is None:
            continue
        if c.nominal_ohm < NOMINAL_SLACK * place.least_ohm:
            refused.append(f"{c.channel} sees {c.nominal_ohm:.3g} Ω nominal, under its least of {place.least_ohm:g} Ω")
        elif c.least_ohm < least_share() * place.least_ohm:
            refused.append(
                f"{c.channel} sees {c.least_ohm:.3g} Ω at {c.least_at_hz:.3g} Hz, under 80 % of {place.least_ohm:g} Ω"
            )
        for s in c.shares:
            if s.loud_w > s.rated_w:
                refused.append(f"{s.driver} gets {s.loud_w:.3g} W with loud programme and takes {s.rated_w:g} W")
            elif s.full_w > 2.0 * s.rated_w:
                remarks.append(f"{s.driver} needs a limiter: {s.full_w:.3g} W at full output, rated {s.rated_w:g} W")
        if c.ripple_db > RIPPLE_DB:
            remarks.append(f"unlike drivers in series on {c.channel}: their share strays by {c.ripple_db:.2g} dB")
    known = all(c.sensitivity_db is not None for c in candidates)
    levels = [s.level_db if known else 10.0 * math.log10(s.full_w) for s in given]
    balance = max(levels) - min(levels)
    if balance > BALANCE_DB:
        loud, soft = given[levels.index(max(levels))].driver, given[levels.index(min(levels))].driver
        refused.append(f"{loud} is {balance:.2g} dB louder than {soft}")
    held = [v - 10.0 * math.log10(max(1.0, s.loud_w / s.rated_w)) for v, s in zip(levels, given, strict=True)]
    total = 10.0 * math.log10(sum(10.0 ** (v / 10.0) for v in held))
    return Arrangement(tuple(joined), balance, total, tuple(refused), tuple(remarks))


def _rank(a: Arrangement) -> tuple[object, ...]:
    """Allowed first, then balanced, then loud, then the real load true to the nominal, then least to wire."""
    ripple = max(c.ripple_db for c in a.channels)
    joints = sum(c.joints for c in a.channels)
    uneven = a.balance_db > 1.0
    return (bool(a.refused), len(a.refused), uneven, -round(a.level_db, 1), ripple > RIPPLE_DB, joints, a.words)


def _too_many(file: str, received: str) -> Problem:
    return Problem(
        file, "wiring choices", f"1 to {MOST_DRIVERS} drivers and a channel, in at most {MOST_ARRANGEMENTS} ways",
        received, "Look at fewer drivers at a time, or give each channel its own.",
    )  # fmt: skip
