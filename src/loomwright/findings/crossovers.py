"""Crossovers: whether a small driver is protected, what a capacitor really does, what the parts must stand."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, listing, num
from loomwright.rig.model import DriverSpec, PassiveSpec
from loomwright.sound.crossings import HEARD_HZ
from loomwright.study import Study

KEPT_DB = 6.0
"""A driver is protected where an octave below its lowest frequency this much is kept from it."""
OFF_BY = 1.25
"""A corner that lies within this ratio of the textbook's is left alone (a third of an octave)."""
PEAK_DB = 1.5
TOP_HZ = HEARD_HZ[1] / 1.06
"""Highest up here, a level still rises where hearing ends: a coil's inductance does that, not a corner."""


@check(
    "E921",
    "Small driver without protection from bass",
    "Fix",
    why="A tweeter or horn driver that gets bass moves too far and burns, often within minutes.",
    remedy="Set a high-pass in the processor or amplifier, or put a capacitor in its lead.",
    source="the maker's lowest frequency; an octave below it 6 dB is the least that protects (common practice)",
    mark="common practice",
    unless="Know where a processor lies before it whose filters the rig does not describe.",
)
def unprotected(study: Study, say: Say) -> Iterator[Finding]:
    """Drivers with a lowest frequency that get nearly full volts an octave below it."""
    sound = study.sound
    for load in sound.loads.channels:
        path = sound.chains.get(load.name)
        for name, driver in load.drivers.items():
            spec = study.rig.items[name].part.spec
            if not isinstance(spec, DriverSpec) or spec.lowest_hz is None:
                continue
            below = spec.lowest_hz / 2.0
            active = np.ones(len(load.frequency_hz)) if path is None else path.response(load.frequency_hz)
            got = active * np.abs(driver.transfer)
            at = float(np.interp(below, load.frequency_hz, got))
            top = float(np.max(got[load.frequency_hz >= below]))
            kept = 20.0 * math.log10(max(top, 1e-9) / max(at, 1e-9))
            if kept >= KEPT_DB:
                continue
            adjustable = path is not None and not path.filters and any(
                study.rig.items[h.giver].part.family == "processor" for h in path.hops
            )  # fmt: skip
            said = ", as far as the rig describes" if adjustable else ""
            yield say(
                (name, load.item),
                f"{name} is made for {amount(spec.lowest_hz, 'Hz')} and up; at {amount(below, 'Hz')} only "
                f"{amount(round(abs(kept), 1), 'dB')} is kept from it{said}.",
                f"Set a high-pass of {amount(spec.lowest_hz, 'Hz')} or more for {load.name}, and write it under bands."
                if adjustable
                else f"Put a high-pass of {amount(spec.lowest_hz, 'Hz')} or more before {name}.",
                severity="Know" if adjustable else None,
            )


@check(
    "E922",
    "Crossover corner far from the textbook's",
    "Know",
    why="A driver is no resistor. With its real impedance the -3 dB point of a capacitor or coil moves, up to an "
    "octave, and may be crossed more than once.",
    remedy="Choose the part against the real load, or flatten the load with a Zobel network first.",
    source="the impedance of the driver as described (calculated)",
    mark="calculated",
    unless="Fix where the real high-pass lies below the lowest frequency of a driver and the textbook's does not.",
)
def corner_off(study: Study, say: Say) -> Iterator[Finding]:
    """Passive high-passes whose real -3 dB point is more than a third of an octave from the textbook's."""
    for name, found in study.sound.responses.items():
        load = next(c for c in study.sound.loads.channels if c.name == name)
        for r in found:
            real, book = r.high_pass_hz, r.textbook_high_pass_hz
            if not r.filtered or book is None:
                continue
            guess = load.drivers[r.item].guess
            near = real is not None and 1.0 / OFF_BY < real / book < OFF_BY
            if guess or (near and len(r.crossings) == len(r.textbook)):
                continue
            spec = study.rig.items[r.item].part.spec
            lowest = spec.lowest_hz if isinstance(spec, DriverSpec) else None
            low = lowest is not None and real is not None and real < 0.8 * lowest <= book
            points = listing(amount(c.frequency_hz, "Hz") for c in r.crossings) or "nowhere from 20 Hz up"
            yield say(
                (r.item, *dict.fromkeys(p.partition(".")[0] for p in load.parts)),
                f"-3 dB of {r.item} at {points}; {amount(book, 'Hz')} by the textbook with "
                f"{num(load.drivers[r.item].nominal_ohm)} Ω.",
                f"Choose the parts before {r.item} against its real impedance.",
                severity="Fix" if low else None,
            )


@check(
    "E923",
    "Crossover makes the level peak",
    "Know",
    why="A capacitor and the rising impedance at a driver's resonance lift its volts above the channel's, just where "
    "it moves most.",
    remedy="Use a higher corner or a second-order network, or damp the resonance.",
    source="the impedance of the driver as described (calculated)",
    mark="calculated",
)
def corner_peaks(study: Study, say: Say) -> Iterator[Finding]:
    """Passive crossovers with a driver that gets 1.5 dB more than the channel gives."""
    for name, found in study.sound.responses.items():
        load = next(c for c in study.sound.loads.channels if c.name == name)
        for r in found:
            if r.filtered and r.peak_db > PEAK_DB and r.peak_at_hz < TOP_HZ and not load.drivers[r.item].guess:
                yield say(
                    (r.item, *dict.fromkeys(p.partition(".")[0] for p in load.parts)),
                    f"{r.item} gets {amount(r.peak_db, 'dB')} more at {amount(r.peak_at_hz, 'Hz')} than in its "
                    "passband.",
                    f"Raise the corner before {r.item}, or use a network of second order.",
                )


@check(
    "E924",
    "Capacitor of too few volts",
    "Fix",
    why="A capacitor in a speaker lead stands the peak volts of the channel, and more at a resonance. Above its rating "
    "it leaks, dries out or bursts.",
    remedy="Use a film or non-polar capacitor of the next rating up.",
    source="sqrt(2 P R) of the channel, in its wiring (calculated)",
    mark="calculated",
)
def capacitor_volts(study: Study, say: Say) -> Iterator[Finding]:
    """Capacitors whose peak volts at full output exceed their rating."""
    for name, found in study.sound.stresses.items():
        for s in found:
            item = s.item.partition(".")[0]
            spec = study.rig.items[item].part.spec
            if s.element != "capacitor" or not isinstance(spec, PassiveSpec) or spec.rated_v is None:
                continue
            peak = math.sqrt(2.0) * s.volts_v
            if peak > spec.rated_v:
                yield say(
                    (item,),
                    f"{item} sees {amount(peak, 'V')} peak at full output of {name}, rated {num(spec.rated_v)} V.",
                    f"Use a capacitor of {amount(_next_v(peak), 'V')} or more for {item}.",
                )


def _next_v(peak_v: float) -> float:
    return next((v for v in (35.0, 50.0, 63.0, 100.0, 160.0, 250.0, 400.0, 630.0) if v >= peak_v), peak_v)


@check(
    "E925",
    "Crossover resistor of too few watts",
    "Fix",
    why="A pad or Zobel resistor turns its share of the programme to heat. Above its rating it smokes, and sets fire "
    "to what it lies on.",
    remedy="Use a resistor of twice the watts, off the panel, with air round it.",
    source="dense programme, filtered as described, in the wiring (calculated)",
    mark="calculated",
)
def resistor_watts(study: Study, say: Say) -> Iterator[Finding]:
    """Resistors, pads and Zobel networks that get more than their watts of dense programme."""
    for name, found in study.sound.stresses.items():
        heat: dict[str, float] = {}
        for s in found:
            if s.element not in ("capacitor", "coil"):
                item = s.item.partition(".")[0]
                heat[item] = heat.get(item, 0.0) + (s.programme_w or 0.0)
        for item, watts in heat.items():
            spec = study.rig.items[item].part.spec
            if isinstance(spec, PassiveSpec) and spec.rated_w is not None and watts > spec.rated_w:
                yield say(
                    (item,),
                    f"{item} takes {amount(watts, 'W')} of dense programme on {name}, rated {num(spec.rated_w)} W.",
                    f"Use {amount(2 * watts, 'W')} or more for {item}, or fewer watts on {name}.",
                    provisional=True,
                )
